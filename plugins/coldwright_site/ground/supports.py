"""Feet and outriggers: reactions on level elastic ground, and the greatest that each can get."""

import math
from typing import Any

from msgspec import UNSET

from coldwright.contract import Allowed, Notes, Refused, field_error, lazy, refuse, say
from coldwright.contract.quantities import Force, Length
from coldwright_basis.compare import negligible
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.ground.contact import Contact, kilonewtons, kilopascal, required, with_wind
from coldwright_site.ground.findings import overturns, uplift
from coldwright_site.ground.given import GroundGiven
from coldwright_site.shared import statics
from coldwright_site.shared.fields import repeated_ids

np = lazy("numpy")


def feet(given: GroundGiven, allowable: float, notes: Notes) -> Contact:
    """Feet, each with its area, below a machine."""
    if given.load is UNSET:
        return Contact({})
    if errors := repeated_ids(given.feet, "/feet"):
        raise Refused(errors)
    weight = given.load.si * STANDARD_GRAVITY
    at = with_wind(given, weight, given.eccentricity.xy, notes)
    level, worst = _on_points([f.xy for f in given.feet], weight, at, "/feet", notes)
    areas = [f.area.si for f in given.feet]
    results: dict[str, Any] = {
        "reactions": kilonewtons(level),
        "bearing_pressure_minimum": kilopascal(max(0.0, min(r / a for r, a in zip(level, areas, strict=True)))),
    }
    if worst is None:
        return Contact(results)
    pressed = [r / a for r, a in zip(worst, areas, strict=True)]
    hardest = pressed.index(max(pressed))
    results |= {"worst_reaction": Force.from_si(max(worst), "kN")} | required(max(worst), allowable, notes)
    side = math.sqrt(areas[hardest])
    return Contact(results, pressed[hardest], (worst[hardest], side, side))


def outrigger(given: GroundGiven, allowable: float, notes: Notes) -> Contact:
    """Outriggers of a crane with its load, or the quick rule without their places."""
    crane = given.crane
    if crane is UNSET:
        return Contact({})
    weight = (crane.mass.si + crane.load_mass.si) * STANDARD_GRAVITY
    quick = 0.65 * weight
    notes.show(
        "F_q",
        "Quick rule for one outrigger",
        f"0.65 ({crane.mass.si:g} + {crane.load_mass.si:g}) kg x g",
        quick / 1000,
        "kN",
    )
    results: dict[str, Any] = {"quick_reaction": Force.from_si(quick, "kN")}
    force: float | None = quick
    if crane.outriggers:
        if crane.radius is UNSET or crane.slew_angle is UNSET:
            lacking = [n for n in ("radius", "slew_angle") if getattr(crane, n) is UNSET]
            raise Refused([field_error(f"/crane/{n}", "Outriggers need it.", code="missing") for n in lacking])
        reach = crane.load_mass.si * crane.radius.si / (crane.mass.si + crane.load_mass.si)
        at = (reach * math.cos(crane.slew_angle.si), reach * math.sin(crane.slew_angle.si))
        at = with_wind(given, weight, at, notes)
        level, worst = _on_points([p.xy for p in crane.outriggers], weight, at, "/crane/outriggers", notes)
        results["reactions"] = kilonewtons(level)
        force = None if worst is None else max(worst)
        if force is not None:
            results["worst_reaction"] = Force.from_si(force, "kN")
    if force is None:
        return Contact(results)
    results |= required(force, allowable, notes)
    if given.contact_length is UNSET or given.contact_width is UNSET:
        return Contact(results)
    pad = (given.contact_length.si, given.contact_width.si)
    return Contact(results, force / (pad[0] * pad[1]), (force, *pad))


def _on_points(
    points: list[tuple[float, float]], weight: float, at: tuple[float, float], pointer: str, notes: Notes
) -> tuple[list[float], list[float] | None]:
    """Reactions on level elastic ground, and the greatest that each point can get; none when the load tips over."""
    plan = np.array(points)
    if len(points) < 3:
        raise refuse(pointer, "At least three are needed.", allowed=Allowed(minimum=3, unit="entries"))
    middle = plan.mean(axis=0)
    singular = np.linalg.svd(plan - middle, compute_uv=False)
    if singular[-1] <= FLAT * singular[0]:
        raise refuse(pointer, "They stand on one line.", why="Nothing would keep the load from tipping over.")
    scaled = (plan - middle) / singular[0]
    matrix = np.vstack([np.ones(len(points)), scaled.T])
    load = np.array([1.0, *(np.array(at) - middle) / singular[0]])
    level = [weight * float(r) for r in statics.elastic(matrix, load, np.ones(len(points)))]
    shares = statics.bounds(matrix, load)
    worst = None if shares is None else [weight * s for s in shares[1]]
    for index, reaction in enumerate(level):
        most = "" if worst is None else f"; rocking on three, up to {worst[index] / 1000:.5g} kN"
        notes.show(
            f"R_{index + 1}",
            f"Reaction of point {index + 1} on level elastic ground{most}",
            f"R = a + b x + c y with sum R = W {weight / 1000:.6g} kN at ({at[0]:.4g}, {at[1]:.4g}) m",
            reaction / 1000,
            "kN",
        )
    if worst is None:
        x, y = Length.of(at[0], "m"), Length.of(at[1], "m")
        for axis, place in (("x", x), ("y", y)):
            notes.show(axis, f"Place of the weight along {axis}", "moments over the weight", place)
        overturns(say("The weight acts at ({x:.3g}, {y:.3g}), outside the points that carry it", x=x, y=y), notes)
    elif min(level) < 0.0 and not negligible(min(level), weight):
        least = Force.from_si(min(level), "kN")
        uplift(say("A point lifts: the least reaction is {least:.4g}.", least=least), notes)
    return level, worst


FLAT = 1e-4
"""Ratio of singular values below which feet count as standing on one line."""
