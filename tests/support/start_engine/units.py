"""Quantities as they stand in JSON, in one unit for each kind. Written out by hand: the product's own table is not used."""

from collections.abc import Mapping
from typing import Any

KILOPASCAL = {
    "kPa": 1.0,
    "Pa": 0.001,
    "bar": 100.0,
    "psi": 6.894757293168361,
    "ft_water": 2.98906692,
    "m_water": 9.80665,
}
LITRE_PER_SECOND = {"L/s": 1.0, "m3/s": 1000.0, "m3/h": 1 / 3.6, "L/min": 1 / 60.0, "gpm": 3.785411784 / 60.0}
SECOND = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
METRE = {"m": 1.0, "mm": 0.001, "km": 1000.0, "ft": 0.3048, "in": 0.0254}
LITRE = {"L": 1.0, "m3": 1000.0, "gal": 3.785411784}
OHM = {"ohm": 1.0, "mohm": 0.001, "kohm": 1000.0, "Mohm": 1e6}
PLAIN = {"V": 1.0, "A": 1.0, "kA": 1000.0, "Hz": 1.0}
DEGREE = {"delta_degC": 1.0, "delta_degF": 5 / 9}

Quantity = Mapping[str, Any]


def _times(table: Mapping[str, float], quantity: Quantity) -> float:
    return float(quantity["value"]) * table[quantity["unit"]]


def kilopascals(quantity: Quantity) -> float:
    """A gauge pressure or a difference of pressures, kPa."""
    return _times(KILOPASCAL, quantity)


def litres_per_second(quantity: Quantity) -> float:
    """A flow, L/s."""
    return _times(LITRE_PER_SECOND, quantity)


def microseconds(quantity: Quantity) -> int:
    """A duration in whole microseconds, so that instants compare exactly."""
    return round(_times(SECOND, quantity) * 1_000_000)


def metres(quantity: Quantity) -> float:
    """A length, m."""
    return _times(METRE, quantity)


def litres(quantity: Quantity) -> float:
    """A volume, L."""
    return _times(LITRE, quantity)


def ohms(quantity: Quantity) -> float:
    """A resistance, ohm."""
    return _times(OHM, quantity)


def plain(quantity: Quantity) -> float:
    """Volts, amperes, hertz."""
    return _times(PLAIN, quantity)


def degrees(quantity: Quantity) -> float:
    """A difference of temperatures, K."""
    return _times(DEGREE, quantity)


def celsius(quantity: Quantity) -> float:
    """A temperature, degC."""
    value = float(quantity["value"])
    return {"degC": value, "K": value - 273.15, "degF": (value - 32) * 5 / 9}[quantity["unit"]]


def fahrenheit(value: float) -> float:
    """A temperature given in degF, in degC."""
    return (value - 32) * 5 / 9
