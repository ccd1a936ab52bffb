"""What `refrigeration.capacity` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import HeatLossCoefficient, Power, Temperature, TemperatureDifference, VolumeFlow


class CapacityCorrection(Results, frozen=True, kw_only=True):
    """One penalty that acts, and how it was applied."""

    name: Annotated[
        Literal["recirculation", "condenser_air", "fouling", "antifreeze", "range", "frequency"],
        about("What it corrects for; `condenser_air` is altitude and airflow together."),
    ]
    ambient_shift: Annotated[TemperatureDifference, about("Added to the ambient temperature.")] | UnsetType = UNSET
    leaving_shift: Annotated[TemperatureDifference, about("Added to the leaving liquid temperature.")] | UnsetType = (
        UNSET
    )
    capacity_factor: Annotated[float, about("Multiplies the capacity.")] | UnsetType = UNSET
    power_factor: Annotated[float, about("Multiplies the power.")] | UnsetType = UNSET


class CapacitySensitivity(Results, frozen=True, kw_only=True):
    """How the capacity moves with the two temperatures."""

    capacity_per_degree_ambient: Annotated[
        float, about("Relative change of capacity for each kelvin of warmer air; negative for a sound machine.")
    ]
    capacity_per_degree_leaving: Annotated[
        float, about("Relative change of capacity for each kelvin of warmer leaving liquid.")
    ]


class CapacityEstimate(Results, frozen=True, kw_only=True):
    """The cycle behind an estimate."""

    swept_volume_flow: Annotated[VolumeFlow, about("Swept volume flow fitted to the rated point.")]
    isentropic_efficiency: Annotated[float, about("Isentropic efficiency at the rated point.")]
    evaporator_effectiveness: Annotated[float, about("Effectiveness of the evaporator at the rated point.")]
    condenser_conductance: Annotated[
        HeatLossCoefficient, about("Heat rejected for each kelvin of condensing over air, rated.")
    ]
    evaporating_temperature: Annotated[Temperature, about("Evaporating (dew) temperature at the conditions.")]
    condensing_temperature: Annotated[Temperature, about("Condensing temperature, mean of bubble and dew.")]


class CapacityResults(Results, frozen=True, kw_only=True):
    """Capacity and power at the conditions, and how they came about."""

    capacity: Annotated[Power, about("Cooling capacity.", us="ton")]
    power: Annotated[Power, about("Electric power drawn.")]
    kw_per_ton: Annotated[float, about("Power over capacity, kW per ton.")]
    cop: Annotated[float, about("Capacity over power.")]
    eer: Annotated[float, about("Capacity over power, Btu per Wh.")]
    source: Annotated[Literal["table", "estimate"], about("Read from the machine's table, or estimated.")]
    corrections: Annotated[tuple[CapacityCorrection, ...], about("Penalties that act.")]
    effective_ambient_temperature: Annotated[Temperature, about("Air temperature at which the rating was read.")]
    effective_leaving_liquid_temperature: Annotated[
        Temperature, about("Leaving liquid temperature at which the rating was read.")
    ]
    uncertainty: Annotated[float, about("Relative uncertainty of the capacity beside that of the rating itself.")]
    flow: Annotated[VolumeFlow, about("Liquid flow: as given, or as the difference asks.")]
    entering_liquid_temperature: Annotated[Temperature, about("Entering liquid temperature at full capacity.")]
    in_envelope: Annotated[bool, about("Whether all limits that were given are kept.")] | UnsetType = UNSET
    sensitivity: Annotated[CapacitySensitivity, about("How the capacity moves with the temperatures.")]
    estimate: Annotated[CapacityEstimate, about("The cycle behind an estimate.")] | UnsetType = UNSET
