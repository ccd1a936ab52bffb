"""Whether a hanging load stays upright, and at what angle it hangs."""

import math
from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, lazy, say, tidy
from coldwright.contract.quantities import Angle, Length
from coldwright_basis.compare import SLACK
from coldwright_site.lift.given import LiftGiven
from coldwright_site.lift.sling import Bridle
from coldwright_site.shared.given import metres

shapely = lazy("shapely")


def judge_balance(given: LiftGiven, bridle: Bridle, notes: Notes) -> Angle | UnsetType:
    """Stability of the hanging load; answers the angle at which it hangs, unless it turns over."""
    centre = given.centre_of_gravity
    if centre is UNSET or given.hook_z is UNSET:
        return UNSET
    picks = given.pick_points
    offset = math.hypot(*given.hook_offset.xy)
    if len(picks) == 1:
        pivot = picks[0].z.si
        offset = max(offset, math.hypot(picks[0].x.si - centre.x.si, picks[0].y.si - centre.y.si))
    else:
        pivot = given.hook_z.si
    below = pivot - centre.z.si
    if below <= 0:
        notes.stop(
            "turns_over",
            say(
                "The centre of gravity is {below:.3g} above the point that the load hangs from: it will turn over.",
                below=Length.of(-below, "m"),
            ),
            resolve="Pick from above the centre of gravity.",
            field="/centre_of_gravity/z",
            references=("site_statics",),
        )
        return UNSET
    if len(picks) > 1:
        _judge_low_picks(given, bridle, notes)
    tilt = math.atan(offset / below)
    degrees = tidy(math.degrees(tilt))
    notes.show("tilt", "Angle at which the load hangs", f"atan({offset:.4g} m / {below:.4g} m)", degrees, "deg")
    if degrees > 5:
        near = Length.of(below * math.tan(math.radians(5)), "m")
        notes.show("d_5", "Distance from the plumb line at 5 degrees", f"{below:.4g} m x tan 5 deg", near)
        notes.finding(
            "stop" if degrees > 10 else "check",
            "tilt",
            say("The load will hang {degrees:.1f} out of level.", degrees=Angle.of(degrees, "deg")),
            why="A tilted load slides in its slings, swings when it leaves the ground and lands on one edge.",
            resolve=say(
                "Bring the hook within {near:.2f} of the plumb line.",
                near=near,
            ),
            field="/hook_offset",
            references=("site_practice",),
        )
    return Angle.from_si(tilt, "deg")


def _judge_low_picks(given: LiftGiven, bridle: Bridle, notes: Notes) -> None:
    centre = given.centre_of_gravity
    if centre is UNSET:
        return
    picks = given.pick_points
    height = _height_at(given) if len(picks) == 2 else min(p.z.si for p in picks)
    above = centre.z.si - height
    if above <= SLACK:
        return
    what = "the line of the picks" if len(picks) == 2 else "the lowest pick"
    notes.show("b", f"Centre of gravity above {what}", f"{centre.z.si:.9g} - ({height:.9g}) m", above, "m")
    more: dict[str, Any] = {"field": "/centre_of_gravity/z", "references": ("site_statics",)}
    if len(picks) == 2:
        notes.stop(
            "centre_of_gravity_above_picks",
            say(
                "The centre of gravity is {above:.3g} above the line of the two picks: the load turns over about it.",
                above=Length.of(above, "m"),
            ),
            resolve="Pick above the centre of gravity, or with four legs and a spreader.",
            **more,
        )
        return
    if not _inside_legs(given, bridle):
        notes.stop(
            "centre_of_gravity_outside_legs",
            "At its own height the centre of gravity lies outside the legs: the load turns over.",
            resolve="A higher hook, wider picks, or the hook nearer to the plumb line.",
            **more,
        )
        return
    notes.check(
        "centre_of_gravity_above_picks",
        say("The centre of gravity is {above:.3g} above the lowest pick.", above=Length.of(above, "m")),
        why="The load hangs stable only as long as the legs cannot slide and stay taut.",
        resolve="Pick above the centre of gravity, or tie the legs to the load at its height.",
        **more,
    )


def _height_at(given: LiftGiven) -> float:
    """Height of the line of two picks at the centre of gravity."""
    first, second = (p.xyz for p in given.pick_points)
    centre = given.centre_of_gravity
    if centre is UNSET:
        return 0.0
    along = (second[0] - first[0], second[1] - first[1])
    share = ((centre.x.si - first[0]) * along[0] + (centre.y.si - first[1]) * along[1]) / (
        along[0] ** 2 + along[1] ** 2
    )
    return first[2] + share * (second[2] - first[2])


def _inside_legs(given: LiftGiven, bridle: Bridle) -> bool:
    """Whether the centre of gravity is inside the legs where they pass its height, hook offset counted."""
    centre = given.centre_of_gravity
    if centre is UNSET:
        return True
    hook = (bridle.hook[0] + given.hook_offset.x.si, bridle.hook[1] + given.hook_offset.y.si, bridle.hook[2])
    crossing = []
    for pick in given.pick_points:
        x, y, z = pick.xyz
        share = max(0.0, (centre.z.si - z) / (hook[2] - z))
        crossing.append((round(x + share * (hook[0] - x), 9), round(y + share * (hook[1] - y), 9)))
    envelope = shapely.MultiPoint(crossing).convex_hull.buffer(1e-8)
    return bool(envelope.covers(shapely.Point(metres(centre.x), metres(centre.y))))
