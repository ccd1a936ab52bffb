"""Freezing points of plain glycol and water, K, by mass fraction of glycol. Needs no CoolProp: a few multiplications.

Melinder's polynomials of the fifth degree (A. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR,
2010), with the coefficients that CoolProp 8.0.0 holds for its liquids MEG and MPG; a test compares the two. They hold
from 0 to 0.60 by mass; stronger mixtures freeze earlier again.
"""

from functools import lru_cache
from typing import Final

LEAST_MASS_FRACTION, GREATEST_MASS_FRACTION = 0.05, 0.60
"""Range of a mixture that is taken as a glycol at all, and where the data end."""
LEAST_SOLVED: Final = 0.02
"""Least mass fraction that `strength_freezing_at` looks for; it freezes between -0.4 and -0.7 degC."""

_LINES: Final = {
    "ethylene_glycol": (0.308462, (257.9, -80.8, -133.4, -72.93, 100.6, 11.4)),
    "propylene_glycol": (0.307031, (259.9, -66.31, -109.4, -228.3, -340.9, 146.5)),
}
"""Middle of the fit, and the coefficients of the powers of the mass fraction less that middle."""
_HALVINGS: Final = 60


def glycol_freezing_temperature(kind: str, mass_fraction: float) -> float:
    """Freezing point of a plain glycol, K; above a mass fraction of 0.60 that of 0.60, where the data end."""
    middle, coefficients = _LINES[kind]
    x = min(mass_fraction, GREATEST_MASS_FRACTION) - middle
    kelvin = 0.0
    for coefficient in reversed(coefficients):
        kelvin = kelvin * x + coefficient
    return kelvin


@lru_cache(maxsize=1024)
def strength_freezing_at(kind: str, temperature: float) -> float:
    """Mass fraction that freezes at `temperature` (K), by bisection: the line falls all the way.

    0.02 for warmer and 0.60 for colder temperatures than these two freeze at.
    """
    weak, strong = LEAST_SOLVED, GREATEST_MASS_FRACTION
    if temperature >= glycol_freezing_temperature(kind, weak):
        return weak
    if temperature <= glycol_freezing_temperature(kind, strong):
        return strong
    for _ in range(_HALVINGS):
        middle = (weak + strong) / 2
        if glycol_freezing_temperature(kind, middle) > temperature:
            weak = middle
        else:
            strong = middle
    return (weak + strong) / 2
