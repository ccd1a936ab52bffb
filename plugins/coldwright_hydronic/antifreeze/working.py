"""How the strength comes about."""

from coldwright.contract import Notes
from coldwright.contract.quantities import Temperature
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.shared.strength import ICE_ALLOWED, Strength, burst_limits, ice_fraction


def ice_at_lowest(given: AntifreezeGiven, wanted: Strength, target: float) -> float:
    """Part of the mass that is ice at the target [K]; 0 with freeze protection."""
    return 0.0 if given.protection == "freeze" else ice_fraction(given.kind, wanted.by_mass, target)


def show_strength(given: AntifreezeGiven, notes: Notes, target: float, wanted: Strength) -> None:
    """Target [K] and strength, line by line."""
    notes.show(
        "T_t",
        "Temperature to protect to",
        f"lowest temperature - margin = {given.lowest_temperature} - {given.margin}",
        Temperature.from_si(target, "degC"),
    )
    if given.protection == "freeze":
        expression = f"T_freeze(w) = {target - ZERO_CELSIUS:.3f} degC, solved for w"
    else:
        by_ice, floor, cap = burst_limits(given.kind, target)
        expression = (
            f"w = (1 - {ICE_ALLOWED:g}) w_eq = {by_ice:.4f}, with w_eq freezing at {target - ZERO_CELSIUS:.3f} degC; "
            f"not under {floor:g}, not over {cap:.4f}"
        )
    notes.show("w", "Strength by mass", expression, wanted.by_mass)
    notes.show("x_t", "Strength by volume", "x = (w/rho_g) / (w/rho_g + (1 - w)/rho_w), at 20 degC", wanted.by_volume)
