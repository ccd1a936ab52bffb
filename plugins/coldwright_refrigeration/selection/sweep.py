"""The first combinations by rank, one type after the other: branch and bound, breadth first.

A part of a combination says how many units there are of the types so far. What it still has to cover adds at least what
the cheapest cover by the types to come adds, fractions allowed (the bound of Dantzig 1957 for the knapsack), to the
objective as to every other sum: so a part ends that must break a limit, or rank behind what was found. Types come by
falling capacity of a unit, or of a circuit where that may be lost: so what the rule of redundancy takes away is known from
the first units on, and no case has to be made of it.

Of all parts the most promising are kept. The rank that none of the others can be before is the proof: what ranks before it
is found exactly, ties too. Where that does not reach far enough all is done again with more parts, and with a limit from
what was found. How many are kept is a number, never a time, so that an answer is the same on every machine.
"""

import math

from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.ranked import Ranked, in_order
from coldwright_refrigeration.selection.relaxation import Row, broken_rows, linear_rows
from coldwright_refrigeration.selection.rounding import above, below, just_below, least_whole, roomy

MOST_KINDS = 60
"""With more types linear programs are quicker."""
PARTS = (96, 1024, 4096)
"""Parts that are kept at a type, pass by pass."""
EACH_MAKES = 8
"""Parts that each of them makes with the units of the next type: fewer are kept where there are more of it."""
OBJECTIVE, WITHOUT_HAULS, HAULS, UNITS, POWER = range(5)
"""The first sums; the rows of the rules follow."""
_Rank = tuple[float, ...]
"""Objective in steps, units, power."""
_LAST: _Rank = (math.inf, math.inf, math.inf)


