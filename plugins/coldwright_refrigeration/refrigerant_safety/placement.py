"""A charge against the space that it could fill."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.shared.refrigerant_limits import RefrigerantLimits

SHARE_OF_LFL = 0.25
FOOT = 0.3048


class Placement(NamedTuple):
    """SI units: kg/m3, m3, kg; `None` outdoors or where the refrigerant does not burn."""

    limit: float
    charge: float
    concentration: float | None = None
    fraction_of_limit: float | None = None
    fraction_of_lfl: float | None = None
    minimum_volume: float | None = None
    maximum_charge: float | None = None


def placement_of(given: RefrigerantSafetyGiven, limits: RefrigerantLimits, largest: float, notes: Notes) -> Placement:
    """Concentration after the largest circuit has emptied itself, and what the limit allows."""
    limit = limits.concentration_limit
    space = given.space_volume
    if given.location == "outdoors" or isinstance(space, UnsetType):
        if not isinstance(space, UnsetType):
            notes.note(
                "space_volume_not_used",
                say("The machine stands outdoors: the {space_volume} are not used.", space_volume=space),
                field="/space_volume",
            )
        return Placement(limit, largest)
    volume = space.si
    concentration = largest / volume
    burns = limits.lower_flammability_limit_kg_m3
    placement = Placement(
        limit=limit,
        charge=largest,
        concentration=concentration,
        fraction_of_limit=concentration / limit,
        fraction_of_lfl=None if burns is UNSET else concentration / burns,
        minimum_volume=largest / limit,
        maximum_charge=limit * volume,
    )
    notes.show("c", "Concentration", f"{largest:.4g} kg / {volume:.4g} m3", concentration * 1000, "g/m3")
    notes.show(
        "V_min", "Space that keeps the limit", f"{largest:.4g} kg / {limit * 1000:g} g/m3", largest / limit, "m3"
    )
    notes.show("m_max", "Largest circuit allowed", f"{limit * 1000:g} g/m3 x {volume:.4g} m3", limit * volume, "kg")
    if burns is not UNSET:
        notes.show("f_LFL", "Share of the flammable limit", f"c / {burns:g} kg/m3", concentration / burns)
    return placement
