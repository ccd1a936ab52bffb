"""A second, more thorough attempt to find places for machines, where the first free place for each was not enough.

Machines in several orders, several places for each; first the ways in which one machine alone stands elsewhere than at its
first place, then two, and so on (limited discrepancy search).
"""

from collections.abc import Sequence
from itertools import islice

from msgspec.structs import replace

from coldwright_site.placement.field import RANKS, Budget, Field, Place, Turned

PLACES = 60_000
"""Places looked at besides."""
OF_EACH_ORDER = 2
"""Places of one turned machine that are tried, in each order of places."""
MOST_ELSEWHERE = 4
"""Machines that stand elsewhere than at their first place."""

_State = frozenset[tuple[object, int, float, float]]


class Thorough:
    """The search in one area, seen along its sides."""

    def __init__(self, field: Field, turned: Sequence[Sequence[Turned]], budget: Budget) -> None:
        self._field, self._budget = field, budget
        kinds: dict[object, list[Sequence[Turned]]] = {}
        for turns in turned:
            unlike = {(t.half, t.sides): t for t in reversed(turns)}
            kinds.setdefault(replace(turns[0].machine, id=""), []).append(list(unlike.values())[::-1])
        self._kinds = list(kinds)
        self._turned = kinds
        self._tried: dict[tuple[int, str, _State], int] = {}
        self._places: dict[tuple[object, str, _State], list[Place]] = {}

    def places(self) -> list[Place] | None:
        """Places for all; None where none were found with what the budget allows."""
        orders = self._orders()
        for elsewhere in range(MOST_ELSEWHERE + 1):
            for order in orders:
                for rank in RANKS:
                    self._tried.clear()
                    found = self._rest(order, rank, (), frozenset(), elsewhere)
                    if found is not None:
                        return found
                    if self._budget.left <= 0:
                        return None
        return None

    def _orders(self) -> list[list[tuple[object, Sequence[Turned]]]]:
        """The longest, the widest and the largest first, then turned about; like machines side by side."""

        def long(kind: object) -> tuple[float, float]:
            half = self._turned[kind][0][0].half
            return -max(half), -min(half)

        def wide(kind: object) -> tuple[float, float]:
            return long(kind)[::-1]

        def large(kind: object) -> float:
            half = self._turned[kind][0][0].half
            return -half[0] * half[1]

        found: list[list[object]] = []
        for key in (long, wide, large):
            one = sorted(self._kinds, key=key)
            found += [o for o in (one, one[::-1]) if o not in found]
        return [[(kind, turns) for kind in order for turns in self._turned[kind]] for order in found]

    def _rest(
        self,
        order: list[tuple[object, Sequence[Turned]]],
        rank: str,
        placed: tuple[Place, ...],
        state: _State,
        elsewhere: int,
    ) -> list[Place] | None:
        if len(placed) == len(order):
            return list(placed)
        if self._budget.left <= 0 or self._tried.get((len(placed), rank, state), -1) >= elsewhere:
            return None
        self._tried[len(placed), rank, state] = elsewhere
        kind, turns = order[len(placed)]
        for index, place in enumerate(self._candidates(kind, turns, rank, placed, state)):
            left = elsewhere - (index > 0)
            if left < 0:
                break
            stands = (kind, place.turned.quarters, round(place.x, 6), round(place.y, 6))
            found = self._rest(order, rank, (*placed, place), state | {stands}, left)
            if found is not None:
                return found
        return None

    def _candidates(
        self, kind: object, turns: Sequence[Turned], rank: str, placed: tuple[Place, ...], state: _State
    ) -> list[Place]:
        """Places of one machine: the first of each order, beginning with those of the order that leads."""
        key = (kind, rank, state)
        if key not in self._places:
            found: dict[tuple[int, float, float], Place] = {}
            for order in (rank, *(r for r in RANKS if r != rank)):
                some = [
                    place
                    for turned in turns
                    for place in islice(self._field.free(turned, placed, order, self._budget), OF_EACH_ORDER)
                ]
                for place in sorted(some, key=lambda p: RANKS[order](p.x, p.y)):
                    found.setdefault((place.turned.quarters, round(place.x, 6), round(place.y, 6)), place)
            self._places[key] = list(found.values())
        of_this = {turned.quarters: turned for turned in turns}
        return [Place(of_this[p.turned.quarters], p.x, p.y) for p in self._places[key]]
