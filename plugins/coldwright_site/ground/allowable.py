"""What the ground bears."""

from msgspec import UNSET

from coldwright.contract import Notes, Refused, field_error, refuse, say
from coldwright.contract.quantities import Area, Force, Length, PressureDifference
from coldwright_basis.compare import below
from coldwright_site.ground.contact import kilopascal
from coldwright_site.ground.given import GroundGiven
from coldwright_site.shared import tabulated

LEAST_BASE = 1.0
"""m, from which on the European values hold (from memory)."""


def allowable_pressure(given: GroundGiven, notes: Notes) -> float:
    """What the ground bears (Pa): a person's figure, or the presumptive one of the class."""
    if given.allowable_bearing_pressure is not UNSET:
        if given.soil_class not in (UNSET, "unprepared"):
            raise refuse(
                "/soil_class",
                "Give the class of soil or the allowable pressure, not both.",
                value=given.soil_class,
                why="They would have to be weighed against each other by a person.",
            )
        return given.allowable_bearing_pressure.si
    if given.soil_class is UNSET:
        text = "Give `soil_class` or `allowable_bearing_pressure`."
        raise Refused([field_error("/allowable_bearing_pressure", text, code="missing")])
    table = tabulated.PRESUMPTIVE_BEARING if given.rules == "us" else tabulated.PRESUMPTIVE_BEARING_EU
    row = next((r for r in table.rows if r["soil_class"] == given.soil_class), None)
    if row is None:
        raise refuse(
            "/soil_class",
            "Mud, organic soil, peat and unprepared fill have no presumptive value.",
            value=given.soil_class,
            why="A competent person must say what it bears: `allowable_bearing_pressure`.",
        )
    if given.rules == "us":
        value, text, source = Force.of(row["psf"], "lbf").si / Area.of(1, "ft2").si, f"{row['psf']} psf", "ibc_1806_2"
    else:
        value, text, source = PressureDifference.of(row["kpa"], "kPa").si, f"{row['kpa']} kPa", row["source"]
        _warn_of_narrow_base(given, notes)
    notes.show("q_a", f"Presumptive value of {row['meaning']}", text, value / 1000, "kPa")
    notes.assume(
        "presumptive_bearing",
        say(
            "The ground is undisturbed {meaning} at grade and bears {bearing:.1f}.",
            meaning=row["meaning"],
            bearing=PressureDifference.from_si(value, "kPa"),
        ),
        value=kilopascal(value),
        basis="standard",
        references=(source,) if given.rules == "us" else (source, "en_1997_1"),
    )
    return value


def _warn_of_narrow_base(given: GroundGiven, notes: Notes) -> None:
    """On sand and gravel a narrow base bears less, in step with its width."""
    width = given.contact_width
    if given.soil_class not in ("sand", "gravel") or width is UNSET or not below(width.to("m"), LEAST_BASE):
        return
    notes.note(
        "narrow_base",
        say(
            "The base is {width:.2f} wide; the value of {soil} holds from {least:.0f} on.",
            width=width,
            soil=given.soil_class,
            least=Length(LEAST_BASE, "m"),
        ),
        why="Sand and gravel bear less below a narrow strip.",
        resolve="Spread the load by mats or plates, or have a competent person state what the ground bears.",
        field="/contact_width",
        references=("bs_8004_1986",),
    )
