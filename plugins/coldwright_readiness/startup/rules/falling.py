"""Pressure that falls with the pump off: pairs of readings on one gauge, and the steady pair that clears them.

Above 7 kPa in 10 min the loop loses liquid. Pairs are 2 to 30 min apart, both at least 2 min after the pump stopped, with
nothing let in or out between; cooling water excuses. Common practice, no source.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable
from itertools import accumulate
from typing import Final, NamedTuple

from msgspec import UNSET

from coldwright_basis.compare import above, at_most
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.limits import MINUTE

NEAREST, FARTHEST, SETTLED = 2 * MINUTE, 30 * MINUTE, 2 * MINUTE
NEAR: Final = 5 * MINUTE
"""So far from a pair the water's temperature may have been read."""
CLEARING: Final = 10 * MINUTE
SLOPE: Final = 7000.0 / (10 * MINUTE)
"""Pa in a nanosecond."""
COOLING_EXCUSES: Final = 1.0
"""K."""
MOST_STARTS: Final = 300
"""Of so many starts of a fall each may be excused; with more of them the fall counts."""


class Fall(NamedTuple):
    """The last pair that fell ends with `falling`; each of `steady` ends a pair that held long enough."""

    falling: Record
    steady: list[Record]


def falling_pressure(e: Evidence) -> dict[str, Fall]:
    """Gauges at which the pressure can have fallen."""
    found = {}
    let, stops, water = _let(e), _Stops(e), [_Water(e, "entering"), _Water(e, "leaving")]
    for (gauge,), records in e.by_subject("loop_pressure").items():
        readings = [r for r in records if r.data.pump == "off" and not stops.just_before(r)]
        last = _last_fall(readings, let, water)
        if last is not None:
            found[gauge] = Fall(last, _steady(readings, let, last))
    return found


class Due(NamedTuple):
    """When the next reading counts, and whether it is the second of a pair."""

    begun: bool
    at: int | None


def next_of_pair(e: Evidence, gauge: str) -> Due:
    """The reading that is due to show that the pressure at a gauge holds, after a fall."""
    fall = falling_pressure(e)[gauge]
    let, stops = _let(e), _Stops(e)
    readings = [
        r for r in e.about("loop_pressure", gauge) if r.proves and r.data.pump == "off" and not stops.just_before(r)
    ]
    usable = [
        r
        for r in readings
        if (r is fall.falling or r.earliest > fall.falling.latest)
        and r.latest + FARTHEST > e.now
        and not let.may_lie(r.earliest, e.now)
    ]
    first = min(usable, key=lambda r: (r.latest, r.id), default=None)
    if first is not None:
        return Due(begun=True, at=first.latest + CLEARING)
    settled = stops.latest + SETTLED
    return Due(begun=False, at=settled if settled > e.now else None)


def _let(e: Evidence) -> Against:
    """What can have let liquid in or out."""
    return Against([*e.of("fill", "antifreeze_charge", "drain", "loop_opened", "purge", "strainer")])


class _Stops:
    """When the pump in use was seen to stop."""

    def __init__(self, e: Evidence) -> None:
        stops = sorted((s for s in e.pumping.off[e.limits.pump_in_use] if s.proves), key=lambda s: s.latest)
        self._latest = [s.latest for s in stops]
        self._earliest = list(accumulate((s.earliest for s in stops), max))
        self.latest = self._latest[-1] if stops else -ALWAYS

    def just_before(self, r: Record) -> bool:
        """Whether `r` was surely read less than 2 min after the pump stopped."""
        index = bisect_right(self._latest, r.earliest) - 1
        return index >= 0 and r.latest - self._earliest[index] < SETTLED


class _Warmth(NamedTuple):
    """One temperature that was read of one side."""

    kelvin: float
    earliest: int
    latest: int


