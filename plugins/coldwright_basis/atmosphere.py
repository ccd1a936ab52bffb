"""Pressure of the air by height."""

from coldwright_basis.constants import STANDARD_ATMOSPHERE


def air_pressure(height: float) -> float:
    """Pa at `height` [m] above sea level, -500 to 11,000: p = 101.325 (1 - 2.25577e-5 h)^5.25588 kPa.

    The International Standard Atmosphere (ISO 2533), as the ASHRAE Handbook - Fundamentals, chapter 1, writes it.
    """
    return float(STANDARD_ATMOSPHERE * (1 - 2.25577e-5 * height) ** 5.25588)
