"""Air in solution, by Henry's law, and what comes out of it."""

from math import exp

from msgspec import UNSET

from coldwright.contract import Notes, load_table
from coldwright.contract.quantities import Volume
from coldwright_basis.liquids import water_vapor_pressure
from coldwright_hydronic.air_removal.given import AirRemovalGiven

AIR_SOLUBILITY = load_table("coldwright_hydronic", "air_solubility")

GAS_CONSTANT = 8.314462618

REFERENCE_TEMPERATURE = 298.15


def dissolved_air(temperature: float, pressure: float) -> float:
    """mol/m3 of air in water that is in balance with moist air at an absolute pressure above its vapour pressure."""
    dry = pressure - water_vapor_pressure(temperature)
    shift = 1.0 / temperature - 1.0 / REFERENCE_TEMPERATURE
    held: float = sum(
        fraction * constant * exp(slope * shift) * dry for _, fraction, constant, slope in AIR_SOLUBILITY.rows
    )
    return held


def dissolved_and_released(given: AirRemovalGiven, notes: Notes) -> tuple[float | None, float | None, float | None]:
    """Dissolved at filling and in operation, mol/m3, and volume set free, m3."""
    law = "sum y H0 exp(B (1/T - 1/298.15)) (p - p_v)"
    at_fill = at_operation = released = None
    if given.supply_temperature is not UNSET:
        at_fill = dissolved_air(given.supply_temperature.si, given.supply_absolute_pressure.si)
        numbers = f"{law} at {given.supply_temperature}, {given.supply_absolute_pressure} absolute"
        notes.show("c_1", "Air in the fill water", numbers, at_fill, "mol/m3")
    if given.operating_temperature is not UNSET and given.operating_gauge_pressure is not UNSET:
        temperature = given.operating_temperature.si
        pressure = given.operating_gauge_pressure.si + given.atmospheric_pressure.si
        at_operation = dissolved_air(temperature, pressure)
        numbers = f"{law} at {given.operating_temperature}, {pressure / 1e3:.3f} kPa absolute"
        notes.show("c_2", "Air that the loop can hold", numbers, at_operation, "mol/m3")
        if at_fill is not None and given.loop_volume is not UNSET:
            released = max(0.0, at_fill - at_operation) * given.loop_volume.si * GAS_CONSTANT * temperature / pressure
            numbers = (
                f"max(0, c_1 - c_2) V R T/p = {max(0.0, at_fill - at_operation):.4g} mol/m3 x "
                f"{given.loop_volume.si:.5g} m3 x {GAS_CONSTANT:.5g} J/mol.K x {temperature:.2f} K / {pressure:.6g} Pa"
            )
            notes.show("V_g", "Air set free", numbers, Volume.from_si(released, "L"))
    if given.fluid.kind != "water" and (at_fill is not None or at_operation is not None):
        notes.assume(
            "air_as_in_water",
            "Air is taken to dissolve as in water; glycol mixtures hold less.",
            basis="derived",
            references=("air_solubility",),
        )
    return at_fill, at_operation, released
