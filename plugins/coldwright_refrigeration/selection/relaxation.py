"""Linear programs of a case: lower bounds of a criterion, and what each unit off the bound's base costs at least.

The loss of the k largest units is min over t of (k t + sum n_i max(Q_i - t, 0)), the least being reached where t is one
of the capacities. So the redundancy rule holds when for some t

    sum n_i min(Q_i, t) >= load + k t

and the problem falls apart into levels, one for each t, each with one linear covering row. Likewise for the loss of a
circuit: no unit with a larger circuit than t, and sum n_i Q_i >= load + t.

The multipliers of a linear program price every unit: a combination that departs from the base by one unit of type i
costs at least the price of i more than the bound. By weak duality that holds for any multipliers, also for those that
a solver gives with an error; so no bound rests on the solver's tolerance.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from coldwright.contract import lazy
from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.rounding import below, just_below, roomy

highspy: Any = lazy("highspy")
core: Any = lazy("highspy._core")


class Criterion(NamedTuple):
    """What is made small: `cost . n`, and `haul_weight` for every haul, hauls rounded up."""

    name: str
    cost: Array
    haul_weight: float = 0.0
    step: float = 0.0
    """Where it is above 0 the values are few, multiples of it, and are gone through one by one."""


class Row(NamedTuple):
    """One linear row, `coefficients . n <= high`."""

    coefficients: Array
    high: float

    @classmethod
    def up_to(cls, limit: float, each: Array) -> "Row":
        """What each unit adds comes to a limit at most, with the room that rounding needs; the limit is scaled to 1."""
        scale = abs(limit) or 1.0
        return cls(each / scale, float(roomy(limit / scale)))


class Held(NamedTuple):
    """What is held while the next criterion is made small."""

    rows: tuple[Row, ...] = ()
    hauls: int | None = None


@dataclass(frozen=True)
class Level:
    """One linear covering row, and the rows that keep to this level."""

    cover: Row
    allowed: Array
    own: tuple[Row, ...]
    bound: float
    """Of the covering row alone."""


@dataclass(frozen=True)
class Node:
    """Part of a level: a box, a range of hauls, the bound there, its base, and the price of each unit off the base."""

    program: "Program"
    low: Array
    high: Array
    hauls: tuple[int, int] | None
    sums: Array
    """Least and greatest units of each size together, one row a size."""
    rows: tuple[Row, ...]
    bound: float
    base: Array
    price: Array
    sign: Array
    """+1 where a departure adds units, -1 where it takes them away."""
    point: Array
    """The linear program's own answer, with fractions."""


def linear_rows(case: Case, rules: tuple[Rule, ...]) -> list[Row]:
    """The rules as linear rows. The two that ask for capacity are those of `levels`."""
    return [Row.up_to(*sum_of) for rule in rules for sum_of in _limited(case, rule)]


def broken_rows(case: Case, rule: Rule) -> list[Row]:
    """What a combination that breaks a rule keeps instead, where that is linear: the sum is not under its limit."""
    return [Row.up_to(-limit, -each) for limit, each in _limited(case, rule)]


def _limited(case: Case, rule: Rule) -> list[tuple[float, Array]]:
    """The limit of a rule, and what each unit adds. Least flow with standby units valved off is not linear: none."""
    match rule:
        case "turndown":
            return [(-1.0, -case.turns_down)]
        case "flow_minimum":
            return [] if case.standby_isolated else [(case.flow, case.flow_minimum)]
        case "flow_maximum":
            return [(-case.flow, -case.flow_maximum)]
        case "power_available":
            return [(case.power_available, case.power)]
        case "footprint_available":
            return [(case.footprint_available, case.footprint)]
        case "hauls_max":
            return [(case.hauls_max, case.haul)]
        case "units_max":
            return [(case.units_max, np.ones(len(case.names)))]
        case "mass_max":
            return [(case.mass_max, case.mass)]
        case _:
            return []


class _Covers(NamedTuple):
    """All levels at once, one a row: what a unit covers, which units may be, which stand at the level; what is needed."""

    cover: Array
    allowed: Array
    at: Array | None
    need: Array


