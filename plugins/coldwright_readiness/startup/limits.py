"""Limits of one configuration in SI, and the table of rules."""

from functools import cache
from math import sqrt
from typing import Any, Final, NamedTuple

from msgspec import UNSET

from coldwright.contract import load_table
from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import at_least, at_most, between
from coldwright_basis.instants import NANO, span
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import word as trade_word
from coldwright_basis.trade_words import words_of
from coldwright_readiness.shared.configuration import high_point_head, practice_of, rated_voltage, warm_up_span
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.words import filled
from coldwright_readiness.startup.observation_data import EarthContinuityData, InsulationTestData, LineVoltageData

STARTUP_RULES = load_table("coldwright_readiness", "startup_rules")
VALVE_POSITIONS = load_table("coldwright_readiness", "valve_positions")


@cache
def rules_in(practice: Practice) -> dict[str, dict[str, Any]]:
    """The rows of the table by rule, in the words of the practice."""
    return {
        row["rule"]: {k: filled(v, words_of(practice)) if isinstance(v, str) else v for k, v in row.items()}
        for row in STARTUP_RULES.rows
    }


RULES: Final = rules_in("nec")
"""The same for whatever has no words: facts, steps, ages, references."""
MEANING_OF_REASON: Final[dict[str, str]] = {r["reason"]: r["meaning"] for r in VALVE_POSITIONS.rows["reasons"]}

MINUTE: Final = 60 * NANO
ALIVE, LOW, HIGH = 0.5, 0.9, 1.1
"""Fractions of rated voltage: a sign of life, and the limits of a good supply."""
NO_FLOW: Final = 2000.0
"""Pa of drop that no standing liquid makes."""
FIRST_RUN: Final = 5 * MINUTE
FROST: Final = Temperature(4.0, "degC").si
"""K of air below which plain water is watched: 4 degC."""
_COLDEST_WATER: Final = Temperature(35.0, "degF").si
_COLD_WATER: Final = Temperature(38.0, "degF").si
TWO_FAHRENHEIT: Final = 2 / 1.8
FIVE_FAHRENHEIT: Final = 5 / 1.8


def fresh_for(rule: str) -> int:
    """Nanoseconds for which the readings of a rule count; none where they do not age."""
    return int(RULES[rule].get("fresh_for_minutes", 0)) * MINUTE


