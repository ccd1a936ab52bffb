"""Whether the air will leave a loop, where it stays, and whether the purge is done."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Load, Notes, calculator, tidy
from coldwright.contract.quantities import GaugePressure, Volume
from coldwright_basis.liquids import check_fluid
from coldwright_hydronic.air_removal.clearing import clearing_of
from coldwright_hydronic.air_removal.contradictions import refuse_contradictions
from coldwright_hydronic.air_removal.dissolved_air import AIR_SOLUBILITY, dissolved_and_released
from coldwright_hydronic.air_removal.examples import EXAMPLES
from coldwright_hydronic.air_removal.findings import FINDINGS, judge
from coldwright_hydronic.air_removal.given import AirRemovalGiven
from coldwright_hydronic.air_removal.references import CLEARING, LEAST_VELOCITY
from coldwright_hydronic.air_removal.results import AirRemovalResults
from coldwright_hydronic.air_removal.steps import STEPS
from coldwright_hydronic.air_removal.trapped_air import top_pressure, trapped_air
from coldwright_hydronic.shared.references import CAUTION_REFERENCES, FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES
from coldwright_hydronic.shared.second_opinion import second_opinion


@calculator(
    "hydronic.air_removal",
    version="1.1.2",
    title="Air in a loop: where it stays, and whether the purge is done",
    references=(*PROPERTY_REFERENCES, CLEARING, LEAST_VELOCITY, FIRST_PRINCIPLES, PRACTICE, *CAUTION_REFERENCES),
    tables=(AIR_SOLUBILITY,),
    hazards=("pressure", "chemical", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def air_removal(given: AirRemovalGiven, notes: Notes) -> AirRemovalResults:
    """Whether flow drives air down each falling line, how much air comes out of solution, and how much is still trapped.

    Clearing velocity sqrt(g D) (0.825 + 0.25 sqrt(sin slope)), and not under 0.6 m/s. Dissolved air by Henry's law for
    nitrogen, oxygen and argon in water, 0 to 60 degC, below 10 bar. Trapped air by Boyle's law from a top-up:
    dV/(1 - P1/P2), absolute pressures. The top by the column of liquid above the gauge.
    """
    check_fluid(given.fluid, needs=("density",) if given.high_point_elevation is not UNSET else ())
    refuse_contradictions(given)
    lines = tuple(clearing_of(line, i, notes) for i, line in enumerate(given.lines))
    at_fill, at_operation, released = dissolved_and_released(given, notes)
    top = top_pressure(given, notes)
    trapped = trapped_air(given, notes)
    loop = given.loop_volume
    makeup: Volume | UnsetType = UNSET
    if trapped is not None and loop is not UNSET:
        makeup = Volume.from_si(trapped + given.flush_volumes * loop.si, "L")
        notes.show("V_m", "make-up", f"trapped air + {given.flush_volumes:g} x {loop}", makeup)
    judge(given, notes, top, trapped)
    held = UNSET if trapped is None else Volume.from_si(trapped, "L")
    return AirRemovalResults(
        second_opinion=second_opinion(given.fluid),
        lines=lines,
        dissolved_air_at_fill=UNSET if at_fill is None else tidy(at_fill),
        dissolved_air_at_operation=UNSET if at_operation is None else tidy(at_operation),
        released_air_volume=UNSET if released is None else Volume.from_si(released, "L"),
        top_pressure_pump_off=UNSET if top is None else GaugePressure.from_si(top, "kPa"),
        trapped_air_volume=held,
        trapped_air_fraction=UNSET if trapped is None or loop is UNSET else tidy(trapped / loop.si),
        top_up_volume=held,
        makeup_volume=makeup,
        steps=STEPS,
    )
