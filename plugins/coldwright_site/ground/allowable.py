"""What the ground bears."""

from msgspec import UNSET

from coldwright.contract import Notes, Refused, field_error, refuse, say
from coldwright.contract.quantities import Area, Force, PressureDifference
from coldwright_site.ground.contact import kilopascal
from coldwright_site.ground.given import GroundGiven
from coldwright_site.shared import tabulated


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
    row = next((r for r in tabulated.PRESUMPTIVE_BEARING.rows if r["soil_class"] == given.soil_class), None)
    if row is None:
        raise refuse(
            "/soil_class",
            "Mud, organic soil, peat and unprepared fill have no presumptive value.",
            value=given.soil_class,
            why="A competent person must say what it bears: `allowable_bearing_pressure`.",
        )
    value = Force.of(row["psf"], "lbf").si / Area.of(1, "ft2").si
    notes.show("q_a", f"Presumptive value of {row['meaning']}", f"{row['psf']} psf", value / 1000, "kPa")
    notes.assume(
        "presumptive_bearing",
        say(
            "The ground is undisturbed {meaning} at grade and bears {bearing:.1f}.",
            meaning=row["meaning"],
            bearing=PressureDifference.from_si(value, "kPa"),
        ),
        value=kilopascal(value),
        basis="standard",
        references=("ibc_1806_2",),
    )
    return value
