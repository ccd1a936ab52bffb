"""The best combination by integer programs in stages: objective, then units, then power, then names.

Each criterion is made as small as can be, and held there for the next, so that no tie lies under the tolerance of the
solver. What is chosen is judged by the case's own arithmetic afterwards; an answer that it does not confirm is not proved.
Where many combinations cost the same, this is a hundred times quicker than to write them out (`ranking`), which gives
the next combinations too. How far the solver goes is limited by its nodes, never by time.
"""

import math
from typing import Any, NamedTuple

from coldwright_basis.compare import SLACK
from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.ranked import Ranked, criteria
from coldwright_refrigeration.selection.ranking import Ranking
from coldwright_refrigeration.selection.relaxation import (
    Level,
    Row,
    highspy,
    levels,
    linear_rows,
    program_of,
    solver_of,
)
from coldwright_refrigeration.selection.rounding import above, just_below, roomy

MOST_BRANCHES = 500
"""Nodes of one integer program; most need one."""


class Stage(NamedTuple):
    """What is made small: `cost . n`, and so much for every haul, hauls rounded up."""

    cost: Array
    haul: float


class Found(NamedTuple):
    """The least value, the combination that has it, and whether both are proved; if not, what none can be below."""

    value: float
    units: Array
    proved: bool
    bound: float


def can_stage(case: Case, rules: tuple[Rule, ...]) -> bool:
    """Whether all rules are linear: the least flow of those units that run is not."""
    return not (case.standby_isolated and "flow_minimum" in rules)


class Stages:
    """The criteria of a case, each made as small as can be and held there for the next."""

    def __init__(self, case: Case, rules: tuple[Rule, ...], known: tuple[int, ...] | None, below: float) -> None:
        """`known`: a combination that keeps the rules; what costs more is not looked at then, which is quicker."""
        self._case, self._rules, self._below = case, rules, below
        self._programs = _Programs(case, rules, math.inf if known is None else case.rank(known)[0])
        self._left = _stages(case)
        self._units: Array | None = None
        self._ended: Ranked | None = None
        self.bound = -math.inf
        """What no objective can be below."""
        self.values: list[float] = []
        """The least values of the first criteria, as far as they are proved."""

    def best(self) -> Ranked:
        """The first combination by rank."""
        if (ended := self._go(power=True)) is not None:
            return ended
        named = _by_names(self._programs, self._units)
        return Ranked([_whole(self._units if named is None else named)], named is not None, self.bound)

    def all_of_them(self, count: int, nodes: int) -> Ranked:
        """The first `count` of those whose criteria before power are as small as can be, by `nodes` linear programs at most."""
        ended = self._go(power=False)
        return Ranking(self._case, self._rules, nodes).with_values(self.values, count) if ended is None else ended

    def _go(self, *, power: bool) -> Ranked | None:
        """On to the last criterion, or to the last before power; None where all is proved, else what was found."""
        while self._ended is None and len(self._left) > (0 if power else 1):
            stage = self._left.pop(0)
            found = self._programs.least(stage)
            self.bound = self.bound if self.values or found is None else found.bound
            if found is None or self.bound >= self._below:
                self._ended = Ranked([], True)
                break
            self._units = self._units if found.units is None else found.units
            if not found.proved:
                self._ended = Ranked([] if self._units is None else [_whole(self._units)], False, self.bound)
                break
            self._programs.hold(stage, found.value)
            self.values.append(found.value)
        return self._ended


def least_objective(case: Case, rules: tuple[Rule, ...], known: tuple[int, ...] | None = None) -> Ranked:
    """A combination with the least objective, whatever settles its ties."""
    most = math.inf if known is None else case.rank(known)[0]
    here = _Programs(case, rules, most).least(_stages(case)[0])
    if here is None:
        return Ranked([], True)
    return Ranked([] if here.units is None else [_whole(here.units)], here.proved, here.bound)


def _whole(units: Array) -> tuple[int, ...]:
    return tuple(int(n) for n in units)


def _stages(case: Case) -> list[Stage]:
    found = []
    for criterion in criteria(case):
        if criterion.name == "hauls":
            found.append(Stage(np.zeros(len(case.names)), case.haul_weight))
        else:
            found.append(Stage(criterion.cost, criterion.haul_weight))
    return found


def _most_of(types: Array) -> Stage:
    """As many units of some types as can be."""
    return Stage(-types.astype(float), 0.0)


def _by_names(programs: "_Programs", units: Array) -> Array | None:
    """Of all that tie, the one with most units of the first type, then of the second, and so on; None: not proved.

    Mostly nothing ties with a type that is not among them, which one program says: those types are left out then. Else,
    where no type stands in a run of types, one program says whether any of them could.
    """
    places, begin = np.arange(len(units)), 0
    others = programs.least(_most_of(units == 0))
    if others is not None and others.proved and others.value == 0:
        programs.keep_to(units > 0)
        begin = len(units)
        for i in np.flatnonzero(units):
            first = _most_of(places == i)
            found = programs.least(first)
            if found is None or not found.proved:
                return None
            units = found.units
            programs.hold(first, found.value)
    while begin < len(units) and units[begin:].any():
        end = begin + 1
        if not units[begin]:
            end = begin + int(np.flatnonzero(units[begin:])[0])
        run = _most_of((begin <= places) & (places < end))
        found = programs.least(run)
        if found is None or not found.proved:
            return None
        if end - begin > 1 and found.value < 0:  # which of the run it is, is asked of each half
            units, middle = found.units, (begin + end) // 2
            half = _most_of((begin <= places) & (places < middle))
            found = programs.least(half)
            if found is None or not found.proved:
                return None
            if found.value < 0:
                units = found.units
                continue
            programs.hold(half, 0.0)
            begin = middle
            continue
        units = found.units
        programs.hold(run, found.value)
        begin = end
    return units


