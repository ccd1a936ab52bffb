"""First signs of trouble after a start, in the order in which they are looked for."""

from collections.abc import Callable
from typing import Final, Literal, NamedTuple

from msgspec import UNSET

from coldwright.contract import Sentence, finding, say
from coldwright.contract.quantities import Duration, Temperature, TemperatureDifference, TemperatureRate
from coldwright_basis.compare import at_least, at_most
from coldwright_basis.instants import NANO
from coldwright_basis.liquids import freezing_temperature
from coldwright_readiness.cooling_proof.given import CoolingProofGiven
from coldwright_readiness.cooling_proof.measures import Measures

COLDEST_WATER: Final = Temperature(38.0, "degF").si
ABOVE_FREEZING: Final = TemperatureDifference(5.0, "delta_degF").si
COOLING_BY: Final = 300 * NANO


class FoundTrouble(NamedTuple):
    """A sign of trouble, with what to do about it."""

    code: str
    severity: Literal["stop", "check"]
    statement: Sentence
    resolve: str


TROUBLE_FINDINGS: Final = (
    finding("low_flow", ("stop", "check"), "Too little liquid goes through the evaporator."),
    finding("near_freezing", "stop", "The liquid leaves too close to its freezing point."),
    finding("no_cooling", "stop", "The compressors run and do not cool."),
    finding("sensors_or_hoses_swapped", "stop", "The liquid leaves warmer than it enters."),
    finding("heat_input_larger", "check", "More heat comes in than is taken out."),
    finding("hot_air_recirculation", "check", "The coil draws in its own warm air."),
    finding("refrigerant_short", "check", "Signs of too little refrigerant."),
    finding("flow_too_high", "check", "Too much liquid goes through the evaporator."),
)


def find_troubles(given: CoolingProofGiven, m: Measures) -> list[FoundTrouble]:
    """All that apply, in the order of the table."""
    return [trouble for look in _LOOKS if (trouble := look(given, m)) is not None]


def _kelvins(difference: float) -> TemperatureDifference:
    return TemperatureDifference.of(difference, "delta_degC")


def _flow_is_low(given: CoolingProofGiven) -> bool | None:
    """By whatever shows it; None where nothing does."""
    signs = []
    if given.flow_minimum is not UNSET:
        signs.append(given.flow.si < given.flow_minimum.si)
    if given.evaporator_pressure_drop is not UNSET and given.evaporator_pressure_drop_minimum is not UNSET:
        signs.append(given.evaporator_pressure_drop.si < given.evaporator_pressure_drop_minimum.si)
    return any(signs) if signs else None


def _drop_is_high(given: CoolingProofGiven) -> bool:
    """Whether the evaporator's drop shows too much flow; False where it was not read, or its limit not given."""
    drop, most = given.evaporator_pressure_drop, given.evaporator_pressure_drop_maximum
    return drop is not UNSET and most is not UNSET and drop.si > most.si


