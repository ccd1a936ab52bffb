"""Lift of a machine by crane or by fork truck."""

from coldwright.contract import Load, Notes, calculator
from coldwright_site.lift.crane import by_crane
from coldwright_site.lift.examples import FOUR_LEGS, OFF_A_TRUCK
from coldwright_site.lift.findings import FINDINGS
from coldwright_site.lift.fork_truck import by_fork_truck
from coldwright_site.lift.given import CRANE_FIELDS, TRUCK_FIELDS, LiftGiven
from coldwright_site.lift.load import lifted_mass
from coldwright_site.lift.results import LiftResults
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.fields import note_ignored
from coldwright_site.shared.references import (
    ASME_B30_9,
    EN_13000,
    NAVY_RIGGING,
    OSHA_1910_178_APP_A,
    OSHA_1926_1424,
    OSHA_TRUCK_ETOOL,
    PRACTICE,
    SLING_TWO_LEGS,
    STATICS,
)


@calculator(
    "site.lift",
    version="1.2.0",
    title="Lift of a machine by crane or fork truck",
    references=(
        STATICS,
        SLING_TWO_LEGS,
        NAVY_RIGGING,
        ASME_B30_9,
        EN_13000,
        OSHA_1926_1424,
        OSHA_1910_178_APP_A,
        OSHA_TRUCK_ETOOL,
        PRACTICE,
    ),
    tables=(tabulated.LOAD_MASS_CONTINGENCY, tabulated.SHACKLE_SIDE_LOAD, tabulated.POWER_LINE_CLEARANCE),
    hazards=("lifting",),
    findings=FINDINGS,
    examples=(FOUR_LEGS, OFF_A_TRUCK),
    load=Load.HEAVY,
)
def lift(given: LiftGiven, notes: Notes) -> LiftResults:
    """Hook load, pull in each leg, stability and wind limit of a crane lift; capacity and stability of a fork truck.

    A crane's sling of one to four legs from one hook: unit vectors from pick to hook, and the least and greatest pull
    of each leg that hold the load, from every corner of what equilibrium allows. That is the exact form of
    "count on two legs of four", and the greatest pull of any leg is what gear is chosen by. Legs are taken to meet at
    one hook plumb over the centre of gravity, and not to stretch; the lugs' strength is the maker's data.

    A fork truck: the rating moved to the load's own centre, moments about the front axle beside it, and the margin
    against tipping forwards on a slope and in braking.
    """
    mass = lifted_mass(given, notes)
    if given.method == "crane":
        notes.caution(*cautions.CRANE)
        note_ignored(given, TRUCK_FIELDS, "a crane", notes)
        notes.assume(
            "rigid_load_on_one_hook",
            "The load is rigid, all legs meet at one hook that is plumb over the centre of gravity, and for the bounds "
            "they do not stretch. The strength of the lugs is the maker's data.",
            basis="derived",
            references=("site_statics",),
        )
        return by_crane(given, mass, notes)
    notes.caution(*cautions.FORK_TRUCK)
    note_ignored(given, CRANE_FIELDS, "a fork truck", notes)
    notes.assume(
        "truck_on_firm_ground",
        "The truck stands on firm ground, its mast upright, and tips as a whole about its front axle.",
        basis="derived",
        references=("site_statics",),
    )
    return by_fork_truck(given, mass, notes)
