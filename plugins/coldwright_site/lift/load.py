"""Mass of the load."""

from coldwright.contract import Notes
from coldwright_site.lift.given import LiftGiven
from coldwright_site.shared import tabulated


def lifted_mass(given: LiftGiven, notes: Notes) -> float:
    """Mass (kg) with what is added for the way it is known."""
    contingency = tabulated.LOAD_MASS_CONTINGENCY.rows[given.load_mass_basis]
    mass: float = given.load_mass.si * contingency
    notes.show(
        "m",
        "Load with what is added for the way its mass is known",
        f"{given.load_mass.si:.6g} kg x {contingency:g} ({given.load_mass_basis})",
        mass,
        "kg",
    )
    return mass
