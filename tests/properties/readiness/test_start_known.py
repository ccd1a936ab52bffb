"""What is surely known of a state, compared with its definition: each question answered by looking at every record in turn.

A record is an interval of time; those of one device in one boot are ordered by their sequence. Derived: the definitions alone.
"""

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from coldwright_readiness.startup.evidence.known import (
    Against,
    Following,
    Known,
    Span,
    common,
    covers,
    merged,
    outside,
    possible,
    touches,
)
from coldwright_readiness.startup.evidence.record import ALWAYS, Record

BOOTS = (None, ("p", "1"), ("p", "1"), ("q", "1"))
NOW = 20
EVER = range(-2, NOW + 3)


@st.composite
def records(draw: Any, least: int = 0, most: int = 7) -> list[Record]:
    """Intervals of whole instants from 0 to 19, some of one boot and one count."""
    found: list[Record] = []
    for number in range(draw(st.integers(least, most))):
        earliest = draw(st.integers(0, NOW - 1))
        latest = min(NOW - 1, earliest + draw(st.sampled_from((0, 0, 1, 3, 8))))
        boot = draw(st.sampled_from(BOOTS))
        found.append(
            Record(
                f"r{number:02d}", "kind", ("kind", ()), None, "", "", "", earliest, earliest, latest, 0,
                draw(st.sampled_from((True, True, True, False))),
                boot=boot, sequence=draw(st.integers(0, 9)),
                lone=boot is not None and draw(st.sampled_from((False, False, True))),
            )
        )  # fmt: skip
    return found


def surely_after(later: Record, earlier: Record) -> bool:
    """By the rules: of one boot by its count; else where the whole interval lies after the other's, and its clock is known."""
    if later.boot is not None and later.boot == earlier.boot:
        return later.sequence > earlier.sequence
    return not later.lone and later.earliest > earlier.latest


def soonest(found: Iterable[int]) -> int:
    return min(found, default=ALWAYS)


@settings(max_examples=300)
@given(against=records(), record=records(1, 1))
def test_against(against: list[Record], record: list[Record]) -> None:
    (one,) = record
    found = Against(against)
    assert bool(found) == bool(against)
    assert found.all_before(one) == all(surely_after(one, r) for r in against)
    assert found.first_not_before(one) == soonest(r.earliest for r in against if not surely_after(one, r))
    assert found.latest == max((r.latest for r in against), default=-ALWAYS)
    newest = [r for r in against if r.latest == found.latest]
    assert found.last is (min(newest, key=lambda r: (-r.earliest, r.id)) if newest else None)
    for begin in EVER:
        for end in (begin, begin + 2, begin + 9):
            assert found.may_lie(begin, end) == any(r.latest >= begin and r.earliest <= end for r in against)


@settings(max_examples=300)
@given(following=records(), record=records(1, 1))
def test_following(following: list[Record], record: list[Record]) -> None:
    """By when one of them has surely followed: of one boot never before the record itself can have been."""
    (one,) = record
    ends = [
        max(r.latest, one.latest) if r.boot is not None and r.boot == one.boot else r.latest
        for r in following
        if r.proves and surely_after(r, one)
    ]
    assert Following(following).end_of(one) == soonest(ends)


@settings(max_examples=300)
@given(good=records(), bad=records(), record=records(1, 1))
def test_known(good: list[Record], bad: list[Record], record: list[Record]) -> None:
    (one,) = record
    state = Known(good, Against(bad))
    holding = [r for r in good if r.proves and all(surely_after(r, b) for b in bad)]
    assert state.holding == holding
    assert state.holds == bool(holding)
    assert state.begun is min(holding, key=lambda r: (r.latest, r.id), default=None)
    assert state.freshest is max(holding, key=lambda r: (r.earliest, r.id), default=None)
    first = state.begun
    same = [r for r in holding if r.boot is not None and r.boot == one.boot]
    expected = first is not None and (any(surely_after(one, r) for r in same) or surely_after(one, first))
    assert state.within_spell(one) == expected
    held = [
        (r.latest, soonest(b.earliest for b in bad if not surely_after(r, b))) for r in good if r.proves
    ]  # fmt: skip
    for instant in EVER:
        at = one.moved_to(instant, instant)
        surely = any(begin <= instant < end for begin, end in held)
        assert covers(state.spans, instant, instant) == surely
        assert touches(state.spans, at) == surely


@settings(max_examples=200)
@given(good=records(), bad=records())
def test_possible(good: list[Record], bad: list[Record]) -> None:
    """A state can have been from the earliest instant of what begins it until it has surely ended."""
    spans = possible(good, bad)
    ends = Following(bad)
    for instant in EVER:
        can = any(r.earliest <= instant <= ends.end_of(r) for r in good)
        assert covers(spans, instant, instant) == can


@st.composite
def spans(draw: Any) -> list[Span]:
    return [
        Span(begin, begin + draw(st.integers(1, 6)))
        for begin in draw(st.lists(st.integers(0, NOW), min_size=0, max_size=5))
    ]


def instants(found: Iterable[Span]) -> set[int]:
    return {t for t in EVER for s in found if s.begin <= t < s.end}


@settings(max_examples=200)
@given(first=spans(), second=spans(), against=records())
def test_sets_of_instants(first: list[Span], second: list[Span], against: list[Record]) -> None:
    one, other = merged(first), merged(second)
    for joined in (one, other):
        assert joined == sorted(joined)
        assert all(a.end < b.begin for a, b in pairwise(joined)), "apart from each other"
    assert (instants(one), instants(other)) == (instants(first), instants(second))
    assert instants(common(one, other)) == instants(one) & instants(other)
    free = outside(Against(against))
    taken = {t for t in EVER for r in against if r.earliest <= t <= r.latest}
    assert instants(free) == set(EVER) - taken
    assert free[-1].end == ALWAYS
    for begin in EVER:
        for end in (begin, begin + 3):
            whole = any(s.begin <= begin and end < s.end for s in one)
            assert covers(one, begin, end) == whole
