"""Flow through resistances in series and in unequal parallel paths. Plain floats, SI; knows no elements and no pumps.

Every resistance is one of three laws: quadratic (fittings, valves, devices of exponent 2), a power (other devices), or
Darcy friction. A path adds what is alike, so that a long loop of one bore costs no more than one line.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import log, pi

from coldwright.contract import lazy
from coldwright_hydronic.devices import KV_CUBE, SQUARE_LAW
from coldwright_hydronic.friction import LAMINAR_BELOW, colebrook_or_laminar

_numerics = lazy("fluids.numerics")

CLOSE = 1e-8
"""Relative step of Newton's method after which what is left, its square, is nothing."""
ROOT = 1e-13
JUMP = 1e-9
_NEWTON_PASSES = 30
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
        if self.line:
            factor, re_per_flow, roughness = self.line
            re = re_per_flow * flow
            if re < LAMINAR_BELOW:
                drop += 64.0 / re_per_flow * factor * flow
            else:
                drop += colebrook_or_laminar()(re, roughness) * factor * flow * flow
        return drop


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
            self.flows = [0.0] * len(self.paths)
            return 0.0, 0.0
        settled = self._newton(flow)
        return settled if settled else self._bracketed(flow)

    def drop(self, flow: float) -> float:
        """The drop common to all paths."""
        return self.settle(flow)[0]

    def _newton(self, flow: float) -> tuple[float, float] | None:
        """Newton's method on all path flows at once: one linear equation, since only their drop is shared."""
        total = sum(self.flows)
        count = len(self.paths)
        flows = [flow * q / total for q in self.flows] if total > 0.0 else [flow / count] * count
        for _ in range(_NEWTON_PASSES):
            states = [p.drop_and_slope(q) for p, q in zip(self.paths, flows, strict=True)]
            if any(slope <= 0.0 for _, slope in states):
                return None
            ease = sum(1.0 / slope for _, slope in states)
            common = sum(drop / slope for drop, slope in states) / ease
            change = 0.0
            for i, (drop, slope) in enumerate(states):
                step = (common - drop) / slope
                change = max(change, abs(step))
                flows[i] = max(flows[i] + step, 0.1 * flows[i])
            wrong = flow / sum(flows)
            if change <= CLOSE * flow and abs(wrong - 1.0) < 1e-9:
                self.flows = flows
                return common, 1.0 / ease
            flows = [q * wrong for q in flows]
        return None

    def _bracketed(self, flow: float) -> tuple[float, float]:
        """The slow and sure way, for a path whose flow sits on the step between laminar and turbulent."""

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
        """Pressure drop of the path at a flow."""
        return self.drop_and_slope(flow)[0]

    def drop_and_slope(self, flow: float) -> tuple[float, float]:
        """Pressure drop and its derivative; that of Colebrook's factor in closed form."""
        drop = self.quadratic * flow * flow
        slope = 2.0 * self.quadratic * flow
        for factor, exponent in self.powers:
            term = factor * flow ** (exponent - 1.0)
            drop += term * flow
            slope += exponent * term
        friction_factor = colebrook_or_laminar()
        for factor, re_per_flow, roughness in self.lines:
            re = re_per_flow * flow
            if re < LAMINAR_BELOW:
                term = 64.0 / re_per_flow * factor
                drop += term * flow
                slope += term
            else:
                f = friction_factor(re, roughness)
                term = f * factor * flow
                drop += term * flow
                slope += 2.0 * term / (1.0 + _KAPPA / re * 10.0 ** (0.5 / f**0.5))
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

    def drops(self, flow: float, total: float) -> list[float]:
        """Drop of each part at `flow`, together `total`.

        They differ from `total` only where a line sits on the step of the friction factor at Re 2040: there the drop of
        that line is between its laminar and its turbulent value, in the place that closes the loop.
        """
        drops = [p.drop(flow) for p in self.parts]
        if abs(sum(drops) - total) <= JUMP * abs(total):
            return drops
        low = [p.drop(flow * (1.0 - JUMP)) for p in self.parts]
        high = [p.drop(flow * (1.0 + JUMP)) for p in self.parts]
        step = sum(high) - sum(low)
        share = min(max((total - sum(low)) / step, 0.0), 1.0) if step > 0.0 else 0.0
        for parallel in self.parallels:
            parallel.settle(flow)
        return [a + share * (b - a) for a, b in zip(low, high, strict=True)]


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """Root between two ends of unlike sign (Brent's method with hyperbolic extrapolation, library fluids)."""
    at_low, at_high = function(low), function(high)
    if at_low == 0.0:
        return low
    if at_high == 0.0 or at_low * at_high > 0.0:  # unlike in exact arithmetic: the root is at the end that is nearly 0
        return high if abs(at_high) <= abs(at_low) else low
    found: float = _numerics.brenth(function, low, high, xtol=1e-20, rtol=ROOT, fa=at_low, fb=at_high, maxiter=200)
    return found
