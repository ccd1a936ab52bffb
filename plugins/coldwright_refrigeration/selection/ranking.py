"""The first combinations by rank: objective, then units, then power, then names; exact, ties too.

One criterion at a time. Where a criterion takes few values, as units and hauls do, they are gone through one by one,
and while one is held the next criterion is made small. Where it takes many, as money and power do, all combinations
under a limit are written out, and the limit is raised until there are enough. A node with too many combinations under
the limit is split in two, each with a bound of its own. What is never opened has a bound above the limit: that is the
proof. How much is opened is limited by a number of nodes, never by time, so that an answer is the same on every
machine.
"""

import math
from collections.abc import Iterator, Sequence

from coldwright_refrigeration.selection import listing
from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.ranked import Ranked, criteria, first_of, in_order, value
from coldwright_refrigeration.selection.relaxation import (
    Criterion,
    Held,
    Level,
    Node,
    Program,
    Row,
    broken_rows,
    levels,
    linear_rows,
)
from coldwright_refrigeration.selection.rounding import NEARLY, least_whole, most_whole, roomy

MOST_REMEMBERED = 500
"""Combinations that are kept for a search that may be ended."""
RAISE, RAISE_FAR = 1.5, 3.0
"""How fast the room between bound and limit grows; faster where nothing was found in it."""


LEAST_ROOM = 1e-6
"""Of the bound: the limit is never raised by less."""


class _OutOfNodes(Exception):  # noqa: N818 - nothing went wrong
    """The search was ended; the bound of the criterion at work."""


class _Limit:
    """What combinations must not score above, and those found that do not."""

    def __init__(self, value: float, count: int, below: float) -> None:
        self.value, self._count, self._below = value, count, below
        self._rows: list[Array] = []
        self._values: Array = np.zeros(0)

    def takes(self, bounds: Array) -> Array:
        """Whether a node with this bound may hold anything; which values are not above the limit."""
        return bounds <= roomy(self.value)

    def add(self, rows: Array, values: Array) -> None:
        """Take combinations with their values; with more than are wanted the limit falls to the last wanted one."""
        good = self.takes(values) & (values < self._below)
        self._rows.append(rows[good])
        self._values = np.append(self._values, values[good])
        if len(self._values) >= self._count:
            self.value = min(self.value, float(np.partition(self._values, self._count - 1)[self._count - 1]))

    def rows(self, kinds: int) -> Array:
        """All that were taken, one a row; no two nodes hold the same."""
        return np.concatenate([np.zeros((0, kinds)), *self._rows])


