"""Types that differ by their names alone are one kind: a search among kinds meets no ties between them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import groupby, islice

from coldwright_refrigeration.selection.case import Array, Case, np

COLUMNS = (
    "capacity", "unit_cost", "circuit", "turns_down", "flow_minimum", "flow_maximum", "power", "footprint", "haul",
    "mass",
)  # fmt: skip


class Kinds:
    """The kinds of a case, a case of their own, and the way back to types."""

    def __init__(self, case: Case) -> None:
        self._full = case
        known = [column for name in COLUMNS if (column := getattr(case, name)) is not None]
        alike: dict[tuple[float, ...], list[int]] = {}
        for i in range(len(case.names)):
            alike.setdefault(tuple(float(column[i]) for column in known), []).append(i)
        self._members = list(alike.values())
        self.none_alike = len(self._members) == len(case.names)
        if self.none_alike:
            self.case = case
            return
        first = [members[0] for members in self._members]
        kind, before = np.zeros(len(case.names), dtype=int), np.zeros(len(case.names))
        for number, members in enumerate(self._members):
            kind[members] = number
            before[members] = np.cumsum(case.stock[members]) - case.stock[members]
        columns = {name: column[first] for name in COLUMNS if (column := getattr(case, name)) is not None}
        self.case = replace(
            case,
            names=tuple(case.names[i] for i in first),
            stock=np.array([case.stock[members].sum() for members in self._members]),
            members=(kind, before, case.stock),
            **columns,
        )

    def named(self, found: Iterable[tuple[int, ...]], count: int) -> list[tuple[int, ...]]:
        """The first `count` combinations of types by rank, for combinations of kinds by rank."""
        if self.none_alike:
            return list(islice(found, count))
        every: list[tuple[int, ...]] = []
        for _, tied in groupby(found, key=lambda kinds: self.case.rank(kinds)[:3]):  # but for their names
            every += [units for kinds in tied for units in self._spread(kinds, count)]
            if len(every) >= count:
                break
        return sorted(every, key=self._full.rank)[:count]

    def of(self, types: tuple[int, ...]) -> tuple[int, ...]:
        """Units of each kind in a combination of types."""
        return tuple(sum(types[i] for i in members) for members in self._members)

    def _spread(self, kinds: tuple[int, ...], count: int) -> list[tuple[int, ...]]:
        """The first ways by name, at most `count`, to take so many units of each kind."""
        ways = [np.zeros(len(self._full.names), dtype=int)]
        for members, units in zip(self._members, kinds, strict=True):
            if not units:
                continue
            stock = [int(self._full.stock[i]) for i in members]
            parts = list(islice(_shares(units, stock), count))
            ways = [_with(way, members, part) for way in ways for part in parts]
            ways = sorted(ways, key=tuple, reverse=True)[:count]
        return [tuple(int(x) for x in way) for way in ways]


def _with(way: Array, members: list[int], part: tuple[int, ...]) -> Array:
    way = way.copy()
    way[members] = part
    return way


def _shares(units: int, stock: list[int]) -> Iterator[tuple[int, ...]]:
    """Every way to take units from several types, as many as can be from the first of them first."""
    if len(stock) == 1:
        yield (units,)
        return
    rest = sum(stock[1:])
    for here in range(min(units, stock[0]), max(0, units - rest) - 1, -1):
        for others in _shares(units - here, stock[1:]):
            yield (here, *others)
