"""Air still trapped, by a top-up, and the pressure at the top."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import GaugePressure, Volume
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.liquids import properties
from coldwright_hydronic.air_removal.given import AirRemovalGiven


def top_pressure(given: AirRemovalGiven, notes: Notes) -> float | None:
    """Gauge pressure at the top, pump off [Pa]; None where a height or pressure is missing."""
    if given.reference_gauge_pressure is UNSET or given.high_point_elevation is UNSET:
        return None
    density = properties(given.fluid, needs=("density",)).density
    rise = given.high_point_elevation.si - given.reference_elevation.si
    top = given.reference_gauge_pressure.si - density * STANDARD_GRAVITY * rise
    notes.show(
        "p_top",
        "Pressure at the top, pump off",
        f"p - rho g (z_top - z) = {given.reference_gauge_pressure} - {density:.2f} x {STANDARD_GRAVITY} x {rise:.3f} Pa",
        GaugePressure.from_si(top, "kPa"),
    )
    return top


def trapped_air(given: AirRemovalGiven, notes: Notes) -> float | None:
    """Air trapped before the top-up [m3]; None without a top-up."""
    if given.top_up is UNSET:
        return None
    air = given.atmospheric_pressure.si
    before, after = given.top_up.pressure_before.si + air, given.top_up.pressure_after.si + air
    trapped = given.top_up.volume_added.si / (1 - before / after)
    notes.show(
        "V_air",
        "Air trapped before the top-up",
        f"dV/(1 - P1/P2) = {given.top_up.volume_added}/(1 - {before / 1e3:.3f}/{after / 1e3:.3f})",
        Volume.from_si(trapped, "L"),
    )
    notes.assume(
        "no_vessel_open",
        "No expansion vessel was open to the loop during the top-up; if one was, its gas is counted as trapped air.",
        basis="derived",
        references=("hydronic_first_principles",),
    )
    return trapped