class Ranking:
    """Combinations of a case that keep some rules, by rank; of those, where asked, that break another one."""

    def __init__(self, case: Case, rules: tuple[Rule, ...], nodes: int, broken: Rule | None = None) -> None:
        self.case, self.rules = case, rules
        self._rows = linear_rows(case, rules) + ([] if broken is None else broken_rows(case, broken))
        self._nodes = nodes
        self._bound = -math.inf
        self._seen: list[Array] = []

    def first(self, count: int, below: float = math.inf) -> Ranked:
        """The first `count` with an objective under `below`."""
        found: list[Array] = []
        try:
            self._take(found, count, criteria(self.case), Held(), below)
        except _OutOfNodes:
            rows = _together(self.case, found + self._seen)
            rows = rows[self.case.objective(rows) < below]
            return Ranked(in_order(self.case, rows, count), False, self._bound * self._of_one(criteria(self.case)[0]))
        return Ranked(in_order(self.case, _together(self.case, found), count), True)

    def with_values(self, values: Sequence[float], count: int) -> Ranked:
        """The first `count` of those that have these values of the first criteria, which are known to be the least."""
        chain = criteria(self.case)
        found: list[Array] = []
        try:
            for held in self._holding(chain[: len(values)], values):
                here: list[Array] = []
                self._take(here, count, chain[len(values) :], held)
                found += here
        except _OutOfNodes:
            return Ranked([], False)
        listed = in_order(self.case, _together(self.case, found), count)
        return Ranked(listed, bool(listed))

    def _holding(self, chain: Sequence[Criterion], values: Sequence[float]) -> Iterator[Held]:
        """What is held for these values; where hauls cost something, once for each number of them that may be among."""
        criterion, value = chain[0], values[0]
        each = [_hold(criterion, Held(), value)]
        if criterion.haul_weight:
            hire = criterion._replace(haul_weight=0.0)
            each = [_hold(hire, Held(hauls=n), value - criterion.haul_weight * n) for n in self._hauls_of(value)]
        for first in each:
            held = first
            for criterion, value in zip(chain[1:], values[1:], strict=True):
                held = _hold(criterion, held, value)
            yield held

    def _hauls_of(self, value: float) -> list[int]:
        """Numbers of hauls that an objective may include: what is left for hire must be had, and be a sum of hires."""
        case = self.case
        hire, hauls = (
            min((level.bound for level in levels(case, self.rules, cost, self._rows)), default=math.inf)
            for cost in (case.unit_cost, case.haul)
        )
        if math.isinf(hire):
            return []
        most = int(most_whole((value - hire) / case.haul_weight))
        steps = np.round(case.unit_cost / case.quantum).astype(int) if case.quantum else np.array([0])
        together = max(int(np.gcd.reduce(steps)), 1)
        return [
            n
            for n in range(int(least_whole(hauls)), most + 1)
            if not case.quantum or round((value - case.haul_weight * n) / case.quantum) % together == 0
        ]

    def _take(
        self, found: list[Array], count: int, chain: tuple[Criterion, ...], held: Held, below: float = math.inf
    ) -> None:
        """Add the first combinations by a chain of criteria to those found, until there are `count` of them."""
        criterion = chain[0]
        if held != Held() and (rows := self._everything(held, criterion)) is not None:
            found.append(rows)
        elif criterion.step:
            self._one_by_one(found, count, chain, held, below)
        else:
            self._raising(found, count, criterion, held, below)

    def _everything(self, held: Held, criterion: Criterion) -> Array | None:
        """Every combination that keeps to what is held; None where they are too many."""
        rows = [np.zeros((0, len(self.case.names)))]
        for level in self._levels(criterion, held):
            stock = np.where(level.allowed, self.case.stock, 0.0)
            made = listing.everything(stock, [*level.own, *self._held_rows(held)], level.cover)
            if made is None:
                return None
            rows.append(self._kept(made, held))
        return np.concatenate(rows)

    def _kept(self, made: Array, held: Held) -> Array:
        made = made[self.case.keeps(made, self.rules)]
        return made if held.hauls is None else made[self.case.hauls(made) == held.hauls]

    def _one_by_one(
        self, found: list[Array], count: int, chain: tuple[Criterion, ...], held: Held, below: float
    ) -> None:
        criterion, reached = chain[0], -math.inf
        while _many(found) < count:
            least = self._least(criterion, held, reached + criterion.step)
            if least is None or least * self._of_one(criterion) >= below:
                return
            reached = least
            if not held.rows and held.hauls is None:
                self._bound = reached
            self._take(found, count, chain[1:], _hold(criterion, held, reached))

    def _of_one(self, criterion: Criterion) -> float:
        """Objective of one step of a first criterion."""
        return self.case.haul_weight if criterion.name == "hauls" else 1.0

    def _least(self, criterion: Criterion, held: Held, floor: float) -> float | None:
        """The least value of a criterion from `floor` on that its linear programs allow."""
        if not math.isinf(floor):
            held = _hold(criterion, held, floor, at_least=True)
        best = math.inf
        for level in self._levels(criterion, held):
            if _up(level.bound, criterion.step) >= best:
                break
            node = self._open(level, criterion, held)
            if node is not None:
                best = min(best, max(_up(node.bound, criterion.step), floor))
                if best == floor:
                    break
        return None if math.isinf(best) else best

    def _levels(self, criterion: Criterion, held: Held) -> list[Level]:
        cost = criterion.cost
        if criterion.haul_weight and held.hauls is None:
            cost = cost + criterion.haul_weight * self.case.haul
        return levels(self.case, self.rules, cost, self._held_rows(held))

    def _held_rows(self, held: Held) -> list[Row]:
        """The rows of the rules and of what is held, hauls too."""
        hauls = [] if held.hauls is None else [Row.up_to(held.hauls, self.case.haul)]
        return [*self._rows, *held.rows, *hauls]

    def _open(self, level: Level, criterion: Criterion, held: Held) -> Node | None:
        self._count()
        program = Program(self.case, level, [*self._rows, *held.rows], criterion)
        hauls = None if held.hauls is None else (held.hauls, held.hauls)
        return program.node(np.zeros_like(program.stock), program.stock, hauls, program.sums)

    def _count(self) -> None:
        self._nodes -= 1
        if self._nodes < 0:
            raise _OutOfNodes

    # --- all under a limit, which is raised ------------------------------------------------------------------------
    def _raising(self, found: list[Array], count: int, criterion: Criterion, held: Held, below: float) -> None:
        waiting = self._levels(criterion, held)[::-1]
        most = min(below, float(value(self.case, criterion, self.case.stock[None])[0]))
        nodes: list[Node] = []
        have, room = _many(found), 0.0
        while True:
            lowest = self._opened(nodes, waiting, criterion, held)
            if math.isinf(lowest) or lowest >= below:
                return
            if not held.rows and held.hauls is None:
                self._bound = max(self._bound, lowest)
            room = room or _first_room(nodes, lowest)
            limit = min(lowest + room, most)
            self._opened(nodes, waiting, criterion, held, limit)
            if not waiting and all(_whole(node, limit) for node in nodes):
                limit = most
            nodes, rows, made = self._all_under(nodes, _Limit(limit, count - have, below), held, criterion)
            if have + len(rows) >= count or limit >= most:
                found.append(rows)
                return
            room *= RAISE if made else RAISE_FAR

    def _opened(
        self, nodes: list[Node], waiting: list[Level], criterion: Criterion, held: Held, limit: float = -math.inf
    ) -> float:
        """Open every level whose bound is not above the limit, or not above the lowest node; the bound of that."""
        while True:
            lowest = min((node.bound for node in nodes), default=math.inf)
            if not waiting or waiting[-1].bound > (limit if limit > -math.inf else lowest):
                return lowest
            node = self._open(waiting.pop(), criterion, held)
            nodes += [] if node is None else [node]

    def _all_under(
        self, nodes: list[Node], limit: "_Limit", held: Held, criterion: Criterion
    ) -> tuple[list[Node], Array, int]:
        """Nodes, split where they had to be, every combination in them up to the limit, and how many were looked at.

        Once there are enough, the limit falls to the last of those that are wanted.
        """
        kept, todo, number = [], sorted(nodes, key=lambda node: -node.bound), 0
        while todo:
            node = todo.pop()
            made = None
            if not limit.takes(node.bound):
                kept.append(node)
                continue
            if node.hauls is not None or not node.program.is_open(None):
                made = listing.combinations(node, limit.value)
            if made is None:
                todo += sorted(self._split(node, limit.value), key=lambda part: -part.bound)
                continue
            kept.append(node)
            number += len(made)
            made = self._kept(made, held)
            if node.hauls is not None:  # ranges of hauls meet within the slack: what stands in both counts in one
                hauls = self.case.hauls(made)
                made = made[(node.hauls[0] <= hauls) & (hauls <= node.hauls[1])]
            self._remember(made)
            limit.add(made, value(self.case, criterion, made))
        return kept, limit.rows(len(self.case.names)), number

    def _remember(self, made: Array) -> None:
        """The first of those seen so far, for a search that is ended: where many tie there are millions of them."""
        if not len(made):
            return
        self._seen = [first_of(self.case, np.concatenate([*self._seen, made]), MOST_REMEMBERED)]

    def _split(self, node: Node, limit: float) -> list[Node]:
        """Parts that together hold all of a node: by hauls as long as their number is open, by units of a size, by type.

        Types of one size take each other's place in a bound, so that a choice between sizes is made before one between
        types.
        """
        if node.program.is_open(node.hauls):
            least, most = node.hauls or (0, math.ceil(float(self.case.stock @ self.case.haul)))
            middle = min(max(int(least_whole(float(node.point @ self.case.haul))), least), most)
            ranges = [(least, middle - 1), (middle, middle), (middle + 1, most)]
            parts: list[_Part] = [(node.low, node.high, (a, b), node.sums) for a, b in ranges if a <= b]
        else:
            parts = _by_size(node) or _by_type(node, limit)
        made = []
        for part in parts:
            self._count()
            made.append(node.program.node(*part))
        return [part for part in made if part is not None]


