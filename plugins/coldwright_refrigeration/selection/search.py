"""Answers about a case: the best, the next ones, the rejected, what binds, what conflicts."""

import itertools
import math
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

from coldwright_refrigeration.selection import staged
from coldwright_refrigeration.selection.case import Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.kinds import Kinds
from coldwright_refrigeration.selection.ranked import Ranked, criteria
from coldwright_refrigeration.selection.ranking import Ranking
from coldwright_refrigeration.selection.rounding import above, below, just_below
from coldwright_refrigeration.selection.sweep import MOST_KINDS, Sweep
from coldwright_refrigeration.selection.table import Table, combinations_of

Units = tuple[int, ...]
MOST_REJECTED = 20
MOST_CHEAPER = 5
"""Combinations that keep all rules but the limits and cost less than the best, of which it is seen what each limit costs;
one alone where the objective takes few values, so that many tie."""
MOST_WRITTEN_OUT = 20_000
"""Combinations up to which all are written out once and looked through: for the few types of a usual booking that is
four times quicker than to take one type after the other (`sweep`), which up to `MOST_KINDS` types is quicker, two to ten
times and more where many combinations tie, than the linear programs that serve every other fleet (`ranking`)."""
BEST, LIST, BESIDE = 500, 150, 60
"""Linear programs at most: for the best, where integer programs cannot say what it is; for the lists of an answer; and for
what a rule costs, or whether anything keeps some rules."""
LIMITS: tuple[Rule, ...] = (
    "turndown", "flow_minimum", "flow_maximum", "power_available", "footprint_available", "hauls_max", "units_max",
    "mass_max",
)  # fmt: skip
FEW_VALUES = 50_000
"""Steps of the objective of all units together, up to which many combinations of a large fleet tie."""
TIED_NODES = 32
"""Linear programs at most for the list of all that tie with the best before power: most need fewer than 10."""


class Saving(NamedTuple):
    """Objective without a rule, and how much lower that is."""

    rule: Rule
    objective: float
    saving: float


class _Cheaper:
    """The first combinations that keep some rules and cost less than the best, and which rules of all they break."""

    def __init__(self, case: Case, found: Ranked, kept: tuple[Rule, ...], *, everything: bool) -> None:
        """`everything`: there are no others."""
        self.units, self._kept, self._everything = found.units, kept, everything
        self._complete = found.complete
        rows = np.array(found.units, dtype=float).reshape(len(found.units), len(case.names))
        self._surely_first = found.complete | ~above(case.objective(rows), found.bound)
        self._broken = {rule: case.broken(rows, rule) for rule in case.active}
        self._count = np.sum(list(self._broken.values()), axis=0)

    def without(self, rule: Rule) -> list[Units] | None:
        """The cheapest that breaks this rule alone, if any does; None where the list cannot say."""
        if rule in self._kept:
            return None
        alone = np.flatnonzero(self._broken[rule] & (self._count == 1) & self._surely_first)
        if len(alone):
            return [self.units[alone[0]]]
        return [] if self._everything and self._complete else None


