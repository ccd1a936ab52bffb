"""Loss of voltage in a transformer, running and starting."""

import math
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, tidy
from coldwright_electrical.shared.starting_drop import motor_impedance, starting_drop
from coldwright_electrical.transformer.given import TransformerGiven

ROOT3: Final = math.sqrt(3)


class Regulation(NamedTuple):
    """Loss of voltage as a fraction, in three forms."""

    approximate: float
    quadratic: float
    exact: float


def regulation_of(notes: Notes, z: complex, power_factor: float) -> Regulation:
    """R and X of `z` are scaled to the load already."""
    sin = math.sqrt(max(0.0, 1 - power_factor * power_factor))
    along = z.real * power_factor + z.imag * sin
    across = z.imag * power_factor - z.real * sin
    exact = 1 + along - math.sqrt(along * along + 1 - abs(z) ** 2)
    text = f"R = {z.real:.5g}, X = {z.imag:.5g} at the load, cos = {power_factor:g}"
    notes.show("A", "Regulation, short form", f"R cos + X sin, {text}", along)
    notes.show("reg", "regulation", f"1 + A - sqrt(A^2 + 1 - X^2 - R^2), {text}", exact)
    return Regulation(along, along + across * across / 2, exact)


def starting_drop_of(given: TransformerGiven, notes: Notes, z: complex) -> float | UnsetType:
    """The machine as a constant impedance behind the transformer's, ohm on the secondary."""
    if isinstance(given.starting_current, UnsetType):
        return UNSET
    current, cos = given.starting_current.to("A"), given.starting_power_factor
    motor = motor_impedance(given.secondary_voltage.value, current, cos)
    drop = starting_drop(motor, z)
    notes.show(
        "d",
        "Voltage lost at the start",
        f"1 - |Z_m| / |Z_m + Z_t|, |Z_m| = {abs(motor):.5g} ohm, |Z_t| = {abs(z):.5g} ohm",
        drop,
    )
    return tidy(drop)
