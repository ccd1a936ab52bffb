"""What `refrigeration.circuit_check` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Temperature, TemperatureDifference

Word = Literal["low", "normal", "high"]
Quantity = Literal[
    "superheat",
    "subcooling",
    "condensing_over_ambient",
    "evaporator_approach",
    "liquid_temperature_difference",
]
CauseName = Literal[
    "low_charge",
    "restricted_metering_or_drier",
    "low_liquid_flow_or_air_in_loop",
    "evaporator_fouled_or_oil_logged",
    "condenser_air_short_dirty_or_recirculating",
    "overcharge",
    "non_condensables",
    "overfeeding_expansion_device",
    "worn_compressor_or_bypass",
    "low_load_or_cold_ambient",
]


class CircuitPattern(Results, frozen=True, kw_only=True):
    """Where each quantity lies; empty at part load."""

    superheat: Annotated[Word, about("Superheat.")] | UnsetType = UNSET
    subcooling: Annotated[Word, about("Subcooling.")] | UnsetType = UNSET
    condensing_over_ambient: Annotated[Word, about("Condensing temperature above the air.")] | UnsetType = UNSET
    evaporator_approach: Annotated[Word, about("Leaving liquid above the suction dew point.")] | UnsetType = UNSET
    liquid_temperature_difference: (
        Annotated[Word, about("Entering less leaving, against design; needs the entering temperature.")] | UnsetType
    ) = UNSET


class LikelyCause(Results, frozen=True, kw_only=True):
    """A trouble that fits the readings."""

    cause: Annotated[CauseName, about("The trouble.")]
    score: Annotated[float, about("How well it fits: 1 is wholly, below 0.6 is not listed unless a test proves it.")]
    why: Annotated[str, about("What the trouble does, and how the readings fit.")]
    evidence_for: Annotated[tuple[str, ...], about("Readings that speak for it.", max_length=6)]
    evidence_against: Annotated[tuple[str, ...], about("Readings that speak against it.", max_length=6)]
    next_check: Annotated[str, about("What to look at next, with the circuit closed.")]


class CircuitCheckResults(Results, frozen=True, kw_only=True):
    """Saturation temperatures, differences, and what they point to."""

    suction_dew_temperature: Annotated[Temperature, about("Dew point at the suction pressure.")]
    suction_bubble_temperature: Annotated[Temperature, about("Bubble point at the suction pressure.")]
    condensing_bubble_temperature: Annotated[Temperature, about("Bubble point at the discharge pressure.")]
    condensing_dew_temperature: Annotated[Temperature, about("Dew point at the discharge pressure.")]
    condensing_temperature: Annotated[Temperature, about("Mean of both at the discharge pressure.")]
    superheat: Annotated[TemperatureDifference, about("Suction line above the dew point; as read, may be negative.")]
    subcooling: Annotated[TemperatureDifference, about("Bubble point above the liquid line.")]
    condensing_over_ambient: Annotated[TemperatureDifference, about("Condensing temperature above the air.")]
    evaporator_approach: Annotated[TemperatureDifference, about("Leaving liquid above the suction dew point.")]
    compression_ratio: Annotated[float, about("Discharge over suction pressure, both absolute.")]
    discharge_superheat: (
        Annotated[TemperatureDifference, about("Discharge line above the dew point at the discharge pressure.")]
        | UnsetType
    ) = UNSET
    liquid_temperature_difference_ratio: (
        Annotated[float, about("Entering less leaving, over its design value.")] | UnsetType
    ) = UNSET
    glide: Annotated[TemperatureDifference, about("Dew less bubble point at the suction pressure.")]
    pattern: Annotated[CircuitPattern, about("Where each quantity lies.")]
    likely_causes: Annotated[tuple[LikelyCause, ...], about("Troubles that fit, the likeliest first.", max_length=4)]
    deciding_measurement: (
        Annotated[str, about("What would distinguish the first cause from the second, with the circuit closed.")]
        | UnsetType
    ) = UNSET
