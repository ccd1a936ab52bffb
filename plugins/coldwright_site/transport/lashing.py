"""Lashing over the top as EN 12195-1 has it: friction holds, and the tension of the straps adds to it."""

import math
from typing import Literal, NamedTuple

from coldwright_basis.compare import SLACK, below
from coldwright_site.shared import tabulated
from coldwright_site.transport.given import CargoItem, LashingGiven

GRAVITY = 9.81
"""m/s2, as that standard takes it."""
Direction = Literal["forward", "sideways", "rearward", "least"]


class Lashing(NamedTuple):
    """Straps over one piece, and what asks for them."""

    number: int
    direction: Direction
    sum: str


def over_top(item: CargoItem, straps: LashingGiven) -> Lashing:
    """Least number: n = (c - mu c_z) m g f_s / (2 mu sin(alpha) F_T), for each way that the piece could slide.

    Two at the least, so that it cannot turn. What is blocked forward needs none against sliding forward.
    """
    rows = tabulated.LASHING_EU.rows
    found = Lashing(rows["least"], "least", f"at least {rows['least']}")
    ways: dict[Direction, tuple[float, float]] = {
        "forward": (rows["forward"], rows["safety_forward"]),
        "sideways": (rows["sideways"], rows["safety_other"]),
        "rearward": (rows["rearward"], rows["safety_other"]),
    }
    for direction, (acceleration, safety) in ways.items():
        if direction == "forward" and item.blocked_forward:
            continue
        slides = (acceleration - straps.friction * rows["down"]) * item.mass.si * GRAVITY * safety
        holds = 2 * straps.friction * math.sin(straps.angle.si) * straps.tension.si
        number = math.ceil(slides / holds - SLACK) if slides > 0 else 0
        if number > found.number:
            text = (
                f"({acceleration:g} - {straps.friction:g}) x {item.mass.si:.8g} x {GRAVITY} x {safety:g} / "
                f"(2 x {straps.friction:g} x {math.sin(straps.angle.si):.6g} x {straps.tension.si:.8g}), "
                "up to the next whole number"
            )
            found = Lashing(number, direction, text)
    return found


def tilts(item: CargoItem) -> tuple[Literal["sideways", "forward", "rearward"], ...]:
    """Ways in which it would tilt before it slides, its weight in its middle: half its base over half its height below c."""
    rows = tabulated.LASHING_EU.rows
    wide, long = item.width.si / item.height.si, item.length.si / item.height.si
    found: list[Literal["sideways", "forward", "rearward"]] = []
    if below(wide, rows["sideways_tilting"]):
        found.append("sideways")
    if not item.blocked_forward and below(long, rows["forward"]):
        found.append("forward")
    if below(long, rows["rearward"]):
        found.append("rearward")
    return tuple(found)
