"""What is surely known of a state, whatever the true order of the records was.

`Against` lists the records that speak against a state. `Known` joins them with those that speak for it: the state holds when
a record for it is surely after every record against it, and it held surely from the latest instant of a record for it to
the earliest instant at which something against it can have followed. Every question costs a search, never a walk.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from operator import attrgetter
from typing import NamedTuple

from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.record import ALWAYS, Boot, Record, after

_latest = attrgetter("latest")


class Span(NamedTuple):
    """Time from `begin` on, before `end`."""

    begin: int
    end: int


class Against:
    """Records that speak against a state, asked whether and when they can have been."""

    def __init__(self, records: Iterable[Record]) -> None:
        self.records = list(records)
        self._last_sequence: dict[Boot, int] = {}
        self._top: tuple[int, Boot | None] = (-ALWAYS, None)
        self._sorted: list[Record] | None = None
        if not self.records:  # mostly nothing speaks against a state
            return
        for r in self.records:
            if r.boot is not None:
                self._last_sequence[r.boot] = max(r.sequence, self._last_sequence.get(r.boot, -1))
        last = max(self.records, key=_latest)
        self._top = (last.latest, last.boot)

    @once
    def _second(self) -> int:
        """Latest instant of the records of any other boot than that of the last one."""
        boot = self._top[1]
        return max((r.latest for r in self.records if boot is None or r.boot != boot), default=-ALWAYS)

    def __bool__(self) -> bool:
        return bool(self.records)

    @property
    def latest(self) -> int:
        """Latest instant at which one of them can have been."""
        return self._top[0]

    @property
    def last(self) -> Record | None:
        """The one that can be the latest; of several the one with the smallest id."""
        newest = [r for r in self.records if r.latest == self._top[0]]
        return min(newest, key=lambda r: (-r.earliest, r.id), default=None)

    def all_before(self, record: Record) -> bool:
        """Whether `record` is surely after every one of them."""
        if not self.records:
            return True
        if record.boot is None:
            return not record.lone and record.earliest > self._top[0]
        own = self._last_sequence.get(record.boot)
        if own is not None and record.sequence <= own:
            return False
        others = self._second if self._top[1] == record.boot else self._top[0]
        if others == -ALWAYS:
            return True
        return not record.lone and record.earliest > others

    def first_not_before(self, record: Record) -> int:
        """Earliest instant of those that are not surely before `record`."""
        if self._sorted is None:
            self._prepare()
        own = record.boot
        at = 0 if record.lone else bisect_left(self._latests, record.earliest)
        soonest, boot, of_others = self._soonest[at]
        if own is None:
            return soonest
        result = of_others if boot == own else soonest
        if own in self._by_boot:
            sequences, earliest = self._by_boot[own]
            result = min(result, earliest[bisect_left(sequences, record.sequence)])
        return result

    def _prepare(self) -> None:
        self._sorted = sorted(self.records, key=_latest)
        self._latests = [r.latest for r in self._sorted]
        self._soonest = _soonest_from((r.earliest, r.boot) for r in self._sorted)
        self._by_boot: dict[Boot, tuple[list[int], list[int]]] = {}
        groups: dict[Boot, list[Record]] = {}
        for r in self.records:
            if r.boot is not None:
                groups.setdefault(r.boot, []).append(r)
        for boot, group in groups.items():
            group.sort(key=lambda r: r.sequence)
            earliest = [ALWAYS] * (len(group) + 1)
            for index in range(len(group) - 1, -1, -1):
                earliest[index] = min(earliest[index + 1], group[index].earliest)
            self._by_boot[boot] = ([r.sequence for r in group], earliest)

    def may_lie(self, begin: int, end: int) -> bool:
        """Whether one of them can have been from `begin` to `end`, both counted in."""
        if self._sorted is None:
            self._prepare()
        return self._soonest[bisect_left(self._latests, begin)][0] <= end


Soonest = tuple[int, Boot | None, int]
"""The least instant, its boot, and the least of any other boot."""


def _soonest_from(moments: Iterable[tuple[int, Boot | None]]) -> list[Soonest]:
    """From each place of a list on."""
    found: list[Soonest] = [(ALWAYS, None, ALWAYS)]
    for instant, boot in reversed(list(moments)):
        soonest, of, of_others = found[-1]
        if instant < soonest:
            found.append((instant, boot, of_others if boot is not None and boot == of else soonest))
        elif boot is None or boot != of:
            found.append((soonest, of, min(of_others, instant)))
        else:
            found.append(found[-1])
    return found[::-1]


class Known:
    """A state: what speaks for it, and what against."""

    def __init__(self, records_for: Iterable[Record], against: Against) -> None:
        self.records_for = [r for r in records_for if r.proves]
        self.against = against

    @once
    def holding(self) -> list[Record]:
        """The records that are surely after everything against the state."""
        return [r for r in self.records_for if self.against.all_before(r)]

    @property
    def holds(self) -> bool:
        """Whether the state surely holds by its records."""
        return bool(self.holding)

    @once
    def begun(self) -> Record | None:
        """The record by which the present spell has surely begun."""
        return min(self.holding, key=lambda r: (r.latest, r.id), default=None)

    @once
    def freshest(self) -> Record | None:
        """The record that shows the state as late as can be said."""
        return max(self.holding, key=lambda r: (r.earliest, r.id), default=None)

    def within_spell(self, record: Record) -> bool:
        """Whether `record` is surely after the beginning of the present spell."""
        begun = self.begun
        if begun is None:
            return False
        if record.boot is not None and self._first_sequence.get(record.boot, record.sequence) < record.sequence:
            return True
        return after(record, begun)

    @once
    def _first_sequence(self) -> dict[Boot, int]:
        """For each boot the first record of the present spell."""
        firsts: dict[Boot, int] = {}
        for r in self.holding:
            if r.boot is not None:
                firsts[r.boot] = min(r.sequence, firsts.get(r.boot, r.sequence))
        return firsts

    @once
    def spans(self) -> list[Span]:
        """Times at which the state surely held, in order; the last one without end if it holds now."""
        found = (Span(r.latest, self.against.first_not_before(r)) for r in self.records_for)
        return merged(s for s in found if s.begin < s.end)


def covers(spans: list[Span], begin: int, end: int) -> bool:
    """Whether one of the spans holds all the time from `begin` to `end`, both counted in."""
    index = bisect_right(spans, begin, key=lambda s: s.begin) - 1
    return index >= 0 and spans[index].end > end


def merged(spans: Iterable[Span]) -> list[Span]:
    """The same times as spans apart from each other, in order."""
    out: list[Span] = []
    for span in sorted(spans):
        if out and span.begin <= out[-1].end:
            if span.end > out[-1].end:
                out[-1] = Span(out[-1].begin, span.end)
        else:
            out.append(span)
    return out


def common(first: list[Span], second: list[Span]) -> list[Span]:
    """Times that lie in both."""
    out = []
    i = j = 0
    while i < len(first) and j < len(second):
        begin, end = max(first[i].begin, second[j].begin), min(first[i].end, second[j].end)
        if begin < end:
            out.append(Span(begin, end))
        if first[i].end < second[j].end:
            i += 1
        else:
            j += 1
    return out


def outside(against: Against) -> list[Span]:
    """Times at which none of the records can have been."""
    out, begin = [], -ALWAYS
    for r in sorted(against.records, key=lambda r: r.earliest):
        if r.earliest > begin:
            out.append(Span(begin, r.earliest))
        begin = max(begin, r.latest + 1)
    out.append(Span(begin, ALWAYS))
    return out


class Following:
    """Records asked when the first of them has surely followed another record."""

    def __init__(self, records: Iterable[Record]) -> None:
        usable = [r for r in records if r.proves]
        standing = sorted((r for r in usable if not r.lone), key=lambda r: r.earliest)
        self._keys = [r.earliest for r in standing]
        self._soonest = _soonest_from((r.latest, r.boot) for r in standing)
        self._by_boot: dict[Boot, tuple[list[int], list[int]]] = {}
        groups: dict[Boot, list[Record]] = {}
        for r in usable:
            if r.boot is not None:
                groups.setdefault(r.boot, []).append(r)
        for boot, group in groups.items():
            group.sort(key=lambda r: r.sequence)
            latest = [ALWAYS] * (len(group) + 1)
            for index in range(len(group) - 1, -1, -1):
                latest[index] = min(latest[index + 1], group[index].latest)
            self._by_boot[boot] = ([r.sequence for r in group], latest)

    def end_of(self, record: Record) -> int:
        """Latest instant by which one of them has surely followed `record`; without end where none has."""
        soonest, boot, of_others = self._soonest[bisect_right(self._keys, record.latest)]
        if record.boot is None or record.boot not in self._by_boot:
            return soonest
        sequences, latest = self._by_boot[record.boot]  # of its own boot only what was counted after it
        counted = max(record.latest, latest[bisect_right(sequences, record.sequence)])
        return min(of_others if boot == record.boot else soonest, counted)


def possible(begun_by: Iterable[Record], ended_by: Iterable[Record]) -> list[Span]:
    """Times at which a state can have been: from the earliest instant of each beginning until it has surely ended."""
    ends = Following(ended_by)
    return merged(Span(r.earliest, min(ALWAYS, ends.end_of(r) + 1)) for r in begun_by)


def touches(spans: list[Span], record: Record) -> bool:
    """Whether some instant of the record lies in one of the spans."""
    index = bisect_right(spans, record.latest, key=lambda s: s.begin) - 1
    return index >= 0 and spans[index].end > record.earliest
