"""Forces in equilibrium: bounds of each by linear programming, and the set that elastic parts take."""

from typing import Any

from coldwright.contract import Defect, lazy

np = lazy("numpy")
optimize = lazy("scipy.optimize")

TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
"""The tightest that the solver takes: the problems are scaled to a unit weight."""


def bounds(matrix: Any, load: Any) -> tuple[list[float], list[float]] | None:
    """Least and greatest value of each x >= 0 with `matrix` x = `load`; None when there is no such x."""
    count = matrix.shape[1]
    least: list[float] = []
    most: list[float] = []
    for index in range(count):
        for sign, side in ((1.0, least), (-1.0, most)):
            value = _extreme(matrix, load, index, sign)
            if value is None:
                return None
            side.append(value)
    return least, most


def greatest(matrix: Any, load: Any) -> list[float] | None:
    """Greatest value of each x >= 0 with `matrix` x = `load`; None when there is no such x."""
    values = [_extreme(matrix, load, index, -1.0) for index in range(matrix.shape[1])]
    return None if None in values else [v for v in values if v is not None]


def _extreme(matrix: Any, load: Any, index: int, sign: float) -> float | None:
    cost = np.zeros(matrix.shape[1])
    cost[index] = sign
    answer = optimize.linprog(cost, A_eq=matrix, b_eq=load, bounds=(0, None), method="highs", options=TIGHT)
    if answer.status == 2:  # infeasible
        return None
    if answer.status != 0:
        raise Defect(f"linear programme: {answer.message}")
    return max(0.0, float(answer.x[index]))


def elastic(matrix: Any, load: Any, stiffness: Any) -> Any:
    """The set x with `matrix` x = `load` of least energy sum x^2/stiffness."""
    weighted = matrix * stiffness
    return stiffness * (matrix.T @ np.linalg.solve(weighted @ matrix.T, load))
