"""Stiffness and vapour pressure of the liquid, and of gas in it."""

from msgspec import UNSET

from coldwright.contract import Fluid, Notes, refuse
from coldwright.contract.quantities import Modulus
from coldwright_basis import coolprop
from coldwright_basis.compare import same
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import STATE_PRESSURE, vapor_pressure
from coldwright_hydronic.surge.given import SurgeGiven

GLYCOL_MODULUS = 3.0e9


def bulk_modulus(given: SurgeGiven, density: float, notes: Notes) -> float | None:
    """Pa. None where none is known and no segment needs it."""
    own = given.fluid.bulk_modulus
    if given.bulk_modulus is not UNSET:
        if own is not UNSET and not same(own.si, given.bulk_modulus.si):
            text = f"The fluid says {own}, this field {given.bulk_modulus}: give one."
            raise refuse("/bulk_modulus", text, value=given.bulk_modulus)
        return given.bulk_modulus.si
    if own is not UNSET:
        return own.si
    if given.fluid.kind == "water" and given.fluid.temperature is not UNSET:
        state = coolprop.state("IF97", "Water")
        state.update(coolprop.core().PT_INPUTS, STATE_PRESSURE, given.fluid.temperature.si)
        modulus: float = density * state.speed_sound() ** 2
        notes.assume(
            "water_bulk_modulus",
            "The bulk modulus of water is its density times the square of its speed of sound.",
            value=Modulus.from_si(modulus, "GPa"),
            basis="derived",
            references=("water_properties",),
        )
        return modulus
    if given.fluid.kind != "custom":
        notes.assume(
            "glycol_bulk_modulus",
            "The bulk modulus of the glycol mixture is taken as 3.0 GPa, on the safe side.",
            value=Modulus.from_si(GLYCOL_MODULUS, "GPa"),
            basis="handbook",
            references=("glycol_bulk_modulus",),
        )
        return GLYCOL_MODULUS
    if all(s.wave_speed is not UNSET for s in given.segments):
        return None
    raise refuse("/fluid/bulk_modulus", "A custom fluid must bring its bulk modulus here.", code="missing")


def gas_modulus(given: SurgeGiven) -> float | None:
    """Stiffness of the free gas, isothermal: its absolute pressure, Pa."""
    if given.free_gas_fraction <= 0 or given.static_pressure is UNSET:
        return None
    return given.static_pressure.si + given.air


def vapor_pressure_of(fluid: Fluid) -> float:
    """Pa absolute; full vacuum for a custom fluid without one."""
    known = vapor_pressure(fluid, ZERO_CELSIUS if fluid.temperature is UNSET else fluid.temperature.si)
    return 0.0 if known is None else known
