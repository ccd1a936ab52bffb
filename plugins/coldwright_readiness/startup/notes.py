"""What a start-up's answer says in words: findings, assumptions, working."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding, say
from coldwright.contract.quantities import PressureDifference
from coldwright.contract.sentences import Words
from coldwright_basis.compare import at_least
from coldwright_basis.instants import duration, in_words, show, whole
from coldwright_readiness.shared.given import COLDEST_PLAIN_WATER
from coldwright_readiness.shared.references import COMMON_PRACTICE, HYDROSTATICS, MOTOR_SUPPLY
from coldwright_readiness.startup.advice.by_rule import action_for
from coldwright_readiness.startup.advice.common import at_its_breaker
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.limits import RULES, unbalance
from coldwright_readiness.startup.rules.connecting import CONNECTION_KINDS, is_asked
from coldwright_readiness.startup.stopping import why_of
from coldwright_readiness.startup.verdict import Verdict

_PRACTICE: Final = (COMMON_PRACTICE.id,)
CLEARED_BY: Final = " May be cleared by: "


def _rule_findings() -> tuple[FindingKind, ...]:
    """A finding for each row of the table of rules."""
    kinds = []
    for rule, row in RULES.items():
        if rule == "R20":
            kinds.append(finding(rule, ("stop", "check"), row["title"]))
        elif rule.startswith("R"):
            kinds.append(finding(rule, "stop", f"Not established: {row['title'][0].lower()}{row['title'][1:]}."))
        else:
            both = row["severity"] == "stop or check"
            kinds.append(finding(rule, ("stop", "check") if both else row["severity"], row["title"]))
    return tuple(kinds)


FINDINGS: Final = (
    *_rule_findings(),
    finding("stop_now", "stop", "A compressor can be running and must be stopped."),
    finding("read_again", "check", "Something is near its limit while it runs, and is read again at once."),
    finding("joined_block", "stop", "A part of another plugin forbids the start."),
    finding("anti_recycle", "check", "A compressor still rests."),
    finding("supply_on_inferred", "note", "That the supply is on was concluded from a reading, not recorded."),
    finding("not_observed", "note", "Nothing of this was observed; the start does not wait for it."),
    finding("two_pumps", "check", "Both pumps are on."),
    finding("rated_voltage_assumed", "check", "The rated voltage was neither configured nor read."),
    finding("mixing_time_not_known", "note", "Whether the antifreeze had time to mix cannot be judged."),
    finding("drop_limits_for_this_fluid", "note", "Limits of the drop must be those of the liquid in the loop."),
    finding("warm_up_default", "note", "The usual hour of oil heat was taken."),
    finding("set_point_low_for_water", "check", "The set point is low for plain water."),
    finding(
        "fill_pressure_cannot_reach_high_point", "stop", "The filling limits leave the high point without pressure."
    ),
    finding("disconnect_order", "check", "Conductors were taken off in a wrong order."),
    finding("read_in_other_words", "note", "Kept under earlier versions, and read in the words of today."),
    finding("input_not_used", "note", "A field that this observation does not use."),
)


def report(e: Evidence, verdict: Verdict, notes: Notes) -> None:
    """Write everything down, in an order that depends on nothing but the set of observations."""
    _assume(notes)
    _report_rules(e, verdict, notes)
    _report_configuration(e, notes)
    _report_observations(e, notes)
    _report_unobserved(e, notes)
    _show(e, notes)


def _assume(notes: Notes) -> None:
    notes.assume("states_hold", "A state holds until the next record of it.", basis="derived")
    notes.assume(
        "pump_fed_through_machine",
        "The machine's pump is fed through supply, isolator and control switch: every loss of one of them stops it.",
        basis="common_practice",
        references=_PRACTICE,
    )
    notes.assume(
        "worst_order",
        "Each record lies somewhere in its interval of time; where an order is not sure, what speaks against a start counts.",
        basis="derived",
    )
    notes.assume(
        "no_air_with_added_liquid",
        "Liquid added while the high point keeps its least pressure brings no free air.",
        basis="handbook",
    )


def _report_rules(e: Evidence, v: Verdict, notes: Notes) -> None:
    rules = e.limits.rules
    for cause in v.runs.causes:
        why = why_of(cause, rules)
        notes.stop("stop_now", cause.statement, why=why, resolve=cause.clear_by, references=_PRACTICE)
    for ask in v.runs.asks:
        text = f"Out of limits or out of place: {ask.subject}. To be read again by {show(whole(ask.due))}."
        notes.check("read_again", text, resolve=f"Read it again: {ask.subject}.", references=_PRACTICE)
    if v.status in ("blocked", "wait", "ready"):
        for block in v.blocks:
            if block.fact is not None:
                action = at_its_breaker(e, action_for(e, block.fact))
                _finding(notes, "stop", block.rule, block.statement, action.do, why=action.why, by=action.done_by)
            elif block.joined is not None:
                notes.stop(
                    "joined_block",
                    f"{block.title}: {block.statement}",
                    do=block.joined.do,
                    cleared_by=block.joined.cleared_by,
                )
            elif block.case is None:
                row = rules[block.rule]
                _finding(
                    notes, "stop", block.rule, block.statement, row["resolve"], why=row["why"], by=row["cleared_by"]
                )
        for rule, until in sorted(v.waits.items()):
            if rule == "R20":
                text = f"The oil warms until {show(whole(until))}."
                row = rules[rule]
                notes.check(
                    rule, text, why=row["why"], resolve=row["resolve"], rule=rule, references=tuple(row["references"])
                )
            else:
                text = f"The last compressor that stopped rests until {show(whole(until))}."
                notes.check(rule, text, why="Starting too often burns windings.", resolve="Wait.", references=_PRACTICE)
    starting = v.status in ("blocked", "wait", "ready")
    for case in v.cases:
        if not case.settled:
            row = rules[case.rule]
            severity = "stop" if case.forbids and starting else "check"
            _finding(notes, severity, case.rule, case.said, row["resolve"], why=row["why"], by=row["cleared_by"])


def _finding(notes: Notes, severity: str, rule: str, statement: Words, resolve: str, *, why: str, by: str) -> None:
    write = notes.stop if severity == "stop" else notes.check
    resolve = f"{resolve}{CLEARED_BY}{by}."
    write(rule, statement, why=why, resolve=resolve, rule=rule, references=tuple(RULES[rule]["references"]))


def _last(e: Evidence, kind: str) -> Record | None:
    return max(e.of(kind), key=lambda r: (r.earliest, r.id), default=None)


def _report_configuration(e: Evidence, notes: Notes) -> None:
    c = e.limits.configuration
    if not e.limits.high_point_good(c.fill_pressure_maximum.si):
        needed = e.limits.head + c.high_point_pressure_minimum.si
        shown = PressureDifference.from_si(needed, "kPa")
        notes.show(
            "p_needed", "Pressure at the loop gauge for the least at the highest point", "p_min + rho g h", shown
        )
        notes.stop(
            "fill_pressure_cannot_reach_high_point",
            say(
                "{fill_pressure_maximum} at the loop gauge leaves less than "
                "{high_point_pressure_minimum} at the highest point, {high_point_rise} above it: "
                "{needed:.4g} is needed.",
                fill_pressure_maximum=c.fill_pressure_maximum,
                high_point_pressure_minimum=c.high_point_pressure_minimum,
                high_point_rise=c.high_point_rise,
                needed=shown,
            ),
            why="Below its least pressure the high point draws air in.",
            resolve="Raise the filling limits within the rating of the weakest part, or put the gauge higher. May be "
            "cleared by: the planner of the loop.",
            field="/configuration/fill_pressure_maximum",
            references=(HYDROSTATICS.id,),
        )
    if c.warm_up_duration is UNSET:
        notes.note(
            "warm_up_default",
            "One hour of oil heat was taken. Many machines ask for 8 to 24 h, cold or long-stored ones for more.",
            resolve="Look up the maker's figure and enter it in the settings of this start: a longer one rules.",
            field="/configuration/warm_up_duration",
            references=_PRACTICE,
        )
    plate = _last(e, "plate_check")
    if c.rated_voltage is UNSET and (plate is None or plate.data.rated_voltage is UNSET):
        notes.check(
            "rated_voltage_assumed",
            "460 V was taken for the rated voltage: a machine for 400 or 575 V would pass or fail wrongly.",
            resolve="Read it off the data plate and record it with the plate, or enter it in the settings.",
            field="/configuration/rated_voltage",
            references=(MOTOR_SUPPLY.id,),
        )
    if e.limits.glycol:
        notes.note(
            "drop_limits_for_this_fluid",
            "The limits of the evaporator's drop must be those of the glycol mixture in the loop.",
            why="With figures for water too small a flow would pass.",
            field="/configuration/evaporator_pressure_drop_minimum",
        )
        if e.limits.turnover is None:
            notes.note(
                "mixing_time_not_known",
                "How long the loop takes to go round once is not in the settings: whether the antifreeze went round three times "
                "cannot be judged.",
                field="/configuration/loop_turnover_time",
            )


def _report_observations(e: Evidence, notes: Notes) -> None:
    c = e.limits.configuration
    if e.power.signs and not e.power.on:
        ids = ", ".join(sorted({r.id for r in e.power.signs})[:5])
        notes.note("supply_on_inferred", f"That the supply was on was concluded from: {ids}.")
    runs = e.pumping.runs
    if runs["machine"].holds and runs["site"].holds:
        ids = ", ".join(sorted(r.id for k in runs.values() for r in k.holding[:1]))
        notes.check(
            "two_pumps", f"Machine's and site's pump are both on ({ids}).", resolve="Stop one, or show the design."
        )
    set_point = _last(e, "set_point")
    if set_point is not None and not e.limits.glycol:
        value = set_point.data.value
        allowed = at_least(value.si, c.set_point_minimum_water.si)
        if allowed and not at_least(value.si, COLDEST_PLAIN_WATER.si):
            notes.check(
                "set_point_low_for_water",
                say(
                    "{set_point} is below {coldest_plain_water} (40 degF) with plain water, allowed by the configuration.",
                    set_point=value,
                    coldest_plain_water=COLDEST_PLAIN_WATER,
                ),
                why="Other checks of this service stop colder water, and they prevail.",
                field="/configuration/set_point_minimum_water",
            )
    for r in e.of("line_connection"):
        if r.data.state == "disconnected" and not _taken_off_in_order(r.data.order):
            earth = e.limits.earth
            order = ", ".join(earth if c == "ground" else c.replace("_", " ") for c in r.data.order)
            notes.check(
                "disconnect_order", f"Record {r.id}: taken off {order}; lines first, then neutral, {earth} last."
            )
    if e.taken.reworded:
        notes.note(
            "read_in_other_words",
            f"Recorded in words of an earlier version, and read in those of today: {_first(e.taken.reworded)}.",
            why="An unknown valve counts as one in the flow path, an unknown compressor that runs as the first.",
            resolve="Look at it again and record it in a word of the list.",
        )
    unused = sorted({r.id for r in e.of("supply") if r.data.state != "interrupted" and r.data.duration.value})
    if unused:
        notes.note("input_not_used", f"How long it lasted belongs to an interruption only: {', '.join(unused)}.")


def _first(ids: list[str]) -> str:
    return ", ".join(sorted(set(ids))[:20])


def _taken_off_in_order(order: tuple[str, ...]) -> bool:
    ranks = [2 if conductor == "ground" else 1 if conductor == "neutral" else 0 for conductor in order]
    return ranks == sorted(ranks)


def _report_unobserved(e: Evidence, notes: Notes) -> None:
    if not any(e.of(kind) for kind in CONNECTION_KINDS):
        return
    for rule in (f"R{n}" for n in range(21, 27)):
        if not is_asked(e, rule):
            title = e.limits.rules[rule]["title"]
            notes.note(
                "not_observed", f"{title}: nothing of it is on record, and the start does not wait for it.", rule=rule
            )


def _show(e: Evidence, notes: Notes) -> None:
    for number, span in enumerate(e.power.heated[-10:], 1):
        until = min(span.end, e.now)
        end = "still on" if span.end >= ALWAYS else f"surely until {show(whole(span.end))}"
        notes.show(
            f"warm_up_{number}",
            "Time for which supply, isolator, control switch, voltage and heaters were surely good",
            f"from {show(whole(span.begin))}; {end}: {in_words(max(0, until - span.begin))}",
            duration(max(0, until - span.begin)),
        )
    for number, run in enumerate(e.pumping.proved[-10:], 1):
        until = min(run.end, e.now)
        notes.show(
            f"run_{number}",
            "Time for which the flow was surely proved",
            f"from {show(whole(run.begin))} to {show(whole(until))}",
            duration(max(0, until - run.begin)),
        )
    pressure = max(
        (r for r in e.of("loop_pressure") if r.data.pump == "off"), key=lambda r: (r.earliest, r.id), default=None
    )
    if pressure is not None:
        gauge, head = pressure.data.value.si / 1000, e.limits.head / 1000
        expression = f"p - rho g h = {gauge:.5g} - {head:.5g}"
        notes.show("p_high", "Pressure at the highest point, pump off", expression, gauge - head, "kPa")
    volts = _last(e, "line_voltage")
    if volts is not None:
        d = volts.data
        values = f"{d.v_ab.value:g}, {d.v_bc.value:g}, {d.v_ca.value:g}"
        notes.show("unbalance", "Greatest deviation from the mean over the mean", f"of {values} V", unbalance(d))
