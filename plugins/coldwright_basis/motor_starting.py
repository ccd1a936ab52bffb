"""Apparent power of a motor while it starts, kVA, by its starting method.

A load is anything with the fields of `MotorLoad`, such as `electrical.generator`'s loads.
"""

import math
from typing import Protocol

from msgspec import UnsetType

from coldwright.contract import load_table
from coldwright.contract.quantities import Current, Power

CODE_LETTERS = load_table("coldwright_basis", "code_letters")
STARTING_METHODS = load_table("coldwright_basis", "starting_methods")


class MotorLoad(Protocol):
    """What is asked of a load. Currents are of one unit, line currents."""

    @property
    def running_current(self) -> Current: ...
    @property
    def locked_rotor_current(self) -> Current | UnsetType: ...
    @property
    def code_letter(self) -> str | UnsetType: ...
    @property
    def rated_power(self) -> Power | UnsetType: ...
    @property
    def starting_method(self) -> str | UnsetType: ...
    @property
    def starting_current_factor(self) -> float | UnsetType: ...
    @property
    def autotransformer_tap_fraction(self) -> float | UnsetType: ...


def running_kva(load: MotorLoad, volts: float) -> float:
    """Of one unit."""
    return math.sqrt(3) * volts * load.running_current.to("A") / 1000


def locked_rotor_kva(load: MotorLoad, volts: float) -> float | None:
    """Of one unit across the line, from the current or from code letter and horsepower."""
    if not isinstance(load.locked_rotor_current, UnsetType):
        return math.sqrt(3) * volts * load.locked_rotor_current.to("A") / 1000
    if isinstance(load.code_letter, UnsetType) or isinstance(load.rated_power, UnsetType):
        return None
    return float(CODE_LETTERS.rows[load.code_letter]) * load.rated_power.to("hp")


def starting_kva(load: MotorLoad, volts: float) -> float:
    """Of one unit, by its method."""
    locked, running = locked_rotor_kva(load, volts), running_kva(load, volts)
    rows = STARTING_METHODS.rows
    if not isinstance(load.starting_current_factor, UnsetType) and locked is not None:
        return load.starting_current_factor * locked
    if load.starting_method in ("soft_start", "variable_frequency"):
        limit = float(rows[load.starting_method]["multiple_of_running"]) * running
        return limit if locked is None else min(limit, locked)
    if locked is None:
        return running
    if load.starting_method == "autotransformer":
        return tap_of(load) ** 2 * locked
    method = "across_the_line" if isinstance(load.starting_method, UnsetType) else load.starting_method
    return float(rows[method]["current"]) * locked


def tap_of(load: MotorLoad) -> float:
    """Tap of the autotransformer, the usual middle one where none is given."""
    tap = load.autotransformer_tap_fraction
    return float(STARTING_METHODS.rows["autotransformer"]["tap"]) if isinstance(tap, UnsetType) else tap


def is_motor(load: MotorLoad) -> bool:
    """Whether it starts as a motor; a load without method and locked-rotor data is switched on as it runs."""
    sources = (load.starting_method, load.locked_rotor_current, load.code_letter)
    return not all(isinstance(source, UnsetType) for source in sources)
