"""Answers about a case: the best, the next ones, the rejected, what binds, what conflicts."""

import itertools
import math
from dataclasses import replace
from typing import NamedTuple

from coldwright_refrigeration.selection.bounds import Ranked, Relaxation, Units, Want, linear_rows, score
from coldwright_refrigeration.selection.case import SLACK, Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.listing import nearest
from coldwright_refrigeration.selection.program import cheapest, confirm, solve

MOST_ENUMERATED = 200_000
"""Combinations up to which all are written out."""
BUDGET = 2000
"""Combinations looked at for a list in a larger fleet."""
MOST_REJECTED = 20
LIMITS: tuple[Rule, ...] = (
    "turndown", "flow_minimum", "flow_maximum", "power_available", "footprint_available", "hauls_max", "units_max",
    "mass_max",
)  # fmt: skip
DEMANDS: tuple[Rule, ...] = ("capacity", "redundancy", "turndown", "flow_maximum")
"""Rules that ask for units; the others are kept by having none."""


class Saving(NamedTuple):
    """Objective without a rule, and how much lower that is."""

    rule: Rule
    objective: float
    saving: float


class Search:
    """Where a fleet is small every combination is written out; else lists come from the bounds."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._relaxation = Relaxation(case)
        self._feasibility = Relaxation(_for_feasibility(case))
        self._table = _all_combinations(case)
        self._limits_cost_nothing = False

    def best(self) -> Units | None:
        """The best combination, by the integer program; None where there is none."""
        active = self.case.active
        if self._table is not None:
            solved = solve(self._relaxation, active, None)
            listed = self._first(active, 1)
            return min([*listed, *([solved] if solved else [])], key=self.case.rank, default=None)
        covers = tuple(rule for rule in active if rule not in LIMITS)
        found = cheapest(self._relaxation, covers)
        if found.units is None:
            return None
        if self._keeps(found.units):
            self._limits_cost_nothing = True
        elif self._possible(active):
            found = cheapest(self._relaxation, active)
        else:
            return None
        if found.by_program or found.units is None:
            return found.units
        return confirm(self._relaxation, active, found.units)

    def alternatives(self, best: Units, count: int) -> Ranked:
        """The next combinations after the best."""
        if count == 0:
            return Ranked([], True)
        if self._table is not None:
            found = Ranked(self._first(self.case.active, count + 1), True)
        else:
            found = nearest(self._relaxation, self.case.active, Want(count + 1, BUDGET))
        return Ranked([units for units in found.units if units != best][:count], found.complete)

    def rejected(self, best: Units | None) -> Ranked:
        """The cheapest combinations that carry the load and break another rule, cheaper than the best."""
        others = tuple(rule for rule in self.case.active if rule != "capacity")
        if not others:
            return Ranked([], True)
        below = math.inf if best is None else self._objective(best) * (1 - SLACK)
        if self._table is None:
            return nearest(self._relaxation, ("capacity",), Want(MOST_REJECTED, BUDGET, others, below))
        carries = self.case.keeps(self._table, ("capacity",))
        carries &= self.case.objective(self._table) < below
        carries[carries] = ~self.case.keeps(self._table[carries], others)
        return Ranked(self._pick(carries, MOST_REJECTED), True)

    def binding(self, best: Units) -> list[Saving]:
        """Rules without which the objective would be lower."""
        found = []
        active = self.case.active
        limits = tuple(rule for rule in active if rule in LIMITS)
        without_limits = tuple(rule for rule in active if rule not in LIMITS)
        tight = limits and not self._limits_cost_nothing and self._saving(best, without_limits) > 0
        for rule in active:
            if (rule in LIMITS and not tight) or (rule == "capacity" and "redundancy" in active):
                continue
            saving = self._saving(best, tuple(r for r in active if r != rule))
            if saving > 0:
                found.append(Saving(rule, self._objective(best) - saving, saving))
        return found

    def conflict(self) -> tuple[Rule, ...]:
        """A smallest set of rules that cannot be kept together."""
        active = self.case.active
        for size in (1, 2):
            for some in itertools.combinations(active, size):
                if not self._possible(some):
                    return some
        kept = list(active)
        for rule in active:  # take out what the conflict does without: what stays cannot do without any
            rest = tuple(r for r in kept if r != rule)
            if not self._possible(rest):
                kept.remove(rule)
        for size in range(3, len(kept)):
            for some in itertools.combinations(active, size):
                if not self._possible(some):
                    return some
        same_size = itertools.combinations(active, len(kept))
        return next((some for some in same_size if "capacity" in some and not self._possible(some)), tuple(kept))

    def _objective(self, units: Units) -> float:
        return self.case.rank(units)[0]

    def _saving(self, best: Units, rules: tuple[Rule, ...]) -> float:
        objective = self._objective(best)
        if self._table is not None:
            good = self.case.keeps(self._table, rules)
            lowest = float(np.min(self.case.objective(self._table[good])))
        else:
            found = cheapest(self._relaxation, rules, below=score(self.case, best) * (1 - SLACK)).units
            lowest = objective if found is None else self._objective(found)
        return objective - lowest if objective - lowest > 1e-9 * abs(objective) else 0.0

    def _possible(self, rules: tuple[Rule, ...]) -> bool:
        if self._table is not None:
            return bool(self.case.keeps(self._table, rules).any())
        return set(rules).isdisjoint(DEMANDS) or cheapest(self._feasibility, rules).units is not None

    def _keeps(self, units: Units) -> bool:
        return not self.case.failed(units)

    def _first(self, rules: tuple[Rule, ...], count: int) -> list[Units]:
        return self._pick(self.case.keeps(self._table, rules), count)

    def _pick(self, mask: Array, count: int) -> list[Units]:
        """The best rows of the table: by objective first, then, among those at the edge, by the whole rank."""
        rows = self._table[mask]
        if not len(rows):
            return []
        objective = self.case.objective(rows)
        edge = np.partition(objective, min(count, len(rows)) - 1)[min(count, len(rows)) - 1]
        near = rows[objective <= edge * (1 + SLACK) + 1e-12]
        if len(near) > 50 * count:  # many ties at the edge: thin them by the tie-breakers before ranking one by one
            near = near[np.lexsort(self._keys(near))][: 50 * count]
        return sorted((tuple(int(x) for x in row) for row in near), key=self.case.rank)[:count]

    def _keys(self, rows: Array) -> list[Array]:
        case = self.case
        power = np.zeros(len(rows)) if case.power is None else np.round(rows @ case.power, 6)
        names = [-rows[:, i] for i in range(rows.shape[1])]
        return [*reversed(names), power, rows.sum(axis=1), np.round(case.objective(rows), 9)]


def _for_feasibility(case: Case) -> Case:
    """The same rules with an objective that leans towards keeping them: what the limits have to give out."""
    cost = np.ones(len(case.names))
    for row in linear_rows(case, case.active):
        if row.high > 0:
            cost = cost + row.coefficients / row.high * float(case.stock.sum())
    return replace(case, unit_cost=cost, haul_weight=0.0, quantum=0.0)


def _all_combinations(case: Case) -> Array:
    """Every combination of the stock, one a row; None where there are too many."""
    if math.prod(int(s) + 1 for s in case.stock) > MOST_ENUMERATED:
        return None
    shape = tuple(int(s) + 1 for s in case.stock if s)
    full = np.zeros((math.prod(shape), len(case.stock)))
    full[:, case.stock > 0] = np.indices(shape).reshape(len(shape), -1).T if shape else 0
    return full
