"""The temporary cable between supply and machine: size, drop, longest run and pick list."""

from coldwright.contract import Notes, calculator
from coldwright_basis.ratings import OVERCURRENT_RATINGS
from coldwright_basis.voltages import VOLTAGE_PAIRS
from coldwright_electrical.feeder.ampacity import (
    AMBIENT_FACTORS,
    AMPACITY_IN_RACEWAY,
    AMPACITY_PORTABLE_CABLE,
    AMPACITY_RUBBER_CABLE,
    BUNDLING_FACTORS,
)
from coldwright_electrical.feeder.answer import results_of
from coldwright_electrical.feeder.assumptions import assume
from coldwright_electrical.feeder.cable import CONNECTOR_RATINGS, terms_of
from coldwright_electrical.feeder.choice import choose, demand_of
from coldwright_electrical.feeder.contradictions import refuse_contradictions
from coldwright_electrical.feeder.examples import EXAMPLES
from coldwright_electrical.feeder.findings import FINDINGS, judge
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.results import FeederResults
from coldwright_electrical.feeder.sums import sums_of
from coldwright_electrical.feeder.working import show_working
from coldwright_electrical.shared import references as ref
from coldwright_electrical.shared.impedance import IMPEDANCE_IN_RACEWAY, LINE_REACTANCE, RESISTANCE_FLEXIBLE_COPPER
from coldwright_electrical.shared.protection import EQUIPMENT_GROUND, PROTECTIVE_CONDUCTOR


@calculator(
    "electrical.feeder",
    version="1.1.5",
    title="Temporary feeder cable: size, voltage drop, longest run and pick list",
    references=(
        ref.NEC_240_4,
        ref.NEC_110_14,
        ref.NEC_310_10,
        ref.NEC_400_5,
        ref.NEC_250_122,
        ref.NEC_215_2,
        ref.UFC_3_520_01,
        ref.IEEE_141,
        ref.IEC_60364_5_52_DROP,
        ref.IEC_60364_4_43,
        ref.IEC_60445,
        ref.LINE_SPACING,
        ref.NEMA_MG_1,
        *ref.SAFE_WORK,
    ),
    tables=(
        OVERCURRENT_RATINGS,
        AMPACITY_IN_RACEWAY,
        AMPACITY_PORTABLE_CABLE,
        AMPACITY_RUBBER_CABLE,
        AMBIENT_FACTORS,
        BUNDLING_FACTORS,
        IMPEDANCE_IN_RACEWAY,
        RESISTANCE_FLEXIBLE_COPPER,
        LINE_REACTANCE,
        EQUIPMENT_GROUND,
        PROTECTIVE_CONDUCTOR,
        CONNECTOR_RATINGS,
        VOLTAGE_PAIRS,
    ),
    hazards=("electrical",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def feeder(given: FeederGiven, notes: Notes) -> FeederResults:
    """Choose or check copper cable of a three-phase feeder.

    Ampacity: table x ambient x bundling, at most the limits of touching conductors and of terminations (nec), times the
    sets. The device must protect the cable. Drop: sqrt(3) I (R cos + X sin) and the exact phasor form (IEEE 141); start
    as a constant impedance. The longest run is that at which an allowed drop is used up. Holds for 180 to 690 V, runs up
    to 600 m, copper, up to ten equal sets; sizes whose cells were not seen are refused, not interpolated.
    """
    refuse_contradictions(given)
    terms = terms_of(given)
    demand = demand_of(given, terms)
    choice = choose(given, terms, demand)
    sums = sums_of(given, demand, choice)
    assume(given, terms, demand, choice, notes)
    fine = judge(given, terms, demand, choice, sums, notes)
    show_working(given, terms, demand, choice, sums, notes)
    return results_of(given, terms, demand, choice, sums, fine)