_Part = tuple[Array, Array, tuple[int, int] | None, Array]


def _by_size(node: Node) -> list[_Part]:
    """Two parts by the units of the size that is farthest from whole; none where every size is whole."""
    at = np.array([float(size @ node.point) for size in node.program.sizes])
    unsure = np.abs(at - np.round(at))
    if not len(at) or float(unsure.max()) <= NEARLY:
        return []
    i = int(np.argmax(unsure))
    under, over = node.sums.copy(), node.sums.copy()
    under[i, 1], over[i, 0] = math.floor(at[i]), math.floor(at[i]) + 1
    return [(node.low, node.high, node.hauls, under), (node.low, node.high, node.hauls, over)]


def _by_type(node: Node, limit: float) -> list[_Part]:
    """Two parts by the units of the type that is farthest from whole, of those that may still depart; else of the most."""
    low, high = listing.box(node, limit)
    unsure = np.abs(node.point - np.round(node.point))
    unsure[(unsure <= NEARLY) | (high == low)] = 0.0
    i = int(np.argmax(unsure if unsure.any() else high - low))
    at = min(max(float(most_whole(node.point[i])), low[i]), high[i] - 1)
    under, over = node.high.copy(), node.low.copy()
    under[i], over[i] = at, at + 1
    return [(node.low, under, node.hauls, node.sums), (over, node.high, node.hauls, node.sums)]


