"""A refrigerant charge against the space it could fill, and the duties that come with it."""

from coldwright.contract import Notes, calculator
from coldwright_refrigeration.refrigerant_safety.answer import answer_of, assume
from coldwright_refrigeration.refrigerant_safety.duties import (
    INTERVALS_TABLE,
    LEAK_RATES_TABLE,
    RECOVERY_TABLE,
    duties_of,
    refuse_contradictions,
)
from coldwright_refrigeration.refrigerant_safety.examples import EXAMPLES
from coldwright_refrigeration.refrigerant_safety.findings import FINDINGS, judge_placement, judge_relief
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.refrigerant_safety.placement import placement_of
from coldwright_refrigeration.refrigerant_safety.results import RefrigerantSafetyResults
from coldwright_refrigeration.shared.cautions import FANS_START, LOCAL_RULES, REFRIGERANT_RELEASE, RELIEF_DISCHARGE
from coldwright_refrigeration.shared.references import ASHRAE_34, IEC_60335_2_40, SAFETY
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS, LIMITS_TABLE, flammable_cautions
from coldwright_refrigeration.shared.saturation import SATURATION_TABLE


@calculator(
    "refrigeration.refrigerant_safety",
    version="1.0.1",
    title="Refrigerant charge, space and duties",
    references=(ASHRAE_34, IEC_60335_2_40, *SAFETY),
    tables=(LIMITS_TABLE, LEAK_RATES_TABLE, INTERVALS_TABLE, RECOVERY_TABLE, SATURATION_TABLE),
    hazards=("refrigerant", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def refrigerant_safety(given: RefrigerantSafetyGiven, notes: Notes) -> RefrigerantSafetyResults:
    """Could a leak harm people in the space, and which duties come with the charge?

    All of the largest independent circuit's charge in the smallest space that it can fill is compared with the
    concentration limit of ASHRAE 34 and, for flammable refrigerants, against a quarter of the lower flammability limit
    (ASHRAE 15). The leak rate is annualised: added over full charge, times 365 over the days since the addition before
    (at most 365). CO2 equivalent is charge times the warming potential of the Fourth Assessment Report.

    Limits are shown with how they were seen; those from memory must be confirmed before a placement rests on them. The
    room's own rules (occupancy, ventilation, connected spaces) belong to the local code and the authority.
    """
    when = refuse_contradictions(given)
    limits = LIMITS[given.refrigerant]
    largest = max(c.charge.si for c in given.circuits)
    notes.caution(
        LOCAL_RULES, REFRIGERANT_RELEASE, RELIEF_DISCHARGE, FANS_START, *flammable_cautions(given.refrigerant)
    )
    assume(given, notes)
    placement = placement_of(given, limits, largest, notes)
    judge_placement(given, limits, placement, notes)
    judge_relief(given, notes)
    duties = duties_of(given, limits, when, notes)
    return answer_of(limits.safety_group, largest, placement, duties)  # type: ignore[arg-type]
