"""R08 to R13, R16 and R17: hoses, valves, pressure, air, leaks, mixture, strainer, set point."""

from bisect import bisect_right
from collections.abc import Callable
from itertools import accumulate
from typing import Final

from msgspec import UNSET

from coldwright.contract.quantities import PressureDifference
from coldwright_basis.compare import at_least, at_most
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freeze_margin import mixture_good_for
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against, covers
from coldwright_readiness.startup.evidence.record import Record, after, parted
from coldwright_readiness.startup.evidence.stance import hose_good, set_point_good_for_water
from coldwright_readiness.startup.limits import MEANING_OF_REASON, MINUTE, fresh_for
from coldwright_readiness.startup.rules.fact import Fact, Need, Standing, judged, standing
from coldwright_readiness.startup.rules.falling import falling_pressure
from coldwright_readiness.startup.rules.mixture import (
    freezing_point,
    strength_changes,
    usable_readings,
    weakest_mixture,
)
from coldwright_readiness.startup.words import from_to, in_unit_of, word

GREATEST_STRAINER_DROP = 70e3
USUAL_STRAINER_DROP = 35e3
"""Pa: practice, no source."""
PURGES_APART = 10 * MINUTE
"""Between two steady ventings of a loop whose pump cannot stop."""
DROP_ALIKE = 0.10
MOST_VENTS = 20
"""So many of the newest ventings are looked at for one that is far enough from an earlier one."""
AFTER_RUN = "after the first run"
VENT_NOW = "the first run is over"


def hoses_connected(e: Evidence) -> Fact:
    """R08: every coupling with all its five points; opening the loop at a hose undoes what was seen of it."""
    needs = []
    ends = {"machine_inlet", "machine_outlet", *(end for (end,) in e.subjects("hose_connection"))}
    for end in sorted(ends):
        records = e.about("hose_connection", end)
        good, bad = parted(records, lambda r: hose_good(r.data))
        if end == "other" and not bad and not e.doubts("hose_connection", end):
            continue
        opened = [r for r in e.of("loop_opened") if opened_at_hose(r, end)]
        need = Need(end.replace("_", " "), good, bad, [*opened, *e.moves], e.doubts("hose_connection", end))
        if bad:
            last = Against(bad).last
            need.detail = ", ".join(words for p, words in _POINTS.items() if last and not getattr(last.data, p))
        needs.append(need)
    return judged("R08", needs, e.now)


_POINTS: Final = {
    "connected": "not connected",
    "lever_locked": "lever not locked",
    "gasket_seen": "gasket not seen",
    "direction_ok": "wrong way round",
    "strain_free": "under strain",
}


def opened_at_hose(opened: Record, end: str) -> bool:
    """Whether the loop was opened at a hose."""
    where = "" if opened.data.where is UNSET else opened.data.where.casefold()
    return "hose" in where or end in where.replace(" ", "_")


def valves_set(e: Evidence) -> Fact:
    """R09: every valve in its place."""
    needs, stands = [], {}
    for valve, position in e.limits.valves.items():
        records = e.about("valve_position", valve)
        right, wrong = parted(records, _stands(position))
        need = Need(
            f"{valve.replace('_', ' ')} valve",
            right,
            wrong,
            e.moves,
            e.doubts("valve_position", valve),
            detail=position,
        )
        needs.append(need)
        last = Against(wrong).last if wrong else None
        stands[valve] = position if last is None or not _failed(need, e) else last.data.position
        if last is not None:
            need.fault = f"{need.subject} is {_half(last.data.position)}, must be {position}"
    for subject, records in e.by_subject("valve_position").items():
        if subject[0] in ("balancing", "other"):
            shut = [r for r in records if _shuts_flow(r)]
            if shut:
                good = [r for r in records if not _shuts_flow(r)]
                doubts = e.doubts("valve_position", *subject)
                name = f"{subject[-1]} valve"
                fault = f"{name} is closed, must be open"
                needs.append(Need(name, good, shut, e.moves, doubts, detail="open", fault=fault))
    fact = judged("R09", needs, e.now)
    fact.reason = valve_fault(e, stands) if fact.status == "failed" else ""
    return fact


def _stands(position: str) -> Callable[[Record], bool]:
    return lambda r: bool(r.data.position == position)


def _half(position: str) -> str:
    return "half open" if position == "partial" else position


def _failed(need: Need, e: Evidence) -> bool:
    return standing(need, e.now).status == "failed"


