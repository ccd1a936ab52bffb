"""What the flow of an exchanger answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import PressureDifference, VolumeFlow
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class ExchangerFlowResults(Results, frozen=True, kw_only=True):
    """The flow, how well it is known, and what follows for strainer and proof of flow."""

    corrected_pressure_drop: Annotated[PressureDifference, about("Drop with the heights of the gauges taken out.")]
    flow: Annotated[VolumeFlow, about("Flow.")]
    flow_fraction_of_rated: Annotated[float, about("Flow over rated flow.")]
    flow_uncertainty_fraction: Annotated[float, about("Relative uncertainty of the flow from the gauges alone.")]
    flow_from_heat: (
        Annotated[VolumeFlow, about("Flow that follows from heat and temperature difference.")] | UnsetType
    ) = UNSET
    disagreement_fraction: Annotated[float, about("Flow over flow from heat, less one.")] | UnsetType = UNSET
    strainer_clean_pressure_drop: (
        Annotated[PressureDifference, about("Drop of the clean strainer at this flow.")] | UnsetType
    ) = UNSET
    strainer_ratio: Annotated[float, about("Measured drop of the strainer over its clean drop.")] | UnsetType = UNSET
    strainer_state: (
        Annotated[Literal["clean", "watch", "dirty"], about("Up to 1.5 clean, up to 2.5 watch, above dirty.")]
        | UnsetType
    ) = UNSET
    trip_flow: Annotated[VolumeFlow, about("Flow at which the proof trips.")] | UnsetType = UNSET
    trip_margin_fraction: Annotated[float, about("Flow over trip flow, less one.")] | UnsetType = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET
