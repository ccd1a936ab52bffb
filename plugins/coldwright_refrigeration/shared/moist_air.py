"""PsychroLib in SI units, and the pressure of the air at the site. Shared by load, capacity and air side."""

from functools import cache
from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, field_error
from coldwright.contract.lazy import loads
from coldwright.contract.quantities import AbsolutePressure, Length

PRESSURE_AGREEMENT = 0.03
"""Altitude and barometric pressure of one site may part by this fraction: about the swing of the weather."""


@loads
@cache
def psychrometrics() -> Any:
    """The library, set to SI units once; temperatures in degC, pressures in Pa."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


def standard_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere, Pa, at an altitude in m."""
    return float(psychrometrics().GetStandardAtmPressure(altitude))


def site_pressure(
    altitude: Length | UnsetType, barometric_pressure: AbsolutePressure | UnsetType, pointer: str = ""
) -> float | FieldError:
    """Air pressure in Pa: as measured, else by altitude, else at sea level; an error where the two disagree."""
    by_altitude = standard_pressure(0.0 if altitude is UNSET else altitude.si)
    if barometric_pressure is UNSET:
        return by_altitude
    measured = barometric_pressure.si
    if altitude is not UNSET and abs(measured - by_altitude) > PRESSURE_AGREEMENT * by_altitude:
        return field_error(
            f"{pointer}/barometric_pressure",
            f"{barometric_pressure} and an altitude of {altitude} (standard pressure {by_altitude / 1000:.2f} kPa) "
            f"differ by more than {PRESSURE_AGREEMENT:.0%}.",
            value=barometric_pressure,
            why="The weather moves the pressure by a few per cent; more means that one of the two is of another place.",
        )
    return measured
