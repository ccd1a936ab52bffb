"""What a fault calculation answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Current, Duration, Impedance


class PointToPointResults(Results, frozen=True, kw_only=True):
    """The short method, which adds magnitudes: a cross-check, never a verdict."""

    f: Annotated[float, about("1/multiplier - 1.")]
    multiplier: Annotated[float, about("Share of the source's current that is left.")]
    current: Annotated[Current, about("Current at the machine by this method.")]


class PerUnitResults(Results, frozen=True, kw_only=True):
    """The same circuit worked per unit of the source."""

    base_current: Annotated[Current, about("Current of the base.")]
    impedance: Annotated[float, about("Whole impedance per unit.")]
    current: Annotated[Current, about("Fault current at the machine.")]


class FaultCurrentResults(Results, frozen=True, kw_only=True):
    """Fault currents at the source and at the machine, and what they do there."""

    source_fault_current: Annotated[Current, about("Greatest three-phase fault current at the source.")]
    fault_current_at_machine: Annotated[Current, about("Greatest three-phase fault current at the machine.")]
    fault_current_with_motors: Annotated[Current, about("The same with what motors feed back.")]
    x_over_r: Annotated[float, about("X/R at the machine. Left out where R is 0.")] | UnsetType = UNSET
    peak_factor: Annotated[float, about("Factor kappa: first peak over the peak of the steady current.")]
    peak_current: Annotated[Current, about("First peak at the machine, without motors.")]
    point_to_point: Annotated[PointToPointResults, about("Cross-check by the short method.")]
    per_unit: Annotated[PerUnitResults, about("Cross-check per unit.")]
    rating_verdict: Annotated[
        Literal["ok", "exceeds", "unknown"], about("Current with motors against the machine's rating.")
    ]
    rating_margin_fraction: (
        Annotated[float, about("Share of the machine's rating that is left; below 0 it is exceeded.")] | UnsetType
    ) = UNSET
    earth_fault_loop_impedance: Annotated[Impedance, about("Loop impedance at the machine.")] | UnsetType = UNSET
    earth_fault_current: Annotated[Current, about("Least earth-fault current at the machine.")] | UnsetType = UNSET
    required_operating_current: Annotated[Current, about("Current that makes the device act in time.")] | UnsetType = (
        UNSET
    )
    earth_fault_loop_impedance_maximum: (
        Annotated[Impedance, about("Greatest loop impedance that still clears.")] | UnsetType
    ) = UNSET
    clears: Annotated[bool, about("Whether the earth fault is cleared in time.")] | UnsetType = UNSET
    disconnection_time_limit: Annotated[Duration, about("Time allowed to clear it, `iec`.")] | UnsetType = UNSET
    conductor_withstand_duration: (
        Annotated[Duration, about("How long the weakest conductor stands a fault at the machine.")] | UnsetType
    ) = UNSET
