"""From the truck (lorry) at the gate to cold water: steps, critical path, crew."""

from math import floor
from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Load, Notes, Refused, Results, about, calculator, field_error, finding, say
from coldwright.contract.quantities import Duration
from coldwright.contract.sentences import Words
from coldwright_basis.instants import NANO, duration, instant, show, span, stamp
from coldwright_readiness.procedure.contradictions import refuse_contradictions, refuse_durations
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.configuration import note_usual_values, warm_up_span
from coldwright_readiness.shared.own_durations import LONGEST_STEP, for_machines
from coldwright_readiness.shared.pull_down import pull_down_seconds
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    ELECTRICAL_SAFETY,
    FLUID_DATA,
    HEAT_BALANCE,
    HIGH_POINT,
    INSULATION,
    LOCKOUT,
    MOTOR_SUPPLY,
    SCHEDULING,
)
from coldwright_readiness.shared.schedule import (
    Assignment,
    Timing,
    crew_schedule,
    critical_path,
    parallel_groups,
    timings,
)
from coldwright_readiness.shared.step_report import ProcedureStep, described
from coldwright_readiness.shared.steps import (
    PROCEDURE_EXTRAS,
    PROCEDURE_STEPS,
    RESET_EVENTS,
    SECOND_START_STEPS,
    Step,
    mixture_words,
    procedure_steps,
    with_durations,
)

CLEAN_BASKET = Duration(10.0, "min")
"""To empty the hoses, clean the strainer's basket and set the valves again after flushing (common practice)."""


WHOLE_HOURS = 10
"""Above them an interval is said in whole hours, never longer than it is."""


class ScheduledStep(Results, frozen=True, kw_only=True):
    """One step in somebody's hands."""

    id: Annotated[str, about("The step.")]
    person: Annotated[str, about("Who does it; absent for time that passes by itself.")] | UnsetType = UNSET
    start: Annotated[Duration, about("Start after arrival.")]
    finish: Annotated[Duration, about("Finish after arrival.")]


class CrewSchedule(Results, frozen=True, kw_only=True):
    """The same steps with the people there are."""

    steps: Annotated[tuple[ScheduledStep, ...], about("By start and id.")]
    time_to_first_compressor: (
        Annotated[Duration, about("Start of the first compressor; absent where a role is missing.")] | UnsetType
    ) = UNSET
    time_to_cold_water: Annotated[Duration, about("Cold water; absent where a role is missing.")] | UnsetType = UNSET


class ProcedureResults(Results, frozen=True, kw_only=True):
    """The plan."""

    steps: Annotated[tuple[ProcedureStep, ...], about("Steps in the order of the table.")]
    step_count: Annotated[int, about("Number of steps.")]
    critical_path: Annotated[tuple[str, ...], about("Steps whose delay delays cold water, by earliest start.")]
    parallel_groups: Annotated[tuple[tuple[str, ...], ...], about("Steps that run at the same time, in order of time.")]
    time_to_first_compressor: Annotated[Duration, about("Earliest start of the first compressor.")]
    time_to_cold_water: Annotated[Duration, about("Earliest cold water.")]
    warm_up_slack: Annotated[Duration, about("Delay of the oil heat that cold water forgives.")]
    crew_schedule: Annotated[CrewSchedule, about("With the people there are; absent without `crew`.")] | UnsetType = (
        UNSET
    )
    first_compressor_at: Annotated[str, stamp("First compressor, from `arrival_at`.")] | UnsetType = UNSET
    cold_water_at: Annotated[str, stamp("Cold water, from `arrival_at`.")] | UnsetType = UNSET