class Limits:
    """What a configuration means for observations. SI."""

    def __init__(self, c: Configuration) -> None:
        self.configuration = c
        self.practice: Practice = practice_of(c)
        self.rules = rules_in(self.practice)
        self.earth = trade_word("earth", self.practice)
        """What the protective conductor leads to is called here."""
        self.own_pump = c.pump_mode == "own_pump"
        self.pump_in_use = "machine" if self.own_pump else "site"
        self.pump_stops = c.site_pump_stops
        self.glycol = c.fluid_kind != "water"
        self.rated_voltage = rated_voltage(c).si
        self.warm_up = warm_up_span(c)
        self.anti_recycle = span(c.anti_recycle)
        self.head = high_point_head(c)
        self.least_fill, self.greatest_fill = c.fill_pressure_minimum.si, c.fill_pressure_maximum.si
        self.least_at_top = c.high_point_pressure_minimum.si
        self.turnover = None if c.loop_turnover_time is UNSET else span(c.loop_turnover_time)
        self.first_run = FIRST_RUN if self.turnover is None else self.turnover
        self.compressors = tuple(str(n) for n in range(1, c.compressors + 1))
        positions = VALVE_POSITIONS.rows["positions"]
        self.pump_valves: dict[str, str] = positions[c.pump_mode] if c.pump_fitted else {}
        self.loop_valves: dict[str, str] = positions["loop"]
        self.valves = {**self.pump_valves, **self.loop_valves}
        self.flow_valves = frozenset({*self.pump_valves, "supply", "return", "balancing"})
        """Valves whose move undoes a proof of flow."""
        self.purge_points = ("pump_casing", "high_point") if self.own_pump else ("high_point",)
        low, high = c.evaporator_pressure_drop_minimum, c.evaporator_pressure_drop_maximum
        self.least_drop = 0.0 if low is UNSET else low.si
        self.greatest_drop = 0.0 if high is UNSET else high.si
        self.least_flow = _least_flow(c)
        self.watch_water = not self.glycol and (
            c.ambient_temperature is UNSET or not at_least(c.ambient_temperature.si, FROST)
        )
        self.coldest_water = max(_COLDEST_WATER, min(_COLD_WATER, c.set_point_minimum_water.si - TWO_FAHRENHEIT))

    def fill_pressure_good(self, pressure: float) -> bool:
        """Within the filling limits, and enough left at the highest point."""
        return between(self.least_fill, pressure, self.greatest_fill) and self.high_point_good(pressure)

    def high_point_good(self, pressure: float) -> bool:
        """Enough pressure at the highest point, from that at the loop gauge."""
        return at_least(pressure - self.head, self.least_at_top)

    def drop_good(self, drop: float) -> bool:
        """Drop across the evaporator between its least and its greatest."""
        return between(self.least_drop, drop, self.greatest_drop)

    def flow_good(self, flow: float) -> bool:
        """Not under the least flow; none at all is never good."""
        return flow > 0 and at_least(flow, self.least_flow)

    def ground_path_good(self, data: EarthContinuityData) -> bool:
        """At most 1 ohm, and at most 0.1 ohm above the run's own."""
        own = self.configuration.ground_run_resistance
        return at_most(data.resistance.si, 1.0) and (own is UNSET or at_most(data.resistance.si, own.si + 0.1))

    def insulation_good(self, data: InsulationTestData) -> bool:
        """At least 1 Mohm, at the test voltage that the rating asks for, electronics off."""
        needed = 1000.0 if self.rated_voltage > 500.0 else 500.0
        enough = at_least(data.resistance.si, 1e6) and at_least(data.test_voltage.si, needed)
        return enough and data.electronics_disconnected

    def volts(self, data: LineVoltageData) -> "Volts":
        """What a reading of the line voltages comes to."""
        a, b, c = data.v_ab.si, data.v_bc.si, data.v_ca.si
        least, most = min(a, b, c) / self.rated_voltage, max(a, b, c) / self.rated_voltage
        apart = unbalance(data)
        not_low = at_least(least, LOW)
        inside = not_low and at_most(most, HIGH)
        alike = at_most(apart, self.configuration.voltage_unbalance_limit)
        return Volts(least, most, apart, at_least(least, ALIVE), not_low, inside, inside and alike)

    def frequency_good(self, data: LineVoltageData) -> bool:
        """Within 5 % of the plate; good where no rating is known."""
        rated = self.configuration.rated_frequency
        if data.frequency is UNSET or rated is UNSET:
            return True
        return at_most(abs(data.frequency.si - rated.si), 0.05 * rated.si)


class Volts(NamedTuple):
    """A reading of the line voltages, judged once: `least` and `most` are fractions of rated."""

    least: float
    most: float
    unbalance: float
    alive: bool
    """All three at least half of rated: a sign of life."""
    not_low: bool
    """All three at least 0.9 of rated: below it the heaters' time does not count."""
    inside: bool
    """Every line within its limits."""
    good: bool
    """That, and the three alike."""


def unbalance(data: LineVoltageData) -> float:
    """Greatest deviation from the mean over the mean; 0 where all lines are dead."""
    a, b, c = data.v_ab.si, data.v_bc.si, data.v_ca.si
    mean = (a + b + c) / 3
    return max(abs(a - mean), abs(b - mean), abs(c - mean)) / mean if mean > 0 else 0.0


def _least_flow(c: Configuration) -> float:
    """As given; else what the least drop means by the square law; else half of the rated flow; else nothing but none."""
    if c.flow_minimum is not UNSET:
        return c.flow_minimum.si
    reference, drop, least = (
        c.evaporator_reference_flow, c.evaporator_reference_pressure_drop, c.evaporator_pressure_drop_minimum
    )  # fmt: skip
    if reference is not UNSET and drop is not UNSET and least is not UNSET:
        return reference.si * sqrt(least.si / drop.si)
    return 0.0 if c.rated_flow is UNSET else c.rated_flow.si / 2
