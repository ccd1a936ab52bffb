"""Glycol and oxygen demand of what runs out."""

from coldwright.contract import Notes
from coldwright.contract.quantities import Mass
from coldwright_basis.liquids import glycol_mass_fraction, properties
from coldwright_hydronic.drain_down.given import DrainDownGiven

OXYGEN, CARBON, HYDROGEN = 15.999, 12.011, 1.008

OXYGEN_PER_KG = {
    "ethylene_glycol": 2.5 * 2 * OXYGEN / (2 * CARBON + 6 * HYDROGEN + 2 * OXYGEN),
    "propylene_glycol": 4.0 * 2 * OXYGEN / (3 * CARBON + 8 * HYDROGEN + 2 * OXYGEN),
}


def glycol_mass_of(given: DrainDownGiven, notes: Notes, drained: float) -> float | None:
    """Glycol [kg] in what runs out [m3]; None for other liquids."""
    if given.fluid.kind not in OXYGEN_PER_KG:
        return None
    density = properties(given.fluid).density
    fraction = glycol_mass_fraction(given.fluid)
    mass = density * fraction * drained
    notes.show(
        "m_g",
        "Glycol in what runs out",
        f"rho w V = {density:.1f} kg/m3 x {fraction:.4f} x {1e3 * drained:.4g} L",
        Mass.from_si(mass, "kg"),
    )
    each = OXYGEN_PER_KG[given.fluid.kind]
    notes.show("ThOD", "Oxygen demand", f"{each:.4f} kg/kg x m_g", Mass.from_si(mass * each, "kg"))
    return mass
