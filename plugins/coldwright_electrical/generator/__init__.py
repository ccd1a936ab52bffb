"""Size or check the generating set: power, starts, low load, harmonics and fuel."""

from msgspec import UNSET

from coldwright.contract import Notes, calculator, tidy
from coldwright.contract.quantities import ApparentPower, Power
from coldwright_basis.motor_starting import CODE_LETTERS, STARTING_METHODS
from coldwright_electrical.generator import findings as findings
from coldwright_electrical.generator.answer import step_results
from coldwright_electrical.generator.chosen import SetFigures, figures_of
from coldwright_electrical.generator.contradictions import refuse_contradictions
from coldwright_electrical.generator.derating import ISO_3046_1, STANDARD_ATMOSPHERE, derating_of
from coldwright_electrical.generator.distortion import DRIVE_SPECTRA
from coldwright_electrical.generator.examples import EXAMPLES
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.results import GeneratorResults
from coldwright_electrical.generator.selection import required_for_dip, set_in_question, smallest_that_holds
from coldwright_electrical.generator.sets import candidate_results, judge, machine_of
from coldwright_electrical.generator.starting import running_power, show_running, steps_of
from coldwright_electrical.shared.cautions import with_generator
from coldwright_electrical.shared.fuel import FUEL_CHART
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency
from coldwright_electrical.shared.references import OSHA_FUEL_AND_EXHAUST, SAFE_WORK


@calculator(
    "electrical.generator",
    version="1.3.0",
    title="Generating set: power, starts, low load and fuel",
    references=(*SAFE_WORK, OSHA_FUEL_AND_EXHAUST, *findings.REFERENCES, ISO_3046_1, STANDARD_ATMOSPHERE),
    tables=(CODE_LETTERS, STARTING_METHODS, DRIVE_SPECTRA, FUEL_CHART),
    hazards=("electrical", "environment"),
    findings=findings.FINDINGS,
    examples=EXAMPLES,
)
def generator(given: GeneratorGiven, notes: Notes) -> GeneratorResults:
    """Check a generating set against its loads, or choose the smallest of several.

    Running power is the sum of P and Q. Each step of the start dips the voltage to 1/|1 + X s (sin + j cos)| of its
    value before the regulator acts, with X"d in the first cycle and X'd while contactors decide. Altitude and heat
    take their share of engine and alternator. A set large enough to start the load is often too large for it at night:
    then the answer lists the remedies and which of them work.
    """
    refuse_contradictions(given)
    notes.caution(*with_generator(given.practice))
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, why="Motors and sets are made for one.", field="/frequency")
    running = running_power(given.loads, given.system_voltage.value)
    show_running(notes, running)
    steps = steps_of(given)
    derating = derating_of(given, notes)
    candidates = [judge(given, machine_of(c, derating), steps, running) for c in given.candidate_sets]
    smallest = smallest_that_holds(candidates)
    chosen = set_in_question(given, notes, derating, steps, running, candidates, smallest)
    findings.judge_loads(given, notes)
    findings.judge_arrangement(given, notes)
    required = required_for_dip(given, notes, steps, chosen)
    about_set = SetFigures() if chosen is None else figures_of(given, notes, chosen, steps, running)
    stopped = any(f.severity == "stop" for f in notes.findings)
    return GeneratorResults(
        running_active_power=Power.of(running.real, "kW"),
        running_apparent_power=ApparentPower.of(abs(running), "kVA"),
        running_power_factor=tidy(running.real / abs(running)),
        steps=tuple(step_results(step, chosen, index) for index, step in enumerate(steps)),
        worst_dip_fraction=UNSET if chosen is None else tidy(chosen.worst_dip),
        required_apparent_power_for_dip=ApparentPower.of(required, "kVA"),
        engine_factor=tidy(derating.engine),
        alternator_factor=tidy(derating.alternator),
        derated_active_power=UNSET if chosen is None else Power.of(chosen.machine.derated_kw, "kW"),
        derated_apparent_power=UNSET if chosen is None else ApparentPower.of(chosen.machine.derated_kva, "kVA"),
        load_fraction=UNSET if chosen is None else tidy(chosen.load_fraction),
        reduced_load_fraction=UNSET if chosen is None else tidy(chosen.reduced_load_fraction),
        load_bank_power=about_set.load_bank,
        light_load_remedies=about_set.remedies,
        harmonic_voltage_fraction=about_set.distortion,
        terminal_conductor_minimum_current=about_set.terminal_current,
        fuel_rate=about_set.fuel.rate,
        time_per_fill=about_set.fuel.per_fill,
        refuel_interval=about_set.fuel.interval,
        fuel_total=about_set.fuel.total,
        candidates=tuple(candidate_results(given, c) for c in candidates),
        smallest_candidate=UNSET if smallest is None else smallest,
        verdict="not_ok" if stopped else "ok",
    )
