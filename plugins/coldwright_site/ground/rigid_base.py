"""Pressure under a rigid rectangle on soil that takes no tension."""

from typing import Any, NamedTuple

from coldwright.contract import Defect, lazy
from coldwright_basis.compare import negligible

np = lazy("numpy")
optimize = lazy("scipy.optimize")
shapely = lazy("shapely")

EDGE = 1e-6
"""A weight nearer to an edge than this share of the side counts as over it."""


class Bearing(NamedTuple):
    """Pressures (Pa) under a rigid base and the side (m) that still bears."""

    greatest: float
    least: float
    length: float
    lifted: bool
    way: str


def bear(weight: float, sides: tuple[float, float], eccentricity: tuple[float, float]) -> Bearing | None:
    """Pressure under a base with the weight off its middle; None when the weight lies beyond an edge."""
    along, across = sides
    ex, ey = abs(eccentricity[0]), abs(eccentricity[1])
    if along / 2 - ex < EDGE * along or across / 2 - ey < EDGE * across:
        return None
    mean = weight / (along * across)
    leading = along if ex / along >= ey / across else across
    bend = 6 * ex / along + 6 * ey / across
    if bend <= 1:
        return Bearing(
            mean * (1 + bend), mean * (1 - bend), leading, False, f"inside the kern: {mean:.6g} (1 +- {bend:.5g})"
        )
    if negligible(min(ex, ey), min(sides)):
        side, e, other = (along, ex, across) if leading == along else (across, ey, along)
        bearing = 3 * (side / 2 - e)
        return Bearing(
            2 * weight / (other * bearing), 0.0, bearing, True, f"edge lifted: 2 W / ({other:.5g} x {bearing:.5g})"
        )
    return _both_ways(weight, sides, (ex, ey), mean)


def _both_ways(weight: float, sides: tuple[float, float], e: tuple[float, float], mean: float) -> Bearing:
    """Eccentric both ways and part of the base lifted.

    A triangle at the corner has a closed form. Else the plane of pressure p = k . (1, x, y), nought where it would
    pull, is the one of least 1/2 integral p^2 - W k . (1, ex, ey): convex, so it is found from any start. Lengths are
    measured from the corner in units of the weight's distance from the edges, so that the problem is always of size 1.
    """
    along, across = sides
    to_edge = (along / 2 - e[0], across / 2 - e[1])
    first = e[0] / along >= e[1] / across
    if 4 * to_edge[0] <= along and 4 * to_edge[1] <= across:
        corner = 3 * weight / (8 * to_edge[0] * to_edge[1])
        return Bearing(
            corner, 0.0, 4 * to_edge[0 if first else 1], True, "a triangle at the corner bears: 3 W / (8 dx dy)"
        )
    box = shapely.box(0, 0, along / to_edge[0], across / to_edge[1])
    load = np.ones(3)

    def energy(k: Any) -> Any:
        return 0.5 * k @ _moments(_pressed(box, k)) @ k - load @ k

    answer = optimize.minimize(
        energy,
        (1.0, -0.2, -0.2),
        jac=lambda k: _moments(_pressed(box, k)) @ k - load,
        hess=lambda k: _moments(_pressed(box, k)),
        method="trust-exact",
        options={"gtol": 1e-11, "maxiter": 500},
    )
    if np.abs(_moments(_pressed(box, answer.x)) @ answer.x - load).max() > 1e-7:
        raise Defect(f"pressure under a base eccentric both ways: {answer.message}")
    region = _pressed(box, answer.x)
    scale = weight / (to_edge[0] * to_edge[1])
    bearing = region.bounds[2] * to_edge[0] if first else region.bounds[3] * to_edge[1]
    return Bearing(
        float(answer.x[0]) * scale, 0.0, bearing, True, f"edge lifted both ways, by iteration; mean {mean:.6g}"
    )


def _pressed(box: Any, k: Any) -> Any:
    """The part of the base where the plane k . (1, x, y) presses."""
    slope = float(np.hypot(k[1], k[2]))
    if slope < 1e-12:
        return box if k[0] > 0 else shapely.Polygon()
    normal, far = k[1:] / slope, 1e3 + 2 * box.length
    foot = -k[0] / slope * normal
    along = np.array([-normal[1], normal[0]])
    corners = (foot + far * along, foot - far * along, foot + far * (normal - along), foot + far * (normal + along))
    return box.intersection(shapely.Polygon(corners))


def _moments(region: Any) -> Any:
    """Integrals of (1, x, y) times (1, x, y) over the region: exact, by mid-points of the sides of triangles."""
    total = np.zeros((3, 3))
    if region.is_empty or region.area <= 0:
        return total
    for triangle in shapely.constrained_delaunay_triangles(region).geoms:
        corners = np.array(triangle.exterior.coords)
        middles = np.column_stack([np.ones(3), (corners[:-1] + corners[1:]) / 2])
        total += triangle.area / 3 * middles.T @ middles
    return total
