"""Legs of a sling from one hook: lengths, angles, and the tensions that hold the load."""

import math
from typing import Any, NamedTuple

from msgspec import UNSET

from coldwright.contract import Allowed, lazy, refuse
from coldwright_site.shared import statics
from coldwright_site.shared.given import Position

np = lazy("numpy")

ON_THE_LINE = 0.01
"""How far the centre of gravity may lie off the line of two picks, as a share of their span."""
LENGTH_AGREES = 0.01
FLAT = 1e-4
"""Ratio of singular values below which three or four legs count as lying in one plane."""


class Bridle(NamedTuple):
    """One hook and its legs. Without tensions no set of pulls holds the load."""

    hook: tuple[float, float, float]
    lengths: list[float]
    angles: list[float]
    directions: list[tuple[float, float, float]]
    least: list[float]
    greatest: list[float]
    elastic: list[float]


def hang(picks: tuple[Any, ...], centre: Position, hook_z: float, weight: float) -> Bridle:
    """The bridle of one to four picks; the hook hangs plumb over the centre of gravity."""
    _refuse_hook_below(picks, hook_z)
    hook = (centre.x.si, centre.y.si, hook_z)
    if len(picks) == 2:
        hook = (*_foot_on_line(picks, centre), hook_z)
    vectors = [tuple(h - p for h, p in zip(hook, pick.xyz, strict=True)) for pick in picks]
    lengths = [math.hypot(*v) for v in vectors]
    _refuse_lengths(picks, lengths)
    directions = [tuple(c / length for c in v) for v, length in zip(vectors, lengths, strict=True)]
    angles = [math.asin(min(1.0, d[2])) for d in directions]
    least, greatest, elastic = _tensions(directions, lengths, weight)
    return Bridle(hook, lengths, angles, directions, least, greatest, elastic)


def _refuse_hook_below(picks: tuple[Any, ...], hook_z: float) -> None:
    highest = max(p.z.si for p in picks)
    if hook_z <= highest:
        raise refuse(
            "/hook_z",
            "The hook must be above every pick.",
            value=hook_z,
            allowed=Allowed(above=highest, unit="m"),
            why="A leg pulls upwards only.",
        )


def _foot_on_line(picks: tuple[Any, ...], centre: Position) -> tuple[float, float]:
    """Where the plumb line of the centre of gravity meets the line of two picks, in plan."""
    (x1, y1, _), (x2, y2, _) = (p.xyz for p in picks)
    x, y = centre.x.si, centre.y.si
    span = math.hypot(x2 - x1, y2 - y1)
    if span < 1e-6:
        raise refuse("/pick_points", "Two picks stand over one another.", why="They must be apart in plan.")
    along = ((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / span
    off = abs((x - x1) * (y2 - y1) - (y - y1) * (x2 - x1)) / span
    if off > ON_THE_LINE * span:
        raise refuse(
            "/centre_of_gravity",
            f"The centre of gravity lies {off:.3g} m off the line of the two picks.",
            value=off,
            allowed=Allowed(maximum=ON_THE_LINE * span, unit="m"),
            why="Two legs hold only a load whose centre of gravity is plumb below their line.",
        )
    return x1 + along * (x2 - x1) / span, y1 + along * (y2 - y1) / span


def _refuse_lengths(picks: tuple[Any, ...], lengths: list[float]) -> None:
    for index, (pick, length) in enumerate(zip(picks, lengths, strict=True)):
        if pick.leg_length is not UNSET and abs(pick.leg_length.si - length) > LENGTH_AGREES * length:
            raise refuse(
                f"/pick_points/{index}/leg_length",
                f"The leg is {length:.4g} m long by the positions of pick and hook, not {pick.leg_length}.",
                value=pick.leg_length,
                allowed=Allowed(minimum=(1 - LENGTH_AGREES) * length, maximum=(1 + LENGTH_AGREES) * length, unit="m"),
                why="Lengths and positions must describe the same sling.",
            )


def _tensions(directions: list[Any], lengths: list[float], weight: float) -> tuple[list[float], ...]:
    count = len(directions)
    if count == 1:
        return [weight], [weight], [weight]
    if count == 2:
        return _two(directions, weight)
    matrix = np.array(directions).T
    singular = np.linalg.svd(matrix, compute_uv=False)
    if singular[-1] < FLAT * singular[0]:
        raise refuse(
            "/pick_points",
            "The legs lie in one plane: the picks stand on one line, or over one another, in plan.",
            why="Legs in one plane cannot keep the load from turning over; give the two outer picks alone.",
        )
    load = np.array([0.0, 0.0, 1.0])
    bounds = statics.bounds(matrix, load)
    if bounds is None:
        return [], [], []
    elastic = _pulling(matrix, statics.elastic(matrix, load, 1 / np.array(lengths)))
    return ([weight * t for t in bounds[0]], [weight * t for t in bounds[1]], [weight * float(t) for t in elastic])


def _two(directions: list[Any], weight: float) -> tuple[list[float], ...]:
    """Two legs in one upright plane: the horizontal pulls cancel, the upright ones carry the weight."""
    outward = [math.hypot(d[0], d[1]) for d in directions]
    facing = directions[0][0] * directions[1][0] + directions[0][1] * directions[1][1]
    if facing > 1e-12:  # both picks on the same side of the hook
        return [], [], []
    across = directions[0][2] * outward[1] + directions[1][2] * outward[0]
    tensions = [weight * outward[1] / across, weight * outward[0] / across]
    return tensions, tensions, tensions


def _pulling(matrix: Any, tensions: Any) -> Any:
    """The nearest set in which no leg pushes: four legs have one free direction, along which it is sought."""
    if matrix.shape[1] == 3 or tensions.min() >= 0:
        return np.maximum(tensions, 0.0)
    free = np.linalg.svd(matrix)[2][-1]
    moving = np.abs(free) > 1e-12
    limits = -tensions[moving] / free[moving]
    low = limits[free[moving] > 0].max(initial=-np.inf)
    high = limits[free[moving] < 0].min(initial=np.inf)
    step = min(max(0.0, float(low)), float(high))
    return np.maximum(tensions + step * free, 0.0)
