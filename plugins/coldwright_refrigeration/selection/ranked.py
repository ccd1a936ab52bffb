"""What ranks combinations: objective, then units, then power, then the names of the types."""

import math
from typing import NamedTuple

from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.relaxation import Criterion
from coldwright_refrigeration.selection.rounding import tidied

FEW_VALUES = 64
"""Multiples of its step up to which a criterion's values are gone through one by one."""


class Ranked(NamedTuple):
    """Combinations by rank, whether nothing better than the last of them can have been missed, and if that is not
    proved, a bound below which no objective can lie."""

    units: list[tuple[int, ...]]
    complete: bool
    bound: float = math.inf


def criteria(case: Case) -> tuple[Criterion, ...]:
    """The objective, and what settles its ties: units, then power. Names come last of all."""
    units, power = Criterion("units", np.ones(len(case.names)), step=1.0), Criterion("power", case.power)
    if case.haul_weight and not case.unit_cost.any():
        return (Criterion("hauls", case.haul, step=1.0), units, power)
    if np.array_equal(case.unit_cost, units.cost) and not case.haul_weight:
        return (units, power)
    few = not case.haul_weight and float(case.unit_cost.max()) <= FEW_VALUES * case.quantum
    return (Criterion("objective", case.unit_cost, case.haul_weight, case.quantum if few else 0.0), units, power)


def value(case: Case, criterion: Criterion, rows: Array) -> Array:
    """Values of a criterion."""
    if criterion.name == "hauls":
        return case.hauls(rows)
    return rows @ criterion.cost + criterion.haul_weight * case.hauls(rows)


def in_order(case: Case, rows: Array, count: int) -> list[tuple[int, ...]]:
    """The first `count` of some combinations by rank; kinds by that of the first types that they stand for."""
    keys = _keys(case, rows)
    order = np.lexsort(keys[::-1])
    if len(order) > count:
        last = np.flatnonzero((keys[:, order] == keys[:, order[count - 1], None]).all(axis=0))
        tied = order[last]
        types = case.first_types(rows[tied])
        by_name = np.lexsort(-types.T[::-1])
        order = np.concatenate([order[: last[0]], tied[by_name]])[:count]
    return sorted((tuple(units) for units in rows[order].astype(int).tolist()), key=case.rank)


def first_of(case: Case, rows: Array, most: int) -> Array:
    """At most so many of some combinations: the first by rank but for the names."""
    return rows if len(rows) <= most else rows[np.lexsort(_keys(case, rows)[::-1])[:most]]


def _keys(case: Case, rows: Array) -> Array:
    return np.array([tidied(value(case, criterion, rows)) for criterion in criteria(case)])
