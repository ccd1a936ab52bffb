"""Forces in a spreader."""

import math

from msgspec import UNSET

from coldwright.contract import Allowed, Notes, refuse, say
from coldwright.contract.quantities import Force
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.lift.findings import judge_angle
from coldwright_site.lift.given import LiftGiven


def spreader_forces(given: LiftGiven, weight: float, notes: Notes) -> dict[str, Force] | None:
    """Forces in a spreader with one drop at each end and a bridle of two legs above."""
    spreader = given.spreader
    if spreader is UNSET:
        return None
    span, height, offset = spreader.span.si, spreader.bridle_height.si, spreader.hook_offset.si
    a, b = span / 2 + offset, span / 2 - offset
    if min(a, b) <= 0:
        raise refuse(
            "/spreader/hook_offset",
            "The hook would be beyond the end of the spreader.",
            value=spreader.hook_offset,
            allowed=Allowed(above=-span / 2, below=span / 2, unit="m"),
        )
    drop_a, drop_b = weight * b / span, weight * a / span
    top_a, top_b = drop_a * math.hypot(a, height) / height, drop_b * math.hypot(b, height) / height
    push = drop_a * a / height
    for symbol, meaning, expression, value in (
        ("R_A", "Drop at end a", f"W b / span = {weight / 1000:.5g} x {b:.4g} / {span:.4g}", drop_a),
        ("R_B", "Drop at end b", f"W a / span = {weight / 1000:.5g} x {a:.4g} / {span:.4g}", drop_b),
        ("T_A", "Top leg at end a", f"R_A sqrt(a^2 + h^2) / h, h = {height:.4g} m", top_a),
        ("T_B", "Top leg at end b", f"R_B sqrt(b^2 + h^2) / h, h = {height:.4g} m", top_b),
        ("C", "Compression of the spreader", f"R_A a / h = {drop_a / 1000:.5g} x {a:.4g} / {height:.4g}", push),
    ):
        notes.show(symbol, meaning, expression, value / 1000, "kN")
    for arm, end in ((a, "a"), (b, "b")):
        slope = math.degrees(math.atan2(height, arm))
        notes.show(f"beta_{end}", f"Slope of the top leg at end {end}", f"atan({height:.5g} / {arm:.5g})", slope, "deg")
        judge_angle(slope, f"The top leg at end {end} of the spreader", "/spreader", notes)
    if spreader.mass.si > 0:
        each = Force.of(spreader.mass.si * STANDARD_GRAVITY / 2000, "kN")
        notes.show("G_s", "Half the spreader's own weight", f"{spreader.mass.si:.6g} kg x g / 2", each)
        notes.assume(
            "spreader_mass_above",
            say(
                "Drops, top legs and compression are those of the load; the spreader's own mass counts "
                "in the hook load, and adds about {mass:.3g} upright to each top leg.",
                mass=each,
            ),
            basis="derived",
        )
    forces = {"drop_a": drop_a, "drop_b": drop_b, "top_leg_a": top_a, "top_leg_b": top_b, "compression": push}
    return {name: Force.from_si(value, "kN") for name, value in forces.items()}
