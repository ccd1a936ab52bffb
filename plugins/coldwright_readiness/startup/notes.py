"""What a start-up's answer says in words: findings, assumptions, working."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding
from coldwright_readiness.shared.configuration import COLDEST_PLAIN_WATER
from coldwright_readiness.shared.instants import duration, in_words, show
from coldwright_readiness.shared.references import COMMON_PRACTICE, HYDROSTATICS, MOTOR_SUPPLY
from coldwright_readiness.startup.checks import CLEARED_BY, RESETS, repeated_trips
from coldwright_readiness.startup.facts import CONNECTION_KINDS, Evidence, origin
from coldwright_readiness.startup.facts_connection import is_asked
from coldwright_readiness.startup.facts_power import frequency_reading
from coldwright_readiness.startup.limits import RULES, at_least, unbalance
from coldwright_readiness.startup.running import CODE, LAST, WHY
from coldwright_readiness.startup.verdict import Verdict
from coldwright_readiness.startup.words import TECHNICIAN

_PRACTICE: Final = (COMMON_PRACTICE.id,)


def _rule_findings() -> tuple[FindingKind, ...]:
    """A finding for each row of the table of rules."""
    kinds = []
    for rule, row in RULES.items():
        if rule == "R20":
            kinds.append(finding(rule, ("stop", "check"), row["title"]))
        elif rule.startswith("R"):
            kinds.append(finding(rule, "stop", f"Not established: {row['title'][0].lower()}{row['title'][1:]}."))
        else:
            both = row["severity"] != "check"
            kinds.append(finding(rule, ("stop", "check") if both else "check", row["title"]))
    return tuple(kinds)


FINDINGS: Final = (
    *_rule_findings(),
    finding(CODE, "stop", "A compressor is on record as running, and the flow is lost or was never proved."),
    finding("repeated_trips", "check", "One alarm was reset three times within an hour."),
    finding("anti_recycle", "check", "A compressor still rests."),
    finding("supply_on_inferred", "note", "That the supply is on was concluded from a reading, not recorded."),
    finding("not_observed", "note", "Nothing of this was observed; the start does not wait for it."),
    finding("two_pumps", "check", "Both pumps are on."),
    finding("rated_voltage_assumed", "check", "The rated voltage was neither configured nor read."),
    finding("frequency_not_observed", "note", "A generator's frequency was not read."),
    finding("mixing_time_not_known", "note", "Whether the antifreeze had time to mix cannot be judged."),
    finding("drop_limits_for_this_fluid", "note", "Limits of the drop must be those of the liquid in the loop."),
    finding("warm_up_default", "note", "The usual hour of oil heat was taken."),
    finding("set_point_low_for_water", "check", "The set point is low for plain water."),
    finding(
        "fill_pressure_cannot_reach_high_point", "stop", "The filling limits leave the high point without pressure."
    ),
    finding("disconnect_order", "check", "Conductors were taken off in a wrong order."),
    finding("input_not_used", "note", "A field that this observation does not use."),
)


def tell(e: Evidence, verdict: Verdict, notes: Notes) -> None:
    """Write everything down, in an order that depends on nothing but the set of observations."""
    _assume(notes)
    _tell_rules(verdict, notes)
    _tell_configuration(e, notes)
    _tell_observations(e, notes)
    _tell_unobserved(e, notes)
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
        "Where the order of two records cannot be known, the adverse one counts as the later.",
        basis="derived",
    )
    notes.assume(
        "no_air_with_added_liquid",
        "Liquid added while the high point keeps its least pressure brings no free air.",
        basis="handbook",
    )


def _tell_rules(verdict: Verdict, notes: Notes) -> None:
    if verdict.danger is not None:
        resolve = f"{verdict.danger.do} {LAST}{CLEARED_BY}{TECHNICIAN}."
        notes.stop(CODE, verdict.danger.statement, why=WHY, resolve=resolve, references=_PRACTICE)
    for block in verdict.blocks:
        if block.fact is not None:
            fact = block.fact
            _finding(notes, "stop", block.rule, block.statement, fact.resolve, why=fact.matters, by=fact.hands)
    for rule, until in sorted(verdict.waits.items()):
        if rule == "R20":
            text = f"The oil warms until {show(until)}."
            row = RULES[rule]
            notes.check(
                rule, text, why=row["why"], resolve=row["resolve"], rule=rule, references=tuple(row["references"])
            )
        else:
            text = f"The last compressor that stopped rests until {show(until)}."
            notes.check(rule, text, why="Starting too often burns windings.", resolve="Wait.", references=_PRACTICE)
    for s in verdict.suspicions:
        row = RULES[s.rule]
        _finding(notes, s.severity, s.rule, s.statement, row["resolve"], why=row["why"], by=row["cleared_by"])


def _finding(notes: Notes, severity: str, rule: str, statement: str, resolve: str, *, why: str, by: str) -> None:
    write = notes.stop if severity == "stop" else notes.check
    resolve = f"{resolve}{CLEARED_BY}{by}."
    write(rule, statement, why=why, resolve=resolve, rule=rule, references=tuple(RULES[rule]["references"]))


def _tell_configuration(e: Evidence, notes: Notes) -> None:
    c = e.limits.configuration
    if not e.limits.high_point_good(c.fill_pressure_maximum.si):
        needed = e.limits.head + c.high_point_pressure_minimum.si
        notes.stop(
            "fill_pressure_cannot_reach_high_point",
            f"{c.fill_pressure_maximum} at the loop gauge leaves less than {c.high_point_pressure_minimum} at the highest "
            f"point, {c.high_point_rise} above it: {needed / 1000:.4g} kPa is needed.",
            why="Below its least pressure the high point draws air in.",
            resolve="Raise the filling limits within the rating of the weakest part, or put the gauge higher. May be "
            "cleared by: whoever planned the loop.",
            field="/configuration/fill_pressure_maximum",
            references=(HYDROSTATICS.id,),
        )
    if c.warm_up_duration is UNSET:
        notes.note(
            "warm_up_default",
            "One hour of oil heat was taken. Many machines ask for 8 to 24 h, cold or long-stored ones for more.",
            resolve="The maker's longer figure rules: give `warm_up_duration`.",
            field="/configuration/warm_up_duration",
            references=_PRACTICE,
        )
    plate = e.last("plate_check")
    if c.rated_voltage is UNSET and (plate is None or plate.data.rated_voltage is UNSET):
        notes.check(
            "rated_voltage_assumed",
            "460 V was taken for the rated voltage: a machine for 400 or 575 V would pass or fail wrongly.",
            resolve="Give `rated_voltage`, or read it with the data plate.",
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
        if e.limits.turnover is UNSET:
            notes.note(
                "mixing_time_not_known",
                "Without `loop_turnover_time` it cannot be judged whether the antifreeze had gone round three times.",
                field="/configuration/loop_turnover_time",
            )


def _tell_observations(e: Evidence, notes: Notes) -> None:
    t, c = e.timeline, e.limits.configuration
    if t.inferred:
        ids = ", ".join(sorted({r.id for r in t.inferred}))
        notes.note("supply_on_inferred", f"That the supply was on was concluded from: {ids}.")
    if t.pump_runs("machine") and t.pump_runs("site"):
        ids = ", ".join(sorted(t.pumps[p].id for p in ("machine", "site")))
        notes.check(
            "two_pumps", f"Machine's and site's pump are both on ({ids}).", resolve="Stop one, or show the design."
        )
    for code, resets in repeated_trips(e):
        ids = ", ".join(sorted(r.id for r in resets))
        notes.check(
            "repeated_trips",
            f"Alarm {code} was reset {RESETS} times within an hour ({ids}).",
            why="A trip that comes back has a cause, and every further start on it does more damage.",
            resolve=f"Reset it no more and start nothing before the cause of alarm {code} is found and cured."
            f"{CLEARED_BY}{TECHNICIAN}.",
            references=_PRACTICE,
        )
    set_point = e.last("set_point")
    if set_point is not None and not e.limits.glycol:
        value = set_point.data.value
        allowed = at_least(value.si, c.set_point_minimum_water.si)
        if allowed and not at_least(value.si, COLDEST_PLAIN_WATER.si):
            notes.check(
                "set_point_low_for_water",
                f"{value} is below {COLDEST_PLAIN_WATER} (40 degF) with plain water, allowed by the configuration.",
                why="Other checks of this service stop colder water, and they prevail.",
                field="/configuration/set_point_minimum_water",
            )
    for r in e.all("line_connection"):
        if r.data.state == "disconnected" and not _taken_off_in_order(r.data.order):
            order = ", ".join(r.data.order)
            notes.check("disconnect_order", f"{r.id}: taken off {order}; lines first, then neutral, ground last.")
    unused = sorted({r.id for r in e.all("supply") if r.data.state != "interrupted" and r.data.duration.value})
    if unused:
        notes.note("input_not_used", f"`duration` belongs to an interruption only: {', '.join(unused)}.")
    if c.supply_source == "generator":
        reading = e.last("line_voltage")
        if reading is None or frequency_reading(e, reading) is None:
            notes.note("frequency_not_observed", "The generator's frequency was not read with the voltage.")


def _taken_off_in_order(order: tuple[str, ...]) -> bool:
    ranks = [2 if conductor == "ground" else 1 if conductor == "neutral" else 0 for conductor in order]
    return ranks == sorted(ranks)


def _tell_unobserved(e: Evidence, notes: Notes) -> None:
    unasked = []
    if "lock" not in e.kinds and not e.required:
        unasked.append("R01")
    if "alarm" not in e.kinds:
        unasked.append("R18")
    if e.kinds & CONNECTION_KINDS:
        unasked += [f"R{n}" for n in range(21, 27) if not is_asked(e, f"R{n}")]
    for rule in unasked:
        title = RULES[rule]["title"]
        notes.note(
            "not_observed", f"{title}: nothing of it is on record, and the start does not wait for it.", rule=rule
        )


def _show(e: Evidence, notes: Notes) -> None:
    for number, spell in enumerate(e.timeline.warm_ups, 1):
        if spell.end is None:
            end, until = "still on", e.evaluated_at
        else:
            record = origin(spell.end.record)
            end, until = f"ended by {record.id} at {show(record.effective)} ({spell.end.rule})", record.effective
        notes.show(
            f"warm_up_{number}",
            "time for which supply, isolator, control switch, voltage and heaters were good",
            f"from {show(spell.begin)}, completed by {origin(spell.begun_by).id}; {end}: {in_words(until - spell.begin)}",
            duration(max(0, until - spell.begin)),
        )
    pressure = e.last("loop_pressure", lambda r: r.data.pump == "off")
    if pressure is not None:
        gauge, head = pressure.data.value.si / 1000, e.limits.head / 1000
        expression = f"p - rho g h = {gauge:.5g} - {head:.5g}"
        notes.show("p_high", "pressure at the highest point, pump off", expression, gauge - head, "kPa")
    volts = e.last("line_voltage")
    if volts is not None:
        d = volts.data
        values = f"{d.v_ab.value:g}, {d.v_bc.value:g}, {d.v_ca.value:g}"
        notes.show("unbalance", "greatest deviation from the mean over the mean", f"of {values} V", unbalance(d))