def _shuts_flow(r: Record) -> bool:
    in_path = word(r.data.valve) == "balancing" or r.data.in_flow_path is True
    return in_path and r.data.position == "closed"


def valve_fault(e: Evidence, position: dict[str, str]) -> str:
    """The reason why the valves are wrong; empty when they are right."""
    reason = ""
    if e.limits.pump_valves:
        suction, discharge, bypass = (position[v] for v in ("pump_suction", "pump_discharge", "pump_bypass"))
        fault = own_pump_fault if e.limits.own_pump else idle_pump_fault
        reason = fault(suction, discharge, bypass)
    return reason or next((f"{v}_{_other(p)}" for v, p in e.limits.loop_valves.items() if position[v] != p), "")


def _other(position: str) -> str:
    return "closed" if position == "open" else "open"


def own_pump_fault(suction: str, discharge: str, bypass: str) -> str:
    """Valves of a pump that is to run."""
    if discharge != "open":
        return "dead_head"
    if suction != "open":
        return "starved"
    return "" if bypass == "closed" else "short_circuit"


def idle_pump_fault(suction: str, discharge: str, bypass: str) -> str:
    """Valves of a pump that is to stand while the site's pump runs."""
    both_open = suction == discharge == "open"
    if bypass == "open":
        if suction == discharge == "closed":
            return ""
        return "parallel_idle_pump" if both_open else "half_isolated"
    return "through_idle_pump" if both_open else "no_path"


def reason_words(reason: str) -> str:
    """What a reason code means."""
    return MEANING_OF_REASON.get(reason, "")


def in_band(e: Evidence) -> Callable[[Record], bool]:
    """Whether a reading shows the filling pressure as it should be."""
    off_needed = e.limits.pump_stops

    def good(r: Record) -> bool:
        at_the_loop = r.data.gauge != "other" if off_needed else r.data.gauge == "suction"
        return at_the_loop and (not off_needed or r.data.pump == "off") and e.limits.fill_pressure_good(r.data.value.si)

    return good


def loop_pressurised(e: Evidence) -> Fact:
    """R10: filled to its pressure with the pump off, neither starved nor too high with it on, and not falling."""
    readings, c = e.of("loop_pressure"), e.limits.configuration
    good, others = parted(readings, in_band(e))
    bad = [r for r in others if _at_rest(e, r)]
    undoing = [*e.of("fill", "antifreeze_charge"), *e.pumping.openings, *e.pumping.left_open]
    doubts = [r for gauge in ("suction", "discharge") for r in e.doubts("loop_pressure", gauge)]
    subject = "pressure, pump off" if e.limits.pump_stops else "filling pressure at the suction gauge"
    rest = Need(subject, good, bad, undoing, doubts, fresh=fresh_for("R10"))
    if bad:
        last = Against(bad).last
        shown = "" if last is None else f"{last.data.value}, "
        rest.detail = f"{shown}limits {from_to(c.fill_pressure_minimum, c.fill_pressure_maximum)}"
        rest.fault = f"{rest.detail}, pump {'off' if e.limits.pump_stops else 'on'}"
    needs = [rest]
    borne, wrong_ones = parted(readings, lambda r: _running_pressure_good(e, r))
    for gauge in ("suction", "discharge", "other"):
        wrong = [r for r in wrong_ones if r.data.gauge == gauge]
        if wrong:
            right = [r for r in borne if r.data.gauge == gauge and r.data.pump == "on"]
            detail = f"{wrong[-1].data.value} at the {gauge} gauge"
            need = Need(f"pressure at the {gauge} gauge, pump on", [*good, *right], wrong, detail=detail, fault=detail)
            needs.append(need)
    for gauge, fall in falling_pressure(e).items():
        name, detail = f"pressure at the {gauge} gauge", f"falling at the {gauge} gauge"
        needs.append(Need(name, fall.steady, [fall.falling], detail=detail, fault=f"{detail}, pump off"))
    return judged("R10", needs, e.now)


def _at_rest(e: Evidence, r: Record) -> bool:
    """Whether it should have shown the filling pressure: the pump off, or the suction of one that cannot stop."""
    if e.limits.pump_stops:
        return bool(r.data.pump == "off" and r.data.gauge != "other")
    return bool(r.data.gauge == "suction")