@calculator(
    "readiness.procedure",
    version="1.11.1",
    title="Steps from arrival to cold water, their critical path and the crew's plan",
    references=(
        SCHEDULING,
        COMMON_PRACTICE,
        HEAT_BALANCE,
        FLUID_DATA,
        DEENERGISE,
        ELECTRICAL_SAFETY,
        HIGH_POINT,
        INSULATION,
        LOCKOUT,
        MOTOR_SUPPLY,
    ),
    tables=(PROCEDURE_STEPS, PROCEDURE_EXTRAS, SECOND_START_STEPS, RESET_EVENTS),
    hazards=("electrical", "lifting", "pressure", "rotating", "thermal", "chemical"),
    load=Load.HEAVY,
    findings=(
        finding("fill_is_critical", "note", "Filling the loop decides when there is cold water."),
        finding("warm_up_is_critical", "note", "Warming the oil decides when there is cold water."),
        finding("role_without_person", "stop", "Nobody of the crew may do steps of this role."),
        finding("generator_starting_current", "check", "The generator must also start the machine's pump."),
        finding("input_not_used", "note", "A field that this set-up does not use."),
    ),
    examples=(
        Example(
            "Crane, site supply, three people",
            "Invented: a machine with two compressors and its own pump on water, set down by crane.",
            {
                "configuration": {
                    "supply_source": "site",
                    "pump_mode": "own_pump",
                    "fluid_kind": "water",
                    "compressors": 2,
                },
                "fill_duration": {"value": 30, "unit": "min"},
                "pull_down_duration": {"value": 30, "unit": "min"},
                "crew": [
                    {"id": "e1", "roles": ["electrician"]},
                    {"id": "t1", "roles": ["technician"]},
                    {"id": "l1", "roles": ["lift_team"]},
                ],
                "arrival_at": "2026-05-04T07:00:00Z",
            },
        ),
        Example(
            "Generator, glycol, time to cold water worked out",
            "Invented: the loop is filled through a hose of known flow, and the pull-down follows from a heat balance.",
            {
                "configuration": {
                    "supply_source": "generator",
                    "pump_mode": "own_pump",
                    "fluid_kind": "propylene_glycol",
                    "compressors": 2,
                    "circuits": 2,
                    "lifted_by": "fork_truck",
                },
                "loop_volume": {"value": 4, "unit": "m3"},
                "fill_flow": {"value": 2, "unit": "L/s"},
                "antifreeze_duration": {"value": 30, "unit": "min"},
                "pull_down": {
                    "mass_fraction": 0.3,
                    "leaving_temperature": {"value": 24, "unit": "degC"},
                    "set_point": {"value": 2, "unit": "degC"},
                    "compressors": [
                        {"id": "1", "capacity": {"value": 110, "unit": "kW"}},
                        {"id": "2", "capacity": {"value": 110, "unit": "kW"}},
                    ],
                    "loop_volume": {"value": 4, "unit": "m3"},
                    "load": {"value": 40, "unit": "kW"},
                },
            },
        ),
    ),
)
def procedure(given: ProcedureGiven, notes: Notes) -> ProcedureResults:
    """Turn a set-up into steps, the shortest time to cold water, and a plan for the crew.

    The steps form a graph without cycles. Earliest times come from a forward pass (start = latest finish of what comes
    before), slack from a backward pass from cold water. The crew's plan gives each ready step, longest remaining path
    first, to the free person with the role and the fewest other roles. Minutes are common practice; give your own in
    `step_durations`. The oil warms for one unbroken time that no duration can shorten.
    In `pull_down` compressors start one after the other, `anti_recycle` apart, and cool from their start on.
    """
    refuse_contradictions(given)
    liquid = mixture_words(given.concentrate_volume, given.water_volume)
    steps = procedure_steps(given.configuration, _lasting(given), liquid, _extras(given))
    refuse_durations(given, steps)
    steps = with_durations(for_machines(steps, given.machines), {i: span(d) for i, d in given.step_durations.items()})
    timing = timings(steps, "cold_water")
    path = critical_path(timing)
    _note(given, steps, path, notes)
    _show(steps, timing, notes)
    first, cold = timing["start_first_compressor"].start, timing["cold_water"].finish
    arrival = UNSET if given.arrival_at is UNSET else instant(given.arrival_at)
    return ProcedureResults(
        steps=tuple(described(s, timing[s.id]) for s in steps),
        step_count=len(steps),
        critical_path=tuple(path),
        parallel_groups=tuple(tuple(g) for g in parallel_groups(timing)),
        time_to_first_compressor=duration(first),
        time_to_cold_water=duration(cold),
        warm_up_slack=duration(timing["oil_warm_up"].slack or 0),
        crew_schedule=_with_crew(given, steps, notes),
        first_compressor_at=UNSET if arrival is UNSET else show(arrival + first),
        cold_water_at=UNSET if arrival is UNSET else show(arrival + cold),
    )