class Sweep:
    """Combinations of a case that keep some rules, by rank; of those, where asked, that break another one."""

    def __init__(self, case: Case, rules: tuple[Rule, ...], broken: Rule | None = None) -> None:
        self.case, self.rules = case, rules
        redundancy = "redundancy" in rules
        by = case.circuit if redundancy and case.circuit is not None else case.capacity
        some = np.flatnonzero(case.stock > 0)
        self._at = some[np.argsort(-by[some], kind="stable")]
        self._stock, self._cover, self._each_lost = (each[self._at] for each in (case.stock, case.capacity, by))
        self._lost = 0 if not redundancy else 1 if case.circuit is not None else case.lost_units
        self._need = just_below(case.load) if redundancy or "capacity" in rules else 0.0
        self._sums, self._high = self._summed(
            linear_rows(case, rules) + ([] if broken is None else broken_rows(case, broken))
        )
        self._covered, self._added = self._cheapest()
        most = float(case.objective(case.stock[None])[0])
        self._in_steps = bool(above(most + case.quantum, most))
        self._step = case.quantum if self._in_steps else 1.0

    def _summed(self, rows: list[Row]) -> tuple[Array, Array]:
        """What one unit adds to each sum, and the limits of those that have one."""
        case = self.case
        rows = [row for row in rows if float(np.maximum(row.coefficients * case.stock, 0.0).sum()) > row.high]
        sums = [
            case.unit_cost + case.haul_weight * just_below(case.haul),
            case.unit_cost,
            case.haul,
            np.ones(len(case.names)),
            case.power,
            *(row.coefficients for row in rows),
        ]
        return np.array(sums)[:, self._at], roomy(np.array([row.high for row in rows]))

    def _cheapest(self) -> tuple[Array, Array]:
        """For each sum and type: what the types after it cover, the cheapest first, and the least that this adds."""
        order = np.argsort(self._sums / self._cover, axis=1, kind="stable")
        later = order[:, None] > np.arange(len(self._at))[:, None]
        covers = np.where(later, (self._cover * self._stock)[order][:, None], 0.0)
        adds = np.where(later, np.take_along_axis(self._sums * self._stock, order, axis=1)[:, None], 0.0)
        covered, added = (np.insert(np.cumsum(each, axis=2), 0, 0.0, axis=2) for each in (covers, adds))
        return covered, np.minimum.accumulate(added[:, :, ::-1], axis=2)[:, :, ::-1]  # what lowers a sum is always had

    def first(self, count: int, under: float = math.inf, *, quickly: bool = False) -> Ranked:
        """The first `count` with an objective under a limit; `quickly`: by one pass."""
        limit: _Rank = (under / self._step, math.inf, math.inf)
        every = np.zeros((0, len(self.case.names)))
        for parts in PARTS[:1] if quickly else PARTS:
            rows, left_out = self._kept(limit, parts)
            rows = rows[self.case.keeps(rows, self.rules)]
            rows = rows[self.case.objective(rows) < under]
            every = np.unique(np.concatenate([every, rows]), axis=0) if len(every) else rows
            found = in_order(self.case, every, count)
            last = self._rank(found[count - 1]) if len(found) >= count else _LAST
            if self._objective(left_out) >= under or self._is_before(last, left_out):
                return Ranked(found, True)
            left_out, limit = min(left_out, limit), min(limit, last)  # what is behind the limit was left out too
        return Ranked(found, False, self._objective(left_out))

    def _objective(self, rank: _Rank) -> float:
        return rank[0] * self._step

    def _rank(self, units: tuple[int, ...]) -> _Rank:
        objective, many, power, _ = self.case.rank(units)
        return (round(objective / self._step) if self._in_steps else objective, many, power)

    def _is_before(self, last: _Rank, left_out: _Rank) -> bool:
        """Whether what was left out ranks behind beyond doubt; what ties but for the names does not."""
        if not self._in_steps:
            return bool(below(last[0], left_out[0]))
        return (*last[:2], roomy(last[2])) < left_out

    def _kept(self, limit: _Rank, most: int) -> tuple[Array, _Rank]:
        """Combinations that rank up to a limit, and perhaps others; and the rank that none left out can be before."""
        left_out = _LAST
        units, used = np.zeros((1, len(self._at))), np.zeros((len(self._sums), 1))
        need, lost = np.array([self._need]), np.zeros(1)
        stocks = self._stock.astype(int).tolist()
        for i, (stock, coming) in enumerate(zip(stocks, [*stocks, 0][1:], strict=True)):
            parent, taken = np.divmod(np.arange(len(need) * (stock + 1)), stock + 1)
            more = np.minimum(self._lost - lost[parent], taken)
            now = used[:, parent] + self._sums[:, i, None] * taken
            lacks = need[parent] + more * self._each_lost[i] - taken * self._cover[i]
            ranks, good = self._bounds(i, now, lacks, limit)
            at, many = np.flatnonzero(good), min(most, max(1, most * EACH_MAKES // (coming + 1)))
            if len(at) > many:
                at = at[np.lexsort(ranks[::-1, at])]
                left_out = min(left_out, tuple(ranks[:, at[many]].tolist()))
                at = at[:many]
            units, used, need, lost = units[parent[at]], now[:, at], lacks[at], (lost[parent] + more)[at]
            units[:, i] = taken[at]
        made = np.zeros((len(units), len(self.case.names)))
        made[:, self._at] = units
        return made, left_out

    def _bounds(self, i: int, used: Array, need: Array, limit: _Rank) -> tuple[Array, Array]:
        """The rank that none made of a part can be before, and which parts may keep the rules and the limit."""
        case, lacks = self.case, np.maximum(need, 0.0)
        least = used + np.array(
            [np.interp(lacks, *pair) for pair in zip(self._covered[:, i], self._added[:, i], strict=True)]
        )
        objective = least[OBJECTIVE]
        if case.haul_weight:
            objective = np.maximum(objective, least[WITHOUT_HAULS] + case.haul_weight * least_whole(least[HAULS]))
        if self._in_steps:
            objective = least_whole(just_below(objective / self._step))
        ranks = np.array([objective, least_whole(least[UNITS]), least[POWER]])
        good = need <= self._covered[0, i, -1]
        good = ties = good & (least[POWER + 1 :] <= self._high[:, None]).all(axis=0)
        for bound, most in zip(ranks, limit, strict=True):
            if math.isinf(most):
                break
            good = good & ~(ties & (bound > roomy(most)))
            if not self._in_steps:  # what ties is not known beyond doubt
                break
            ties = ties & (bound >= most)
        return ranks, good
