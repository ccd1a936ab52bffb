"""Antifreeze for what stays behind."""

from msgspec import UNSET

from coldwright.contract import Allowed, Notes, Refused, refuse
from coldwright.contract.quantities import Volume
from coldwright_basis.compare import above
from coldwright_basis.freezing import GREATEST_MASS_FRACTION
from coldwright_basis.liquids import glycol_mass_fraction, mass_to_volume_fraction, volume_to_mass_fraction
from coldwright_hydronic.drain_down.given import DrainDownGiven
from coldwright_hydronic.shared.strength import Strength, required_strength, strength_error, target_temperature


def lay_up(given: DrainDownGiven, notes: Notes, residual: float) -> tuple[Strength | None, float | None]:
    """Strength of what is to stay, and the antifreeze that makes it."""
    plan = given.lay_up
    if plan is UNSET:
        return None, None
    if (plan.target_volume_fraction is UNSET) == (plan.lowest_temperature is UNSET):
        code = "missing" if plan.target_volume_fraction is UNSET else "refused"
        raise refuse("/lay_up", "Give exactly one of target_volume_fraction and lowest_temperature.", code=code)
    if plan.target_volume_fraction is not UNSET:
        by_mass = volume_to_mass_fraction(plan.kind, plan.target_volume_fraction)
        if above(by_mass, GREATEST_MASS_FRACTION):
            raise refuse(
                "/lay_up/target_volume_fraction",
                f"This is {by_mass:.3f} by mass; the data end at 0.60.",
                value=plan.target_volume_fraction,
                allowed=Allowed(above=0, maximum=round(mass_to_volume_fraction(plan.kind, GREATEST_MASS_FRACTION), 4)),
            )
    else:
        assert plan.lowest_temperature is not UNSET  # noqa: S101 - one of the two, refused above
        target = target_temperature(plan.kind, plan.lowest_temperature, plan.margin, "/lay_up")
        by_mass = required_strength(plan.kind, target, plan.protection)
    strength = Strength(plan.kind, by_mass)
    x_t, x_c = strength.by_volume, plan.concentrate_volume_fraction
    if plan.target_volume_fraction is not UNSET:
        x_t = plan.target_volume_fraction
    at = "/lay_up/concentrate_volume_fraction"
    if error := strength_error(at, plan.concentrate_volume_fraction, x_t, x_c):
        raise Refused([error])
    # what stays of the same glycol counts; of the other it does not
    w = glycol_mass_fraction(given.fluid)
    x = mass_to_volume_fraction(plan.kind, w) if given.fluid.kind == plan.kind else 0.0
    volume = residual * max(0.0, x_t - x) / (x_c - x_t)
    notes.show(
        "V_g",
        "Antifreeze into what stays",
        f"V_res (x_t - x)/(x_c - x_t) = {1e3 * residual:.4g} L x ({x_t:.4f} - {x:.4f})/({x_c:.4f} - {x_t:.4f}), not below 0",
        Volume.from_si(volume, "L"),
    )
    return (strength, volume) if x <= x_t else (Strength(plan.kind, w), volume)
