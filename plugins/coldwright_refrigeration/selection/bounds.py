"""Lower bounds of the objective, and combinations in the order of those bounds.

The loss of the k largest units is min over t of (k t + sum n_i max(Q_i - t, 0)), the least being reached where t is one
of the capacities. So the redundancy rule holds when for some t

    sum n_i min(Q_i, t) >= load + k t

and the problem falls apart into levels, one for each t, each with one linear covering row. Likewise for the loss of a
circuit: no unit with a larger circuit than t, and sum n_i Q_i >= load + t. Where a haul costs something, each level
falls apart again by the number of hauls. What is left is a part: linear rows and whole numbers.

The multipliers of a part's linear program price every unit: a combination that departs from the part's base by one unit
of type i costs at least |d_i| more than the bound. Combinations are taken from a heap by the sum of those prices, so
that everything not yet seen costs at least as much as what comes next.
"""

import heapq
import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from coldwright.contract import lazy
from coldwright_refrigeration.selection.case import SLACK, Array, Case, np
from coldwright_refrigeration.selection.given import Rule

optimize = lazy("scipy.optimize")

BATCH = 128
Units = tuple[int, ...]
Made = tuple[tuple[int, int], ...]
"""Departures from a base: number of the type, units."""


class Row(NamedTuple):
    """One linear row of a rule: `coefficients . n <= high`."""

    rule: Rule
    coefficients: Array
    high: float


@dataclass(frozen=True)
class Level:
    """One linear covering row, and the rows that keep to this level."""

    key: tuple[str, float]
    cover: Array
    need: float
    allowed: Array
    own: tuple[tuple[Array, float], ...]
    """Rows `coefficients . n <= high` that tell this level from the others."""
    bound: float
    """Of the covering row alone, hauls counted by their share."""
    hauls: float
    """Shares of hauls at that bound."""


@dataclass(frozen=True)
class Part:
    """A level with its number of hauls, its bound, and what each unit off the base costs at least."""

    level: Level
    hauls: int | None
    bound: float
    base: Array
    price: Array
    sign: Array
    """+1 where a departure adds units, -1 where it takes them away."""
    acting: frozenset[Rule]
    """Rules whose rows have a price in the bound: without the others it is the same."""
    order: tuple[int, ...]
    """Types that may move, by rising price."""
    rising: tuple[float, ...]
    """Their prices."""


def tie_breaker(case: Case) -> Array:
    """A whisper for the count and the power of a unit, smaller in all than the step between two objectives."""
    whisper = np.full(len(case.names), case.quantum / 4 / (1 + float(case.stock.sum())))
    if case.power is not None:
        most = float(case.stock @ case.power)
        whisper = whisper + whisper / (1 + float(case.stock.max())) * case.power / (1 + most)
    return whisper


def scores(case: Case, n: Array) -> Array:
    """What the bounds bound: the objective of combinations, with the whisper."""
    return case.objective(n) + n @ tie_breaker(case)


def score(case: Case, units: Units) -> float:
    """Score of one combination."""
    return float(scores(case, np.array([units], dtype=float))[0])


def linear_rows(case: Case, rules: tuple[Rule, ...]) -> list[Row]:
    """The rules as linear rows, scaled to about 1. Least flow with standby units valved off is not linear: no row."""
    one = np.ones(len(case.names))
    made: dict[str, Callable[[], tuple[Array, float]]] = {
        "turndown": lambda: (-1.0 * case.turns_down, -1.0),
        "flow_minimum": lambda: (case.flow_minimum / case.flow, 1.0),
        "flow_maximum": lambda: (-case.flow_maximum / case.flow, -1.0),
        "power_available": lambda: _at_most(case.power, case.power_available),
        "footprint_available": lambda: _at_most(case.footprint, case.footprint_available),
        "hauls_max": lambda: (case.haul, float(case.hauls_max)),
        "units_max": lambda: (one, float(case.units_max)),
        "mass_max": lambda: _at_most(case.mass, case.mass_max),
    }
    rows = []
    for rule in rules:
        if rule in made and not (rule == "flow_minimum" and case.standby_isolated):
            coefficients, high = made[rule]()
            rows.append(Row(rule, coefficients, high + SLACK * max(abs(high), 1.0)))
    return rows


