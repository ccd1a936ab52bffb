"""Running load, starting steps and the voltage dip of each."""

import math
from collections.abc import Iterable
from itertools import groupby
from typing import Final, NamedTuple

from msgspec import UnsetType

from coldwright.contract import FieldError, Notes, field_error
from coldwright_basis.compare import below
from coldwright_basis.motor_starting import is_motor, locked_rotor_kva, running_kva, starting_kva
from coldwright_electrical.generator.given import GeneratorGiven, GeneratorLoadGiven

_NEEDS_LOCKED_ROTOR: Final = ("across_the_line", "part_winding", "star_delta", "autotransformer")


class Step(NamedTuple):
    """Loads that start together: their starting power as P + jQ in kVA, and the greatest of one unit alone."""

    order: int
    load_ids: tuple[str, ...]
    power: complex
    greatest_unit: complex

    @property
    def kva(self) -> float:
        return abs(self.power)


def show_running(notes: Notes, running: complex) -> None:
    """The running load P + jQ [kVA], line by line."""
    notes.show("P", "Running active power", "sum of n sqrt3 V I cos", running.real, "kW")
    notes.show("Q", "Running reactive power", "sum of n sqrt3 V I sin", running.imag, "kvar")
    notes.show("S", "Running apparent power", f"sqrt({running.real:.5g}^2 + {running.imag:.5g}^2)", abs(running), "kVA")


def running_power(loads: Iterable[GeneratorLoadGiven], volts: float) -> complex:
    """P + jQ of everything running, kVA."""
    return sum((load.quantity * _vector(running_kva(load, volts), load.power_factor) for load in loads), 0j)


def steps_of(given: GeneratorGiven) -> list[Step]:
    """Loads of equal order together, by rising order."""
    volts = given.system_voltage.value
    steps = []
    for order, group in groupby(sorted(given.loads, key=lambda load: load.start_order), lambda load: load.start_order):
        members = list(group)
        units = [_starting_vector(load, volts) for load in members]
        whole = sum((load.quantity * unit for load, unit in zip(members, units, strict=True)), 0j)
        steps.append(Step(order, tuple(load.load_id for load in members), whole, max(units, key=abs)))
    return steps


def dip(reactance: float, start: complex, rated_kva: float) -> float:
    """1 - V, with V = 1 / |1 + X s (sin + j cos)| and s = S_start / S_rated."""
    s = start / rated_kva
    return 1 - 1 / abs(1 + reactance * complex(s.imag, s.real))


def kva_for_dip(reactance: float, start: complex, limit: float) -> float:
    """Rated kVA at which the dip is just `limit`: y^2 + 2 y sin + 1 = 1/(1 - d)^2 for y = X s, solved for s."""
    sin = start.imag / abs(start)
    y = -sin + math.sqrt(sin * sin - 1 + (1 - limit) ** -2)
    return reactance * abs(start) / y


def load_errors(given: GeneratorGiven) -> list[FieldError]:
    """Starting data that are missing or cannot be right."""
    errors: list[FieldError] = []
    for index, load in enumerate(given.loads):
        errors += _errors_of(load, f"/loads/{index}", given.system_voltage.value)
    return errors


def _errors_of(load: GeneratorLoadGiven, at: str, volts: float) -> list[FieldError]:
    errors: list[FieldError] = []
    by_current = not isinstance(load.locked_rotor_current, UnsetType)
    by_letter = not isinstance(load.code_letter, UnsetType)
    if by_current and by_letter:
        errors.append(field_error(f"{at}/code_letter", "Give the locked-rotor current or the code letter, not both."))
    if by_letter and isinstance(load.rated_power, UnsetType):
        errors.append(field_error(f"{at}/rated_power", "A code letter needs the motor's rated power.", code="missing"))
    if not by_current and not by_letter and _needs_locked_rotor(load):
        errors.append(
            field_error(
                f"{at}/locked_rotor_current",
                "The starting current follows from the locked-rotor current, or from code letter and rated power.",
                code="missing",
            )
        )
    locked, running = locked_rotor_kva(load, volts), running_kva(load, volts)
    if errors or locked is None:
        return errors
    if below(locked, running):
        errors.append(
            field_error(
                f"{at}/{'locked_rotor_current' if by_current else 'code_letter'}",
                f"Locked rotor, {locked:.4g} kVA, is less than running, {running:.4g} kVA.",
                value=load.locked_rotor_current if by_current else load.code_letter,
                why="A motor never starts on less than it runs on.",
            )
        )
    factor = load.starting_current_factor
    if not isinstance(factor, UnsetType) and below(factor * locked, running):
        errors.append(
            field_error(
                f"{at}/starting_current_factor",
                f"The starting power, {factor * locked:.4g} kVA, is less than running, {running:.4g} kVA.",
                value=factor,
                why="A motor never starts on less than it runs on.",
            )
        )
    return errors


def _needs_locked_rotor(load: GeneratorLoadGiven) -> bool:
    return load.starting_method in _NEEDS_LOCKED_ROTOR or not isinstance(load.starting_current_factor, UnsetType)


def _starting_vector(load: GeneratorLoadGiven, volts: float) -> complex:
    return _vector(starting_kva(load, volts), load.starting_power_factor if is_motor(load) else load.power_factor)


def _vector(kva: float, power_factor: float) -> complex:
    return complex(kva * power_factor, kva * math.sqrt(max(0.0, 1 - power_factor * power_factor)))