def _extras(given: ProcedureGiven) -> dict[str, Words]:
    """What is asked for beside the usual steps, in words; nothing at a second start."""
    if given.configuration.second_start:
        return {}
    asked: dict[str, Words] = {"set_brought": "brought"} if given.generator_brought else {}
    if given.load_bank_power is not UNSET:
        asked["load_bank"] = say("{power:.0f}", power=given.load_bank_power.as_unit("kW"))
    if given.refuel_interval is not UNSET:
        hours = given.refuel_interval.to("h")
        asked["refuelling"] = f"{floor(hours) if hours > WHOLE_HOURS else floor(10 * hours) / 10:g} h"
    if given.flush_volume is not UNSET:
        asked["flushing"] = say("{water:.0f}", water=given.flush_volume.as_unit("L"))
    return asked


def _lasting(given: ProcedureGiven) -> dict[str, int]:
    """Nanoseconds of the steps whose time is an input."""
    c = given.configuration
    filling = 0
    if c.second_start:
        pass  # it is filled already
    elif given.fill_duration is not UNSET:
        filling = span(given.fill_duration)
    elif given.loop_volume is not UNSET and given.fill_flow is not UNSET:
        through_the_hose = given.loop_volume if given.water_volume is UNSET else given.water_volume
        seconds = through_the_hose.si / given.fill_flow.si
        if seconds > LONGEST_STEP.si:
            text = f"Filling would take {seconds / 86400:.4g} d; a step takes at most 30 d."
            raise Refused([field_error("/fill_flow", text, value=given.fill_flow)])
        filling = round(seconds * NANO)
    flushing = 0
    if given.flush_volume is not UNSET and given.fill_flow is not UNSET and not c.second_start:
        seconds = given.flush_volume.si / given.fill_flow.si + CLEAN_BASKET.si
        if seconds > LONGEST_STEP.si:
            text = f"Flushing would take {seconds / 86400:.4g} d; a step takes at most 30 d."
            raise Refused([field_error("/flush_volume", text, value=given.flush_volume)])
        flushing = round(seconds * NANO)
    if given.pull_down is not UNSET:
        seconds = pull_down_seconds(given.pull_down, c.fluid_kind, "/pull_down", span(c.anti_recycle) / NANO)
        if seconds > LONGEST_STEP.si:
            text = f"The pull-down would take {seconds / 86400:.4g} d; a step takes at most 30 d."
            raise Refused([field_error("/pull_down", text)])
        pull_down = round(seconds * NANO)
    else:
        pull_down = 0 if given.pull_down_duration is UNSET else span(given.pull_down_duration)
    return {
        "warm_up_duration": warm_up_span(c),
        "filling": filling,
        "flushing": flushing,
        "antifreeze_duration": 0 if given.antifreeze_duration is UNSET else span(given.antifreeze_duration),
        "staging": span(c.anti_recycle) * (c.compressors - 1),
        "pull_down": pull_down,
    }


