"""Pressure on the ground below a skid, feet, outriggers or a mat."""

from coldwright.contract import Load, Notes, calculator
from coldwright_site.ground.allowable import allowable_pressure
from coldwright_site.ground.contact import kilopascal, refuse_half_wind
from coldwright_site.ground.depth import pressure_at_depth
from coldwright_site.ground.examples import OUTRIGGERS, SKID
from coldwright_site.ground.findings import FINDINGS, judge_bearing, judge_level, judge_surroundings
from coldwright_site.ground.given import NEEDED, USED, GroundGiven
from coldwright_site.ground.mat import mat
from coldwright_site.ground.results import GroundResults
from coldwright_site.ground.skid import skid
from coldwright_site.ground.supports import feet, outrigger
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.fields import note_ignored, require
from coldwright_site.shared.references import CICA, DUERR, EN_1997_1, NP_112, OSHA_1926_1402, PRACTICE, STATICS

WAYS = {"skid": skid, "feet": feet, "outrigger": outrigger, "mat": mat}


@calculator(
    "site.ground",
    version="1.1.2",
    title="Pressure on the ground below a machine, a crane or a mat",
    references=(STATICS, DUERR, CICA, OSHA_1926_1402, EN_1997_1, NP_112, PRACTICE),
    tables=(tabulated.PRESUMPTIVE_BEARING, tabulated.PRESUMPTIVE_BEARING_EU),
    hazards=("lifting",),
    findings=FINDINGS,
    examples=(SKID, OUTRIGGERS),
    load=Load.HEAVY,
)
def ground(given: GroundGiven, notes: Notes) -> GroundResults:
    """Greatest pressure on the ground, the reactions of feet and outriggers, and the area that the ground asks for.

    Skid: a rigid base on soil that takes no tension, eccentric either way or both. Feet and outriggers: reactions of
    level elastic ground, and beside them the greatest that each foot can get when the machine rocks on three of its
    feet, from every corner of what equilibrium allows. Mat: Duerr's effective bearing length, shortened where the
    mat's strength or its own length asks for it. Presumptive bearing values hold for undisturbed soil at grade under
    static load; a pavement doesn't raise them.
    """
    notes.caution(*cautions.GROUND[given.rules])
    notes.assume(
        "rigid_base_static_load",
        "The base is rigid, the soil takes no tension, and the load is at rest.",
        basis="derived",
        references=("site_statics",),
    )
    allowable = allowable_pressure(given, notes)
    require(given, NEEDED[given.contact], f"with contact `{given.contact}`")
    refuse_half_wind(given)
    others = {name for names in USED.values() for name in names} - set(USED[given.contact])
    note_ignored(given, sorted(others), f"contact `{given.contact}`", notes)
    bearing = WAYS[given.contact](given, allowable, notes)
    judge_bearing(given, bearing, allowable, notes)
    results = dict(bearing.results)
    if bearing.greatest is not None:
        results["utilisation"] = bearing.greatest / allowable
        results["bearing_pressure_maximum"] = kilopascal(bearing.greatest)
    judge_surroundings(given, notes)
    return GroundResults(
        allowable_bearing_pressure=kilopascal(allowable),
        pressure_at_depth=pressure_at_depth(given, bearing, notes),
        level_ok=judge_level(given, notes),
        **results,
    )
