"""A fleet and its rules as arrays in SI units, and the plain arithmetic that judges combinations.

Types stand in the order of their names, so that the order in which a fleet is written changes nothing.
"""

import itertools
from dataclasses import dataclass, field
from typing import Any, get_args

from coldwright.contract import lazy, tidy
from coldwright_refrigeration.selection.given import Rule
from coldwright_refrigeration.selection.rounding import above, below, just_below

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
    power: Array
    """It settles ties, and counts as nothing there where it is not known of every type."""
    haul: Array
    """Share of a haul, likewise."""
    lost_units: int = 0
    circuit: Array = None
    """Capacity of one circuit of one unit, where the loss of a circuit is asked for."""
    turns_down: Array = None
    """1 for a type that runs at the least load, else 0."""
    flow: float = 0.0
    flow_minimum: Array = None
    flow_maximum: Array = None
    standby_isolated: bool = False
    power_available: float = 0.0
    footprint: Array = None
    footprint_available: float = 0.0
    hauls_max: int = 0
    units_max: int = 0
    mass: Array = None
    mass_max: float = 0.0
    quantum: float = 0.0
    """Objectives differ by at least this, or not at all; 0 where unknown."""
    members: tuple[Array, Array, Array] | None = None
    """Of kinds: for each type its kind, the units of the kind that stand before it, and its own."""
    ranks: dict[tuple[int, ...], Rank] = field(default_factory=dict, init=False, compare=False)

    def hauls(self, n: Array) -> Array:
        """Hauls of combinations, rounded up."""
        return np.ceil(just_below(n @ self.haul))

    def objective(self, n: Array) -> Array:
        """Objective of combinations."""
        return n @ self.unit_cost + self.haul_weight * self.hauls(n)

    def first_types(self, n: Array) -> Array:
        """Units of each type in combinations of kinds: as many as there are of the first ones."""
        if self.members is None:
            return n
        kind, before, stock = self.members
        return np.clip(n[:, kind] - before, 0, stock)

    def loss(self, n: Array) -> Array:
        """Capacity that the redundancy rule takes away from combinations."""
        if self.circuit is not None:
            return np.max(np.where(n > 0, self.circuit, 0.0), axis=1, initial=0.0)
        order = np.argsort(-self.capacity, kind="stable")
        before = np.cumsum(n[:, order], axis=1) - n[:, order]
        taken = np.clip(self.lost_units - before, 0, n[:, order])
        return taken @ self.capacity[order]

    def least_flow(self, n: Array) -> Array:
        """Least flow of those units of combinations that are not valved off: the largest first, as many as carry the load."""
        if not self.standby_isolated:
            return n @ self.flow_minimum
        order = np.lexsort([self.flow_minimum, -self.capacity])
        n, size = n[:, order], self.capacity[order]
        before = np.cumsum(n * size, axis=1) - n * size
        return np.clip(np.ceil((just_below(self.load) - before) / size), 0, n) @ self.flow_minimum[order]

    def broken(self, n: Array, rule: Rule) -> Array:
        """Which combinations break a rule in force."""
        match rule:
            case "capacity":
                return below(n @ self.capacity, self.load)
            case "redundancy":
                return below(n @ self.capacity - self.loss(n), self.load)
            case "turndown":
                return n @ self.turns_down < 1
            case "flow_minimum":
                return above(self.least_flow(n), self.flow)
            case "flow_maximum":
                return below(n @ self.flow_maximum, self.flow)
            case "power_available":
                return above(n @ self.power, self.power_available)
            case "footprint_available":
                return above(n @ self.footprint, self.footprint_available)
            case "hauls_max":
                return self.hauls(n) > self.hauls_max
            case "units_max":
                return n.sum(axis=1) > self.units_max
            case "mass_max":
                return above(n @ self.mass, self.mass_max)

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
        named = tuple((name, -count) for name, count in zip(self.names, units, strict=True) if count)
        return tidy(float(self.objective(n)[0])), sum(units), tidy(float(n[0] @ self.power)), named