def _together(case: Case, found: list[Array]) -> Array:
    return np.unique(np.concatenate([np.zeros((0, len(case.names))), *found]), axis=0)


def _hold(criterion: Criterion, held: Held, value: float, *, at_least: bool = False) -> Held:
    """Hold a criterion at a value, or let it be no less."""
    if criterion.name == "hauls":
        if not at_least:
            return Held(held.rows, int(value))
        return Held((*held.rows, Row.up_to(1.0 - value, -criterion.cost)), held.hauls)
    rows = [Row.up_to(-value, -criterion.cost)]
    if not at_least:
        rows.append(Row.up_to(value, criterion.cost))
    return Held((*held.rows, *rows), held.hauls)


def _up(bound: float, step: float) -> float:
    """The least multiple of a step that is not below a bound."""
    return step * float(least_whole(bound / step))


def _whole(node: Node, limit: float) -> bool:
    """Whether the limit leaves nothing of a node out."""
    return not node.program.is_open(node.hauls) and float(node.price @ (node.high - node.low)) <= limit - node.bound


def _first_room(nodes: list[Node], lowest: float) -> float:
    """Room for a few departures in the node with the lowest bound; a price that is but a rounding of 0 gives none."""
    node, least = min(nodes, key=lambda node: node.bound), LEAST_ROOM * (1 + abs(lowest))
    prices = np.sort(node.price[(node.high > node.low) & (node.price > least)])
    return float(prices[:3].sum()) if len(prices) else least


def _many(found: list[Array]) -> int:
    return sum(len(rows) for rows in found)