def _running_pressure_good(e: Evidence, r: Record) -> bool:
    """Not above what the weakest part bears; with the pump on, enough at its suction."""
    c, pressure = e.limits.configuration, r.data.value.si
    if not at_most(pressure, c.rated_pressure.si):
        return False
    at_suction = r.data.pump == "on" and r.data.gauge == "suction"
    return not at_suction or at_least(pressure, c.suction_pressure_minimum.si)


def purged(e: Evidence) -> Fact:
    """R11: each point steady with the pump off, before the first run of this filling and again after it."""
    needs = [need for point in e.limits.purge_points for need in _purge_needs(e, point)]
    return judged("R11", sorted(needs, key=lambda need: need.subject.endswith(AFTER_RUN)), e.now)


def _purge_needs(e: Evidence, point: str) -> list[Need]:
    p = e.pumping
    records = e.about("purge", point)
    stops = e.limits.pump_stops
    steady, spoiled = parted(records, lambda r: r.data.result == "steady_water" and (r.data.pump == "off" or not stops))
    name, doubts = point.replace("_", " "), e.doubts("purge", point)
    filling = p.filling.records
    if not stops:
        return [Need(f"{name}, steady twice 10 min apart", _steady_twice(e, steady), spoiled, filling, doubts)]
    on_this = [r for r in steady if p.filling and r.proves and p.filling.all_before(r)]
    first = min((r.latest for r in on_this), default=None)
    runs = [run for run in p.first_runs if first is not None and run.begin > first]
    over = runs[0].begin + e.limits.first_run if runs else None
    again = Need(
        f"{name} {AFTER_RUN}",
        steady,
        spoiled,
        filling,
        doubts,
        admit=lambda r: over is not None and r.earliest > over,
        undone_by=None,
        detail="" if over is None or over >= e.now else VENT_NOW,
        due=f"vent the {name} once more after the first run",
    )
    last = Against(spoiled).last
    if last is not None:
        again.fault = f"{name} vented with the pump on, which proves nothing; vent it again with the pump off"
        if last.data.result != "steady_water":
            again.fault = f"{name}: {_CAME[last.data.result]}"
    before = Need(f"{name} before the first run", steady, [], filling, doubts)
    if not on_this:
        on_record = steady if p.filling else []
        return [Need(f"{name} before the first run", on_record, spoiled, filling, doubts, fault=again.fault)]
    return [before, again]


_CAME: Final = {"spitting": "liquid and air came", "air": "air came", "none": "nothing came"}


def _steady_twice(e: Evidence, steady: list[Record]) -> list[Record]:
    """The later ones of steady ventings far enough apart, with the flow proved and alike all the time between."""
    filling = e.pumping.filling
    usable = [r for r in steady if filling and r.proves and filling.all_before(r)]
    order = sorted(usable, key=lambda r: (r.latest, r.id))
    ends = [r.latest for r in order]
    newest = list(accumulate(order, _later_begun))
    found = []
    for later in sorted(usable, key=lambda r: (-r.earliest, r.id))[:MOST_VENTS]:
        place = bisect_right(ends, later.earliest - PURGES_APART) - 1
        if place >= 0 and _flow_alike(e, newest[place], later):
            found.append(later)
    return found


def _later_begun(a: Record, b: Record) -> Record:
    return b if b.earliest > a.earliest else a


def _flow_alike(e: Evidence, first: Record, later: Record) -> bool:
    if not covers(e.pumping.proved, first.latest, later.earliest):
        return False
    drops = [
        r.data.value.si
        for r in e.of("evaporator_pressure_drop")
        if r.latest >= first.earliest and r.earliest <= later.latest
    ]
    return not drops or max(drops) - min(drops) <= DROP_ALIKE * max(drops)


def leak_free(e: Evidence) -> Fact:
    """R12: dry, at the pressure of this filling."""
    good_pressure = in_band(e)
    filling = e.pumping.filling
    pressed = [r for r in e.of("loop_pressure") if filling and r.proves and good_pressure(r) and filling.all_before(r)]
    first = min(pressed, key=lambda r: (r.latest, r.id), default=None)
    boots = {r.boot: r for r in sorted(pressed, key=lambda r: -r.sequence) if r.boot is not None}

    def under_pressure(r: Record) -> bool:
        own = boots.get(r.boot) if r.boot is not None else None
        return (first is not None and after(r, first)) or (own is not None and after(r, own))

    bad = e.such("leak_check", lambda d: d.result != "dry")
    need = Need(
        "joints, under pressure",
        e.such("leak_check", lambda d: d.result == "dry"),
        bad,
        filling.records,
        e.doubts("leak_check"),
        admit=under_pressure,
        due="look for leaks once the loop is at its pressure",
    )
    if bad:
        last = Against(bad).last
        need.detail = "" if last is None else last.data.result
        need.fault = f"a joint {need.detail}s"
    return judged("R12", [need], e.now)


