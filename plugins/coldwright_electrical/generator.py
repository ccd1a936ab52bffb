"""Size or check the generating set: power, starts, low load, harmonics and fuel."""

import math
from typing import Annotated, Literal, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Notes,
    Refused,
    Results,
    Text,
    about,
    calculator,
    field_error,
    load_table,
    refuse,
    tidy,
)
from coldwright.contract.quantities import ApparentPower, Current, Duration, FuelRate, Power, Volume
from coldwright_electrical import generator_findings as findings
from coldwright_electrical.cautions import GENERATOR
from coldwright_electrical.fuel import FUEL_CHART, LEAST_LOAD, curve_errors, fuel_rate, old_set_fuel_rate
from coldwright_electrical.generator_derating import ISO_3046_1, STANDARD_ATMOSPHERE, Derating, derating_of
from coldwright_electrical.generator_inputs import GeneratorGiven
from coldwright_electrical.generator_sets import (
    GeneratorCandidateResults,
    Judgement,
    LightLoadRemedyResults,
    Machine,
    assume_reactances,
    candidate_results,
    judge,
    light_load_remedies,
    machine_of,
    reactances_of,
    set_errors,
    show_dip,
)
from coldwright_electrical.generator_start import (
    CODE_LETTERS,
    STARTING_METHODS,
    Step,
    kva_for_dip,
    load_errors,
    running_power,
    steps_of,
)
from coldwright_electrical.practice import FREQUENCY_UNUSUAL, frequency_error, unusual_frequency
from coldwright_electrical.references import OSHA_FUEL_AND_EXHAUST, SAFE_WORK

DRIVE_SPECTRA = load_table("coldwright_electrical", "drive_spectra")


class GeneratorStepResults(Results, frozen=True, kw_only=True):
    """One step of the start."""

    start_order: Annotated[int, about("Its place in the order.")]
    load_ids: Annotated[tuple[Text, ...], about("Loads that start in it.")]
    starting_apparent_power: Annotated[ApparentPower, about("Power drawn at the start.")]
    starting_power_factor: Annotated[float, about("Power factor at the start.")]
    dip_subtransient_fraction: Annotated[float, about('Dip in the first cycle, by X"d.')] | UnsetType = UNSET
    dip_transient_fraction: Annotated[float, about("Dip over 0.1 to 0.5 s, by X'd.")] | UnsetType = UNSET


class GeneratorResults(Results, frozen=True, kw_only=True):
    """The load, each start, and the set."""

    running_active_power: Annotated[Power, about("Active power of everything running.")]
    running_apparent_power: Annotated[ApparentPower, about("Apparent power of everything running.")]
    running_power_factor: Annotated[float, about("Power factor of everything running.")]
    steps: Annotated[tuple[GeneratorStepResults, ...], about("The start, by rising order.")]
    worst_dip_fraction: Annotated[float, about("Greatest transient dip.")] | UnsetType = UNSET
    required_apparent_power_for_dip: Annotated[
        ApparentPower, about("Least rating whose worst dip is within the limit.")
    ]
    engine_factor: Annotated[float, about("Share of the engine that altitude and heat leave.")]
    alternator_factor: Annotated[float, about("Share of the alternator that altitude and heat leave.")]
    derated_active_power: Annotated[Power, about("Active power left.")] | UnsetType = UNSET
    derated_apparent_power: Annotated[ApparentPower, about("Apparent power left.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Running load over derated active power.")] | UnsetType = UNSET
    reduced_load_fraction: (
        Annotated[float, about("Running load x `load_factor` over derated active power.")] | UnsetType
    ) = UNSET
    load_bank_power: (
        Annotated[Power, about("Load to add so that the running load is the least share of the rating.")] | UnsetType
    ) = UNSET
    light_load_remedies: Annotated[
        tuple[LightLoadRemedyResults, ...], about("Ways out when the set is too big at low load; else empty.")
    ] = ()
    harmonic_voltage_fraction: (
        Annotated[float, about("Distortion of the voltage. Left out without a nonlinear load.")] | UnsetType
    ) = UNSET
    terminal_conductor_minimum_current: (
        Annotated[Current, about("Least ampacity from the set's terminals to the first device, `nec`.")] | UnsetType
    ) = UNSET
    fuel_rate: Annotated[FuelRate, about("Fuel burnt at running load x `load_factor`.")] | UnsetType = UNSET
    time_per_fill: Annotated[Duration, about("How long the usable part of a full tank lasts.")] | UnsetType = UNSET
    refuel_interval: (
        Annotated[Duration, about("The same less the reserve. Left out if nothing remains.")] | UnsetType
    ) = UNSET
    fuel_total: Annotated[Volume, about("Fuel over `run_duration`.")] | UnsetType = UNSET
    candidates: Annotated[
        tuple[GeneratorCandidateResults, ...], about("The sets offered, in the order of the input.")
    ] = ()
    smallest_candidate: (
        Annotated[int, about("Place in `candidate_sets`, from 0, of the smallest that holds.")] | UnsetType
    ) = UNSET
    verdict: Annotated[Literal["ok", "not_ok"], about("`not_ok` exactly when there is a `stop`.")]