def _low_flow(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    low = _flow_is_low(given)
    if m.difference <= 1.5 * m.expected_difference or low is False:
        return None
    statement = say(
        "The difference of {difference:.3g} is more than 1.5 x the expected {expected:.3g}{known}",
        difference=_kelvins(m.difference),
        expected=_kelvins(m.expected_difference),
        known=", and the flow is low." if low else "; whether the flow is low is not known.",
    )
    resolve = "Stop the compressors, keep the pump on: strainer, valves, air, rotation of the pump."
    return FoundTrouble("low_flow", "stop" if low else "check", statement, resolve)


def _near_freezing(given: CoolingProofGiven, _: Measures) -> FoundTrouble | None:
    freezing = freezing_temperature(given.fluid)
    if freezing is None:
        return None
    limit = COLDEST_WATER if given.fluid.kind == "water" else freezing + ABOVE_FREEZING
    if at_least(given.leaving_temperature.si, limit):
        return None
    statement = say(
        "Leaving {leaving} is below {limit:.2f}; {above} above the freezing point is the least, and {coldest} for water.",
        leaving=given.leaving_temperature,
        limit=Temperature.from_si(limit, "degC"),
        above=TemperatureDifference.from_si(ABOVE_FREEZING, "delta_degF"),
        coldest=Temperature.from_si(COLDEST_WATER, "degF"),
    )
    return FoundTrouble("near_freezing", "stop", statement, "Stop the compressors, keep the pump on.")


def _no_cooling(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    if given.unloading or m.running_for < COOLING_BY or m.difference >= 0.3 * m.expected_difference:
        return None
    minutes = m.running_for / NANO / 60
    statement = say(
        "After {time:.3g} the difference is {difference:.3g}, expected {expected:.3g}.",
        time=Duration.of(minutes, "min"),
        difference=_kelvins(m.difference),
        expected=_kelvins(m.expected_difference),
    )
    resolve = "Stop: a compressor that does not pump, reversed rotation, or unloaded."
    return FoundTrouble("no_cooling", "stop", statement, resolve)


def _swapped(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    if at_least(m.difference, -0.5):
        return None
    statement = say(
        "Leaving {leaving} is above entering {entering}.",
        leaving=given.leaving_temperature,
        entering=given.entering_temperature,
    )
    resolve = "Stop: sensors changed over, or hoses the wrong way round."
    return FoundTrouble("sensors_or_hoses_swapped", "stop", statement, resolve)


def _heat_input(_: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    right = 0.75 <= m.ratio <= 1.2
    if not right or m.measured_rate is None or m.measured_rate >= 0:
        return None
    statement = say(
        "The machine cools at {ratio:.2f} of its capacity and the loop gets warmer by {rate:.2g}.",
        ratio=m.ratio,
        rate=TemperatureRate.of(-m.measured_rate * 60, "delta_degC/min"),
    )
    return FoundTrouble("heat_input_larger", "check", statement, "Shut load off, or start the next compressor.")


def _hot_air(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    coil, ambient = given.coil_air_temperature, given.ambient_temperature
    if m.ratio >= 0.75 or coil is UNSET or ambient is UNSET or at_most(coil.si - ambient.si, 3):
        return None
    statement = say(
        "Air at the coil is {coil}, air of the site {ambient}, capacity {ratio:.2f} of rating.",
        coil=coil,
        ambient=ambient,
        ratio=m.ratio,
    )
    return FoundTrouble("hot_air_recirculation", "check", statement, "See `site.placement`: clear the way of the air.")


def _refrigerant(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    low, high = _flow_is_low(given), _drop_is_high(given)
    if given.unloading or m.too_soon or not 0 < m.ratio < 0.7 or low or high:
        return None
    flow = "the flow not known to be right" if low is None else "the right flow"
    statement = say(
        "Capacity is {ratio:.2f} of rating with {difference:.3g} and {flow}.",
        ratio=m.ratio,
        difference=_kelvins(m.difference),
        flow=flow,
    )
    resolve = "Have a certified technician check the charge; nothing is vented."
    return FoundTrouble("refrigerant_short", "check", statement, resolve)


def _too_much_flow(given: CoolingProofGiven, m: Measures) -> FoundTrouble | None:
    if not _drop_is_high(given) or m.difference >= 0.6 * m.expected_difference:
        return None
    drop, most = given.evaporator_pressure_drop, given.evaporator_pressure_drop_maximum
    statement = say(
        "The pressure drop of {drop} is above {most}, and the difference only {difference:.3g}.",
        drop=drop,
        most=most,
        difference=_kelvins(m.difference),
    )
    return FoundTrouble("flow_too_high", "check", statement, "Throttle at the balancing valve.")


_LOOKS: Final[tuple[Callable[[CoolingProofGiven, Measures], FoundTrouble | None], ...]] = (
    _low_flow,
    _near_freezing,
    _no_cooling,
    _swapped,
    _heat_input,
    _hot_air,
    _refrigerant,
    _too_much_flow,
)