class _Water:
    """Readings of one side of the evaporator, to see whether the water cooled meanwhile."""

    def __init__(self, e: Evidence, side: str) -> None:
        read = [
            _Warmth(getattr(r.data, side).si, r.earliest, r.latest)
            for r in e.of("water_temperature")
            if r.proves and getattr(r.data, side) is not UNSET
        ]
        self._by_earliest = sorted(read, key=lambda r: r.earliest)
        self._by_latest = sorted(read, key=lambda r: r.latest)

    def first_from(self, begin: int) -> _Warmth | None:
        """The first reading that was surely not made before an instant."""
        place = bisect_left(self._by_earliest, begin, key=lambda r: r.earliest)
        return self._by_earliest[place] if place < len(self._by_earliest) else None

    def last_until(self, end: int) -> _Warmth | None:
        """The last reading that was surely made by an instant."""
        place = bisect_right(self._by_latest, end, key=lambda r: r.latest) - 1
        return self._by_latest[place] if place >= 0 else None


def _cooled(warm: _Warmth | None, cold: _Warmth | None) -> bool:
    """Whether the water surely cooled by more than the excuse asks for from one reading to the other."""
    if warm is None or cold is None or cold.earliest <= warm.latest:
        return False
    return above(warm.kelvin - cold.kelvin, COOLING_EXCUSES)


class _Start(NamedTuple):
    """A reading from which the pressure may have fallen: of several the one that leaves the least to fall comes first."""

    left: float
    number: int
    pressure: float
    latest: int
    warm: tuple[_Warmth | None, ...]
    """The first temperature of each side that was read with it."""


def _last_fall(readings: Iterable[Record], let: Against, water: list[_Water]) -> Record | None:
    """The latest reading that ends a falling pair: a walk with the starting points kept in order, the highest first."""
    order = sorted(readings, key=lambda r: (r.earliest, r.latest, r.id))
    events = sorted(let.records, key=lambda r: r.latest)
    starts: list[_Start] = []
    waiting, position, shut_from, reach = 0, 0, -ALWAYS, -ALWAYS
    last: Record | None = None
    for number, later in enumerate(order):
        reach = max(reach, later.latest)
        while waiting < number and order[waiting].earliest <= reach - NEAREST:
            earlier, pressure = order[waiting], float(order[waiting].data.value.si)
            warm = tuple(w.first_from(earlier.earliest - NEAR) for w in water)
            insort(starts, _Start(-(pressure + SLOPE * earlier.latest), waiting, pressure, earlier.latest, warm))
            waiting += 1
        while position < len(events) and events[position].latest < later.earliest:
            shut_from = max(shut_from, events[position].earliest)
            position += 1
        bound = max(shut_from, later.earliest - FARTHEST)
        starts = [start for start in starts if start.latest >= bound]
        cold = tuple(w.last_until(later.latest + NEAR) for w in water)
        if _falls_to(later, starts, cold) and (last is None or (later.latest, later.id) > (last.latest, last.id)):
            last = later
    return last


def _falls_to(later: Record, starts: list[_Start], cold: tuple[_Warmth | None, ...]) -> bool:
    """Whether the pressure may have fallen to a reading. A start that is excused, or too near, hides no other behind it."""
    pressure = later.data.value.si
    for number, start in enumerate(starts):
        apart = later.earliest - start.latest
        if above(start.pressure - pressure, SLOPE * max(NEAREST, apart)):
            if number >= MOST_STARTS or not any(map(_cooled, start.warm, cold)):
                return True
        elif apart >= NEAREST:
            return False  # those behind it leave still more to fall
    return False


def _steady(readings: list[Record], let: Against, fall: Record) -> list[Record]:
    """Readings that end a pair of at least 10 min which held, and begins with the fall's end or after it."""
    begins = [r for r in readings if r.proves and (r is fall or r.earliest > fall.latest)]
    found: list[Record] = []
    if not begins:
        return found
    for later in readings:
        if not later.proves or later.earliest <= fall.latest:
            continue
        for earlier in begins[:50]:
            apart = later.earliest - earlier.latest
            held = at_most(earlier.data.value.si - later.data.value.si, SLOPE * CLEARING)
            if CLEARING <= apart <= FARTHEST and held and not let.may_lie(earlier.earliest, later.latest):
                found.append(later)
                break
    return found
