"""What ranks combinations: objective, then units, then power, then the names of the types."""

import math
from typing import NamedTuple

from coldwright_refrigeration.selection.case import Array, Case, np
from coldwright_refrigeration.selection.relaxation import Criterion

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
    one = np.ones(len(case.names))
    units = Criterion("units", one, step=1.0)
    if case.power is None:
        power = tuple(Criterion("names", -row, step=1.0) for row in np.eye(len(case.names)))
    else:
        power = (Criterion("power", case.power),)
    if case.haul_weight and not case.unit_cost.any():
        return (Criterion("hauls", case.haul, step=1.0), units, *power)
    if np.array_equal(case.unit_cost, one) and not case.haul_weight:
        return (units, *power)
    few = case.quantum if case.quantum and not case.haul_weight else 0.0
    few = few if few and float(case.unit_cost.max()) <= FEW_VALUES * few else 0.0
    return (Criterion("objective", case.unit_cost, case.haul_weight, few), units, *power)


def value(case: Case, criterion: Criterion, rows: Array) -> Array:
    """Values of a criterion."""
    values = rows @ criterion.cost
    return values + criterion.haul_weight * case.hauls(rows) if criterion.haul_weight else values


def in_order(case: Case, rows: Array, count: int) -> list[tuple[int, ...]]:
    """The first `count` of some combinations by rank, and all that tie with the last of them but for the names.

    Names are settled by whoever knows the types: here a name may stand for several of them.
    """
    if not len(rows):
        return []
    keys = _keys(case, rows)
    order = np.lexsort(keys.T[::-1])[: 50 * count + 1000]
    count = min(count, len(order))
    tied = (keys[order[count:]] == keys[order[count - 1]]).all(axis=1)
    many = count + (len(tied) if tied.all() else int(np.argmin(tied)))
    return sorted((tuple(units) for units in rows[order[:many]].astype(int).tolist()), key=case.rank)


def first_of(case: Case, rows: Array, most: int) -> Array:
    """At most so many of some combinations: the first by rank but for the names."""
    return rows if len(rows) <= most else rows[np.lexsort(_keys(case, rows).T[::-1])[:most]]


def _keys(case: Case, rows: Array) -> Array:
    return np.column_stack([_rounded(_ranking(case, c, rows)) for c in criteria(case) if c.name != "names"])


def _ranking(case: Case, criterion: Criterion, rows: Array) -> Array:
    return case.hauls(rows) if criterion.name == "hauls" else value(case, criterion, rows)


def _rounded(values: Array) -> Array:
    """To twelve digits, so that sums of the same amounts in another order tie."""
    scale = 10.0 ** math.ceil(math.log10(max(float(np.abs(values).max()), 1e-300)))
    return np.round(values / scale, 12)
