"""Pressure surge on quick closing of a valve or trip of a pump."""

from coldwright.contract import Load, Notes, calculator
from coldwright_basis.liquids import check_fluid, properties
from coldwright_hydronic.shared.references import CAUTION_REFERENCES, FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES
from coldwright_hydronic.surge.answer import results_of
from coldwright_hydronic.surge.contradictions import refuse_boiling, refuse_segments, refuse_too_fast
from coldwright_hydronic.surge.examples import EXAMPLES
from coldwright_hydronic.surge.findings import FINDINGS, judge
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.liquid import bulk_modulus, gas_modulus, vapor_pressure_of
from coldwright_hydronic.surge.references import GLYCOL_BULK_MODULUS, ISO_6801, JOUKOWSKY, TM_5_813_9
from coldwright_hydronic.surge.results import SurgeResults
from coldwright_hydronic.surge.segments import event_of, velocities_of
from coldwright_hydronic.surge.working import show_working


@calculator(
    "hydronic.surge",
    version="1.2.0",
    title="Pressure surge on quick valve closing or pump trip",
    references=(
        *PROPERTY_REFERENCES,
        JOUKOWSKY,
        TM_5_813_9,
        ISO_6801,
        GLYCOL_BULK_MODULUS,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    hazards=("pressure", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def surge(given: SurgeGiven, notes: Notes) -> SurgeResults:
    """Rise, peak and trough of pressure at a valve that closes, or at a pump that trips, in a line of segments in series.

    Wave speed a = 1/sqrt(rho (1/K + chi + phi/K_g)), chi = c1 D/(E e) or expansion over pressure; the line by its travel
    time. Closed within 2 L/a: the full rise rho a dV of Joukowsky; slower: 2 rho sum(L V)/t of Michaud, never above it.
    Friction is left out. Gas spread as bubbles slows the wave, but pockets of air can raise the surge: the findings take
    no credit for gas. With unequal bores the rise is that of the greater of the first segment's velocity and the mean
    over the length.
    """
    check_fluid(given.fluid, needs=("density",))
    density = properties(given.fluid, needs=("density",)).density
    refuse_segments(given)
    modulus = bulk_modulus(given, density, notes)
    velocities = velocities_of(given)
    gas = gas_modulus(given)
    event = event_of(given, density, modulus, gas, velocities)
    gas_free = event_of(given, density, modulus, None, velocities) if gas is not None else event
    refuse_too_fast(given, event, modulus, density)
    vapor = vapor_pressure_of(given.fluid)
    refuse_boiling(given, vapor)
    show_working(given, notes, event, density, modulus)
    judge(given, notes, event, gas_free, vapor)
    return results_of(given, event, gas_free, vapor)
