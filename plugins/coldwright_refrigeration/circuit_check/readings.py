"""The readings of a circuit in SI units, with the saturation temperatures and differences that follow."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Notes, Refused, field_error, say
from coldwright.contract.quantities import (
    AbsolutePressure,
    GaugePressure,
    Length,
    PressureDifference,
    TemperatureDifference,
)
from coldwright_basis.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS
from coldwright_refrigeration.circuit_check.causes import BANDS, Suspect, suspects, word_of
from coldwright_refrigeration.circuit_check.given import CircuitCheckGiven, ExpectedGiven
from coldwright_refrigeration.circuit_check.results import Quantity, Word
from coldwright_refrigeration.shared.moist_air import site_pressure
from coldwright_refrigeration.shared.references import ASHRAE_ATMOSPHERE, PRACTICE
from coldwright_refrigeration.shared.saturation import Saturation, saturation_of

DEGF_PER_KELVIN = 1.8
STANDSTILL_ALLOWANCE = 5 * 6894.757293168
"""Pa; 5 psi either side of saturation says nothing. Common practice, no source."""
_TITLES: dict[Quantity, str] = {
    "superheat": "superheat",
    "subcooling": "subcooling",
    "condensing_over_ambient": "condensing temperature above the air",
    "evaporator_approach": "evaporator approach",
}


class Standstill(NamedTuple):
    """A standstill test: measured pressure, and the bubble and dew pressures of the refrigerant, Pa."""

    measured: float
    bubble: float
    dew: float


class Readings(NamedTuple):
    """Pressures in Pa absolute, temperatures in K, differences in K."""

    air_pressure: float
    suction_pressure: float
    discharge_pressure: float
    liquid_pressure: float
    suction_line: float
    liquid_line: float
    air: float
    leaving: float
    suction_dew: float
    suction_bubble: float
    condensing_bubble: float
    condensing_dew: float
    condensing: float
    liquid_bubble: float
    superheat: float
    subcooling: float
    condensing_over_ambient: float
    approach: float
    ratio: float
    discharge_superheat: float | None
    liquid_ratio: float | None
    pattern: "dict[Quantity, Word]"
    evidence: dict[Quantity, str]
    suspects: list[Suspect]
    standstill: Standstill | None
    air_found: bool
    full_load: bool


def both_scales(kelvins: float) -> str:
    """A difference as either reader knows it, for texts of results."""
    return f"{kelvins:.1f} K ({kelvins * DEGF_PER_KELVIN:.1f} delta_degF)"


def readings_of(given: CircuitCheckGiven, notes: Notes) -> Readings:
    """Work out everything that the findings and the results rest on; refuses what saturation cannot be read for."""
    errors: list[FieldError] = []
    air_pressure = site_pressure(given.altitude, given.barometric_pressure)
    if isinstance(air_pressure, FieldError):
        raise Refused([air_pressure])
    saturation = saturation_of(given.refrigerant)
    suction = _pressure(given, "suction_pressure", air_pressure, saturation, errors)
    discharge = _pressure(given, "discharge_pressure", air_pressure, saturation, errors)
    liquid = _pressure(given, "liquid_line_pressure", air_pressure, saturation, errors, instead=discharge)
    standstill = _standstill(given, air_pressure, saturation, errors)
    _refuse_contradictions(given, suction, discharge, air_pressure, errors)
    if errors:
        raise Refused(errors)
    _assume(given, notes)

    suction_dew, suction_bubble = saturation.dew.temperature(suction), saturation.bubble.temperature(suction)
    dew, bubble = saturation.dew.temperature(discharge), saturation.bubble.temperature(discharge)
    liquid_bubble = bubble if liquid == discharge else saturation.bubble.temperature(liquid)
    condensing = (bubble + dew) / 2
    suction_line, liquid_line = given.suction_line_temperature.si, given.liquid_line_temperature.si
    air, leaving = given.condenser_air_temperature.si, given.leaving_liquid_temperature.si
    superheat, subcooling = suction_line - suction_dew, liquid_bubble - liquid_line
    over_ambient, approach = condensing - air, leaving - suction_dew
    liquid_ratio = None
    if given.entering_liquid_temperature is not UNSET:
        liquid_ratio = (given.entering_liquid_temperature.si - leaving) / given.design_liquid_temperature_difference.si

    full_load = _full_load(given)
    differences: dict[Quantity, float] = {
        "superheat": superheat,
        "subcooling": subcooling,
        "condensing_over_ambient": over_ambient,
        "evaporator_approach": approach,
    }
    pattern = _pattern(differences, liquid_ratio, given.expected) if full_load else {}
    air_found = standstill is not None and standstill.measured - standstill.bubble > STANDSTILL_ALLOWANCE
    return Readings(
        air_pressure=air_pressure,
        suction_pressure=suction,
        discharge_pressure=discharge,
        liquid_pressure=liquid,
        suction_line=suction_line,
        liquid_line=liquid_line,
        air=air,
        leaving=leaving,
        suction_dew=suction_dew,
        suction_bubble=suction_bubble,
        condensing_bubble=bubble,
        condensing_dew=dew,
        condensing=condensing,
        liquid_bubble=liquid_bubble,
        superheat=superheat,
        subcooling=subcooling,
        condensing_over_ambient=over_ambient,
        approach=approach,
        ratio=discharge / suction,
        discharge_superheat=(
            None if given.discharge_line_temperature is UNSET else given.discharge_line_temperature.si - dew
        ),
        liquid_ratio=liquid_ratio,
        pattern=pattern,
        evidence=_evidence(pattern, differences, liquid_ratio),
        suspects=suspects(pattern, given.circuit_opened_recently, air_found),
        standstill=standstill,
        air_found=air_found,
        full_load=full_load,
    )


def _pressure(
    given: CircuitCheckGiven,
    name: str,
    air_pressure: float,
    saturation: Saturation,
    errors: list[FieldError],
    instead: float | None = None,
) -> float:
    """Absolute pressure in Pa from a gauge field or its absolute twin; `instead` where neither need be given."""
    gauge, absolute = getattr(given, name), getattr(given, f"{name}_absolute")
    if gauge is UNSET and absolute is UNSET:
        if instead is None:
            errors.append(field_error(f"/{name}", f"`{name}` or `{name}_absolute` must be given.", code="missing"))
        return instead or 0.0
    if gauge is not UNSET and absolute is not UNSET:
        errors.append(field_error(f"/{name}_absolute", f"`{name}` and `{name}_absolute` say the same thing: give one."))
        return 0.0
    sent, pointer, offset = (
        (gauge, f"/{name}", air_pressure) if absolute is UNSET else (absolute, f"/{name}_absolute", 0.0)
    )
    pressure: float = sent.si + offset
    if not saturation.lowest_pressure <= pressure <= saturation.highest_pressure:
        errors.append(_off_the_lines(pointer, sent, offset, saturation))
    return pressure


def _off_the_lines(
    pointer: str, sent: GaugePressure | AbsolutePressure, offset: float, saturation: Saturation
) -> FieldError:
    low, high = (
        AbsolutePressure.from_si(p - offset, "kPa").to(sent.unit)
        for p in (saturation.lowest_pressure, saturation.highest_pressure)
    )
    return field_error(
        pointer,
        f"Saturation of {saturation.refrigerant} is not available at {sent}, only from {low:.5g} to {high:.5g} "
        f"{sent.unit} as read here.",
        code="out_of_range",
        value=sent,
        allowed=Allowed(minimum=low, maximum=high, unit=sent.unit),
        why=f"The saturation lines run from a dew point of {saturation.dew.lowest_temperature - ZERO_CELSIUS:.0f} degC to a "
        f"bubble point of {saturation.bubble.highest_temperature - ZERO_CELSIUS:.0f} degC.",
    )


def _standstill(
    given: CircuitCheckGiven, air_pressure: float, saturation: Saturation, errors: list[FieldError]
) -> Standstill | None:
    if given.standstill is UNSET:
        return None
    kelvin = given.standstill.temperature.si
    low, high = saturation.dew.lowest_temperature, saturation.bubble.highest_temperature
    if not low <= kelvin <= high:
        errors.append(
            field_error(
                "/standstill/temperature",
                f"Saturation of {saturation.refrigerant} is not available at {given.standstill.temperature}.",
                code="out_of_range",
                value=given.standstill.temperature,
                allowed=Allowed(minimum=low - ZERO_CELSIUS, maximum=high - ZERO_CELSIUS, unit="degC"),
                why="The test compares the pressure with saturation at this temperature.",
            )
        )
        return None
    measured = given.standstill.pressure.si + air_pressure
    if measured <= 0:
        errors.append(
            field_error(
                "/standstill/pressure",
                f"{given.standstill.pressure} is below a perfect vacuum at an air pressure of "
                f"{air_pressure / 1000:.2f} kPa.",
                value=given.standstill.pressure,
                allowed=Allowed(above=-air_pressure / 1000, unit="kPa"),
                why="No absolute pressure is negative.",
            )
        )
    return Standstill(measured, saturation.bubble.pressure(kelvin), saturation.dew.pressure(kelvin))


def _refuse_contradictions(
    given: CircuitCheckGiven, suction: float, discharge: float, air_pressure: float, errors: list[FieldError]
) -> None:
    if not errors and discharge <= suction:
        gauge = given.discharge_pressure is not UNSET
        name = "discharge_pressure" if gauge else "discharge_pressure_absolute"
        read = suction - air_pressure if gauge else suction  # the limit is given as the field is read
        errors.append(
            field_error(
                f"/{name}",
                f"The discharge pressure ({discharge / 1000:.1f} kPa absolute) is not above the suction pressure "
                f"({suction / 1000:.1f} kPa absolute).",
                value=getattr(given, name),
                allowed=Allowed(above=read / 1000, unit="kPa"),
                why="A running compressor raises the pressure; gauges are swapped, or nothing runs.",
            )
        )
    running, total = given.compressors_running, given.compressors_total
    if running is not UNSET and total is not UNSET and running > total:
        errors.append(
            field_error(
                "/compressors_running",
                f"{running} of {total} compressors cannot run.",
                value=running,
                allowed=Allowed(minimum=1, maximum=total),
            )
        )
    for name in _TITLES:
        band = getattr(given.expected, name)
        if band is not UNSET and band[0].si > band[1].si:
            errors.append(
                field_error(f"/expected/{name}", f"The low end {band[0]} is above the high end {band[1]}.", value=band)
            )


def _assume(given: CircuitCheckGiven, notes: Notes) -> None:
    notes.assume(
        "steady_readings",
        "The readings were steady for ten minutes at a known stage, without head-pressure control.",
        basis="common_practice",
        references=(PRACTICE.id,),
    )
    if given.altitude is UNSET and given.barometric_pressure is UNSET:
        notes.assume(
            "sea_level",
            say(
                "The site is at sea level: gauges read against {air}. At {height} that is wrong by about {error}.",
                air=AbsolutePressure.of(STANDARD_ATMOSPHERE / 1000, "kPa"),
                height=Length(1600.0, "m"),
                error=PressureDifference(18.0, "kPa"),
            ),
            value=Length(0, "m"),
            basis="default",
            references=(ASHRAE_ATMOSPHERE.id,),
        )
    if given.liquid_line_pressure is UNSET and given.liquid_line_pressure_absolute is UNSET:
        notes.assume(
            "no_condenser_pressure_drop",
            "The liquid line is at the discharge pressure. A drop in the condenser makes the true subcooling smaller.",
            value=TemperatureDifference(0, "delta_degC"),
            basis="common_practice",
            references=(PRACTICE.id,),
        )


def _full_load(given: CircuitCheckGiven) -> bool:
    """All compressors run; so too where it was not said how many do."""
    running, total = given.compressors_running, given.compressors_total
    return running is UNSET or total is UNSET or running == total


def _pattern(
    differences: dict[Quantity, float], liquid_ratio: float | None, expected: ExpectedGiven
) -> "dict[Quantity, Word]":
    pattern: dict[Quantity, Word] = {}
    for quantity, kelvins in differences.items():
        own = getattr(expected, quantity)
        if own is not UNSET:
            pattern[quantity] = word_of(kelvins, own[0].si, own[1].si)
        else:
            band = BANDS[quantity]
            pattern[quantity] = word_of(kelvins * DEGF_PER_KELVIN, band.low_below, band.high_above)
    if liquid_ratio is not None:
        band = BANDS["liquid_temperature_difference"]
        pattern["liquid_temperature_difference"] = word_of(liquid_ratio, band.low_below, band.high_above)
    return pattern


def _evidence(
    pattern: "dict[Quantity, Word]", differences: dict[Quantity, float], liquid_ratio: float | None
) -> dict[Quantity, str]:
    """Each quantity in words, for the reasons of the causes; none where no cause will be named."""
    if all(word == "normal" for word in pattern.values()):
        return {}
    evidence = {q: f"{_TITLES[q]} {pattern[q]}, {both_scales(kelvins)}" for q, kelvins in differences.items()}
    if liquid_ratio is not None:
        word = pattern["liquid_temperature_difference"]
        evidence["liquid_temperature_difference"] = f"liquid difference {word}, {liquid_ratio:.2f} of design"
    return evidence
