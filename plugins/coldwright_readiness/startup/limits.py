"""Limits of one configuration in SI, the table of rules, and comparisons that forgive the last bit."""

from typing import Any, Final

from msgspec import UNSET

from coldwright.contract import load_table
from coldwright_readiness.shared.configuration import (
    Configuration,
    high_point_head,
    rated_voltage,
    warm_up_span,
)
from coldwright_readiness.shared.instants import NANO, span
from coldwright_readiness.startup.observation_data import EarthContinuityData, InsulationTestData, LineVoltageData

STARTUP_RULES = load_table("coldwright_readiness", "startup_rules")
VALVE_POSITIONS = load_table("coldwright_readiness", "valve_positions")

RULES: Final[dict[str, dict[str, Any]]] = {row["rule"]: row for row in STARTUP_RULES.rows}
MEANING_OF_REASON: Final[dict[str, str]] = {r["reason"]: r["meaning"] for r in VALVE_POSITIONS.rows["reasons"]}
_SLACK: Final = 1e-9

FUTURE_ALLOWED: Final = 120 * NANO
"""How far ahead of the question an observation may lie: clocks differ."""
ALIVE, LOW, HIGH = 0.5, 0.9, 1.1
"""Fractions of rated voltage: a sign of life, and the limits of a good supply."""


def at_most(a: float, b: float) -> bool:
    """a <= b, where a change of units made the last bit differ."""
    return a <= b + _SLACK * max(abs(a), abs(b))


def at_least(a: float, b: float) -> bool:
    """a >= b, likewise."""
    return at_most(b, a)


def fresh_for(rule: str) -> int:
    """Nanoseconds for which the readings of a rule count."""
    return int(RULES[rule]["fresh_for_minutes"]) * 60 * NANO


class Limits:
    """What a configuration means for observations. SI."""

    def __init__(self, c: Configuration) -> None:
        self.configuration = c
        self.own_pump = c.pump_mode == "own_pump"
        self.pump_in_use = "machine" if self.own_pump else "site"
        self.glycol = c.fluid_kind != "water"
        self.rated_voltage = rated_voltage(c).si
        self.warm_up = warm_up_span(c)
        self.anti_recycle = span(c.anti_recycle)
        self.head = high_point_head(c)
        self.turnover = UNSET if c.loop_turnover_time is UNSET else span(c.loop_turnover_time)
        positions = VALVE_POSITIONS.rows["positions"]
        self.pump_valves: dict[str, str] = positions[c.pump_mode] if c.pump_fitted else {}
        self.loop_valves: dict[str, str] = positions["loop"]
        self.valves = {**self.pump_valves, **self.loop_valves}
        self.flow_valves = {*self.pump_valves, "supply", "return"}
        """Valves whose move undoes a proof of flow."""
        self.purge_points = ("high_point", "pump_casing") if self.own_pump else ("high_point",)

    def fill_pressure_good(self, pressure: float) -> bool:
        """Within the filling limits, and enough left at the highest point."""
        c = self.configuration
        within = at_least(pressure, c.fill_pressure_minimum.si) and at_most(pressure, c.fill_pressure_maximum.si)
        return within and self.high_point_good(pressure)

    def high_point_good(self, pressure: float) -> bool:
        """Enough pressure at the highest point, from that at the loop gauge."""
        return at_least(pressure - self.head, self.configuration.high_point_pressure_minimum.si)

    def drop_good(self, drop: float) -> bool:
        """Drop across the evaporator between its least and its greatest."""
        low, high = (
            self.configuration.evaporator_pressure_drop_minimum,
            self.configuration.evaporator_pressure_drop_maximum,
        )
        return (low is UNSET or at_least(drop, low.si)) and (high is UNSET or at_most(drop, high.si))

    def ground_path_good(self, data: EarthContinuityData) -> bool:
        """At most 1 ohm, and at most 0.1 ohm above the run's own."""
        own = self.configuration.ground_run_resistance
        return at_most(data.resistance.si, 1.0) and (own is UNSET or at_most(data.resistance.si, own.si + 0.1))

    def insulation_good(self, data: InsulationTestData) -> bool:
        """At least 1 Mohm, at the test voltage that the rating asks for, electronics off."""
        needed = 1000.0 if self.rated_voltage > 500.0 else 500.0
        enough = at_least(data.resistance.si, 1e6) and at_least(data.test_voltage.si, needed)
        return enough and data.electronics_disconnected

    def lines(self, data: LineVoltageData) -> tuple[float, float, float]:
        """Line voltages as fractions of rated."""
        return (
            data.v_ab.si / self.rated_voltage,
            data.v_bc.si / self.rated_voltage,
            data.v_ca.si / self.rated_voltage,
        )

    def alive(self, data: LineVoltageData) -> bool:
        """All three lines at least half of rated: a sign of life."""
        return at_least(min(self.lines(data)), ALIVE)

    def not_low(self, data: LineVoltageData) -> bool:
        """All three lines at least 0.9 of rated: below it the heaters' time does not count."""
        return at_least(min(self.lines(data)), LOW)


def unbalance(data: LineVoltageData) -> float:
    """Greatest deviation from the mean over the mean; 0 where all lines are dead."""
    volts = (data.v_ab.si, data.v_bc.si, data.v_ca.si)
    mean = sum(volts) / 3
    return max(abs(v - mean) for v in volts) / mean if mean > 0 else 0.0
