"""Usual values of a set-up, and what of it contradicts itself."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Notes, field_error
from coldwright.contract.quantities import (
    Duration,
    Temperature,
    Voltage,
)
from coldwright_basis.compare import below
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.instants import span
from coldwright_basis.ratings import Practice
from coldwright_basis.usual import given_or_usual
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.references import COMMON_PRACTICE

DENSITY: Final = {"water": 998.0, "ethylene_glycol": 1060.0, "propylene_glycol": 1060.0}
"""kg/m3 for the height of liquid up to the high point; the glycol figure is on the safe side."""
USUAL_VOLTAGE: Final = Voltage(460.0, "V")
USUAL_WARM_UP: Final = Duration(1.0, "h")
_PRACTICE: Final = (COMMON_PRACTICE.id,)


def practice_of(configuration: Configuration) -> Practice:
    """Whose words are said: as given, or those of North America."""
    return "nec" if configuration.practice is UNSET else configuration.practice


def rated_voltage(configuration: Configuration) -> Voltage:
    """As given, or the usual one."""
    given = configuration.rated_voltage
    return USUAL_VOLTAGE if given is UNSET else given


def warm_up_duration(configuration: Configuration) -> Duration:
    """As given, or the usual hour."""
    given = configuration.warm_up_duration
    return USUAL_WARM_UP if given is UNSET else given


def high_point_head(configuration: Configuration) -> float:
    """Pa lost between the loop gauge and the highest point."""
    return DENSITY[configuration.fluid_kind] * STANDARD_GRAVITY * configuration.high_point_rise.si


def configuration_errors(c: Configuration, pointer: str = "/configuration") -> list[FieldError]:
    """Contradictions between fields."""
    errors = []
    if c.circuits > c.compressors:
        errors.append(
            field_error(
                f"{pointer}/circuits",
                f"{c.circuits} circuits cannot share {c.compressors} compressors.",
                value=c.circuits,
                allowed=Allowed(minimum=1, maximum=c.compressors),
            )
        )
    if c.pump_mode == "own_pump" and not c.pump_fitted:
        text = "A machine without a pump cannot run on its own pump."
        errors.append(field_error(f"{pointer}/pump_fitted", text, value=False, allowed=Allowed(one_of=("true",))))
    if c.pump_mode == "own_pump" and not c.site_pump_stops:
        text = "The machine's own pump can be stopped."
        errors.append(field_error(f"{pointer}/site_pump_stops", text, value=False, allowed=Allowed(one_of=("true",))))
    if c.fill_pressure_minimum.si >= c.fill_pressure_maximum.si:
        errors.append(
            field_error(
                f"{pointer}/fill_pressure_minimum",
                f"{c.fill_pressure_minimum} is not below fill_pressure_maximum, {c.fill_pressure_maximum}.",
                value=c.fill_pressure_minimum,
                allowed=Allowed(below=c.fill_pressure_maximum.to("psi"), unit="psi"),
            )
        )
    low, high = c.evaporator_pressure_drop_minimum, c.evaporator_pressure_drop_maximum
    if low is not UNSET and high is not UNSET and low.si >= high.si:
        errors.append(
            field_error(
                f"{pointer}/evaporator_pressure_drop_minimum",
                f"{low} is not below evaporator_pressure_drop_maximum, {high}.",
                value=low,
                allowed=Allowed(below=high.to("kPa"), unit="kPa"),
            )
        )
    floor = Temperature(35.0, "degF")
    if c.fluid_kind == "water" and below(c.set_point_minimum_water.si, floor.si):
        errors.append(
            field_error(
                f"{pointer}/set_point_minimum_water",
                f"{c.set_point_minimum_water} is too cold for plain water.",
                code="out_of_range",
                value=c.set_point_minimum_water,
                allowed=Allowed(minimum=35, unit="degF"),
                why="The evaporator runs colder than the water that leaves it, and ice bursts it.",
            )
        )
    pair = (c.evaporator_reference_flow, c.evaporator_reference_pressure_drop)
    if (pair[0] is UNSET) != (pair[1] is UNSET):
        name = "evaporator_reference_flow" if pair[0] is UNSET else "evaporator_reference_pressure_drop"
        text = "The reference flow and its drop are only of use together."
        errors.append(field_error(f"{pointer}/{name}", text, code="missing"))
    return errors


def note_usual_values(c: Configuration, notes: Notes, *, voltage: bool) -> None:
    """List the two values that are taken when a field is left out, since absence itself means something to the rules."""
    if voltage:
        given_or_usual(
            c.rated_voltage,
            USUAL_VOLTAGE,
            notes,
            "default:/configuration/rated_voltage",
            "`rated_voltage` is 460 V, the usual one. Compare it with the data plate.",
            references=_PRACTICE,
        )
    given_or_usual(
        c.warm_up_duration,
        USUAL_WARM_UP,
        notes,
        "default:/configuration/warm_up_duration",
        "`warm_up_duration` is 1 h, the shortest in use. The maker's longer figure rules.",
        references=_PRACTICE,
    )


def warm_up_span(c: Configuration) -> int:
    """Nanoseconds of oil heat."""
    return span(warm_up_duration(c))
