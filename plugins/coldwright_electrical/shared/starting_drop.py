"""The drop while a motor starts: a constant impedance behind that of its line. Volts line to line."""

import math
from typing import Final

_ROOT_3: Final = math.sqrt(3)


def motor_impedance(voltage: float, current: float, power_factor: float) -> complex:
    """Impedance [ohm per phase] of a motor that draws `current` [A] on `voltage` [V] while it starts."""
    sine = math.sqrt(max(0.0, 1 - power_factor * power_factor))
    return complex(power_factor, sine) * voltage / (_ROOT_3 * current)


def starting_drop(motor: complex, line: complex) -> float:
    """Part of the voltage that is lost in `line`, in series with the motor: 1 - |Z_m| / |Z_m + Z|."""
    return 1 - abs(motor) / abs(motor + line)
