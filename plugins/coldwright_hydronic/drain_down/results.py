"""What draining answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, Mass, Volume, VolumeFlow
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class VesselTime(Results, frozen=True, kw_only=True):
    """One vessel."""

    name: Annotated[str, about("Name.")]
    drain_time: Annotated[Duration, about("Time to drain it.")]


class DrainDownResults(Results, frozen=True, kw_only=True):
    """Volumes, times and what the discharge carries."""

    total_volume: Annotated[Volume, about("Vessels at their first level, lines and places that hold back.")]
    drained_volume: Annotated[Volume, about("What runs out.")]
    residual_volume: Annotated[Volume, about("What stays in lines and places that do not drain.")]
    initial_flow: Annotated[VolumeFlow, about("Flow at the start, first vessel.")] | UnsetType = UNSET
    drain_time: (
        Annotated[Duration, about("All vessels, one after the other, vented, no hose friction.")] | UnsetType
    ) = UNSET
    vessel_times: Annotated[tuple[VesselTime, ...], about("Time of each vessel, in the order given.")]
    antifreeze_volume: Annotated[Volume, about("Antifreeze to work into what stays.")] | UnsetType = UNSET
    lay_up_volume_fraction: Annotated[float, about("Strength of what then stays, glycol by volume.")] | UnsetType = (
        UNSET
    )
    glycol_mass: Annotated[Mass, about("Glycol in what runs out.")] | UnsetType = UNSET
    oxygen_demand: (
        Annotated[Mass, about("Oxygen that this glycol takes from the water that receives it, in theory.")] | UnsetType
    ) = UNSET
    flow_within_limit: Annotated[bool, about("First flow is within what the receiver takes.")] | UnsetType = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET
