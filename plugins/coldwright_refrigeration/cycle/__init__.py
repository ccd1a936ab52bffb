"""State points and figures of a one-stage vapour-compression cycle."""

from coldwright.contract import Load, Notes, calculator
from coldwright_refrigeration.cycle.answer import answer_of, show
from coldwright_refrigeration.cycle.examples import EXAMPLES
from coldwright_refrigeration.cycle.findings import FINDINGS, judge
from coldwright_refrigeration.cycle.given import CycleGiven
from coldwright_refrigeration.cycle.points import points_of
from coldwright_refrigeration.cycle.results import CycleResults
from coldwright_refrigeration.shared.cautions import LOCAL_RULES
from coldwright_refrigeration.shared.references import COOLPROP, FIRST_PRINCIPLES, PRACTICE
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS_TABLE
from coldwright_refrigeration.shared.saturation import SATURATION_TABLE


@calculator(
    "refrigeration.cycle",
    version="1.0.1",
    title="Vapour-compression cycle",
    references=(COOLPROP, FIRST_PRINCIPLES, PRACTICE),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE),
    hazards=("general",),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def cycle(given: CycleGiven, notes: Notes) -> CycleResults:
    """State points, efficiency and size of a one-stage vapour-compression cycle.

    Four points: 1 compressor inlet, 2 compressor outlet, 3 condenser outlet, 4 evaporator inlet, with h4 = h3 and
    h2 = h1 + (h2s - h1)/efficiency; cooling h1 - h4, work h2 - h1, heat rejected h2 - h3. Properties come from
    CoolProp 8.0.0 with the phase imposed, saturation from lines tabulated with it (within 0.001 K). For a blend,
    superheat counts from the dew point and subcooling from the bubble point. No pressure is lost in the evaporator
    and the suction line, and only as given in the condenser.

    Valid from -45 degC to 65 degC, for low-pressure refrigerants to 90 degC, below the critical point. The limits of
    discharge temperature and pressure ratio are common practice, no source.
    """
    points = points_of(given, notes)
    notes.caution(LOCAL_RULES)
    results = answer_of(given, points)
    show(points, results, notes)
    judge(given, points, notes)
    return results