def _at_most(each: Array, limit: float) -> tuple[Array, float]:
    scale = max(limit, 1e-6 * float(np.max(each, initial=0.0))) or 1.0
    return each / scale, limit / scale


def part_rows(case: Case, level: Level, hauls: int | None) -> list[tuple[Array, float]]:
    """The rows `coefficients . n <= high` that make a part, whatever the rules."""
    rows = [(-level.cover / case.load, -level.need / case.load), *level.own]
    if hauls is not None:
        rows += [(case.haul, hauls + SLACK), (-case.haul, 1.0 - hauls + SLACK)]
    return rows


class Relaxation:
    """Levels and parts of a case; parts are kept, and serve every set of rules for which they hold."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._levels: dict[str, list[Level]] = {}
        self._parts: dict[Any, list[tuple[tuple[Rule, ...], Part | None]]] = {}
        hauls = 0.0 if case.haul is None else float(case.stock @ case.haul)
        self.most_hauls = math.ceil(hauls - SLACK)

    def levels(self, rules: tuple[Rule, ...]) -> list[Level]:
        """The levels of a set of rules; those that cannot be met even with fractions are left out."""
        kind = "redundancy" if "redundancy" in rules else "capacity" if "capacity" in rules else "none"
        if kind not in self._levels:
            self._levels[kind] = [level for level in self._covers(kind) if level is not None]
        return self._levels[kind]

    def _covers(self, kind: str) -> list[Level | None]:
        case, some = self.case, self.case.stock > 0
        size, load = case.capacity, case.load
        if kind == "redundancy" and case.circuit is not None:
            found = []
            for t in np.unique(case.circuit[some]):
                at = some & (case.circuit == t)
                own = ((-1.0 * at, -1.0),)
                found.append(self._level((kind, float(t)), size, load + t, some & (case.circuit <= t), own, at))
            return found
        if kind == "redundancy":
            return [self._by_unit(float(t), some) for t in np.unique(size[some])]
        return [self._level((kind, 0.0), size, load if kind == "capacity" else 0.0, some, (), None)]

    def _by_unit(self, t: float, some: Array) -> Level | None:
        case, k = self.case, self.case.lost_units
        larger = case.capacity > t
        own = ((-1.0 * (case.capacity >= t), -1.0 * k), (1.0 * larger, k - 1.0))
        allowed = some & ~larger if k == 1 else some
        at = some & (case.capacity == t)
        return self._level(("redundancy", t), np.minimum(case.capacity, t), case.load + k * t, allowed, own, at)

    def _level(
        self,
        key: tuple[str, float],
        cover: Array,
        need: float,
        allowed: Array,
        own: tuple[tuple[Array, float], ...],
        at: Array,
    ) -> Level | None:
        """The covering row alone, with fractions allowed, is a fractional knapsack: the cheapest cover first.

        `at`: the types of which a level holds one unit at least; it is paid for beforehand.
        """
        case, need = self.case, need * (1 - SLACK)
        cost = case.unit_cost + tie_breaker(case) + (case.haul_weight * case.haul if case.haul_weight else 0.0)
        stock = np.where(allowed, case.stock, 0.0)
        order = np.argsort(np.where(allowed, cost / cover, np.inf), kind="stable")
        filled = np.cumsum((cover * stock)[order])
        if not len(filled) or filled[-1] < need:
            return None
        paid, rest = 0.0, need
        if at is not None:
            paid, rest = float(np.min(cost[at])), need - float(np.max(cover[at]))
        taken = np.clip(rest - (filled - (cover * stock)[order]), 0.0, (cover * stock)[order]) / cover[order]
        shares = 0.0 if case.haul is None else float(taken @ case.haul[order])
        return Level(key, cover, need, allowed, own, paid + float(taken @ cost[order]), shares)

    def part(self, level: Level, hauls: int | None, rules: tuple[Rule, ...]) -> Part | None:
        """A part for a set of rules; None where its linear program has no answer."""
        kept = self._parts.setdefault((level.key, hauls), [])
        for known, part in kept:
            if known == rules or (part is not None and set(rules) <= set(known) and part.acting <= set(rules)):
                return part
        part = self._solve(level, hauls, rules)
        kept.append((rules, part))
        return part

    def _solve(self, level: Level, hauls: int | None, rules: tuple[Rule, ...]) -> Part | None:

        case = self.case
        rows = linear_rows(case, rules)
        always = part_rows(case, level, hauls)
        matrix = np.array([*(coefficients for coefficients, _ in always), *(row.coefficients for row in rows)])
        high = np.array([*(most for _, most in always), *(row.high for row in rows)])
        stock = np.where(level.allowed, case.stock, 0.0)
        cost = case.unit_cost + tie_breaker(case)
        found = optimize.linprog(cost, A_ub=matrix, b_ub=high, bounds=np.column_stack([np.zeros_like(stock), stock]))
        if found.status != 0:
            return None
        multipliers = np.maximum(-found.ineqlin.marginals, 0.0)
        reduced = cost + multipliers @ matrix
        bound = float(np.minimum(reduced, 0.0) @ stock - multipliers @ high) + case.haul_weight * (hauls or 0)
        price = np.abs(reduced)
        order = tuple(int(i) for i in np.argsort(price, kind="stable") if stock[i] > 0)
        return Part(
            level,
            hauls,
            bound,
            np.where(reduced < 0, stock, 0.0),
            price,
            np.where(reduced < 0, -1.0, 1.0),
            frozenset(row.rule for row, m in zip(rows, multipliers[len(always) :], strict=True) if m > 0),
            order,
            tuple(float(price[i]) for i in order),
        )


class Frontier:
    """Everything not yet seen, by its bound."""

    def __init__(self, relaxation: Relaxation, rules: tuple[Rule, ...], *, points: bool = True) -> None:
        self._relaxation, self._rules, self._points = relaxation, rules, points
        self._number = itertools.count()
        self._heap: list[tuple[float, int, Any]] = []
        self._by_hauls = bool(relaxation.case.haul_weight)
        self._stock = [int(s) for s in relaxation.case.stock]
        for level in relaxation.levels(rules):
            self._push(level.bound, level)

    def _push(self, bound: float, entry: Any) -> None:
        heapq.heappush(self._heap, (bound, next(self._number), entry))

    def pop(self) -> tuple[float, Part, Made] | None:
        """The next combination with its bound, or with `points` false the next part; None at the end."""
        while self._heap:
            bound, _, entry = heapq.heappop(self._heap)
            if isinstance(entry, Level):
                self._open(entry)
            elif isinstance(entry, _Step):
                self._walk(entry)
            else:
                part, at, count, made = entry
                if self._points:
                    self._depart(bound, part, at, count, made)
                return bound, part, made
        return None

    def _open(self, level: Level) -> None:
        if not self._by_hauls:
            self._add(self._relaxation.part(level, None, self._rules))
            return
        low = math.floor(level.hauls + SLACK)
        parts = [self._part(level, h) for h in (low, low + 1)]
        below, above = (math.inf if p is None else p.bound for p in parts)
        for part in parts:
            self._add(part)
        # the bound is a convex function of the hauls: beyond the dearer of two neighbours it only rises
        self._push(below if math.inf > below >= above else level.bound, _Step(level, low - 1, -1, below))
        self._push(above if math.inf > above >= below else level.bound, _Step(level, low + 2, 1, above))

    def _walk(self, step: "_Step") -> None:
        if not 0 <= step.hauls <= self._relaxation.most_hauls or (step.way < 0 and math.isinf(step.before)):
            return
        part = self._part(step.level, step.hauls)
        self._add(part)
        bound = math.inf if part is None else part.bound
        rising = math.inf > bound >= step.before
        self._push(bound if rising else step.level.bound, _Step(step.level, step.hauls + step.way, step.way, bound))

    def _part(self, level: Level, hauls: int) -> Part | None:
        if not 0 <= hauls <= self._relaxation.most_hauls:
            return None
        return self._relaxation.part(level, hauls, self._rules)

    def _add(self, part: Part | None) -> None:
        if part is not None:
            self._push(part.bound, (part, -1, 0, ()))

    def _depart(self, bound: float, part: Part, at: int, count: int, made: Made) -> None:
        """The next departures. Each set is reached once: the last type takes one unit more, or the next type joins,
        or, with a single unit in the last type, that unit moves on."""
        price, order = part.rising, part.order
        if at >= 0 and count < self._stock[order[at]]:
            more = (*made[:-1], (order[at], count + 1))
            self._push(bound + price[at], (part, at, count + 1, more))
        if at + 1 < len(order):
            step = (order[at + 1], 1)
            self._push(bound + price[at + 1], (part, at + 1, 1, (*made, step)))
            if count == 1:
                self._push(bound + price[at + 1] - price[at], (part, at + 1, 1, (*made[:-1], step)))


class _Step(NamedTuple):
    """The next number of hauls to look at in a level."""

    level: Level
    hauls: int
    way: int
    before: float
    """Bound one haul earlier."""


class Ranked(NamedTuple):
    """Combinations by rank, and whether nothing better than the last of them can have been missed."""

    units: list[Units]
    complete: bool


class Want(NamedTuple):
    """What to look for: the `number` best, breaking one of `but` at least, scoring under `below`."""

    number: int
    budget: int
    but: tuple[Rule, ...] = ()
    below: float = math.inf


def ranked(relaxation: Relaxation, rules: tuple[Rule, ...], want: Want) -> Ranked:
    """The best combinations that keep `rules`, looking at `want.budget` of them at most."""
    case = relaxation.case
    frontier = Frontier(relaxation, rules)
    found: dict[Units, float] = {}
    looked, size = 0, 8
    while looked < want.budget:
        batch = [item for item in (frontier.pop() for _ in range(size)) if item is not None]
        looked += len(batch)
        bound = batch[-1][0] if len(batch) == size else math.inf
        if batch:
            _judge(case, rules, want, _combinations(batch), found)
        if bound >= want.below or _enough(found, want.number, bound):
            return Ranked(sorted(found, key=case.rank)[: want.number], True)
        size = min(2 * size, BATCH)
    best = heapq.nsmallest(want.number, found, key=lambda units: found[units])
    return Ranked(sorted(best, key=case.rank), False)


def _judge(case: Case, rules: tuple[Rule, ...], want: Want, n: Array, found: dict[Units, float]) -> None:
    good = case.keeps(n, rules)
    if want.but:
        good[good] = ~case.keeps(n[good], want.but)
    if not good.any():
        return
    rows = n[good]
    for row, value in zip(rows.astype(int).tolist(), scores(case, rows).tolist(), strict=True):
        if value < want.below:
            found[tuple(row)] = value


def _enough(found: dict[Units, float], count: int, bound: float) -> bool:
    if math.isinf(bound):
        return True
    if len(found) < count:
        return False
    last = heapq.nsmallest(count, found.values())[-1]
    return bound > last + SLACK * abs(last)


def _combinations(batch: list[tuple[float, Part, Made]]) -> Array:
    n = np.array([part.base for _, part, _ in batch])
    for row, (_, part, made) in enumerate(batch):
        for i, count in made:
            n[row, i] += part.sign[i] * count
    return n
