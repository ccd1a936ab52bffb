"""The integer program: the best combination, proved by branch and cut."""

import math
from typing import Any, NamedTuple

from coldwright.contract import lazy
from coldwright_refrigeration.selection.bounds import (
    Frontier,
    Part,
    Relaxation,
    Units,
    Want,
    linear_rows,
    part_rows,
    score,
    tie_breaker,
)
from coldwright_refrigeration.selection.case import SLACK, Array, Case, np
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.listing import box, nearest

optimize = lazy("scipy.optimize")


class Proved(NamedTuple):
    """The best combination, or none; and whether the integer program was needed to prove it."""

    units: Units | None
    by_program: bool


def cheapest(relaxation: Relaxation, rules: tuple[Rule, ...], *, below: float = math.inf) -> Proved:
    """The best combination that keeps `rules` and scores under `below`, proved.

    Few combinations come before the best in the order of their bounds, as a rule, and then all that score no more can
    be looked at. Else the integer program is solved for every part whose bound is not above the best.
    """
    looked = nearest(relaxation, rules, Want(1, 0, below=below))
    best = looked.units[0] if looked.units else None
    if looked.complete:
        return Proved(best, by_program=False)
    return Proved(solve(relaxation, rules, best, below), by_program=True)


def solve(relaxation: Relaxation, rules: tuple[Rule, ...], best: Units | None, below: float = math.inf) -> Units | None:
    """The integer program over all parts that can hold anything as good as `best`."""
    case = relaxation.case
    limit = below if best is None else score(case, best)
    parts = Frontier(relaxation, rules, points=False)
    while (item := parts.pop()) is not None and item[0] <= limit + SLACK * abs(limit):
        found = _solve_part(case, rules, item[1], limit)
        if found is not None and score(case, found) < below and (best is None or case.rank(found) < case.rank(best)):
            best, limit = found, score(case, found)
    return best


def confirm(relaxation: Relaxation, rules: tuple[Rule, ...], best: Units) -> Units:
    """The integer program once more, over the part with the lowest bound alone."""
    item = Frontier(relaxation, rules, points=False).pop()
    if item is None:
        return best
    found = _solve_part(relaxation.case, rules, item[1], score(relaxation.case, best))
    return best if found is None else min(best, found, key=relaxation.case.rank)


def _solve_part(case: Case, rules: tuple[Rule, ...], part: Part, limit: float) -> Units | None:
    boxes, best = [box(case, part, limit)], None
    while boxes:
        low, high = boxes.pop()
        n = _milp(case, rules, part, low, high)
        if n is None or score(case, n) > limit + SLACK * abs(limit):
            continue
        if bool(case.keeps(np.array([n], dtype=float), rules)[0]):
            limit = score(case, n)
            best = n if best is None or case.rank(n) < case.rank(best) else best
        else:  # kept the rows, within the solver's tolerance, but not the rule behind them: go on without this point
            boxes += _without(n, low, high)
    return best


def _milp(case: Case, rules: tuple[Rule, ...], part: Part, low: Array, high: Array) -> Units | None:
    """Solve one box of one part with HiGHS; types that cannot move are taken out first."""
    free = high > low
    fixed = np.where(free, 0.0, low)
    if not free.any():
        return tuple(int(x) for x in low)
    objective = (case.unit_cost + tie_breaker(case))[free]
    # in steps of the objective, so that the solver's absolute gap of 1e-6 is far below one step and its tie-breakers
    scale = case.quantum or float(np.max(np.abs(objective))) / 1e4 or 1.0
    rows = part_rows(case, part.level, part.hauls) + [(row.coefficients, row.high) for row in linear_rows(case, rules)]
    offset = np.array([float(coefficients @ fixed) for coefficients, _ in rows])
    found: Any = optimize.milp(
        objective / scale,
        integrality=np.ones(len(objective)),
        bounds=optimize.Bounds(low[free], high[free]),
        constraints=optimize.LinearConstraint(
            np.array([coefficients[free] for coefficients, _ in rows]),
            -math.inf,
            np.array([most for _, most in rows]) - offset,
        ),
        options={"mip_rel_gap": 0},
    )
    if found.x is None:
        return None
    n = fixed.copy()
    n[free] = np.round(found.x)
    return tuple(int(x) for x in n)


def _without(n: Units, low: Array, high: Array) -> list[tuple[Array, Array]]:
    """Boxes that together hold every point of a box but one."""
    boxes = []
    for i, value in enumerate(n):
        for least, most in ((low[i], value - 1.0), (value + 1.0, high[i])):
            if least <= most:
                below, above = low.copy(), high.copy()
                below[:i] = above[:i] = n[:i]
                below[i], above[i] = least, most
                boxes.append((below, above))
    return boxes