def antifreeze_adequate(e: Evidence) -> Fact:
    """R13, of a glycol: strength read from the running loop, after the last change of it."""
    usable = usable_readings(e)
    needed = e.limits.configuration.required_freeze_point

    def strong(r: Record) -> bool:
        return needed is UNSET or at_most(freezing_point(e, r), needed.si)

    weak = [r for r in e.of("antifreeze_reading") if not strong(r) and not e.pumping.stood(r)]
    need = Need(
        "mixture in the running loop",
        [r for r in usable if strong(r)],
        weak,
        [*strength_changes(e), *e.moves],
        e.doubts("antifreeze_reading"),
    )
    if weak and needed is not UNSET:
        warmest = max(freezing_point(e, r) for r in weak)
        need.detail = f"freezes at {warmest - ZERO_CELSIUS:.1f} degC, the weather asks for {needed}"
        need.fault = f"the mixture {need.detail}"
    return judged("R13", [need], e.now)


def strainer_clear(e: Evidence) -> Fact:
    """R16: blown down after the first run of this filling, and no drop above its limit."""
    p = e.pumping
    blown = Need(
        "strainer",
        e.such("strainer", lambda d: d.blown_down),
        e.such("strainer", lambda d: not d.blown_down),
        p.filling.records,
        e.doubts("strainer"),
        admit=p.run_before,
        fault="the strainer was not blown down",
        due="blow the strainer down after the first run",
    )
    needs = [blown]
    drops = e.of("strainer_pressure_drop")
    if drops:
        limit = strainer_limit(e)
        within, bad = parted(drops, lambda r: at_most(r.data.value.si, limit))
        if bad:
            good = [r for r in within if p.proved_at(r)]
            needs.append(
                Need(
                    "drop across the strainer",
                    good,
                    bad,
                    doubts=e.doubts("strainer_pressure_drop"),
                    detail=f"{bad[-1].data.value}, at most {PressureDifference.from_si(limit, bad[-1].data.value.unit)}",
                )
            )
    return judged("R16", needs, e.now)


def strainer_limit(e: Evidence) -> float:
    """Pa: 35 kPa or twice the clean drop, whichever is more, never above 70 kPa."""
    blown = [r for r in e.of("strainer") if r.proves and r.data.blown_down and e.pumping.run_before(r)]
    first = min(blown, key=lambda r: (r.latest, r.id), default=None)
    read = [r for r in e.of("strainer_pressure_drop") if r.proves and first is not None and after(r, first)]
    clean = min((r.data.value.si for r in read if r.data.value.si > 0 and e.pumping.proved_at(r)), default=0.0)
    return min(GREATEST_STRAINER_DROP, max(USUAL_STRAINER_DROP, 2 * clean))


def set_point_safe(e: Evidence, antifreeze: Fact | None) -> Fact:
    """R17: not below the least set point of water, or far enough above the freezing point of the mixture."""
    points, doubts = e.of("set_point"), e.doubts("set_point")
    c = e.limits.configuration
    if antifreeze is None:
        good, bad = parted(points, lambda r: set_point_good_for_water(r.data, e.limits))
        detail = (
            f"{bad[-1].data.value}, at least {in_unit_of(c.set_point_minimum_water, bad[-1].data.value)}" if bad else ""
        )
        return judged("R17", [Need("set point", good, bad, doubts=doubts, detail=detail, fault=detail)], e.now)
    freezes = weakest_mixture(e)
    if freezes is None or antifreeze.status in ("missing", "invalidated"):
        unread = Need("strength of the mixture, by which the set point is judged", [])
        return Fact("R17", [Standing(unread, "missing")], reason="mixture")
    good, bad = parted(points, lambda r: mixture_good_for(r.data.value.si, freezes, c.freeze_margin.si))
    shown = f"{bad[-1].data.value}; " if bad else ""
    detail = f"{shown}the mixture freezes at {freezes - ZERO_CELSIUS:.1f} degC, margin {c.freeze_margin}"
    return judged("R17", [Need("set point", good, bad, doubts=doubts, detail=detail, fault=detail)], e.now)
