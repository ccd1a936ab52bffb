"""Expansion of `hydronic.fill`: growth of the liquid, the vessel that takes it, and what happens where nothing does."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, lazy, tidy
from coldwright.contract.quantities import GaugePressure, PressureDifference, Volume
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import STATE_PRESSURE, properties, water
from coldwright_hydronic.fill.given import Expansion, FillGiven

_optimize = lazy("scipy.optimize")

DENSEST_WATER = ZERO_CELSIUS + 3.98

STRONGEST_SQUEEZE = 100e6
"""Pa: end of the range of IAPWS-IF97 for liquid water. From 0.5 to 95 degC the rise stays under it."""


def expand(given: FillGiven, notes: Notes, total: float) -> dict[str, Any]:
    """Growth, acceptance, vessel and precharge; pressure of water that is shut in."""
    plan = given.expansion
    if plan is UNSET:
        return {}
    cold, hot = plan.lowest_temperature.si, plan.highest_temperature.si
    growth, metal = _growth(given, cold, hot), 3 * plan.linear_expansion_coefficient * (hot - cold)
    net = growth - metal
    notes.show(
        "e",
        "Net expansion",
        f"(v2/v1 - 1) - 3 alpha (t2 - t1) = {growth:.5g} - {metal:.5g}",
        net,
    )
    worked: dict[str, Any] = {
        "expansion_fraction": tidy(net),
        "expansion_volume": Volume.from_si(net * total, "L"),
    }
    if plan.minimum_pressure is not UNSET:
        worked["precharge_pressure"] = GaugePressure.from_si(plan.minimum_pressure.si, "kPa")
    if plan.minimum_pressure is not UNSET and plan.maximum_pressure is not UNSET:
        acceptance = _acceptance(given, plan, notes)
        size = max(0.0, net) * total / acceptance  # no growth, no vessel: a note says so
        worked["acceptance_factor"] = tidy(acceptance)
        worked["vessel_volume"] = Volume.from_si(size, "L")
        notes.show("V_t", "Expansion vessel", f"V max(0, e) / {acceptance:.6g}", worked["vessel_volume"])
    if given.fluid.kind == "water" and (rise := shut_in_rise(cold, hot)) > 0:
        worked["trapped_liquid_pressure_rise"] = PressureDifference.from_si(rise, "kPa")
        notes.show(
            "dp",
            "Rise in water shut into a rigid space",
            f"p at {hot - ZERO_CELSIUS:.2f} degC and the density of {cold - ZERO_CELSIUS:.2f} degC, less 300 kPa",
            worked["trapped_liquid_pressure_rise"],
        )
    return worked


def _growth(given: FillGiven, cold: float, hot: float) -> float:
    """v2/v1 - 1 between the densest and the least dense state in the range."""

    def density(temperature: float) -> float:
        return properties(given.fluid, temperature, needs=("density",)).density

    ends = density(cold), density(hot)
    densest = max(ends)
    if given.fluid.kind == "water" and cold <= DENSEST_WATER <= hot:
        densest = density(DENSEST_WATER)
    return densest / min(ends) - 1


def _acceptance(given: FillGiven, plan: Expansion, notes: Notes) -> float:
    air = given.atmospheric_pressure.si
    assert plan.minimum_pressure is not UNSET  # noqa: S101 - asked only with both
    assert plan.maximum_pressure is not UNSET  # noqa: S101
    low, high = plan.minimum_pressure.si + air, plan.maximum_pressure.si + air
    if plan.vessel_type == "diaphragm":
        factor, form = 1 - low / high, f"1 - P1/P2 = 1 - {low / 1e3:.3f}/{high / 1e3:.3f}"
    else:
        factor = air / low - air / high
        form = f"Pa/P1 - Pa/P2 = {air / 1e3:.3f}/{low / 1e3:.3f} - {air / 1e3:.3f}/{high / 1e3:.3f}"
    notes.show("f", "Acceptance factor", form, factor)
    return factor


def shut_in_rise(cold: float, hot: float) -> float:
    """Rise of water warmed at constant density from 300 kPa, Pa; 0 where it shrinks on warming."""
    filled = water(cold).density
    if water(hot).density >= filled:
        return 0.0
    pressure: float = _optimize.brentq(
        lambda p: water(hot, p).density - filled, STATE_PRESSURE, STRONGEST_SQUEEZE, xtol=1.0, rtol=1e-12
    )
    return pressure - STATE_PRESSURE
