"""Flow through resistances in series and in unequal parallel paths. Plain floats, SI; knows no elements and no pumps.

Every resistance is one of three laws: quadratic (fittings, valves, devices of exponent 2), a power (other devices), or
Darcy friction. A path adds what is alike, so that a long loop of one bore costs no more than one line.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import log, pi

from coldwright.contract import lazy
from coldwright_basis.compare import same
from coldwright_hydronic.shared.devices import KV_CUBE
from coldwright_hydronic.shared.friction import LAMINAR_BELOW, colebrook_or_laminar
from coldwright_hydronic.shared.given import SQUARE_LAW

_numerics = lazy("fluids.numerics")

CLOSE = 1e-8
"""Relative step of Newton's method after which what is left, its square, is nothing."""

ROOT = 1e-15

RAMP = 1e-5
"""Width of the step of the friction factor at Re 2040, over that: a ramp instead of a cliff, so that every flow has one
drop and every drop one flow."""

_NEWTON_PASSES = 60

_KAPPA = 2.0 / log(10.0) * 2.51

Line = tuple[float, float, float]
"""Factor (dp = f factor Q^2), Reynolds number over flow, relative roughness."""


@dataclass(slots=True)
class Resistance:
    """One element between two points of pressure."""

    quadratic: float = 0.0
    power: float = 0.0
    exponent: float = SQUARE_LAW
    line: Line | None = None

    def drop(self, flow: float) -> float:
        """Pressure drop at a flow."""
        drop = self.quadratic * flow * flow
        if self.power:
            drop += self.power * flow**self.exponent
        return drop + line_drop(self.line, flow) if self.line else drop


def line_drop(line: Line, flow: float) -> float:
    """Pressure drop of a line."""
    factor, re_per_flow, roughness = line
    re = re_per_flow * flow
    if re < LAMINAR_BELOW:
        return line_drop_and_slope(line, flow)[0]
    return colebrook_or_laminar()(re, roughness) * factor * flow * flow


def line_drop_and_slope(line: Line, flow: float) -> tuple[float, float]:
    """Pressure drop of a line and its derivative; that of Colebrook's factor in closed form."""
    factor, re_per_flow, roughness = line
    re = re_per_flow * flow
    if re < LAMINAR_BELOW * (1.0 - RAMP):
        slope = 64.0 / re_per_flow * factor
        return slope * flow, slope
    if re < LAMINAR_BELOW:
        step = LAMINAR_BELOW / re_per_flow
        foot, width = step * (1.0 - RAMP), step * RAMP
        low = 64.0 / re_per_flow * factor * foot
        slope = (colebrook_or_laminar()(LAMINAR_BELOW, roughness) * factor * step * step - low) / width
        return low + slope * (flow - foot), slope
    f = colebrook_or_laminar()(re, roughness)
    term = f * factor * flow
    return term * flow, 2.0 * term / (1.0 + _KAPPA / re * 10.0 ** (0.5 / f**0.5))


def line(diameter: float, length: float, roughness: float, runs: int, density: float, viscosity: float) -> Resistance:
    """Equal runs of hose or pipe."""
    area = 0.25 * pi * diameter * diameter * runs
    factor = length / diameter * 0.5 * density / (area * area)
    return Resistance(line=(factor, density * diameter / (area * viscosity), roughness / diameter))


def fittings(diameter: float, k: float, runs: int, density: float) -> Resistance:
    """Fittings by the sum of their loss coefficients."""
    area = 0.25 * pi * diameter * diameter * runs
    return Resistance(quadratic=k * 0.5 * density / (area * area))


def device(rated_flow: float, rated_drop: float, exponent: float, correction: float, count: int) -> Resistance:
    """Equal rated devices side by side."""
    factor = rated_drop * correction / (rated_flow * count) ** exponent
    return Resistance(quadratic=factor) if exponent == SQUARE_LAW else Resistance(power=factor, exponent=exponent)


def valve(kv: float, density: float) -> Resistance:
    """A valve, or a stopped pump."""
    return Resistance(quadratic=KV_CUBE * density / (kv * kv))


