"""The velocity that drives air down a falling line."""

from math import pi, radians, sin, sqrt

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Velocity, VolumeFlow
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_hydronic.air_removal.given import FallingLine
from coldwright_hydronic.air_removal.results import LineClearing
from coldwright_hydronic.shared.friction import velocity

SLOWEST = 0.6
"""m/s: under it bubbles settle at the crown whatever the slope."""


def clearing_of(line: FallingLine, index: int, notes: Notes) -> LineClearing:
    """Velocity of a falling line against the one that clears it; a `check` where it is too slow."""
    bore = line.inner_diameter.si
    speed = velocity(line.flow.si / line.parallel_runs, bore)
    sine = max(0.0, sin(radians(line.slope_angle)))
    clearing = sqrt(STANDARD_GRAVITY * bore) * (0.825 + 0.25 * sqrt(sine))
    wanted = max(clearing, SLOWEST)
    clears = speed >= wanted
    notes.show(
        "v_c",
        f"Clearing velocity of {line.name}",
        f"sqrt(g D) (0.825 + 0.25 sqrt(sin {line.slope_angle:g} deg)), D = {line.inner_diameter}",
        Velocity.from_si(clearing, "m/s"),
    )
    if not clears:
        flow = wanted * pi / 4 * bore * bore * line.parallel_runs
        notes.show(
            "Q_c",
            f"Flow that clears {line.name}",
            f"{wanted:.4g} x pi/4 D^2 x {line.parallel_runs}",
            VolumeFlow.from_si(flow, "L/s"),
        )
        notes.check(
            "line_does_not_clear",
            say(
                "{name}: {speed:.2f} in each run, {wanted:.2f} needed.",
                name=line.name,
                speed=Velocity.of(speed, "m/s"),
                wanted=Velocity.of(wanted, "m/s"),
            ),
            why="Air stays at the top of the fall, chokes the flow and comes down in slugs on the flow proof.",
            resolve=say(
                "Fit a vent at its upstream high point, or purge with {flow:.1f} or more.",
                flow=VolumeFlow.from_si(flow, "L/s"),
            ),
            field=f"/lines/{index}/flow",
            references=("sanks_clearing_velocity", "ashrae_air_velocity"),
        )
    return LineClearing(
        name=line.name,
        velocity=Velocity.from_si(speed, "m/s"),
        clearing_velocity=Velocity.from_si(clearing, "m/s"),
        clears=clears,
    )
