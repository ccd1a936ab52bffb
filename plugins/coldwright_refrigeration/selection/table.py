"""Every combination of a small fleet, written out."""

import math

from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.ranked import Ranked, in_order


def combinations_of(case: Case) -> int:
    """How many combinations the stock allows."""
    return math.prod(int(s) + 1 for s in case.stock)


class Table:
    """Every combination of the stock, one a row, and which of them break a rule."""

    def __init__(self, case: Case) -> None:
        self.case = case
        shape = [int(s) + 1 for s in case.stock]
        self.every: Array = np.indices(shape).reshape(len(shape), -1).T.astype(float)
        self.objective = case.objective(self.every)
        self._broken: dict[Rule, Array] = {}

    def keeping(self, rules: tuple[Rule, ...]) -> "_Keeping":
        """Those that keep some rules."""
        good = np.ones(len(self.every), dtype=bool)
        for rule in rules:
            if rule not in self._broken:
                self._broken[rule] = self.case.broken(self.every, rule)
            good &= ~self._broken[rule]
        return _Keeping(self, good)


class _Keeping:
    def __init__(self, table: Table, good: Array) -> None:
        self._table, self._good = table, good

    def first(self, count: int, below: float = math.inf) -> Ranked:
        """The first `count` with an objective under `below`."""
        rows = self._table.every[self._good & (self._table.objective < below)]
        return Ranked(in_order(self._table.case, rows, count), True)
