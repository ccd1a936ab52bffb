"""How far the body of a machine stays from each kind of thing, whichever of its sides faces it."""

from msgspec import UNSET

from coldwright_site.placement.clearances import EDGE_FACTOR, required
from coldwright_site.placement.given import PlacedMachine, PlacementGiven
from coldwright_site.placement.plan import Obstacle
from coldwright_site.shared import tabulated

RULES = {
    "opening": ("relief_to_opening",),
    "air_intake": ("relief_to_opening", "discharge_to_intake"),
    "hydrant": ("hydrant",),
    "fire_lane": ("fire_lane",),
}
ENGINE_RULES = {
    "opening": ("engine_to_opening",),
    "air_intake": ("exhaust_to_intake",),
    "combustible_wall": ("engine_to_combustible_wall",),
    "hydrant": ("hydrant",),
    "fire_lane": ("fire_lane",),
}
TOUCHING = 1e-3
"""m from a door or window, which is blocked by what only touches it."""


def kept_from(obstacle: Obstacle, machine: PlacedMachine, given: PlacementGiven) -> float:
    """m; 0 where it must only not stand in it."""
    thing, kind = obstacle.given, obstacle.given.kind
    if kind == "power_line":
        return tabulated.power_line_distance(0.0 if thing.voltage is UNSET else thing.voltage.si)
    if kind == "edge":
        return 0.0 if thing.height is UNSET else EDGE_FACTOR * thing.height.si
    rules = (ENGINE_RULES if machine.engine else RULES).get(kind, ())
    least = TOUCHING if kind == "opening" else 0.0
    return max([least, *(required(rule, given) for rule in rules)])