def levels(case: Case, rules: tuple[Rule, ...], cost: Array, rows: Sequence[Row] = ()) -> list[Level]:
    """The levels of a set of rules by rising bound.

    Those are left out that cannot be met even with fractions, by the stock or within one of the `rows`.
    """
    some, size, load = case.stock > 0, case.capacity, case.load
    if not some.any():
        return []
    circuits = "redundancy" in rules and case.circuit is not None
    steps = np.unique((case.circuit if circuits else size)[some])[:, None]
    if "redundancy" not in rules:
        need = np.array([load if "capacity" in rules else 0.0])
        all_of = _Covers(size[None], some[None], None, just_below(need))
    elif circuits:
        at = some & (case.circuit == steps)
        all_of = _Covers(
            np.repeat(size[None], len(steps), axis=0),
            some & (case.circuit <= steps),
            at,
            just_below(load + steps[:, 0]),
        )
    else:
        allowed = some & (size <= steps) if case.lost_units == 1 else np.repeat(some[None], len(steps), axis=0)
        need = load + case.lost_units * steps[:, 0]
        all_of = _Covers(np.minimum(size, steps), allowed, some & (size == steps), just_below(need))
    bounds = _bounds(case, all_of, cost)
    bounds[~_within(case, all_of, rows)] = np.inf
    order = [int(i) for i in np.argsort(bounds, kind="stable") if bounds[i] < np.inf]
    return [
        Level(
            Row(-all_of.cover[i] / load, -float(all_of.need[i]) / load),
            all_of.allowed[i],
            _own_rows(case, all_of, i, steps[i, 0], circuits=circuits),
            float(bounds[i]),
        )
        for i in order
    ]


def _own_rows(case: Case, all_of: _Covers, i: int, t: float, *, circuits: bool) -> tuple[Row, ...]:
    if all_of.at is None:
        return ()
    if circuits:
        return (Row(-all_of.at[i].astype(float), -1.0),)
    k = case.lost_units
    at_least, greater = ((case.capacity >= t).astype(float), (case.capacity > t).astype(float))
    return (Row(-at_least, -float(k)), Row(greater, k - 1.0))


def _bounds(case: Case, all_of: _Covers, cost: Array) -> Array:
    """The covering row alone, with fractions allowed, is a fractional knapsack: the cheapest cover first.

    One unit of those that stand at the level is paid for beforehand. Infinite where all units together do not cover it.
    """
    cover, allowed, at, need = all_of
    order = np.argsort(np.where(allowed, cost / cover, np.inf), axis=1, kind="stable")
    covers = np.take_along_axis(cover, order, axis=1)
    held = np.take_along_axis(cover * np.where(allowed, case.stock, 0.0), order, axis=1)
    filled = np.cumsum(held, axis=1)
    paid, rest = 0.0, need
    if at is not None:
        paid = np.where(at, cost, np.inf).min(axis=1)
        rest = need - np.where(at, cover, 0.0).max(axis=1)
    taken = np.clip(rest[:, None] - (filled - held), 0.0, held) / covers
    bounds = paid + (taken * cost[order]).sum(axis=1)
    return np.where(filled[:, -1] < need, np.inf, bounds)


def _within(case: Case, all_of: _Covers, rows: Sequence[Row]) -> Array:
    """Which levels can be covered within each row that limits a sum: the most cover for it first, fractions allowed."""
    cover, allowed, _, need = all_of
    stock = np.where(allowed, case.stock, 0.0)
    good = np.ones(len(cover), dtype=bool)
    for row in rows:
        each = row.coefficients
        if row.high < 0 or each.min() < 0:
            continue
        order = np.argsort(each / cover, axis=1, kind="stable")
        weights = each[order] * np.take_along_axis(stock, order, axis=1)
        left = row.high - (np.cumsum(weights, axis=1) - weights)
        part = np.divide(left, weights, out=np.ones_like(left), where=weights > 0)
        most = (np.clip(part, 0, 1) * np.take_along_axis(cover * stock, order, axis=1)).sum(axis=1)
        good &= ~below(most, need)
    return good


