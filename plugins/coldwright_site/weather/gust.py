"""A gust on a machine and on a lift."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, refuse, say, tidy
from coldwright.contract.quantities import Force, PressureDifference, Speed
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.shared import wind
from coldwright_site.weather.given import MachineInWind, WeatherGiven

CALM = 0.1
"""m/s, below which ratios to the wind's force say nothing."""


class Push(NamedTuple):
    """The wind on the machine: pressure and force of the gust, ratios, and the gust that turns it over."""

    pressure: PressureDifference | UnsetType = UNSET
    force: Force | UnsetType = UNSET
    overturning: float | UnsetType = UNSET
    sliding: float | UnsetType = UNSET
    critical: Speed | UnsetType = UNSET


def lift_limit(given: WeatherGiven, notes: Notes) -> float | None:
    """Wind (m/s) in which the load may be lifted; none without a lift."""
    crane = given.crane
    if crane is UNSET:
        return None
    chart, mass, area = crane.chart_wind_speed.si, crane.load_mass.si, crane.load_face_area.si
    limit = wind.lift_wind_limit(chart, mass, area, crane.drag_coefficient)
    notes.show(
        "v",
        "Wind limit of the lift",
        f"min({chart:.4g}, {chart:.4g} sqrt(1.2 x {mass / 1000:.5g} t / ({crane.drag_coefficient:g} x {area:.5g} m2)))",
        limit,
        "m/s",
    )
    return limit


def push_of(given: WeatherGiven, notes: Notes) -> Push:
    """Pressure, force and ratios of the gust, and the gust that turns the machine over."""
    pressure = None if given.gust_speed is UNSET else wind.pressure(given.gust_speed.si, given.exposure_factor)
    if pressure is not None:
        speed = given.gust_speed.si if given.gust_speed is not UNSET else 0.0
        expression = f"0.613 x {given.exposure_factor:g} x {speed:.5g}^2"
        notes.show("q", "Pressure of the gust", expression, pressure, "Pa")
        _show_twin(given, notes)
    shown = UNSET if pressure is None else PressureDifference.from_si(pressure, "Pa")
    machine = given.machine
    if machine is UNSET:
        return Push(pressure=shown)
    arm = machine.base_width.si / 2 - machine.cg_offset.si
    if arm <= 0:
        raise refuse(
            "/machine/cg_offset",
            "The centre of gravity is over or beyond the edge of the base.",
            value=machine.cg_offset,
            allowed=Allowed(below=machine.base_width.si / 2, unit="m"),
            why="The machine falls over without wind.",
        )
    area, lever = machine.length.si * machine.height.si, machine.height.si / 2 + machine.stand_height.si
    holding = machine.mass.si * STANDARD_GRAVITY * arm
    critical = math.sqrt(
        holding / (wind.pressure(1.0, given.exposure_factor) * machine.drag_coefficient * area * lever)
    )
    notes.show(
        "V_cr",
        "Gust that turns the machine over",
        f"sqrt(m g (b/2 - e) / (0.613 Kz Cf l h (h/2 + stand))), m g (b/2 - e) = {holding / 1000:.5g} kN.m",
        critical,
        "m/s",
    )
    push = Push(pressure=shown, critical=Speed.from_si(critical, "m/s"))
    if pressure is None:
        return push
    force = pressure * machine.drag_coefficient * area
    notes.show("F", "Wind force", f"q Cf l h = {pressure:.6g} x {machine.drag_coefficient:g} x {area:.5g}", force, "N")
    push = push._replace(force=Force.from_si(force, "kN"))
    if given.gust_speed is UNSET or given.gust_speed.si < CALM:
        return push
    return _ratios(given, machine, push, holding / (force * lever), force, notes)


def _ratios(
    given: WeatherGiven, machine: MachineInWind, push: Push, overturning: float, force: float, notes: Notes
) -> Push:
    overturning, sliding = tidy(overturning), tidy(given.friction * machine.mass.si * STANDARD_GRAVITY / force)
    notes.show("r_o", "Overturning ratio", "m g (b/2 - e) / (F (h/2 + stand))", overturning)
    expression = f"{given.friction:g} x {machine.mass.si:g} kg x g / {force:.6g} N"
    notes.show("r_s", "Sliding ratio", expression, sliding)
    for code, ratio, what in (
        ("overturning", overturning, "The machine holds {:.2f} times the moment of the wind"),
        ("sliding", sliding, "Friction holds {:.2f} times the force of the wind"),
    ):
        if ratio < 1.5:
            held = Force.from_si(max(0.0, 1.5 - ratio) * force, "kN")
            notes.show("F_a", f"What anchors hold ({code})", f"max(0, 1.5 - {ratio:.4g}) x {force:.6g} N", held)
            tied = " It is anchored: the anchors carry the rest." if given.anchored else ""
            notes.finding(
                "stop" if ratio < 1.0 and not given.anchored else "check",
                code,
                f"{what.format(ratio)}, anchors left out.{tied}",
                resolve=say(
                    "Anchors for at least {force:.1f} at the middle of the face, less face to "
                    "the wind, or a sheltered place.",
                    force=held,
                ),
                field="/machine",
                references=("site_statics", "site_practice"),
            )
    return push._replace(overturning=overturning, sliding=sliding)


def _show_twin(given: WeatherGiven, notes: Notes) -> None:
    """The same pressure in US terms, as ASCE 7 writes it, for a reader who wants to compare."""
    if given.gust_speed is UNSET:
        return
    mph = given.gust_speed.to("mph")
    top = 15.0
    if given.machine is not UNSET:
        top = given.machine.height.to("ft") + given.machine.stand_height.to("ft")
    kz = wind.exposure_c(top)
    notes.show(
        "q_asce",
        "The same by ASCE 7 for exposure C, for comparison",
        f"0.00256 x Kz {kz:.3f} (at {max(top, 15):.3g} ft) x Kzt 1 x Kd 0.85 x {mph:.4g}^2",
        wind.pressure_psf(mph, kz),
        "psf",
    )
