"""The cooling load: its parts, and their sum with what is to spare."""

from coldwright.contract import FieldError, Load, Notes, Refused, calculator
from coldwright_basis.constants import STANDARD_ATMOSPHERE
from coldwright_refrigeration.load.examples import EXAMPLES
from coldwright_refrigeration.load.findings import FINDINGS, note_site
from coldwright_refrigeration.load.found import Found, Place
from coldwright_refrigeration.load.given import LoadGiven
from coldwright_refrigeration.load.parts import coldest_liquid, part
from coldwright_refrigeration.load.results import LoadResults
from coldwright_refrigeration.load.sums import sum_up
from coldwright_refrigeration.load.tabulated import PEOPLE_TABLE, PRODUCTS_TABLE
from coldwright_refrigeration.shared import liquids, references
from coldwright_refrigeration.shared.cautions import PLANNING
from coldwright_refrigeration.shared.moist_air import site_pressure


@calculator(
    "refrigeration.load",
    version="1.1.3",
    title="Heat that the machines must remove",
    references=(
        references.PRACTICE,
        references.FIRST_PRINCIPLES,
        references.ASHRAE_PSYCHROMETRICS,
        references.ASHRAE_ATMOSPHERE,
        references.KERN,
        references.CHURCHILL_BERNSTEIN,
        references.PSYCHROLIB,
        references.COOLPROP,
        references.FLUIDS,
    ),
    tables=(PEOPLE_TABLE, PRODUCTS_TABLE),
    hazards=("general", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def load(given: LoadGiven, notes: Notes) -> LoadResults:
    """The heat to be removed, as a sum of parts that can each be followed.

    Parts: a liquid flow between two temperatures, a product cooled or frozen, a stirred batch in a jacket (Kern), air
    through a coil (moist air by PsychroLib), a room by rough estimate, a hose in air and sun, a pump, and known powers.
    The design load is the sum of each part times its diversity, plus the margin. An estimate is always marked as one.
    """
    notes.caution(*PLANNING)
    errors: list[FieldError] = []
    pressure = site_pressure(given.site.altitude, given.site.barometric_pressure, "/site")
    if isinstance(pressure, FieldError):
        errors.append(pressure)
        pressure = STANDARD_ATMOSPHERE
    try:
        liquids.check_liquid(given.fluid, "/fluid")
    except Refused as refused:
        raise Refused([*errors, *refused.errors]) from None
    note_site(given, notes)
    coldest = coldest_liquid(given)
    found: list[Found] = []
    for i, entry in enumerate(given.loads):
        place = Place(f"/loads/{i}", entry.name, given.fluid, pressure, coldest, notes)
        try:
            found.append(part(entry, place))
        except Refused as refused:
            errors += refused.errors
    if errors:
        raise Refused(errors)
    return sum_up(given, found, notes)
