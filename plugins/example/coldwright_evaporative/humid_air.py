"""The states of the air before and behind the wet stage, by PsychroLib in SI units."""

from functools import cache
from typing import Any, NamedTuple

STATED_DRY = 1e-6
"""Humidity ratio below which a wet bulb is that of no air at all: PsychroLib answers its least ratio there."""


@cache
def psychrometrics() -> Any:
    """The library, imported by first use and set to SI units once."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


class Stage(NamedTuple):
    """Air through the wet stage. Temperatures in degC, pressure in Pa, ratios in kg of water for each kg of dry air."""

    pressure: float
    dry_bulb: float
    wet_bulb: float
    humidity_ratio: float
    volume: float
    """Of the entering air, m3 for each kg of dry air."""
    cooled: float
    cooled_humidity_ratio: float
    cooled_relative_humidity: float


def wet_bulb_of(dry_bulb: float, relative_humidity: float, altitude: float) -> float:
    """Wet bulb in degC."""
    air = psychrometrics()
    return float(air.GetTWetBulbFromRelHum(dry_bulb, relative_humidity, air.GetStandardAtmPressure(altitude)))


def humidity_ratio_of(dry_bulb: float, wet_bulb: float, altitude: float) -> float:
    """kg of water for each kg of dry air."""
    air = psychrometrics()
    return float(air.GetHumRatioFromTWetBulb(dry_bulb, wet_bulb, air.GetStandardAtmPressure(altitude)))


def through_wet_stage(dry_bulb: float, wet_bulb: float, altitude: float, effectiveness: float) -> Stage:
    """Adiabatic: the air moves towards saturation along its wet bulb."""
    air = psychrometrics()
    pressure = float(air.GetStandardAtmPressure(altitude))
    entering = float(air.GetHumRatioFromTWetBulb(dry_bulb, wet_bulb, pressure))
    cooled = dry_bulb - effectiveness * (dry_bulb - wet_bulb)
    leaving = float(air.GetHumRatioFromTWetBulb(cooled, wet_bulb, pressure))
    return Stage(
        pressure=pressure,
        dry_bulb=dry_bulb,
        wet_bulb=wet_bulb,
        humidity_ratio=entering,
        volume=float(air.GetMoistAirVolume(dry_bulb, entering, pressure)),
        cooled=cooled,
        cooled_humidity_ratio=leaving,
        cooled_relative_humidity=min(1.0, float(air.GetRelHumFromHumRatio(cooled, leaving, pressure))),
    )