def _with_crew(given: ProcedureGiven, steps: tuple[Step, ...], notes: Notes) -> CrewSchedule | UnsetType:
    if not given.crew:
        return UNSET
    crew = [(person.id, frozenset(person.roles)) for person in given.crew]
    able = frozenset[str]().union(*(roles for _, roles in crew))
    lacking = sorted({s.role for s in steps} - able - {"none"})
    for role in lacking:
        waiting = [s.id for s in steps if s.role == role]
        notes.stop(
            "role_without_person",
            f"Nobody of the crew is {role}: {', '.join(waiting)} cannot be done.",
            resolve=f"Bring a person with the role {role}.",
            field="/crew",
        )
    plan = crew_schedule(steps, crew)
    by_step = {a.step: a for a in plan}
    return CrewSchedule(
        steps=tuple(_scheduled(a) for a in plan),
        time_to_first_compressor=UNSET if lacking else duration(by_step["start_first_compressor"].start),
        time_to_cold_water=UNSET if lacking else duration(by_step["cold_water"].finish),
    )


def _scheduled(a: Assignment) -> ScheduledStep:
    person = UNSET if a.person is None else a.person
    return ScheduledStep(id=a.step, person=person, start=duration(a.start), finish=duration(a.finish))


def _note(given: ProcedureGiven, steps: tuple[Step, ...], path: list[str], notes: Notes) -> None:
    c = given.configuration
    notes.caution(*cautions.PROCEDURE)
    note_usual_values(c, notes, voltage=True)
    notes.assume(
        "usual_minutes",
        "Steps without a duration of yours take the minutes of common practice, which nobody measured.",
        basis="common_practice",
        references=(COMMON_PRACTICE.id,),
    )
    notes.assume(
        "unlimited_hands",
        "The critical path and its times suppose hands enough for everything that can be done at the same time.",
        basis="derived",
        references=(SCHEDULING.id,),
    )
    notes.assume(
        "services_set_out", "The site's power and water are at hand where the plan wants them.", basis="default"
    )
    if "fill_loop" in path:
        notes.note(
            "fill_is_critical",
            say("Filling, {duration_of}, is on the critical path.", duration_of=_duration_of(steps, "fill_loop")),
            resolve="A second fill hose or a larger meter shortens the job.",
        )
    if "oil_warm_up" in path:
        notes.note(
            "warm_up_is_critical",
            say(
                "Warming the oil, {duration_of}, is on the critical path.",
                duration_of=_duration_of(steps, "oil_warm_up"),
            ),
            resolve="Power first: every minute that the supply is on earlier is a minute of cold water gained.",
        )
    if c.supply_source == "generator" and c.pump_mode == "own_pump":
        notes.check(
            "generator_starting_current",
            "The generator also starts the machine's pump, and the compressors while the pump runs.",
            why="A starting current that pulls the voltage down drops the control circuit, and the oil heat starts anew.",
            resolve="Size the set with `electrical.generator`, pump and largest compressor included.",
            field="/configuration/supply_source",
        )
    for name in _not_used(given):
        notes.note("input_not_used", f"`{name}` is not used with this set-up.", field=f"/{name}")


def _not_used(given: ProcedureGiven) -> list[str]:
    c = given.configuration
    names = ["antifreeze_duration"] if c.second_start or c.fluid_kind == "water" else []
    if c.second_start:
        names += ["fill_duration", "loop_volume", "fill_flow", "concentrate_volume", "water_volume"]
        names += ["load_bank_power", "refuel_interval", "flush_volume"]
    return [n for n in names if getattr(given, n) is not UNSET]


def _duration_of(steps: tuple[Step, ...], step_id: str) -> Duration:
    return duration(next(s.duration for s in steps if s.id == step_id))


def _show(steps: tuple[Step, ...], timing: dict[str, Timing], notes: Notes) -> None:
    """The forward pass, step by step."""
    for s in steps:
        before = [f"{duration(timing[d].finish).value:g}" for d in s.depends_on]
        start = f"max({', '.join(before)})" if before else "0"
        notes.show(
            f"EF({s.id})",
            f"Earliest finish of {s.id}: latest finish of what comes before, plus its own duration",
            f"{start} + {duration(s.duration).value:g}",
            duration(timing[s.id].finish),
        )