@calculator(
    "electrical.generator",
    version="1.0.0",
    title="Generating set: power, starts, low load and fuel",
    references=(*SAFE_WORK, OSHA_FUEL_AND_EXHAUST, *findings.REFERENCES, ISO_3046_1, STANDARD_ATMOSPHERE),
    tables=(CODE_LETTERS, STARTING_METHODS, DRIVE_SPECTRA, FUEL_CHART),
    hazards=("electrical", "environment"),
    findings=findings.FINDINGS,
    examples=(
        Example(
            "two machines, one after the other",
            "Two invented machines on an invented 300 kVA set, with pumps already running.",
            {
                "practice": "nec",
                "system_voltage": {"value": 480, "unit": "V"},
                "frequency": {"value": 60, "unit": "Hz"},
                "loads": [
                    {
                        "load_id": "pump",
                        "running_current": {"value": 14, "unit": "A"},
                        "locked_rotor_current": {"value": 81, "unit": "A"},
                        "start_order": 1,
                    },
                    {
                        "load_id": "machine 1",
                        "running_current": {"value": 96, "unit": "A"},
                        "locked_rotor_current": {"value": 270, "unit": "A"},
                        "start_order": 2,
                    },
                    {
                        "load_id": "machine 2",
                        "running_current": {"value": 96, "unit": "A"},
                        "locked_rotor_current": {"value": 270, "unit": "A"},
                        "start_order": 3,
                    },
                ],
                "generator": {
                    "rated_active_power": {"value": 240, "unit": "kW"},
                    "rated_apparent_power": {"value": 300, "unit": "kVA"},
                    "subtransient_reactance": 0.13,
                    "transient_reactance": 0.19,
                },
                "load_factor": 0.6,
                "tank_volume": {"value": 1400, "unit": "L"},
                "run_duration": {"value": 14, "unit": "d"},
            },
        ),
        Example(
            "which set, and what at night",
            "An invented machine that starts hard, on a hot hill, and sets to choose from.",
            {
                "practice": "iec",
                "system_voltage": {"value": 400, "unit": "V"},
                "frequency": {"value": 50, "unit": "Hz"},
                "loads": [
                    {
                        "load_id": "machine",
                        "running_current": {"value": 150, "unit": "A"},
                        "locked_rotor_current": {"value": 780, "unit": "A"},
                        "starting_method": "part_winding",
                    },
                ],
                "altitude": {"value": 1400, "unit": "m"},
                "ambient_temperature": {"value": 43, "unit": "degC"},
                "candidate_sets": [
                    {
                        "rated_active_power": {"value": kw, "unit": "kW"},
                        "rated_apparent_power": {"value": kw / 0.8, "unit": "kVA"},
                        "transient_reactance": 0.2,
                    }
                    for kw in (120, 200, 320)
                ],
                "load_factor": 0.4,
            },
        ),
    ),
)
def generator(given: GeneratorGiven, notes: Notes) -> GeneratorResults:
    """Check a generating set against its loads, or choose the smallest of several.

    Running power is the sum of P and Q. Each step of the start dips the voltage to 1/|1 + X s (sin + j cos)| of its
    value before the regulator acts, with X"d in the first cycle and X'd while contactors decide. Altitude and heat
    take their share of engine and alternator. A set large enough to start the load is often too large for it at night:
    then the answer says which way out the numbers bear.
    """
    _refuse_contradictions(given)
    notes.caution(*GENERATOR)
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, why="Motors and sets are made for one.", field="/frequency")
    running = running_power(given.loads, given.system_voltage.value)
    _show_running(notes, running)
    steps = steps_of(given)
    derating = derating_of(given, notes)
    candidates = [judge(given, machine_of(c, derating), steps, running) for c in given.candidate_sets]
    smallest = _smallest(candidates)
    chosen = _chosen(given, notes, derating, steps, running, candidates, smallest)
    findings.judge_loads(given, notes)
    findings.judge_arrangement(given, notes)
    required = _required(given, notes, steps, chosen)
    about_set = _SetResults() if chosen is None else _about_set(given, notes, chosen, steps, running)
    stopped = any(f.severity == "stop" for f in notes.findings)
    return GeneratorResults(
        running_active_power=Power.of(running.real, "kW"),
        running_apparent_power=ApparentPower.of(abs(running), "kVA"),
        running_power_factor=tidy(running.real / abs(running)),
        steps=tuple(_step_results(step, chosen, index) for index, step in enumerate(steps)),
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


class _FuelResults(NamedTuple):
    rate: FuelRate | UnsetType = UNSET
    per_fill: Duration | UnsetType = UNSET
    interval: Duration | UnsetType = UNSET
    total: Volume | UnsetType = UNSET


class _SetResults(NamedTuple):
    """What only a set has."""

    load_bank: Power | UnsetType = UNSET
    remedies: tuple[LightLoadRemedyResults, ...] = ()
    distortion: float | UnsetType = UNSET
    terminal_current: Current | UnsetType = UNSET
    fuel: _FuelResults = _FuelResults()


def _refuse_contradictions(given: GeneratorGiven) -> None:
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    errors += load_errors(given)
    if not isinstance(given.generator, UnsetType):
        errors += set_errors(given.generator, "/generator")
    for index, candidate in enumerate(given.candidate_sets):
        errors += set_errors(candidate, f"/candidate_sets/{index}")
    errors += curve_errors(given.fuel_curve, "/fuel_curve")
    if given.minimum_load_fraction >= given.maximum_load_fraction:
        errors.append(
            field_error(
                "/minimum_load_fraction",
                "The least load is not below the greatest.",
                value=given.minimum_load_fraction,
                allowed=Allowed(below=given.maximum_load_fraction),
            )
        )
    if errors:
        raise Refused(errors)


def _show_running(notes: Notes, running: complex) -> None:
    notes.show("P", "running active power", "sum of n sqrt3 V I cos", running.real, "kW")
    notes.show("Q", "running reactive power", "sum of n sqrt3 V I sin", running.imag, "kvar")
    notes.show("S", "running apparent power", f"sqrt({running.real:.5g}^2 + {running.imag:.5g}^2)", abs(running), "kVA")


def _smallest(candidates: list[Judgement]) -> int | None:
    fit = [i for i, c in enumerate(candidates) if not c.reasons]
    return min(fit, key=lambda i: (candidates[i].machine.kva, candidates[i].machine.kw), default=None)


def _chosen(
    given: GeneratorGiven,
    notes: Notes,
    derating: Derating,
    steps: list[Step],
    running: complex,
    candidates: list[Judgement],
    smallest: int | None,
) -> Judgement | None:
    """The set that the results are about: the one given, else the smallest candidate that holds."""
    if candidates and smallest is None:
        notes.finding(
            "stop" if isinstance(given.generator, UnsetType) else "check",
            "no_candidate_holds",
            f"None of the {len(candidates)} sets offered carries and starts the load: the largest fails because "
            f"{'; '.join(max(candidates, key=lambda c: c.machine.kva).reasons)}.",
            resolve="A larger set, or gentler starts: `required_apparent_power_for_dip` says how large.",
            field="/candidate_sets",
        )
    if not isinstance(given.generator, UnsetType):
        return judge(given, machine_of(given.generator, derating), steps, running)
    if smallest is not None:
        machine = candidates[smallest].machine
        notes.assume(
            "set_chosen",
            f"The results are about the smallest set that holds, entry {smallest} of candidate_sets, {machine.kva:g} kVA.",
            value=smallest,
            basis="derived",
        )
        return candidates[smallest]
    if not candidates:
        notes.note("no_set_given", "No set was given: `required_apparent_power_for_dip` says what the starts need.")
    return None


def _required(given: GeneratorGiven, notes: Notes, steps: list[Step], chosen: Judgement | None) -> float:
    reactances = reactances_of(UNSET) if chosen is None else chosen.machine.reactances
    assume_reactances(notes, reactances)
    if chosen is not None and reactances.assumed:
        notes.check(
            "reactance_assumed",
            f"{' and '.join(reactances.assumed)} of the set are usual figures, not its own: dips may differ by half.",
            resolve="Ask for the alternator's data sheet.",
            field="/generator",
        )
    limit, x = given.dip_limit_fraction, reactances.transient
    worst = max(steps, key=lambda s: kva_for_dip(x, s.power, limit))
    required = kva_for_dip(x, worst.power, limit)
    short = worst.kva * x * (1 - limit) / limit
    notes.show(
        "S_d",
        f"rating whose dip is just {limit:g}; short form S X (1 - d)/d = {short:.4g} kVA",
        f"step {worst.order}: X = {x:g}, S = {worst.kva:.5g} kVA",
        required,
        "kVA",
    )
    return required


def _about_set(
    given: GeneratorGiven, notes: Notes, chosen: Judgement, steps: list[Step], running: complex
) -> _SetResults:
    machine = chosen.machine
    for step, dips in zip(steps, chosen.dips, strict=True):
        show_dip(notes, machine, step, dips)
    notes.show("P/P_d", "load fraction", f"{running.real:.5g} / {machine.derated_kw:.5g}", chosen.load_fraction)
    remedies: tuple[LightLoadRemedyResults, ...] = ()
    if chosen.reduced_load_fraction < given.minimum_load_fraction * (1 - 1e-9):
        remedies = light_load_remedies(given, machine, steps, running, running.real * given.load_factor)
    findings.judge_power(given, notes, chosen, running)
    findings.judge_dip(given, notes, chosen, steps)
    findings.judge_light_load(given, notes, chosen, remedies)
    distortion = _distortion(given, notes, machine)
    rated_current = machine.kva * 1000 / (math.sqrt(3) * given.system_voltage.value)
    return _SetResults(
        load_bank=Power.of(max(0.0, given.minimum_load_fraction * machine.kw - running.real), "kW"),
        remedies=remedies,
        distortion=UNSET if distortion is None else tidy(distortion),
        terminal_current=Current.of(1.15 * rated_current, "A") if given.practice == "nec" else UNSET,
        fuel=_fuel(given, notes, machine, running.real * given.load_factor),
    )


def _distortion(given: GeneratorGiven, notes: Notes, machine: Machine) -> float | None:
    """THD of the voltage: V_h = h X"d I_h, drives of one spectrum added without regard to angle."""
    by_order: dict[str, float] = {}
    rated = machine.kva * 1000 / (math.sqrt(3) * given.system_voltage.value)
    for load in given.loads:
        if load.nonlinear:
            share = load.quantity * load.running_current.to("A") / rated
            for order, part in DRIVE_SPECTRA.rows[load.input_filter].items():
                by_order[order] = by_order.get(order, 0.0) + part * share
    if not by_order:
        return None
    x = machine.reactances.subtransient
    distortion = math.sqrt(sum((int(order) * x * current) ** 2 for order, current in by_order.items()))
    terms = ", ".join(f"{order}: {int(order) * x * current:.4f}" for order, current in by_order.items())
    notes.show("THD_v", "distortion of the voltage", f'sqrt(sum (h X"d I_h)^2): {terms}', distortion)
    findings.judge_distortion(notes, distortion)
    return distortion


def _fuel(given: GeneratorGiven, notes: Notes, machine: Machine, low_kw: float) -> _FuelResults:
    load = low_kw / machine.kw
    if load < LEAST_LOAD and not isinstance(given.generator, UnsetType):
        raise refuse(
            "/load_factor" if given.load_factor < 1 else "/loads",
            f"The load would be {load:.3g} of the set's rating, outside the method.",
            value=tidy(load),
            allowed=Allowed(minimum=LEAST_LOAD),
            why="Fuel curves say nothing of an idling engine.",
        )
    rate = fuel_rate(machine.kw, load, given.fuel_curve)
    if rate is None:
        notes.check(
            "fuel_not_known",
            f"Neither a fuel curve nor the chart of typical sets reaches {machine.kw:g} kW at a load of {load:.3f}.",
            resolve="Give the set's own fuel_curve.",
            field="/fuel_curve",
            references=(FUEL_CHART.reference.id,),
        )
        return _FuelResults()
    notes.show(
        "q",
        f"fuel rate; an older line of small sets gives {old_set_fuel_rate(machine.kw, load):.4g} L/h",
        f"{low_kw:.5g} kW / {machine.kw:g} kW = {load:.4g} of the rating, on straight lines",
        rate,
        "L/h",
    )
    per_fill: Duration | UnsetType = UNSET
    interval: Duration | UnsetType = UNSET
    total: Volume | UnsetType = UNSET
    if not isinstance(given.run_duration, UnsetType):
        total = Volume.of(rate * given.run_duration.to("h"), "L")
    if not isinstance(given.tank_volume, UnsetType):
        hours = given.tank_volume.to("L") * given.usable_fraction / rate
        notes.show(
            "t",
            "time per fill",
            f"{given.tank_volume.to('L'):.5g} x {given.usable_fraction:g} / {rate:.5g}",
            hours,
            "h",
        )
        per_fill = Duration.of(hours, "h")
        left = hours - given.reserve_duration.to("h")
        if left > 0:
            interval = Duration.of(left, "h")
        else:
            notes.check(
                "tank_below_reserve",
                f"A full tank lasts {hours:.3g} h, no longer than the reserve of {given.reserve_duration}.",
                resolve="A larger tank, or a second one beside it.",
                field="/tank_volume",
            )
    return _FuelResults(FuelRate.of(rate, "L/h"), per_fill, interval, total)


def _step_results(step: Step, chosen: Judgement | None, index: int) -> GeneratorStepResults:
    dips = None if chosen is None else chosen.dips[index]
    return GeneratorStepResults(
        start_order=step.order,
        load_ids=step.load_ids,
        starting_apparent_power=ApparentPower.of(step.kva, "kVA"),
        starting_power_factor=tidy(step.power.real / step.kva),
        dip_subtransient_fraction=UNSET if dips is None else tidy(dips[0]),
        dip_transient_fraction=UNSET if dips is None else tidy(dips[1]),
    )
