"""Wind on a face, and the wind in which a crane may lift a load with a large one."""

import math


def lift_wind_limit(chart_wind_speed: float, load_mass: float, face_area: float, drag_coefficient: float) -> float:
    """Wind speed (m/s) that a load of `load_mass` kg and `face_area` m2 allows: EN 13000, m in t."""
    return chart_wind_speed * min(1.0, math.sqrt(1.2 * load_mass / 1000 / (drag_coefficient * face_area)))


GUST_OVER_MEAN = 1.4
"""Gust of three seconds over the mean of ten minutes, 10 m above ground: EN 13000, (z / 10)^0.14 + 0.4."""


def gust_of(mean: float) -> float:
    """Gust (m/s) 10 m above ground in a mean wind (m/s)."""
    return GUST_OVER_MEAN * mean


def pressure(speed: float, exposure_factor: float) -> float:
    """Velocity pressure (Pa) of a gust (m/s)."""
    return 0.613 * exposure_factor * speed**2


def exposure_c(height_feet: float) -> float:
    """Kz of ASCE 7 for exposure C; constant below 15 ft."""
    return float(2.01 * (max(height_feet, 15.0) / 900) ** (2 / 9.5))


def pressure_psf(speed_mph: float, kz: float, kzt: float = 1.0, kd: float = 0.85) -> float:
    """Velocity pressure (psf) of ASCE 7."""
    return 0.00256 * kz * kzt * kd * speed_mph**2
