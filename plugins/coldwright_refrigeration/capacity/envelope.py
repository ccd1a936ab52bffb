"""The limits inside which a machine may run."""

from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, Notes, field_error, say
from coldwright.contract.quantities import Quantity, Temperature, VolumeFlow
from coldwright_basis.compare import above, below
from coldwright_refrigeration.capacity.given import CapacityEnvelope, CapacityGiven
from coldwright_refrigeration.shared import liquids

_PAIRS = (
    ("leaving_minimum", "leaving_maximum"),
    ("ambient_minimum", "ambient_maximum"),
    ("flow_minimum", "flow_maximum"),
)


def envelope_errors(envelope: CapacityEnvelope) -> list[FieldError]:
    """Pairs of limits that cross."""
    errors = []
    for low_name, high_name in _PAIRS:
        low, high = getattr(envelope, low_name), getattr(envelope, high_name)
        if low is not UNSET and high is not UNSET and low.si > high.si:
            text = f"The least value, {low}, lies above the greatest, {high}."
            errors.append(
                field_error(f"/machine/envelope/{low_name}", text, value=low, why="No condition could keep both.")
            )
    return errors


def check_envelope(given: CapacityGiven, difference: float, flow: VolumeFlow, notes: Notes) -> bool | UnsetType:
    """Raise what the conditions break; whether all limits given are kept, where any were given."""
    _plain_water(given, notes)
    envelope = given.machine.envelope
    if envelope is UNSET:
        return UNSET
    conditions = given.conditions
    air = Temperature.from_si(conditions.ambient_temperature.si + conditions.recirculation_temperature_rise.si, "degC")
    entering = Temperature.from_si(conditions.leaving_liquid_temperature.si + difference, "degC")
    leaving = conditions.leaving_liquid_temperature
    inside = True
    for limit, value, words, pointer in (
        ("leaving_minimum", leaving, "leaving liquid", "leaving_liquid_temperature"),
        ("leaving_maximum", leaving, "leaving liquid", "leaving_liquid_temperature"),
        ("ambient_minimum", air, "air at the coil", "ambient_temperature"),
        ("ambient_maximum", air, "air at the coil", "ambient_temperature"),
        ("flow_minimum", flow, "liquid flow", "flow"),
        ("flow_maximum", flow, "liquid flow", "flow"),
        ("voltage_ratio_minimum", conditions.voltage_ratio, "voltage over rated", "voltage_ratio"),
        ("voltage_ratio_maximum", conditions.voltage_ratio, "voltage over rated", "voltage_ratio"),
    ):
        bound = getattr(envelope, limit)
        if bound is not UNSET and _breaks(limit, value, bound):
            inside = False
            _outside(limit, value, bound, words, pointer, notes)
    if envelope.entering_maximum is not UNSET and _breaks("maximum", entering, envelope.entering_maximum):
        inside = False
        _hot_start(entering, envelope.entering_maximum, notes)
    _cold_air(given, envelope, air, notes)
    return inside


def _breaks(limit: str, value: Any, bound: Any) -> bool:
    one, other = (x.si if isinstance(x, Quantity) else x for x in (value, bound))
    return below(one, other) if limit.endswith("minimum") else above(one, other)


def _outside(limit: str, value: object, bound: Any, words: str, pointer: str, notes: Notes) -> None:
    shown = value.as_unit(bound.unit) if isinstance(value, Quantity) else value
    side = "below the least" if limit.endswith("minimum") else "above the greatest"
    notes.stop(
        "outside_envelope",
        say(
            "The {what} of {value} is {side} that the machine takes, {bound}.",
            what=words,
            value=shown,
            side=side,
            bound=bound,
        ),
        why="Outside its envelope a machine trips on its limits or is damaged.",
        resolve="Change the condition, or choose a machine whose limits hold it.",
        field=f"/conditions/{pointer}",
    )


def _hot_start(entering: Temperature, bound: Temperature, notes: Notes) -> None:
    notes.check(
        "entering_above_maximum",
        say(
            "The liquid enters at {entering}, above the {bound} that the machine takes.",
            entering=entering.as_unit(bound.unit),
            bound=bound,
        ),
        why="Warm liquid overloads the compressors and lifts the suction pressure beyond its limit.",
        resolve="Throttle the flow or blend cold liquid in until the loop is below the limit; see "
        "refrigeration.pull_down.",
        field="/conditions/leaving_liquid_temperature",
        references=("refrigeration_practice",),
    )


def _cold_air(given: CapacityGiven, envelope: CapacityEnvelope, air: Temperature, notes: Notes) -> None:
    bound = envelope.ambient_minimum_without_head_pressure_control
    if bound is UNSET or given.machine.head_pressure_control or not _breaks("minimum", air, bound):
        return
    notes.check(
        "ambient_low_without_head_pressure_control",
        say(
            "The air of {air} is below {bound}, and the machine has no head-pressure control.",
            air=air.as_unit(bound.unit),
            bound=bound,
        ),
        why="With too low a condensing pressure the expansion device starves and the machine trips on low suction "
        "pressure.",
        resolve="Take a machine with head-pressure control, or screen the coils from wind as its maker allows.",
        field="/conditions/ambient_temperature",
        references=("refrigeration_practice",),
    )


def _plain_water(given: CapacityGiven, notes: Notes) -> None:
    leaving = given.conditions.leaving_liquid_temperature
    if given.conditions.fluid.kind == "water" and below(leaving.si, liquids.COLDEST_WATER):
        notes.stop(
            "leaving_too_cold_without_antifreeze",
            say("Plain water is to leave at {leaving}, below 4.4 degC (40 degF).", leaving=leaving),
            why="The tube wall is colder than the water: it can freeze at the wall and burst the evaporator.",
            resolve="Raise the leaving temperature to 4.4 degC (40 degF), or fill with antifreeze.",
            field="/conditions/leaving_liquid_temperature",
            references=("refrigeration_practice",),
        )
