"""Voltage drop of a three-phase line, running and starting, and the run at which it is used up. Volts line to line."""

import math
from typing import Final, NamedTuple

from coldwright_electrical.shared.starting_drop import motor_impedance, starting_drop

_ROOT_3: Final = math.sqrt(3)


class Load(NamedTuple):
    """A current [A] at a power factor on a system [V], behind the source's own impedance [ohm]."""

    voltage: float
    current: float
    power_factor: float
    source_resistance: float
    source_reactance: float

    @property
    def sine(self) -> float:
        """Sine of the load angle, lagging."""
        return math.sqrt(max(0.0, 1 - self.power_factor**2))

    @property
    def motor_impedance(self) -> complex:
        """Of a load that is a starting motor [ohm per phase]."""
        return motor_impedance(self.voltage, self.current, self.power_factor)


def effective_impedance(resistance: float, reactance: float, load: Load) -> float:
    """R cos + X sin: NEC Chapter 9 Table 9, note 2."""
    return resistance * load.power_factor + reactance * load.sine


def approximate_drop(resistance: float, reactance: float, load: Load) -> float:
    """sqrt(3) I (R cos + X sin)."""
    r, x = resistance + load.source_resistance, reactance + load.source_reactance
    return _ROOT_3 * load.current * effective_impedance(r, x, load)


def exact_drop(resistance: float, reactance: float, load: Load) -> float | None:
    """From E = |Vr + I (R + jX)|, the load angle at the receiving end; `None` where no voltage is left there."""
    r, x = resistance + load.source_resistance, reactance + load.source_reactance
    sending = load.voltage / _ROOT_3
    across = load.current * (x * load.power_factor - r * load.sine)
    if abs(across) >= sending:
        return None
    received = math.sqrt(sending**2 - across**2) - load.current * effective_impedance(r, x, load)
    return load.voltage - _ROOT_3 * received if received > 0 else None


def starting_drop_fraction(resistance: float, reactance: float, start: Load) -> float:
    """The starting motor as a constant impedance V / (sqrt(3) I) in series with cable and source."""
    line = complex(resistance + start.source_resistance, reactance + start.source_reactance)
    return starting_drop(start.motor_impedance, line)


def longest_run_running(per_metre: complex, load: Load, allowed: float) -> float:
    """Run [m] at which the approximate drop, source apart, reaches the allowed fraction."""
    effective = effective_impedance(per_metre.real, per_metre.imag, load)
    return allowed * load.voltage / (_ROOT_3 * load.current * effective)


def longest_run_starting(per_metre: complex, start: Load, allowed: float) -> float:
    """Run [m] at which the starting drop reaches the allowed fraction; 0 where the source alone uses it up.

    |Zm + Zs + z L| = |Zm| / (1 - allowed) is a quadratic in L, so no search is needed.
    """
    motor = start.motor_impedance
    fixed = motor + complex(start.source_resistance, start.source_reactance)
    a = abs(per_metre) ** 2
    b = (fixed * per_metre.conjugate()).real
    c = abs(fixed) ** 2 - (abs(motor) / (1 - allowed)) ** 2
    return 0.0 if c >= 0 else (math.sqrt(b * b - a * c) - b) / a
