"""Cases of power, leads, voltage and locks: rules I3, I4, I13 to I16, and a plain outage of the utility."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from itertools import accumulate, pairwise
from typing import Final

from coldwright.contract import say
from coldwright_readiness.startup.checks.case import MOST_CASES, Case, case_of, when
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against, Following, Span, covers, merged, possible, touches
from coldwright_readiness.startup.evidence.record import ALWAYS, Record, after
from coldwright_readiness.startup.rules.power import plain_outages

SHOW_LIFE: Final = ("line_voltage", "phase_indicator")
"""Readings that need a live supply."""
DEAD: Final = 0.1
"""Fraction of rated voltage under which a circuit is dead rather than badly fed."""


def _later(a: Record, b: Record) -> Record:
    return b if b.latest > a.latest else a


def power_after_off(e: Evidence) -> Iterator[Case]:
    """I3: volts, or a rotation, though the supply can have been off with no on since."""
    power = e.power
    offs = sorted(power.off, key=lambda r: r.earliest)
    if not offs:
        return
    begins = [r.earliest for r in offs]
    worst = list(accumulate(offs, _later))
    volts = [r for r in power.signs if r.kind == "line_voltage"]
    # a rotation that was read shows the lines alive, and not who closed the source: the volts ask for that all the same
    back = sorted((r for r in (*power.on, *volts, *power.gaps) if r.proves), key=lambda r: r.latest)
    ends, best = [r.latest for r in back], list(accumulate((r.earliest for r in back), max))
    raised = []
    for r in sorted(power.signs, key=lambda r: (r.earliest, r.id)):
        index = bisect_right(begins, r.latest) - 1
        if index < 0:
            continue
        off = worst[index]
        if after(off, r):
            continue
        place = bisect_left(ends, r.earliest) - 1
        if place < 0 or best[place] <= off.latest:
            raised.append((r, off))
    cured = {
        kind: _read_again((r for r in power.signs if r.kind == kind), [r for r, _ in raised]) for kind in SHOW_LIFE
    }
    for r, off in raised[-MOST_CASES:]:
        merely = not after(r, off) or not off.proves
        text = f"At {when(r)} there was voltage, with the supply seen off at {when(off)} and not seen on since."
        yield case_of("I3", r, statement=text, forbids=not (merely and cured[r.kind] > r.latest))


def live_work(e: Evidence) -> Iterator[Case]:
    """I4, I13: leads swapped, or a connection made or broken, with the supply possibly on."""
    power = e.power
    lives = [*power.on, *power.signs, *power.gaps]
    first_life = min((r.earliest for r in lives), default=ALWAYS)
    cured = max((r.earliest for r in power.off if r.proves), default=-ALWAYS)
    off_spans = _surely_off(e, lives)
    for r in e.line_work:
        if first_life > r.latest or covers(off_spans, r.earliest, r.latest):
            continue
        if r.boot is not None and power.surely_off(r):
            continue
        stands = cured <= r.latest
        if r.kind == "leads_swapped":
            text = f"At {when(r)} leads were swapped, and the supply was not surely off."
            yield case_of("I4", r, statement=text, forbids=stands)
        else:
            done = "made" if r.data.state == "connected" else "broken"
            text = f"At {when(r)} a line connection was {done}, and the supply was not surely off."
            yield case_of("I13", r, statement=text, forbids=stands)
    grounds = sorted(e.of("ground"), key=lambda r: (r.earliest, r.id))
    for before, again in pairwise(grounds):
        if not before.data.connected and again.data.connected:
            dead = first_life > again.latest or covers(off_spans, before.earliest, again.latest)
            if not dead:
                text = f"The {e.limits.earth} was off and on again by {when(again)} with the supply on."
                yield case_of("I13", before, again, statement=text)


def _surely_off(e: Evidence, lives: list[Record]) -> list[Span]:
    """Times at which the source was surely off."""
    against = Against(lives)
    return merged(
        span
        for r in e.power.off
        if r.proves and (span := Span(r.latest + 1, against.first_not_before(r))).begin < span.end
    )


def voltage_before(e: Evidence) -> Iterator[Case]:
    """I14: volts out of limits that the machine has seen, and that a later reading does not undo."""
    readings = e.of("line_voltage")
    newest = max((r.earliest for r in readings), default=0)
    for r in readings:
        if r.volts.most >= DEAD and not r.volts.inside and (r.earliest < newest or len(readings) > 1):
            text = say(
                "At {time} the machine saw {v_ab}, {v_bc} and {v_ca}.",
                time=when(r),
                v_ab=r.data.v_ab,
                v_bc=r.data.v_bc,
                v_ca=r.data.v_ca,
            )
            yield case_of("I14", r, statement=text, forbids=True)


def alive_under_lock(e: Evidence) -> Iterator[Case]:
    """I15: voltage though a lock can have been on."""
    alive = sorted(e.power.signs, key=lambda r: (r.earliest, r.id))
    maybe, sure = _lock_spans(e, sure=False), _lock_spans(e, sure=True)
    raised = [r for r in alive if touches(maybe, r)]
    if not raised:
        return
    cured = {kind: _read_again((r for r in alive if r.kind == kind), raised) for kind in SHOW_LIFE}
    on = sorted((r for r in e.of("lock") if r.data.state == "applied"), key=lambda r: (r.earliest, r.id))
    begins = [r.earliest for r in on]
    for r in raised[-MOST_CASES:]:
        merely = not covers(sure, r.earliest, r.latest)
        lock = on[bisect_right(begins, r.latest) - 1]
        text = f"At {when(r)} there was voltage with lock {lock.data.lock_id} of {lock.by} on."
        yield case_of("I15", r, statement=text, forbids=not (merely and cured[r.kind] > r.latest))


def _read_again(readings: Iterable[Record], raised: list[Record]) -> int:
    """Earliest instant of the newest reading that is surely after all that raised a suspicion; never where there is none."""
    doubtful = Against(raised)
    return max((r.earliest for r in readings if r.proves and doubtful.all_before(r)), default=-ALWAYS)


def _lock_spans(e: Evidence, *, sure: bool) -> list[Span]:
    """Times at which some lock was on: surely, or possibly."""
    spans: list[Span] = []
    for records in e.by_subject("lock").values():
        on = [r for r in records if r.data.state == "applied"]
        off = [r for r in records if r.data.state == "removed"]
        if sure:
            against = Against(off)
            spans += [Span(r.latest, end) for r in on if r.proves and (end := against.first_not_before(r)) > r.latest]
        else:
            spans += possible(on, off)
    return merged(spans)


def another_hand_at_a_lock(e: Evidence) -> Iterator[Case]:
    """I16: a lock taken off by another than who applied it."""
    by_lock: dict[str, list[Record]] = {}
    for r in e.of("lock"):
        by_lock.setdefault(r.data.lock_id, []).append(r)
    for lock, records in sorted(by_lock.items()):
        off = [r for r in records if r.data.state == "removed"]
        on = sorted((r for r in records if r.data.state == "applied"), key=lambda r: (r.earliest, r.id))
        own_on: dict[str, int] = {}
        for r in on:
            own_on.setdefault(r.by, r.earliest)
        own_off = {by: Following(r for r in off if r.by == by) for by in sorted({r.by for r in off} & set(own_on))}
        begins = [r.earliest for r in on]
        strangers = [r for r in off if own_on.get(r.by, ALWAYS) > r.latest]
        for r in strangers[-MOST_CASES:]:
            place = bisect_right(begins, r.latest) - 1
            owner = on[place] if place >= 0 else None
            if owner is None or (owner.by in own_off and own_off[owner.by].end_of(owner) < r.earliest):
                continue
            text = f"Lock {lock} of {owner.by} was taken off by {r.by}."
            yield case_of("I16", owner, r, statement=text, forbids=True)


def rotation_after_outage(e: Evidence) -> Iterator[Case]:
    """A plain outage of a utility: the rotation is as good as certain, and read again all the same."""
    for r in plain_outages(e)[-1:]:
        text = f"The supply was lost at {when(r)} and the rotation was not read since."
        yield case_of("rotation_after_outage", r, statement=text)
