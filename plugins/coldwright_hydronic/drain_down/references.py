"""Sources of draining alone."""

from coldwright.contract import Reference

TORRICELLI = Reference(
    id="torricelli_drain_time",
    title="Time to drain a tank using Torricelli's law, text of a public demonstration",
    provenance="seen",
    remark="Upright tank in closed form, g as 9.81 m/s2; the lying cylinder and the sphere are derived the same way.",
)

ORIFICE = Reference(
    id="orifice_coefficients",
    title="Discharge coefficients of a sharp orifice (0.60 to 0.62) and a short tube (0.8), as in textbooks",
    provenance="memory",
)

OXYGEN_DEMAND = Reference(
    id="theoretical_oxygen_demand",
    title="Oxygen for full oxidation: C2H6O2 + 2.5 O2, C3H8O2 + 4 O2",
    provenance="derived",
)

OSHA_BLOWING = Reference(
    id="osha_1910_242_b",
    title="29 CFR 1910.242(b), Compressed air used for cleaning",
    edition="as the agency has it on its page, undated",
    provenance="seen",
    remark="Less than 30 psi, and then with guarding and protective equipment.",
)
