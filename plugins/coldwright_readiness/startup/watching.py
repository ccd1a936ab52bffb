"""Readings that are watched while a machine runs: nothing, read it again, or stop.

A softer breach asks for the reading again: a second one a minute later or more, or no good one within 5 min, is a stop. Two
newer readings inside the full limit, a minute apart, clear it. Common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from msgspec import UNSET

from coldwright_basis.compare import at_least, at_most
from coldwright_basis.instants import show
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Following
from coldwright_readiness.startup.evidence.record import Record, after, at_least_between, at_most_between
from coldwright_readiness.startup.evidence.stance import hose_good
from coldwright_readiness.startup.limits import MINUTE, TWO_FAHRENHEIT, Limits
from coldwright_readiness.startup.rules.machine import SIDES, coldest_allowed, side_readings
from coldwright_readiness.startup.stopping import Ask, Cause, Running
from coldwright_readiness.startup.words import word

READ_AGAIN_WITHIN: Final = 5 * MINUTE
FLOW_AFTER_A_MOVE: Final = "flow by its switch"
"""What is read once more when a valve on its way was moved."""
APART: Final = MINUTE
"""Between two readings that clear a stop, and between two that make one."""
_DROP, _LOW, _HIGH, _UNBALANCE = 0.8, 0.85, 1.15, 0.05
_NEAR: Final = ("fans", "leads", "couplings", "open_guards")

# --- readings that are watched -------------------------------------------------------------------------------------

Breach = Literal["", "soft", "at_once"]


@dataclass
class Watch:
    """One instrument or thing that is looked at while the machine runs."""

    rule: str
    subject: str
    records: list[Record]
    judge: Callable[[Record], Breach]
    words: str


def full_voltage(e: Evidence, r: Record) -> bool:
    return bool(r.volts.good) and e.limits.frequency_good(r.data)


def watches(e: Evidence) -> list[Watch]:
    limits, p = e.limits, e.pumping
    watches = [
        Watch("R15", "flow switch", e.of("flow_switch"), lambda r: "" if r.data.state == "made" else "at_once", "not made"),
        Watch("R15", "evaporator drop", e.of("evaporator_pressure_drop"), _drop_breach(limits), "out of its limits"),
        Watch("R15", "flow", e.of("flow"), _flow_breach(limits), "below its minimum"),
        Watch("R06", "line voltages", e.of("line_voltage"), _voltage_breach(e), "out of their limits"),
        Watch("R19", "people", e.such("area_clear", lambda d: d.clear or d.where in _NEAR), _people_breach, "not clear"),
        Watch("R07", "rotation", [r for r in e.of("phase_indicator") if r.data.rotation in ("correct", "no_indication")],
              lambda r: "" if r.data.rotation == "correct" else "soft", "no indication"),
    ]  # fmt: skip
    lowest = coldest_allowed(e)
    if lowest is not None:
        watches += [
            Watch("R31", f"{side} temperature", side_readings(e, side), _water_breach(side, lowest), "too cold")
            for side in SIDES
        ]
    for subject, records in e.by_subject("valve_position").items():
        name = word(records[0].data.valve)
        if name in limits.valves or name in ("balancing", "other"):
            watches.append(
                Watch(
                    "R09", f"{subject[-1].replace('_', ' ')} valve", records, _valve_breach(limits), "out of its place"
                )
            )
    for (end,), records in e.by_subject("hose_connection").items():
        watches.append(
            Watch(
                "R08",
                f"hose at {end.replace('_', ' ')}",
                records,
                lambda r: "" if hose_good(r.data) else "soft",
                "not in order",
            )
        )
    for (code,), records in e.by_subject("alarm").items():
        warnings = [r for r in records if r.data.state == "cleared" or r.data.warning]
        watches.append(
            Watch("R18", f"alarm {code}", warnings, lambda r: "soft" if r.data.state == "active" else "", "active")
        )
    if limits.glycol:
        changed = [*e.such("fill", lambda d: d.medium != "mixed"), *e.of("antifreeze_charge")]
        mixture = [*e.of("antifreeze_reading"), *changed]
        watches.append(Watch("R13", "mixture", mixture, _mixture_breach(e), "changed or too weak"))
    moves = p.moved_valves
    if moves:
        flow = [*p.switch.records_for, *moves]
        watches.append(
            Watch(
                "R15",
                FLOW_AFTER_A_MOVE,
                flow,
                lambda r: "soft" if r.kind == "valve_position" else "",
                "not proved since a valve was moved",
            )
        )
    return watches


def _drop_breach(limits: Limits) -> Callable[[Record], Breach]:
    def judge(r: Record) -> Breach:
        drop = r.data.value.si
        if limits.drop_good(drop):
            return ""
        return "soft" if at_least(drop, _DROP * limits.least_drop) else "at_once"

    return judge


def _flow_breach(limits: Limits) -> Callable[[Record], Breach]:
    def judge(r: Record) -> Breach:
        if limits.flow_good(r.data.value.si):
            return ""
        return "soft" if r.data.value.si > 0 else "at_once"

    return judge


def _voltage_breach(e: Evidence) -> Callable[[Record], Breach]:
    def judge(r: Record) -> Breach:
        if full_voltage(e, r):
            return ""
        v = r.volts
        within = at_least(v.least, _LOW) and at_most(v.most, _HIGH) and at_most(v.unbalance, _UNBALANCE)
        return "soft" if within else "at_once"

    return judge


def _people_breach(r: Record) -> Breach:
    """Somebody near who can be hurt; people elsewhere are no reason to stop a machine that runs."""
    return "" if r.data.clear else "at_once"


def _water_breach(side: str, lowest: float) -> Callable[[Record], Breach]:
    def judge(r: Record) -> Breach:
        kelvin = getattr(r.data, side).si
        if at_least(kelvin, lowest):
            return ""
        return "soft" if at_least(kelvin, lowest - TWO_FAHRENHEIT) else "at_once"

    return judge


def _valve_breach(limits: Limits) -> Callable[[Record], Breach]:
    def judge(r: Record) -> Breach:
        name = word(r.data.valve)
        if name in limits.valves:
            right = r.data.position == limits.valves[name]
        else:
            right = not (r.data.position == "closed" and (name == "balancing" or r.data.in_flow_path is True))
        if right:
            return ""
        return "soft" if name == "fill" else "at_once"

    return judge


def _mixture_breach(e: Evidence) -> Callable[[Record], Breach]:
    needed = e.limits.configuration.required_freeze_point

    def judge(r: Record) -> Breach:
        if r.kind != "antifreeze_reading":
            return "soft"
        return "" if needed is UNSET or at_most(r.data.freeze_point.si, needed.si) else "soft"

    return judge


def watched(e: Evidence, watch: Watch, since: Record, found: Running) -> None:
    """What one instrument says since the machine runs: nothing, read it again, or stop."""
    judged = [(r, watch.judge(r)) for r in watch.records]
    goods = [r for r, breach in judged if not breach and r.proves]
    breaches = [(r, breach) for r, breach in judged if breach and not after(since, r)]
    if not breaches:
        return
    cleared = _clear_point(goods)
    left = [(r, b) for r, b in breaches if cleared is None or not after(cleared, r)]
    at_once = [r for r, b in left if b == "at_once"]
    if at_once:
        _stop(watch, at_once, found, "")
        return
    soft = sorted((r for r, _ in left), key=lambda r: (r.earliest, r.latest, r.id))
    answered = Following(goods)
    unanswered = [r for r in soft if answered.end_of(r) - r.earliest > READ_AGAIN_WITHIN]
    if _second_breach(soft, goods):
        _stop(watch, soft, found, "and again at the second reading")
    elif unanswered and e.now - unanswered[0].earliest > READ_AGAIN_WITHIN:
        _stop(watch, unanswered, found, "with no good reading within 5 min")
    elif unanswered:
        due = unanswered[0].earliest + READ_AGAIN_WITHIN
        found.asks.append(Ask(watch.rule, watch.subject, tuple(unanswered), due))


def _clear_point(goods: list[Record]) -> Record | None:
    """The last good reading that another one a minute later confirms: everything surely before it is cleared."""
    last = max(goods, key=lambda r: (r.earliest, r.id), default=None)
    if last is None:
        return None
    confirmed = [r for r in goods if at_least_between(r, last) >= APART]
    return max(confirmed, key=lambda r: (r.earliest, r.id), default=None)


def _second_breach(soft: list[Record], goods: list[Record]) -> bool:
    """Whether a breach was read twice, at least a minute apart, with no good reading surely between."""
    good = Following(goods)
    first: Record | None = None
    for r in soft:
        if first is None or good.end_of(first) < r.earliest:
            first = r
        elif at_most_between(first, r) >= APART:
            return True
    return False


def _stop(watch: Watch, records: list[Record], found: Running, how: str) -> None:
    last = max(records, key=lambda r: (r.latest, r.id))
    statement = f"{watch.subject[0].upper()}{watch.subject[1:]} {watch.words} at {show(last.at)} {how}".rstrip()
    clear = "Two newer readings within the full limits, a minute apart, or every compressor recorded as off."
    found.causes.append(Cause(watch.rule, (last,), f"{statement}.", latched=False, clear_by=clear))
