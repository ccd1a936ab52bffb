"""The well-mixed loop in time: exact between the starts of the stages, where it is linear in its temperature."""

import math
from typing import NamedTuple

from coldwright_basis.compare import negligible

HOUR = 3600.0


class Plant(NamedTuple):
    """Loop and machines, SI. Heat flows in W, temperatures in K."""

    heat_capacity: float
    """J/K"""
    load: float
    gain: float
    """W/K"""
    ambient: float
    capacity: float
    stages: int
    reference: float
    slope: float
    limit: float
    """K above which the capacity rises no further; infinite where it always rises."""

    def cooling(self, stages: int, temperature: float) -> float:
        """Heat taken out by a number of stages."""
        return stages / self.stages * self.capacity * (1 + self.slope * self.rise(temperature))

    def rise(self, temperature: float) -> float:
        """K above the reference by which the capacity has risen."""
        return min(temperature, self.limit) - self.reference

    def net(self, stages: int, temperature: float) -> float:
        """Heat into the loop: positive warms it."""
        return self.load + self.gain * (self.ambient - temperature) - self.cooling(stages, temperature)

    def steepness(self, stages: int, *, above_limit: bool) -> float:
        """How much the net heat falls for each kelvin of warmer loop, W/K."""
        if above_limit:
            return self.gain
        return self.gain + stages / self.stages * self.capacity * self.slope

    def steady(self) -> float | None:
        """Temperature at which all stages hold the loop; None where there is none."""
        if math.isinf(self.limit):
            return self._root(self.reference, above_limit=False)
        at_limit = self.net(self.stages, self.limit)
        if at_limit == 0:
            return self.limit
        return self._root(self.limit, above_limit=at_limit > 0)

    def _root(self, start: float, *, above_limit: bool) -> float | None:
        steepness = self.steepness(self.stages, above_limit=above_limit)
        return start + self.net(self.stages, start) / steepness if steepness > 0 else None


class Moment(NamedTuple):
    """One point in time."""

    time: float
    temperature: float
    stages: int


def starts(first: float, delay: float, stages: int) -> list[tuple[float, int]]:
    """Times (s) from which a number of stages runs; starts at one time are one."""
    at: dict[float, int] = {} if first == 0 else {0.0: 0}
    for i in range(stages):
        at[first + i * delay] = i + 1
    return sorted(at.items())


def run(plant: Plant, initial: float, target: float, on: list[tuple[float, int]], horizon: float) -> list[Moment]:
    """The curve: at the beginning, at each start, and at the target or, where that is never reached, `horizon` later."""
    moments: list[Moment] = []
    temperature = initial
    for i, (time, stages) in enumerate(on):
        moments.append(Moment(time, temperature, stages))
        span = on[i + 1][0] - time if i + 1 < len(on) else horizon
        after, arrived = _advance(plant, stages, temperature, target, span)
        if arrived is not None:
            return [*moments, Moment(time + arrived, target, stages)]
        temperature = after
    last = on[-1][0]
    return [*moments, Moment(last + horizon, temperature, on[-1][1])]


def _advance(plant: Plant, stages: int, temperature: float, target: float, span: float) -> tuple[float, float | None]:
    """Temperature after a span with a number of stages, and the time at which the target was met, if it was."""
    gone = 0.0
    for _ in range(4):  # the target, or the limit crossed once each way, ends every case
        net = plant.net(stages, temperature)
        above = temperature > plant.limit or (temperature == plant.limit and net > 0)
        edge = _edge(plant, target, net, above)
        steepness = plant.steepness(stages, above_limit=above)
        needed = math.inf if edge is None else _time_to(plant, stages, temperature, edge, steepness)
        if gone + needed > span or math.isinf(needed):
            return _after(plant, net, temperature, steepness, span - gone), None
        gone += needed
        temperature = edge if edge is not None else temperature
        if temperature == target:
            return target, gone
    return temperature, None


def _edge(plant: Plant, target: float, net: float, above: bool) -> float | None:
    """Where the present law ends: the target or the limit, whichever comes first."""
    if net < 0:
        return max(plant.limit, target) if above else target
    return None if above or math.isinf(plant.limit) or net == 0 else plant.limit


def _time_to(plant: Plant, stages: int, temperature: float, edge: float, steepness: float) -> float:
    """Seconds to an edge; infinite where the loop settles before it."""
    here, there = plant.net(stages, temperature), plant.net(stages, edge)
    if here * there <= 0:
        return math.inf
    bend = steepness * (edge - temperature) / there
    if negligible(bend, 1.0):
        return plant.heat_capacity * (edge - temperature) / here
    return plant.heat_capacity / steepness * math.log1p(bend)


def _after(plant: Plant, net: float, temperature: float, steepness: float, span: float) -> float:
    bend = steepness * span / plant.heat_capacity
    if bend < 1e-12:
        return temperature + net * span / plant.heat_capacity
    return temperature - net / steepness * math.expm1(-bend)