class Search:
    """Asks the ranking of a case, in which types that differ by their names alone are one."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._kinds = Kinds(case)
        self._table = Table(self._kinds.case) if combinations_of(self._kinds.case) <= MOST_WRITTEN_OUT else None
        self._many_tie = False
        """Whether so many combinations cost nearly the same that writing them out was ended once."""
        self._best: Ranked | None = None
        self._seen = [frozenset(case.failed([(0,) * len(case.names)])[0])]
        """The rules that each of some combinations breaks, no unit at all first of them."""

    @cached_property
    def _fewest(self) -> Case:
        """The same rules, and units as the objective: the quickest to say whether anything keeps some of them."""
        return replace(self._kinds.case, unit_cost=np.ones(len(self._kinds.case.names)), haul_weight=0.0, quantum=0.0)

    def first(self, count: int) -> Ranked:
        """The first combinations that keep every rule."""
        active = self.case.active
        found = self._tied(active, count) if self._few_values else self._ranked(active, count, LIST)
        self._many_tie = not found.complete
        return found

    def _tied(self, rules: tuple[Rule, ...], count: int, under: float = math.inf) -> Ranked:
        """The first combinations of a large fleet, many of which tie: a sweep finds some, integer programs the least there is."""
        case = self._kinds.case
        swept = Sweep(case, rules).first(count, under, quickly=True)
        if swept.complete:
            return self._named(swept, count)
        stages = staged.Stages(case, rules, swept.units[0] if swept.units else None, under)
        found = stages.all_of_them(count, TIED_NODES)
        if rules == self.case.active:
            self._best = self._named(found, 1) if found.complete else self._by_stages(stages)
        best = self._best.units if self._best is not None and rules == self.case.active else []
        named = self._named(found, count)
        if found.complete and (not named.units or len(named.units) >= count):
            return named
        every = {*best, *named.units, *self._kinds.named(swept.units, count)}
        return Ranked(sorted(every, key=self.case.rank)[:count], False, stages.bound)

    @cached_property
    def _few_values(self) -> bool:
        """Whether a large fleet's objective takes so few values that many combinations tie."""
        case = self._kinds.case
        few = (
            criteria(case)[0].name == "objective"
            and float(case.objective(case.stock[None])[0]) < FEW_VALUES * case.quantum
        )
        return few and len(case.names) > MOST_KINDS and staged.can_stage(case, self.case.active)

    def best(self) -> Ranked:
        """The best alone, which is proved where a longer list is not."""
        if self._best is not None:
            return self._best
        if not staged.can_stage(self._kinds.case, self.case.active):
            return self._ranked(self.case.active, 1, BEST)
        if len(self._kinds.case.names) <= MOST_KINDS:
            found = Sweep(self._kinds.case, self.case.active).first(1)
            if found.complete:
                return self._named(found, 1)
        return self._by_stages()

    def _by_stages(self, begun: staged.Stages | None = None) -> Ranked:
        """By integer programs, among types: what is first by name among kinds need not be so among the types of each."""
        alike = not self._kinds.none_alike
        stages = staged.Stages(self.case, self.case.active, None, math.inf) if begun is None or alike else begun
        return stages.best()

    def rejected(self, best: Units | None) -> Ranked:
        """The cheapest combinations that carry the load and cost less than the best; so each breaks another rule."""
        if self.case.active == ("capacity",):
            return Ranked([], True)
        limit = math.inf if best is None else just_below(self._objective(best))
        if self._few_values:
            return self._tied(("capacity",), MOST_REJECTED, limit)
        return self._ranked(("capacity",), MOST_REJECTED, LIST, limit)

    def binding(self, best: Units, rejected: Ranked) -> list[Saving]:
        """Rules without which the objective would be lower.

        Whatever would be allowed without a rule, and costs less, breaks that rule alone: so most answers stand in the list
        of those that were rejected, and those of the limits in the list of what keeps every other rule. Only what neither
        can say is asked for.
        """
        found = []
        active = self.case.active
        every_rejected = rejected.complete and len(rejected.units) < MOST_REJECTED
        lists = [_Cheaper(self.case, rejected, ("capacity",), everything=every_rejected)]
        if set(LIMITS) & set(active) and not every_rejected:
            most = 1 if criteria(self._kinds.case)[0].step else MOST_CHEAPER
            lists.append(self._less_than(best, tuple(rule for rule in active if rule not in LIMITS), most))
        for rule in active:
            if rule == "capacity" and "redundancy" in active:
                continue
            cheapest = next((units for each in lists if (units := each.without(rule)) is not None), None)
            if cheapest is None:
                cheapest = self._less_than(best, tuple(r for r in active if r != rule), 1, broken=rule).units
            saving = self._saving(best, cheapest)
            if saving > 0:
                found.append(Saving(rule, self._objective(best) - saving, saving))
        return found

    def conflict(self) -> tuple[Rule, ...]:
        """A smallest set of rules that cannot be kept together: the first of those."""
        active = self.case.active
        sets = (some for size in range(1, len(active)) for some in itertools.combinations(active, size))
        return next((some for some in sets if not self._possible(some)), active)

    def _objective(self, units: Units) -> float:
        return self.case.rank(units)[0]

    def _ranked(
        self,
        rules: tuple[Rule, ...],
        count: int,
        nodes: int,
        under: float = math.inf,
        broken: Rule | None = None,
    ) -> Ranked:
        return self._named(self._of_kinds(self._kinds.case, rules, count, nodes, under, broken), count)

    def _of_kinds(
        self,
        case: Case,
        rules: tuple[Rule, ...],
        count: int,
        nodes: int,
        under: float = math.inf,
        broken: Rule | None = None,
    ) -> Ranked:
        if self._table is not None:
            return self._table.keeping(rules).first(count, under)
        if len(case.names) <= MOST_KINDS:
            found = Sweep(case, rules, broken).first(count, under)
            if found.complete or _only_ties_open(case, found, count):
                return found
        return Ranking(case, rules, nodes, broken).first(count, under)

    def _named(self, found: Ranked, count: int) -> Ranked:
        """Types instead of kinds: of these there may be more, so that a list of kinds that is not complete is one of types."""
        units = self._kinds.named(found.units, count)
        enough = len(units) >= count and below(self._objective(units[count - 1]), found.bound)
        return Ranked(units, found.complete or enough, found.bound)

    def _less_than(self, best: Units, rules: tuple[Rule, ...], count: int, broken: Rule | None = None) -> _Cheaper:
        """The first combinations that keep some rules and cost less than the best; perhaps one alone, the least, where many tie.

        `broken`: the one rule that is not among them, so that whatever costs less than the best breaks it.
        """
        if self._seen[0].isdisjoint(rules):  # no unit at all keeps them, and costs least
            return _Cheaper(self.case, Ranked([(0,) * len(self.case.names)], True), rules, everything=False)
        case, limit, known = self._kinds.case, just_below(self._objective(best)), self._kinds.of(best)
        can_stage = staged.can_stage(case, rules)
        if self._many_tie and can_stage:
            swept = Sweep(case, rules, broken).first(count, limit, quickly=True)
            known, found = next(iter(swept.units), known), self._named(swept, count)
        else:
            found = self._ranked(rules, count, BESIDE, limit, broken)
        if found.complete or not can_stage or self._is_least(found):
            return _Cheaper(self.case, found, rules, everything=len(found.units) < count)
        found = self._named(staged.least_objective(case, rules, known), 1)
        less = [units for units in found.units if self._saving(best, [units])]
        return _Cheaper(self.case, found._replace(units=less), rules, everything=not less)

    def _is_least(self, found: Ranked) -> bool:
        """Whether the first of a list that is not complete has the least objective there is."""
        return bool(found.units) and not above(self._objective(found.units[0]), found.bound)

    def _saving(self, best: Units, cheaper: list[Units]) -> float:
        """How much lower the objective of the first of a list is; 0 where there is none."""
        objective = self._objective(best)
        least = self._objective(cheaper[0]) if cheaper else objective
        return objective - least if below(least, objective) else 0.0

    def _possible(self, rules: tuple[Rule, ...]) -> bool:
        """Whether anything keeps some rules; what was found for others is looked at first."""
        if any(broken.isdisjoint(rules) for broken in self._seen):
            return True
        found = self._of_kinds(self._fewest, rules, 1, BESIDE)
        if not (found.units or found.complete) and staged.can_stage(self.case, rules):
            found = staged.least_objective(self._fewest, rules)
        self._seen += [frozenset(broken) for broken in self._fewest.failed(found.units)]
        return bool(found.units) or not found.complete


def _only_ties_open(case: Case, found: Ranked, count: int) -> bool:
    """Whether a list that is not complete has as many as are wanted, of which none has a lower objective than its bound.

    A longer search would find others with the same objective, if any.
    """
    return len(found.units) >= count and case.rank(found.units[count - 1])[0] <= found.bound
