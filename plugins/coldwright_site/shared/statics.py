"""Forces in equilibrium: bounds of each from the corners of what is possible, and the set that elastic parts take."""

from itertools import combinations
from typing import Any

from coldwright.contract import lazy

np = lazy("numpy")

FLAT = 1e-12
"""Columns whose determinant is below this share of the largest stand for no corner of their own."""
BELOW_NOTHING = 1e-10
"""How far below 0 a force may come out by rounding; the problems are scaled to a unit weight."""


def bounds(matrix: Any, load: Any) -> tuple[list[float], list[float]] | None:
    """Least and greatest value of each x >= 0 with `matrix` x = `load`; None when there is no such x.

    `matrix` has full rank, and the x that are possible are bounded: the weights of the forces add up to one. Then each
    bound is reached in a corner, where all but as many x as there are rows are 0; every corner is looked at.
    """
    corners = _corners(matrix, load)
    if not len(corners):
        return None
    return [float(x) for x in corners.min(axis=0)], [float(x) for x in corners.max(axis=0)]


def _corners(matrix: Any, load: Any) -> Any:
    """All corners, one a row."""
    rows, count = matrix.shape
    chosen = np.array(list(combinations(range(count), rows)))
    columns = matrix.T[chosen].transpose(0, 2, 1)
    size = np.abs(np.linalg.det(columns))
    upright = size > FLAT * size.max()
    chosen, columns = chosen[upright], columns[upright]
    forces = np.linalg.solve(columns, np.broadcast_to(load, (len(columns), rows))[..., None])[..., 0]
    possible = (forces >= -BELOW_NOTHING).all(axis=1)
    corners = np.zeros((int(possible.sum()), count))
    np.put_along_axis(corners, chosen[possible], np.maximum(forces[possible], 0.0), axis=1)
    return corners


def elastic(matrix: Any, load: Any, stiffness: Any) -> Any:
    """The set x with `matrix` x = `load` of least energy sum x^2/stiffness."""
    weighted = matrix * stiffness
    return stiffness * (matrix.T @ np.linalg.solve(weighted @ matrix.T, load))
