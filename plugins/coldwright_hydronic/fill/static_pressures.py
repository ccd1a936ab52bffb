"""Pressures of `hydronic.fill`: by height, from the tap, at the relief valve."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, say, tidy
from coldwright.contract.quantities import Duration, GaugePressure, Length, PressureDifference, Volume
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.shared.backflow import in_words, usual_pressure_drop


class Heights:
    """Elevations, m, each with what it is taken as where it was not given."""

    __slots__ = ("fill", "high_point", "machine", "relief", "top", "vessel")

    def __init__(self, given: FillGiven) -> None:
        self.fill = given.fill_point_elevation.si
        self.machine = self.fill if given.machine_elevation is UNSET else given.machine_elevation.si
        self.relief = self.fill if given.relief_valve_elevation is UNSET else given.relief_valve_elevation.si
        self.vessel = self.fill if given.vessel_elevation is UNSET else given.vessel_elevation.si
        self.high_point = None if given.high_point_elevation is UNSET else given.high_point_elevation.si
        self.top = None if self.high_point is None else max(self.high_point, self.fill, self.machine)
        """A machine or fill point above the loop is itself the high point."""


def pressures(given: FillGiven, notes: Notes, density: float, heights: Heights) -> dict[str, Any]:
    """Column, required pressure, and what the fill pressure comes to at the top and the machine."""
    worked: dict[str, Any] = {}
    weight = density * STANDARD_GRAVITY
    if heights.top is not None:
        column = weight * (heights.top - heights.fill)
        required = given.minimum_top_pressure.si + column
        expression = f"p_top + rho g (z_top - z_fill) = {given.minimum_top_pressure} + {column / 1e3:.3f} kPa"
        if given.pump_suction_pressure_minimum is not UNSET:
            suction = given.pump_suction_pressure_minimum.si + weight * (heights.machine - heights.fill)
            expression += f", not below {suction / 1e3:.3f} kPa for the pump's suction"
            required = max(required, suction)
        worked["static_pressure"] = PressureDifference.from_si(column, "kPa")
        worked["required_fill_pressure"] = GaugePressure.from_si(required, "kPa")
        notes.show("p_f", "Required fill pressure", expression, worked["required_fill_pressure"])
        if given.fill_pressure is not UNSET:
            worked["top_pressure"] = GaugePressure.from_si(given.fill_pressure.si - column, "kPa")
    if given.fill_pressure is not UNSET:
        machine = given.fill_pressure.si - weight * (heights.machine - heights.fill)
        served = (machine - given.minimum_top_pressure.si) / weight
        worked["machine_pressure"] = GaugePressure.from_si(machine, "kPa")
        worked["height_served"] = Length.from_si(served, "m")
        notes.show(
            "h",
            "Height served above the machine",
            f"(p - p_top)/(rho g) = ({machine / 1e3:.3f} kPa - {given.minimum_top_pressure})/"
            f"({density:.2f} kg/m3 x {STANDARD_GRAVITY} m/s2)",
            worked["height_served"],
        )
    return worked


def supply(given: FillGiven, notes: Notes, total: float) -> dict[str, Any]:
    """Fill time, what the tap reaches, and the meter."""
    worked: dict[str, Any] = {}
    tap = given.tap
    if tap is not UNSET and tap.flow is not UNSET:
        worked["fill_time"] = Duration.from_si(total / tap.flow.si, "min")
        notes.show("t", "Fill time", f"V/Q = {1e3 * total:.4g} L / {tap.flow}", worked["fill_time"])
    if tap is not UNSET and tap.static_pressure is not UNSET:
        reached = _reached(given, notes)
        worked["reachable_pressure"] = GaugePressure.from_si(reached, "kPa")
    if given.meter is not UNSET:
        metered = given.meter.end.si - given.meter.start.si
        worked["meter_volume"] = Volume.from_si(metered, "L")
        worked["meter_difference_fraction"] = tidy(metered / total - 1)
        notes.show("d", "Meter against volume", f"{1e3 * metered:.4g} L / {1e3 * total:.4g} L - 1", metered / total - 1)
    return worked


def _reached(given: FillGiven, notes: Notes) -> float:
    """Gauge pressure that the tap leaves behind the backflow preventer, Pa."""
    tap = given.tap
    assert tap is not UNSET  # noqa: S101 - asked only with a tap and its pressure
    assert tap.static_pressure is not UNSET  # noqa: S101
    device = "none" if tap.backflow_preventer is UNSET else tap.backflow_preventer
    if device == "air_gap":
        notes.assume(
            "air_gap_has_no_pressure",
            "Behind an air gap nothing of the tap's pressure is left: a feed pump makes it.",
            basis="derived",
            references=("backflow_rules",),
        )
        return 0.0
    if tap.backflow_pressure_drop is not UNSET:
        drop = tap.backflow_pressure_drop.si
    else:
        usual = usual_pressure_drop(device)
        drop = usual or 0.0
        how = "no figure is in use, none is counted" if usual is None else "by common practice"
        notes.assume(
            "backflow_pressure_drop",
            say(
                "{in_words} takes {drop:.0f}: {how}.",
                in_words=in_words(device).capitalize(),
                drop=PressureDifference.from_si(drop, "kPa"),
                how=how,
            ),
            value=PressureDifference.from_si(drop, "kPa"),
            basis="common_practice",
            references=("backflow_rules",),
        )
    notes.show(
        "p_r",
        "Reachable pressure",
        f"tap - preventer = {tap.static_pressure} - {drop / 1e3:.3f} kPa",
        GaugePressure.from_si(tap.static_pressure.si - drop, "kPa"),
    )
    return tap.static_pressure.si - drop


def relief_margin(given: FillGiven, notes: Notes, density: float, heights: Heights) -> dict[str, Any]:
    """What is left below the relief valve's setting and its margin."""
    if given.relief_valve_setting is UNSET or given.fill_pressure is UNSET:
        return {}
    at_valve = (
        given.fill_pressure.si
        - density * STANDARD_GRAVITY * (heights.relief - heights.fill)
        + given.pump_rise_at_relief.si
    )
    limit = given.relief_valve_setting.si * (1 - given.relief_margin_fraction)
    margin = PressureDifference.from_si(limit - at_valve, "kPa")
    notes.show(
        "m",
        "Margin at the relief valve",
        f"setting (1 - {given.relief_margin_fraction:g}) - p = {limit / 1e3:.3f} - {at_valve / 1e3:.3f} kPa",
        margin,
    )
    return {"relief_margin": margin}
