"""A fleet and its rules as arrays in SI units, and the plain arithmetic that judges combinations.

Types stand in the order of their names, so that the order in which a fleet is written changes nothing.
"""

import itertools
from dataclasses import dataclass, field
from typing import Any, get_args

from coldwright.contract import lazy, tidy
from coldwright_basis.compare import SLACK
from coldwright_refrigeration.selection.given import Rule

np: Any = lazy("numpy")
Array = Any
"""A numpy array: one number a type, or one row a combination."""
RULES: tuple[Rule, ...] = get_args(Rule)
Rank = tuple[float, int, float, tuple[tuple[str, int], ...]]
"""Objective, units, power, and types with their counts: what comes first by these is preferred."""


@dataclass(frozen=True)
class Case:
    """What is asked. `None` stands for a figure that no rule in force and no objective uses."""

    names: tuple[str, ...]
    stock: Array
    capacity: Array
    load: float
    active: tuple[Rule, ...]
    """Rules in force, in their order."""
    unit_cost: Array
    """Objective of one unit, without hauls."""
    haul_weight: float
    """Objective of one haul."""
    lost_units: int = 0
    circuit: Array = None
    """Capacity of one circuit of one unit, where the loss of a circuit is asked for."""
    turns_down: Array = None
    """Whether a type runs at the least load."""
    flow: float = 0.0
    flow_minimum: Array = None
    flow_maximum: Array = None
    standby_isolated: bool = False
    power: Array = None
    power_available: float = 0.0
    footprint: Array = None
    footprint_available: float = 0.0
    haul: Array = None
    hauls_max: int = 0
    units_max: int = 0
    mass: Array = None
    mass_max: float = 0.0
    quantum: float = 0.0
    """Objectives differ by at least this, or not at all; 0 where unknown."""
    ranks: dict[tuple[int, ...], Rank] = field(default_factory=dict, init=False, compare=False)

    def hauls(self, n: Array) -> Array:
        """Hauls of combinations, rounded up; 0 where no share is known."""
        if self.haul is None:
            return np.zeros(len(n))
        return np.ceil(n @ self.haul - SLACK)

    def objective(self, n: Array) -> Array:
        """Objective of combinations."""
        return n @ self.unit_cost + (self.haul_weight * self.hauls(n) if self.haul_weight else 0.0)

    def loss(self, n: Array) -> Array:
        """Capacity that the redundancy rule takes away from combinations."""
        if self.circuit is not None:
            return np.max(np.where(n > 0, self.circuit, 0.0), axis=1, initial=0.0)
        order = np.argsort(-self.capacity, kind="stable")
        before = np.cumsum(n[:, order], axis=1) - n[:, order]
        taken = np.clip(self.lost_units - before, 0, n[:, order])
        return taken @ self.capacity[order]

    def running(self, n: Array) -> Array:
        """The fewest units of combinations that carry the load: the largest first."""
        order = sorted(range(len(self.names)), key=lambda i: (-self.capacity[i], self.flow_minimum[i], i))
        left, runs = np.full(len(n), self.load * (1 - SLACK)), np.zeros_like(n)
        for i in order:
            runs[:, i] = np.clip(np.ceil(left / self.capacity[i] - SLACK), 0, n[:, i])
            left = left - runs[:, i] * self.capacity[i]
        return runs

    def broken(self, n: Array, rule: Rule) -> Array:
        """Which combinations break a rule in force."""
        match rule:
            case "capacity":
                return n @ self.capacity < self.load * (1 - SLACK)
            case "redundancy":
                return n @ self.capacity - self.loss(n) < self.load * (1 - SLACK)
            case "turndown":
                return n @ self.turns_down < 1
            case "flow_minimum":
                runs = self.running(n) if self.standby_isolated else n
                return runs @ self.flow_minimum > self.flow * (1 + SLACK)
            case "flow_maximum":
                return n @ self.flow_maximum < self.flow * (1 - SLACK)
            case "power_available":
                return n @ self.power > self.power_available * (1 + SLACK)
            case "footprint_available":
                return n @ self.footprint > self.footprint_available * (1 + SLACK)
            case "hauls_max":
                return self.hauls(n) > self.hauls_max
            case "units_max":
                return n.sum(axis=1) > self.units_max
            case "mass_max":
                return n @ self.mass > self.mass_max * (1 + SLACK)

    def keeps(self, n: Array, rules: tuple[Rule, ...]) -> Array:
        """Which combinations keep all of some rules."""
        good = np.ones(len(n), dtype=bool)
        for rule in rules:
            good[good] = ~self.broken(n[good], rule)
        return good

    def failed(self, units: list[tuple[int, ...]]) -> list[tuple[Rule, ...]]:
        """Every rule that each of some combinations breaks."""
        n = np.array(units, dtype=float).reshape(len(units), len(self.names))
        broken = [self.broken(n, rule).tolist() for rule in self.active]
        return [tuple(itertools.compress(self.active, of_one)) for of_one in zip(*broken, strict=True)]

    def rank(self, units: tuple[int, ...]) -> Rank:
        """Order of preference: objective, then units, then power, then the names of the types. Kept: lists are sorted again."""
        if units not in self.ranks:
            self.ranks[units] = self._rank(units)
        return self.ranks[units]

    def _rank(self, units: tuple[int, ...]) -> Rank:
        n = np.array([units], dtype=float)
        power = 0.0 if self.power is None else float(n[0] @ self.power)
        named = tuple((name, -count) for name, count in zip(self.names, units, strict=True) if count)
        return tidy(float(self.objective(n)[0])), sum(units), tidy(power), named
