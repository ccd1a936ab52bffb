"""The likely causes as they are answered, and the working."""

from msgspec import UNSET

from coldwright.contract import Notes, tidy
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.circuit_check.causes import CAUSES, Suspect
from coldwright_refrigeration.circuit_check.given import CircuitCheckGiven
from coldwright_refrigeration.circuit_check.readings import Readings
from coldwright_refrigeration.circuit_check.results import LikelyCause


def likely_causes(suspect: Suspect, readings: Readings) -> LikelyCause:
    """The likely causes with their evidence."""
    cause = CAUSES[suspect.cause]
    evidence = readings.evidence
    speaks_for = tuple(evidence[q] for q in suspect.speaks_for)
    speaks_against = tuple(evidence[q] for q in suspect.speaks_against)
    if suspect.cause == "non_condensables" and readings.air_found:
        speaks_for = (*speaks_for, "the standstill pressure is above that of the refrigerant")
    why = f"{cause.meaning} For it: {'; '.join(speaks_for) or 'nothing'}. Against it: {'; '.join(speaks_against) or 'nothing'}."
    return LikelyCause(
        cause=suspect.cause,
        score=tidy(suspect.score),
        why=why,
        evidence_for=speaks_for,
        evidence_against=speaks_against,
        next_check=cause.next_check,
    )


def show(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    """The working of the readings."""
    show = notes.show
    suction, discharge, liquid = r.suction_pressure / 1000, r.discharge_pressure / 1000, r.liquid_pressure / 1000
    for symbol, meaning, gauge, absolute, value in (
        ("p_s", "Suction pressure", given.suction_pressure, given.suction_pressure_absolute, suction),
        ("p_d", "Discharge pressure", given.discharge_pressure, given.discharge_pressure_absolute, discharge),
        ("p_l", "Pressure of the liquid line", given.liquid_line_pressure, given.liquid_line_pressure_absolute, liquid),
    ):
        expression = f"{gauge} + {r.air_pressure / 1000:.3f} kPa"
        if gauge is UNSET:
            expression = "as at the discharge = p_d" if absolute is UNSET else f"{absolute}"
        show(symbol, f"{meaning}, absolute", expression, value, "kPa")
    dew, bubble = r.suction_dew - ZERO_CELSIUS, r.liquid_bubble - ZERO_CELSIUS
    show("T_dew", "Dew point at the suction pressure", f"saturation table at {suction:.2f} kPa", dew, "degC")
    show("T_bub", "Bubble point at the liquid line", f"saturation table at {liquid:.2f} kPa", bubble, "degC")
    show("SH", "Superheat", f"{r.suction_line - ZERO_CELSIUS:.2f} - {dew:.2f}", r.superheat, "K")
    show("SC", "Subcooling", f"{bubble:.2f} - {r.liquid_line - ZERO_CELSIUS:.2f}", r.subcooling, "K")
    show(
        "CTOA",
        "Condensing temperature above the air",
        f"({r.condensing_bubble - ZERO_CELSIUS:.2f} + {r.condensing_dew - ZERO_CELSIUS:.2f})/2 - {r.air - ZERO_CELSIUS:.2f}",
        r.condensing_over_ambient,
        "K",
    )
    show("A", "Leaving liquid above the dew point", f"{r.leaving - ZERO_CELSIUS:.2f} - {dew:.2f}", r.approach, "K")
    show("r", "Compression ratio", f"{discharge:.2f} / {suction:.2f}", r.ratio)
    if r.discharge_superheat is not None and given.discharge_line_temperature is not UNSET:
        expression = f"{given.discharge_line_temperature.si - ZERO_CELSIUS:.2f} - {r.condensing_dew - ZERO_CELSIUS:.2f}"
        show("DSH", "Discharge superheat", expression, r.discharge_superheat, "K")
