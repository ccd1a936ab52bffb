"""Every combination under a limit, written out: quicker than a search where bound and limit lie close together.

A combination of a part scores at least the part's bound plus the price of each departure from its base. So all that
score at most a limit are among the sets of departures whose prices fit into the room between the two, and those are
written out type by type, the dearest first, as far as the rows of the part and of the rules can still be kept.
"""

import math

from coldwright_refrigeration.selection.bounds import (
    Frontier,
    Part,
    Ranked,
    Relaxation,
    Units,
    Want,
    linear_rows,
    part_rows,
    ranked,
    score,
    scores,
    tie_breaker,
)
from coldwright_refrigeration.selection.case import SLACK, Array, Case, np
from coldwright_refrigeration.selection.given import Rule

MOST_LISTED = 100_000
"""Sets of departures of one part that are written out at most."""
FIRST_LOOK = 300
"""Combinations looked at one by one for a first limit."""
NARROW, WIDER = 0.05, 1.25
"""The first share of the room under that limit, and how fast it grows."""


def nearest(relaxation: Relaxation, rules: tuple[Rule, ...], want: Want) -> Ranked:
    """What `ranked` finds with any budget, where the sets are few enough; else what it finds within its budget."""
    looked = ranked(relaxation, rules, want._replace(budget=FIRST_LOOK))
    if looked.complete:
        return looked
    case, limit = relaxation.case, want.below
    if len(looked.units) == want.number:
        limit = min(limit, score(case, looked.units[-1]))
    lowest_part = Frontier(relaxation, rules, points=False).pop()
    if not math.isinf(limit) and lowest_part is not None:
        bound, share = lowest_part[0], NARROW
        while (rows := _under(relaxation, rules, bound + share * (limit - bound))) is not None:
            rows = rows[_wanted(case, rows, want)]
            if len(rows) >= want.number or share == 1:
                return Ranked(_lowest(case, rows, want.number), True)
            share = min(share * WIDER, 1)
    return ranked(relaxation, rules, want) if want.budget > FIRST_LOOK else looked


def _wanted(case: Case, rows: Array, want: Want) -> Array:
    good = scores(case, rows) < want.below
    if want.but:
        good &= ~case.keeps(rows, want.but)
    return good


def _under(relaxation: Relaxation, rules: tuple[Rule, ...], limit: float) -> Array | None:
    """All combinations that keep `rules` and score at most `limit`, one a row; None where they are too many."""
    case = relaxation.case
    found = [np.zeros((0, len(case.names)))]
    parts = Frontier(relaxation, rules, points=False)
    while (item := parts.pop()) is not None and item[0] <= limit + SLACK * abs(limit):
        rows = _of_part(case, rules, item[1], limit)
        if rows is None:
            return None
        found.append(rows[case.keeps(rows, rules)])
    return np.unique(np.concatenate(found), axis=0)


def _lowest(case: Case, rows: Array, count: int) -> list[Units]:
    """The `count` combinations that rank first."""
    if not len(rows):
        return []
    value = scores(case, rows)
    edge = float(np.partition(value, min(count, len(rows)) - 1)[min(count, len(rows)) - 1])
    near = rows[value <= edge + SLACK * abs(edge)]
    return sorted((tuple(int(x) for x in row) for row in near), key=case.rank)[:count]


def box(case: Case, part: Part, limit: float) -> tuple[Array, Array]:
    """Least and greatest units of each type in any combination of a part scoring at most `limit`."""
    stock = np.where(part.level.allowed, case.stock, 0.0)
    if math.isinf(limit):
        return np.zeros_like(stock), stock
    steps = np.floor(np.minimum(_room(part, limit) / np.maximum(part.price, 1e-300), 1e9))
    low = np.where(part.sign < 0, np.maximum(part.base - steps, 0.0), 0.0)
    high = np.where(part.sign > 0, np.minimum(part.base + steps, stock), stock)
    return low, high


def _room(part: Part, limit: float) -> float:
    return max(limit - part.bound, 0.0) + SLACK * (abs(limit) + 1e-300)


def _of_part(case: Case, rules: tuple[Rule, ...], part: Part, limit: float) -> Array | None:
    low, high = box(case, part, limit)
    free = np.flatnonzero(high > low)
    free = free[np.argsort(-part.price[free], kind="stable")]
    rows = part_rows(case, part.level, part.hauls) + [(row.coefficients, row.high) for row in linear_rows(case, rules)]
    rows.append((case.unit_cost + tie_breaker(case), limit - case.haul_weight * (part.hauls or 0)))
    matrix, most = np.array([coefficients for coefficients, _ in rows]), np.array([high for _, high in rows])
    room = most + SLACK * (1 + np.abs(most)) - matrix @ part.base
    made = _departures(
        np.vstack([part.price[free], matrix[:, free] * part.sign[free]]),
        np.array([_room(part, limit), *room]),
        (high - low)[free],
    )
    if made is None:
        return None
    n = np.tile(part.base, (len(made), 1))
    n[:, free] += made * part.sign[free]
    return n


def _departures(rows: Array, room: Array, most: Array) -> Array | None:
    """Every set of departures that keeps within the `room` of each row, one a row; None where they are too many.

    What the types still to come can give back at most is counted from the start, so that hopeless sets end early.
    """
    kinds = rows.shape[1]
    back = np.minimum(rows * most, 0.0)
    still = np.cumsum(back[:, ::-1], axis=1)[:, ::-1] - back
    made, used = np.zeros((1, kinds), dtype=np.int8), np.zeros((len(rows), 1))
    for i in range(kinds):
        steps = np.arange(int(most[i]) + 1)
        parent, step = np.nonzero(used[0][:, None] + rows[0, i] * steps <= room[0])
        if len(parent) > MOST_LISTED:
            return None
        total = used[:, parent] + rows[:, i, None] * step
        fits = (total + still[:, i, None] <= room[:, None]).all(axis=0)
        made, used = made[parent[fits]], total[:, fits]
        made[:, i] = step[fits]
    return made
