"""The figures of a surge as results."""

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Duration, GaugePressure, Length, PressureDifference, Velocity
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_hydronic.shared.second_opinion import second_opinion
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.law import Event, safe_closure_time
from coldwright_hydronic.surge.results import SurgeResults, SurgeSegment


def results_of(given: SurgeGiven, event: Event, gas_free: Event, vapor: float) -> SurgeResults:
    """The results; those that need the static pressure are left out without it."""
    peak: GaugePressure | UnsetType = UNSET
    trough: GaugePressure | UnsetType = UNSET
    margin: PressureDifference | UnsetType = UNSET
    safe: Duration | UnsetType = UNSET
    if given.static_pressure is not UNSET:
        static = given.static_pressure.si
        peak = GaugePressure.from_si(static + event.rise, "kPa")
        trough = GaugePressure.from_si(event.trough(static, vapor, given.air), "kPa")
        if given.working_pressure is not UNSET:
            limit = given.working_pressure.si * (1 + given.surge_allowance_fraction)
            margin = PressureDifference.from_si(limit - static - event.rise, "kPa")
            time = safe_closure_time((event, gas_free), limit - static, static - (vapor - given.air))
            safe = UNSET if time is None else Duration.from_si(time, "s")
    rises = event.local_rises
    return SurgeResults(
        second_opinion=second_opinion(given.fluid),
        segments=tuple(
            SurgeSegment(
                name=s.name,
                wave_speed=Velocity.from_si(a, "m/s"),
                velocity=Velocity.from_si(v, "m/s"),
                joukowsky_rise=PressureDifference.from_si(rise, "kPa"),
            )
            for s, a, v, rise in zip(given.segments, event.wave_speeds, event.velocities, rises, strict=True)
        ),
        equivalent_wave_speed=Velocity.from_si(event.wave_speed, "m/s"),
        critical_time=Duration.from_si(event.critical_time, "s"),
        regime="fast" if event.fast else "slow",
        pressure_rise=PressureDifference.from_si(event.rise, "kPa"),
        pressure_rise_without_gas=(UNSET if event is gas_free else PressureDifference.from_si(gas_free.rise, "kPa")),
        head_rise=Length.from_si(event.rise / (event.density * STANDARD_GRAVITY), "m"),
        peak_pressure=peak,
        trough_pressure=trough,
        margin=margin,
        safe_closure_time=safe,
    )
