"""The sum of a heat balance, line by line, and what it assumes."""

from coldwright.contract import Notes
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven
from coldwright_hydronic.heat_balance.results import HeatBalanceResults


def show_working(given: HeatBalanceGiven, notes: Notes, r: HeatBalanceResults, volumetric_heat: float) -> None:
    """The sum, line by line."""
    notes.show("rho", "Density at the mean temperature", "library", r.density)
    notes.show("cp", "Specific heat at the mean temperature", "library", r.specific_heat)
    notes.show("k", "Heat in a volume", "rho (at the meter) cp", volumetric_heat / 1e3, "kJ/m3.K")
    notes.show(
        "Q",
        "heat",
        f"Q = k V (T_in - T_out) = {volumetric_heat / 1e3:.5g} x {r.flow.si:.6g} x {r.temperature_difference.si:.5g}",
        r.heat,
    )
    notes.show("C", "US constant", "k in Btu/h for each gpm and degF", r.us_constant, "Btu/h.gpm.degF")
    notes.show("e", "Error of the rule of 500", f"500 / {r.us_constant:.5g} - 1", r.rule_error_fraction)
    notes.show(
        "u",
        "uncertainty",
        f"sqrt(u_flow^2 + 2 (u_T / (T_in - T_out))^2) = sqrt({given.flow_error_fraction:g}^2 + "
        f"2 ({given.temperature_error.si:.4g} / {r.temperature_difference.si:.5g})^2)",
        r.uncertainty_fraction,
    )


def assume(notes: Notes) -> None:
    """Write down what a heat balance takes as true."""
    notes.assume("steady", "Flow and temperatures are steady, and nothing freezes or boils.", basis="derived")
    notes.assume("all_flow", "All of the flow passes both sensors: no bypass between them.", basis="derived")
    notes.assume(
        "pump_heat",
        "The heat is all that the liquid gives up between the two sensors. A pump between them adds its own heat "
        "(hydraulic power over efficiency, often 1 to 3 % of the load); one outside them does not.",
        basis="common_practice",
        references=("hydronic_practice",),
    )
