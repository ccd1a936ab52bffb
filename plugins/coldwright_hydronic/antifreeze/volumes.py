"""Volumes that make or correct a mixture."""

from math import log

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Notes, Refused, field_error
from coldwright.contract.quantities import Volume
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.shared.strength import Strength, strength_error


def refuse_volumes(given: AntifreezeGiven, wanted: Strength, present: Strength | None, concentrate: float) -> None:
    """Refuse a concentrate weaker than what it shall make; fractions by volume."""
    errors: list[FieldError] = []
    at = "/concentrate_mass_fraction"
    if weak := strength_error(at, given.concentrate_mass_fraction, wanted.by_volume, concentrate):
        errors.append(weak)
    if present is not None and present.by_volume >= concentrate:
        errors.append(
            field_error(
                "/present",
                f"The loop would hold {present.by_volume:.3f} by volume, the concentrate holds {concentrate:.3f}.",
                value=present.by_volume,
                allowed=Allowed(below=round(concentrate, 4)),
                why="A loop cannot be stronger than what it was filled with.",
            )
        )
    if errors:
        raise Refused(errors)


def correction(
    given: AntifreezeGiven, notes: Notes, wanted: Strength, present: Strength | None, concentrate: float
) -> tuple[Volume | UnsetType, Volume | UnsetType]:
    """What to drain in one batch, and what to feed and bleed; absent without a present strength."""
    if present is None:
        return UNSET, UNSET
    loop, x, x_t = given.loop_volume.si, present.by_volume, wanted.by_volume
    x_c, fed = (concentrate, "concentrate") if x <= x_t else (0.0, "water")
    batch = loop * (x_t - x) / (x_c - x)
    bleed = loop * log((x_c - x) / (x_c - x_t))
    numbers = f"x = {x:.4f}, x_t = {x_t:.4f}, x_c = {x_c:.4f} ({fed})"
    shown = Volume.from_si(batch, "L"), Volume.from_si(bleed, "L")
    notes.show("V_d", "To drain in one batch", f"V (x_t - x)/(x_c - x), {numbers}", shown[0])
    notes.show("V_b", "To feed and bleed", f"V ln((x_c - x)/(x_c - x_t)), {numbers}", shown[1])
    return shown
