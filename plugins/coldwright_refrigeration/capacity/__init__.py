"""What one machine cools, and draws, where conditions are not those of its rating."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator
from coldwright_refrigeration.capacity.answer import answer_of
from coldwright_refrigeration.capacity.contradictions import refuse_contradictions
from coldwright_refrigeration.capacity.corrections import penalties
from coldwright_refrigeration.capacity.examples import EXAMPLES
from coldwright_refrigeration.capacity.findings import FINDINGS, note_voltage
from coldwright_refrigeration.capacity.given import CapacityGiven
from coldwright_refrigeration.capacity.rated_at import of_point, of_table
from coldwright_refrigeration.capacity.rating import by_estimate, by_table
from coldwright_refrigeration.capacity.results import CapacityResults
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import PLANNING
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS_TABLE
from coldwright_refrigeration.shared.saturation import SATURATION_TABLE


@calculator(
    "refrigeration.capacity",
    version="1.1.5",
    title="Capacity and power of a machine at other conditions than rated",
    references=(
        references.PRACTICE,
        references.FIRST_PRINCIPLES,
        references.AHRI_550_590_2015,
        references.AHRI_FOULING,
        references.EN_14511,
        references.ASHRAE_ATMOSPHERE,
        references.NEMA_MG1,
        references.COOLPROP,
        references.PSYCHROLIB,
    ),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE),
    hazards=("general", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def capacity(given: CapacityGiven, notes: Notes) -> CapacityResults:
    """Capacity and electric power of one air-cooled machine at the conditions of the site.

    With a rating table the figures are interpolated linearly in both temperatures. Altitude, soiled coils, recirculated
    air and fouling become an equivalent shift of one of the two temperatures, and the table is read there. A point,
    or a
    shifted point, outside the table is refused: nothing is extrapolated. Correction tables of the machine come first.

    Without a table a vapour-compression cycle is fitted through one rated point: swept volume, compressor efficiency
    and
    the two heat exchangers. That is an estimate, valid within 15 K of the rated air and 8 K of the rated leaving liquid
    temperature, and says how uncertain it is.
    """
    notes.caution(*PLANNING)
    refuse_contradictions(given)
    note_voltage(given, notes)
    machine = given.machine
    if machine.rating_table is not UNSET:
        if machine.rated_point is not UNSET:
            notes.note(
                "rated_point_not_used",
                "A rating table and a rated point were given: the table is used, the point is not.",
                field="/machine/rated_point",
            )
        rated_at = of_table(machine.rating_table.basis, notes)
        found = penalties(given, rated_at, notes)
        rating = by_table(given, machine.rating_table, rated_at, found, notes)
        fans = machine.rating_table.basis.power_includes_fans
    else:
        assert not isinstance(machine.rated_point, type(UNSET))  # noqa: S101 - one of the two is there: see refuse_contradictions
        found = penalties(given, of_point(machine.rated_point), notes)
        rating = by_estimate(given, machine.rated_point, found, notes)
        fans = machine.rated_point.power_includes_fans
    if not fans:
        notes.note(
            "power_excludes_fans", "The rating's power leaves out the condenser fans, and so does this answer's."
        )
    return answer_of(given, found, rating, notes)