class _Programs:
    """The integer programs of a case, one for each level of its redundancy, with what earlier stages hold."""

    def __init__(self, case: Case, rules: tuple[Rule, ...], most: float = math.inf) -> None:
        """`most`: an objective that some combination is known to have."""
        self._case, self._rules, self._most = case, rules, most
        self._rows = linear_rows(case, rules)
        self._types = np.ones(len(case.names), dtype=bool)
        self._held: list[tuple[Stage, float]] = []
        self._levels: list[Level] | None = None
        """Those that may hold something, by rising bound of the first stage."""
        self._tied: list[Level] = []
        """Those in which the last stage had its least value."""

    def hold(self, stage: Stage, value: float) -> None:
        """From now on this criterion is no greater than it was found to be at least."""
        self._held.append((stage, value))
        self._levels = self._tied

    def keep_to(self, types: Array) -> None:
        """From now on there are units of these types alone."""
        self._types = types

    def least(self, stage: Stage) -> Found | None:
        """The least value of a stage over all levels; None where nothing keeps the rules."""
        is_first = self._levels is None
        if self._levels is None:
            self._levels = levels(self._case, self._rules, stage.cost + stage.haul * self._case.haul)
        value, units, bound, proved = math.inf, None, math.inf, True
        values: list[float] = []
        for level in self._levels:
            if is_first and above(level.bound, min(value, self._most)):
                break
            here = self._of_level(level, stage)
            values.append(math.inf if here is None else here.bound)
            if here is None:
                continue
            proved, bound = proved and here.proved, min(bound, here.bound)
            if here.value < value:
                value, units = here.value, here.units
        self._tied = [level for level, least in zip(self._levels, values, strict=False) if least <= roomy(value)]
        if proved and units is None:
            return None
        return Found(value, units, proved, min(bound, value))

    def _of_level(self, level: Level, stage: Stage) -> Found | None:
        at = np.flatnonzero(np.where(level.allowed & self._types, self._case.stock, 0.0) > 0)
        costs = np.abs(np.append(stage.cost[at], stage.haul))
        scale = float(costs[costs > 0].min(initial=costs.max() or 1.0))  # what is dear must not hide what is cheap
        solver = self._solver(level, at, stage, scale)
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        info, point = solver.getInfo(), np.array(solver.getSolution().col_value)
        bound = max(info.mip_dual_bound * scale, -math.inf if self._held else level.bound)
        whole = np.zeros(len(self._case.stock))
        if not len(point) or math.isinf(info.objective_function_value):
            return Found(math.inf, None, False, bound)
        whole[at] = np.round(point[: len(at)])
        value = self._value(stage, whole)
        if not self._confirmed(whole):
            return Found(math.inf, None, False, bound)
        proved = status == highspy.HighsModelStatus.kOptimal
        return Found(value, whole, proved, value if proved else bound)

    def _value(self, stage: Stage, units: Array) -> float:
        return float(units @ stage.cost + stage.haul * self._case.hauls(units[None])[0])

    def _confirmed(self, units: Array) -> bool:
        """By the case's own arithmetic: every rule kept, and every stage before held."""
        kept = bool(self._case.keeps(units[None], self._rules)[0])
        return kept and all(self._value(s, units) <= roomy(v) for s, v in self._held)

    def _solver(self, level: Level, at: Array, stage: Stage, scale: float) -> Any:
        """Units of each type, and the hauls; rows of the rules, of the level and of the stages before."""
        columns = np.append(at, len(self._case.names))
        rows = [Row(np.append(row.coefficients, 0.0), row.high) for row in (level.cover, *level.own, *self._rows)]
        held = self._held or ([] if math.isinf(self._most) else [(stage, self._most)])
        rows += [Row.up_to(value, np.append(before.cost, before.haul)) for before, value in held]
        rows.append(Row(np.append(just_below(self._case.haul), -1.0), 0.0))
        program = program_of(
            np.append(stage.cost, stage.haul)[columns] / scale,
            np.append(self._case.stock, self._case.hauls(self._case.stock[None]))[columns],
            np.array([row.coefficients[columns] for row in rows]),
            np.array([row.high for row in rows]),
        )
        program.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
        return solver_of(
            program, random_seed=0, mip_max_nodes=MOST_BRANCHES, mip_rel_gap=0.0, mip_abs_gap=0.0,
            mip_feasibility_tolerance=SLACK, primal_feasibility_tolerance=SLACK,
        )  # fmt: skip
