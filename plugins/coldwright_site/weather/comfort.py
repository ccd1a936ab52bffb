"""Heat index and wind chill of the National Weather Service, in degF, percent and mph."""

import math
from typing import NamedTuple

from coldwright_site.shared import tabulated
from coldwright_site.weather.results import HeatBand

HEAT_FROM, HEAT_TO = 40.0, 120.0
CHILL_TO, CHILL_WIND = 50.0, 3.0


class HeatIndex(NamedTuple):
    """The index and the branch that it came by."""

    value: float
    way: str


def heat_index(t: float, rh: float) -> HeatIndex:
    """Heat index for `t` degF and `rh` percent: the simple form below 80, else Rothfusz's with its adjustments."""
    simple = (t + 0.5 * (t + 61 + (t - 68) * 1.2 + 0.094 * rh)) / 2
    if simple < 80:
        return HeatIndex(simple, "average of T and 0.5 [T + 61 + 1.2 (T - 68) + 0.094 RH]")
    index = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * rh
        - 0.22475541 * t * rh
        - 0.00683783 * t**2
        - 0.05481717 * rh**2
        + 0.00122874 * t**2 * rh
        + 0.00085282 * t * rh**2
        - 0.00000199 * t**2 * rh**2
    )
    if rh < 13 and 80 <= t <= 112:
        dry = (13 - rh) / 4 * math.sqrt((17 - abs(t - 95)) / 17)
        return HeatIndex(index - dry, f"Rothfusz's equation less {dry:.3g} for dry air")
    if rh > 85 and 80 <= t <= 87:
        damp = (rh - 85) / 10 * (87 - t) / 5
        return HeatIndex(index + damp, f"Rothfusz's equation and {damp:.3g} for damp air")
    return HeatIndex(index, "Rothfusz's equation")


def band(index: float) -> HeatBand:
    """Band of risk of a heat index; the numbers of the table themselves belong to the band below or at them."""
    rows = tabulated.HEAT_BANDS.rows
    if index < rows["guarded_from"]:
        return "normal"
    if index <= rows["guarded_to"]:
        return "guarded"
    return "severe" if index <= rows["severe_to"] else "extreme"


def wind_chill(t: float, v: float) -> float:
    """Wind chill for `t` degF, at most 50, and `v` mph, above 3."""
    return float(35.74 + 0.6215 * t - 35.75 * v**0.16 + 0.4275 * t * v**0.16)