@dataclass(slots=True)
class Parallel:
    """Paths that part and join again; `flows` holds how the flow splits, from one call to the next."""

    paths: list["Path"]
    flows: list[float] = field(default_factory=list)

    def settle(self, flow: float) -> tuple[float, float]:
        """Split `flow` so that all paths drop alike; returns that drop and its slope over flow."""
        if flow <= 0.0:
            return 0.0, 0.0
        settled = self._newton(flow)
        return settled if settled else self._bracketed(flow)

    def drop(self, flow: float) -> float:
        """The drop common to all paths."""
        return self.settle(flow)[0]

    def _newton(self, flow: float) -> tuple[float, float] | None:
        """Newton's method on all path flows at once: one linear equation, since only their drop is shared."""
        before = self.flows or [p.drop(flow) ** -0.5 for p in self.paths]  # to begin with, as if by the square law
        flows = [flow * q / sum(before) for q in before]
        for _ in range(_NEWTON_PASSES):
            states = [p.drop_and_slope(q) for p, q in zip(self.paths, flows, strict=True)]
            if any(slope <= 0.0 for _, slope in states):
                return None
            ease = sum(1.0 / slope for _, slope in states)
            common = (flow - sum(flows) + sum(drop / slope for drop, slope in states)) / ease
            change = 0.0
            for i, (drop, slope) in enumerate(states):
                step = (common - drop) / slope
                after = self.paths[i].landing(flows[i], max(flows[i] + step, 0.1 * flows[i]))
                change = max(change, abs(step) / flows[i])
                flows[i] = after
            if change <= CLOSE and same(sum(flows), flow):
                self.flows = flows
                return common, 1.0 / ease
        return None

    def _bracketed(self, flow: float) -> tuple[float, float]:
        """The slow and sure way, by roots within roots."""

        def split(drop: float) -> list[float]:
            return [p.flow_at(drop, flow) for p in self.paths]

        most = min(p.drop(flow) for p in self.paths)
        common = root(lambda drop: sum(split(drop)) - flow, 0.0, most)
        flows = split(common)
        self.flows = [q * flow / sum(flows) for q in flows]
        slopes = [p.drop_and_slope(q)[1] for p, q in zip(self.paths, self.flows, strict=True)]
        return common, 1.0 / sum(1.0 / s for s in slopes if s > 0.0)


@dataclass(slots=True)
class Path:
    """Resistances in series."""

    parts: Sequence[Resistance | Parallel]
    quadratic: float = 0.0
    powers: tuple[tuple[float, float], ...] = ()
    lines: tuple[Line, ...] = ()
    parallels: tuple[Parallel, ...] = ()

    def __post_init__(self) -> None:
        powers: dict[float, float] = defaultdict(float)
        lines: dict[tuple[float, float], float] = defaultdict(float)
        single = [p for p in self.parts if isinstance(p, Resistance)]
        for part in single:
            if part.power:
                powers[part.exponent] += part.power
            if part.line and part.line[0]:
                lines[part.line[1:]] += part.line[0]
        self.quadratic = sum(p.quadratic for p in single)
        self.powers = tuple((factor, exponent) for exponent, factor in powers.items())
        self.lines = tuple((factor, *rest) for rest, factor in lines.items())
        self.parallels = tuple(p for p in self.parts if isinstance(p, Parallel))

    def drop(self, flow: float) -> float:
        """Pressure drop of the path at a flow; a root is sought with it alone, so it takes no slope along."""
        drop = self.quadratic * flow * flow
        for factor, exponent in self.powers:
            drop += factor * flow ** (exponent - 1.0) * flow
        for line in self.lines:
            drop += line_drop(line, flow)
        for parallel in self.parallels:
            drop += parallel.drop(flow)
        return drop

    def drop_and_slope(self, flow: float) -> tuple[float, float]:
        """Pressure drop and its derivative."""
        drop = self.quadratic * flow * flow
        slope = 2.0 * self.quadratic * flow
        for factor, exponent in self.powers:
            term = factor * flow ** (exponent - 1.0)
            drop += term * flow
            slope += exponent * term
        for each in self.lines:
            more, steeper = line_drop_and_slope(each, flow)
            drop += more
            slope += steeper
        for parallel in self.parallels:
            more, steeper = parallel.settle(flow)
            drop += more
            slope += steeper
        return drop, slope

    def flow_at(self, drop: float, most: float) -> float:
        """The flow that makes `drop`, `most` at most."""
        if drop <= 0.0:
            return 0.0
        if self.drop(most) <= drop:
            return most
        return root(lambda q: self.drop(q) - drop, 0.0, most)

    def landing(self, before: float, after: float) -> float:
        """Where a step of Newton's method may land: `after`, or on the ramp at Re 2040 that it would jump over."""
        for _, re_per_flow, _ in self.lines:
            ramp = LAMINAR_BELOW / re_per_flow
            foot = ramp * (1.0 - RAMP)
            if (before < foot and after > ramp) or (before > ramp and after < foot):
                after = foot + 0.5 * (ramp - foot)
        return after


def root(function: Callable[[float], float], low: float, high: float, ends: tuple[float, float] | None = None) -> float:
    """Root between two ends of unlike sign (Brent's method with hyperbolic extrapolation, library fluids); `ends` are the
    function's values there, where they are known.
    """
    at_low, at_high = ends or (function(low), function(high))
    if at_low == 0.0:
        return low
    if at_high == 0.0 or at_low * at_high > 0.0:  # unlike in exact arithmetic: the root is at the end that is nearly 0
        return high if abs(at_high) <= abs(at_low) else low
    found: float = _numerics.brenth(function, low, high, xtol=1e-20, rtol=ROOT, fa=at_low, fb=at_high, maxiter=200)
    return found
