"""Paths of sound over and round a barrier, and what they take away (ISO 9613-2, 7.4)."""

import math
from itertools import pairwise
from typing import NamedTuple

from coldwright.contract import lazy, refuse
from coldwright_basis.compare import SLACK
from coldwright_site.sound.given import BarrierGiven

shapely = lazy("shapely")

Place = tuple[float, float, float]
SPEED_OF_SOUND = 340.0
"""m/s, as ISO 9613-2 takes it."""


class Detour(NamedTuple):
    """A path over or round the barrier: its parts (m), and how much longer it is than the straight one."""

    before: float
    between: float
    after: float
    straight: float
    over_top: bool

    @property
    def longer(self) -> float:
        """z, the difference of the paths."""
        return max(0.0, self.before + self.between + self.after - self.straight)

    @property
    def weather_factor(self) -> float:
        """K_met; 1 round the sides."""
        if not self.over_top:
            return 1.0
        if self.longer <= 0:
            return 0.0
        return math.exp(-math.sqrt(self.before * self.after * self.straight / (2 * self.longer)) / 2000)

    def attenuation(self, frequency: float) -> float:
        """D_z of one band, at most 20 dB over one edge and 25 dB over two."""
        wave = SPEED_OF_SOUND / frequency
        edges = 1.0
        if self.between > 0:
            ratio = (5 * wave / self.between) ** 2
            edges = (1 + ratio) / (1 / 3 + ratio)
        value = 10 * math.log10(3 + 20 / wave * edges * self.longer * self.weather_factor)
        return min(value, 25.0 if self.between > 0 else 20.0)


def quick_look(detour: Detour, frequency: float) -> float:
    """Attenuation of a thin screen by its Fresnel number (Kurze and Anderson), at most 24 dB."""
    root = math.sqrt(2 * math.pi * 2 * detour.longer * frequency / SPEED_OF_SOUND)
    return min(24.0, 5 + 20 * math.log10(root / math.tanh(root)) if root > 1e-6 else 5.0)


class Screen(NamedTuple):
    """What the barrier does between a source and a place: nothing, nothing because sound passes over, or detours."""

    crosses: bool
    top: Detour | None = None
    sides: tuple[Detour, ...] = ()


def screen(barrier: BarrierGiven, source: Place, receiver: Place, pointer: str) -> Screen:
    """The detours over and round the barrier, if the straight line meets it in plan."""
    ends = barrier.point_1.xy, barrier.point_2.xy
    sight = shapely.LineString([source[:2], receiver[:2]])
    if not sight.intersects(shapely.LineString(ends)):
        return Screen(False)
    half = barrier.thickness.si / 2
    offsets = _offsets(ends, source, receiver)
    if min(abs(offsets[0]), abs(offsets[1])) <= half + SLACK or offsets[0] * offsets[1] > 0:
        raise refuse(
            pointer,
            "The straight line from source to receiver runs along the barrier, or one of them stands in it.",
            why="The paths over and round it are not defined.",
        )
    sign = math.copysign(1.0, offsets[0])
    edges = [(sign * half), (-sign * half)] if half > 0 else [0.0]
    top = _over(edges, offsets, source, receiver, barrier.edge_height.si)
    if top is None:
        return Screen(True)
    return Screen(True, top, tuple(_round(end, ends, edges, source, receiver) for end in ends))


def _normal(ends: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    (x1, y1), (x2, y2) = ends
    length = math.hypot(x2 - x1, y2 - y1)
    return (y1 - y2) / length, (x2 - x1) / length


def _offsets(ends: tuple[tuple[float, float], tuple[float, float]], *places: Place) -> list[float]:
    """Distances of places from the centre line, with a sign for the side."""
    n = _normal(ends)
    return [n[0] * (p[0] - ends[0][0]) + n[1] * (p[1] - ends[0][1]) for p in places]


def _over(edges: list[float], offsets: list[float], source: Place, receiver: Place, height: float) -> Detour | None:
    """The taut path over the top; None when the line of sight passes above."""
    span = math.dist(source[:2], receiver[:2])
    shares = [(edge - offsets[0]) / (offsets[1] - offsets[0]) for edge in edges]
    profile = [(0.0, source[2]), *((s * span, height) for s in shares), (span, receiver[2])]
    touched = [p for p in profile[1:-1] if _above(p, profile[0], profile[-1])]
    if not touched:
        return None
    if len(edges) == 2:  # an edge that a string pulled taut over the other doesn't touch is no edge
        first, second = profile[1:3]
        if not _above(second, first, profile[-1]):
            touched = [first]
        elif not _above(first, profile[0], second):
            touched = [second]
        else:
            touched = [first, second]
    return Detour(
        math.dist(profile[0], touched[0]),
        math.dist(touched[0], touched[-1]),
        math.dist(touched[-1], profile[-1]),
        math.dist(source, receiver),
        True,
    )


def _above(point: tuple[float, float], left: tuple[float, float], right: tuple[float, float]) -> bool:
    line = left[1] + (right[1] - left[1]) * (point[0] - left[0]) / (right[0] - left[0])
    return point[1] > line


def _round(
    end: tuple[float, float],
    ends: tuple[tuple[float, float], tuple[float, float]],
    edges: list[float],
    source: Place,
    receiver: Place,
) -> Detour:
    """The shortest path in plan round one end that doesn't cut the barrier; its height changes evenly."""
    n = _normal(ends)
    corners = [(end[0] + n[0] * edge, end[1] + n[1] * edge) for edge in edges]
    body = shapely.LineString(ends).buffer(abs(edges[0]) - 1e-7, cap_style="flat") if len(edges) == 2 else None
    ways = [corners] if body is None else [[corners[0]], [corners[1]], corners]
    paths = [shapely.LineString([source[:2], *way, receiver[:2]]) for way in ways]
    free = [p for p in paths if body is None or not p.intersects(body)] or paths[-1:]
    points = list(min(free, key=lambda p: p.length).coords)
    parts = [math.dist(a, b) for a, b in pairwise(points)]
    plan = math.fsum(parts)
    stretch = math.hypot(plan, receiver[2] - source[2]) / plan
    between = parts[1] * stretch if len(parts) == 3 else 0.0
    return Detour(parts[0] * stretch, between, parts[-1] * stretch, math.dist(source, receiver), False)