class Program:
    """The linear program of a level with a set of rules, solved again and again from where it was left."""

    def __init__(self, case: Case, level: Level, rows: list[Row], criterion: Criterion) -> None:
        self.case, self.level, self.criterion = case, level, criterion
        self.rows = (level.cover, *level.own, *rows)
        self.stock = np.where(level.allowed, case.stock, 0.0)
        self._types = np.flatnonzero(self.stock > 0)
        self.sizes = _sizes(case.capacity, self.stock)
        self.sums = np.array([[0.0, float(size @ self.stock)] for size in self.sizes]).reshape(-1, 2)
        self._solver = self._made()

    def _made(self) -> Any:
        """All rows, one for the units of each size, and one for the hauls, which is open until a range is asked for."""
        at = self._types
        open_rows = [*self.sizes, self.case.haul]
        matrix = np.array([row.coefficients[at] for row in self.rows] + [each[at] for each in open_rows])
        highs = np.array([row.high for row in self.rows] + [math.inf for _ in open_rows])
        program = program_of(self._cost(None)[at], self.stock[at], matrix, highs)
        return solver_of(program, presolve="off")

    def is_open(self, hauls: tuple[int, int] | None) -> bool:
        """Whether hauls cost something, and their number is not known yet."""
        return self.criterion.haul_weight > 0 and (hauls is None or hauls[0] < hauls[1])

    def _cost(self, hauls: tuple[int, int] | None) -> Array:
        """Cost of a unit; its share of a haul counts as long as the number of hauls is open."""
        cost = self.criterion.cost
        return cost + self.criterion.haul_weight * self.case.haul if self.is_open(hauls) else cost

    def at_most(self, limit: float) -> Row:
        """What the criterion comes to, hauls not rounded up: no more than a limit."""
        return Row.up_to(limit, self._cost(None))

    def node(self, low: Array, high: Array, hauls: tuple[int, int] | None, sums: Array) -> Node | None:
        """The part within a box, a range of hauls and ranges of the sizes; None where its program has no answer."""
        at, many = self._types, len(self._types)
        cost = self._cost(hauls)
        solver = self._solver
        everything = np.arange(many, dtype=np.int32)
        solver.changeColsBounds(many, everything, low[at], high[at])
        solver.changeColsCost(many, everything, cost[at])
        ranges = [(size, *bounds) for size, bounds in zip(self.sizes, sums.tolist(), strict=True)]
        least_hauls, most_hauls = (-math.inf, math.inf) if hauls is None else (hauls[0] - 1.0, float(roomy(hauls[1])))
        ranges.append((self.case.haul, least_hauls, most_hauls))
        for number, (_, least, most) in enumerate(ranges, len(self.rows)):
            solver.changeRowBounds(number, least, most)
        solver.run()
        if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            return None
        solution = solver.getSolution()
        dual = (-np.array(solution.row_dual)).tolist()
        rows, multipliers = list(self.rows), [max(d, 0.0) for d in dual[: len(self.rows)]]
        for (coefficients, least, most), d in zip(ranges, dual[len(self.rows) :], strict=True):
            if math.isinf(most):
                continue
            rows += [Row(coefficients, most), Row(-coefficients, -least)]
            multipliers += [max(d, 0.0), max(-d, 0.0)]
        reduced = cost + np.array(multipliers) @ np.array([row.coefficients for row in rows])
        constant = -float(np.array(multipliers) @ np.array([row.high for row in rows]))
        if hauls is not None and not self.is_open(hauls):
            constant += self.criterion.haul_weight * hauls[0]
        base = np.where(reduced < 0, high, low)
        point = np.zeros(len(self.stock))
        point[at] = solution.col_value
        return Node(
            self, low, high, hauls, sums, tuple(rows), float(reduced @ base) + constant, base, np.abs(reduced),
            np.where(reduced < 0, -1.0, 1.0), point,
        )  # fmt: skip


def program_of(cost: Array, most: Array, matrix: Array, high: Array) -> Any:
    """The least cost of columns from nothing to the most of each, within `matrix . columns <= high`."""
    count, columns = matrix.shape
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = columns, count
    program.col_cost_, program.col_lower_, program.col_upper_ = cost, np.zeros(columns), most
    program.row_lower_, program.row_upper_ = np.full(count, -math.inf), high
    program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    program.a_matrix_.start_ = np.append(np.arange(0, matrix.size, columns), matrix.size).astype(np.int32)
    program.a_matrix_.index_ = np.tile(np.arange(columns, dtype=np.int32), count)
    program.a_matrix_.value_ = matrix.ravel()
    return program


def solver_of(program: Any, **options: float | str) -> Any:
    """A solver that says nothing and has one thread."""
    solver = core._Highs()  # the class beneath `Highs`, which prints a banner whenever one is made
    for name, setting in {"output_flag": False, "threads": 1, **options}.items():
        solver.setOptionValue(name, setting)
    solver.passModel(program)
    return solver


def _sizes(capacity: Array, stock: Array) -> list[Array]:
    """Which types have a size in common with others, one row a size."""
    some = np.unique(capacity[stock > 0])
    rows = [(capacity == size) & (stock > 0) for size in some]
    return [row.astype(float) for row in rows if row.sum() > 1]
