"""Nominal voltages of systems, and the nameplates of motors made for them."""

from typing import Final

from coldwright.contract import load_table

VOLTAGE_PAIRS = load_table("coldwright_basis", "voltage_pairs")

_nameplate_of: Final = {float(system): float(plate) for system, plate in VOLTAGE_PAIRS.rows}


def motor_nameplate(system_voltage: float) -> float:
    """Nameplate voltage [V] of motors made for a system: 480 -> 460; any other system is its own nameplate."""
    return _nameplate_of.get(system_voltage, system_voltage)
