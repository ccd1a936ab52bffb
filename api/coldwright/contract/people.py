"""Numbers, units, times and words as a person reads them."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Quantity

UNIT_SIGNS = {
    "degC": "°C", "degF": "°F", "delta_degC": "K", "delta_degF": "°F", "delta_degC/min": "K/min", "delta_degF/min": "°F/min",
    "m3/h": "m³/h", "m3/s": "m³/s", "m2": "m²", "mm2": "mm²", "ft2": "ft²", "in2": "in²", "m3": "m³", "kg/m3": "kg/m³",
    "lb/ft3": "lb/ft³", "g/m3": "g/m³", "lb/1000ft3": "lb/1000 ft³", "m_water": "m of water", "ft_water": "ft of water",
    "ton": "tons", "ohm": "Ω", "mohm": "mΩ", "Mohm": "MΩ", "megohm": "MΩ",
    "ohm/km": "Ω/km", "ohm/kft": "Ω/1000 ft", "mPa.s": "mPa·s",
    "Pa.s": "Pa·s", "kJ/kg.K": "kJ/kg·K", "Btu/lb.degF": "Btu/lb·°F", "W/m2.K": "W/m²·K", "W/m.K": "W/m·K",
    "m2.K/W": "m²·K/W", "h.ft2.degF/Btu": "h·ft²·°F/Btu", "Btu/h.ft2.degF": "Btu/h·ft²·°F", "kW/m2": "kW/m²",
    "W/m2": "W/m²", "N.m": "N·m", "kN.m": "kN·m", "lbf.ft": "lbf·ft", "deg": "°", "d": "days", "1": "",
}  # fmt: skip
_MINUTES = {"s": 1 / 60, "min": 1.0, "h": 60.0, "d": 1440.0}
_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)")
_WORD = re.compile(r"[a-z]+(_[a-z0-9]+)+")
"""A word of an enumeration, which programs write with underscores."""
_ABBREVIATIONS = {"npsh": "NPSH", "mca": "MCA", "id": "id", "kva": "kVA", "ldn": "Ldn", "twa": "TWA", "at": "at"}


def number(value: float, digits: int = 3) -> str:
    """Rounded to `digits` significant digits, never inside the whole part; thousands are set apart by commas."""
    if value == 0:
        return "0"
    size = abs(value)
    if size >= 1e12 or size < 1e-4:
        return f"{value:.{digits}g}"
    places = max(0, digits - len(str(int(size))) if size >= 1 else digits - 1 - _exponent(size))
    text = f"{value:,.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _exponent(size: float) -> int:
    return int(f"{size:e}".partition("e")[2])


def is_quantity(value: object) -> bool:
    """Whether it is a number with its unit."""
    return isinstance(value, Mapping) and set(value) == {"value", "unit"} and isinstance(value["value"], int | float)


def quantity(value: Mapping[str, Any] | Quantity, digits: int = 3) -> str:
    """`{"value": 6.666, "unit": "degC"}` as `6.7 °C`."""
    amount, unit = _parts(value)
    if unit in _MINUTES:
        return duration(amount * _MINUTES[unit])
    sign = plain_text(UNIT_SIGNS.get(unit, unit))
    if unit in ("degC", "degF", "delta_degC", "delta_degF"):
        text = f"{amount:.1f}".removesuffix(".0")
        return f"{'0' if text == '-0' else text} {sign}"
    return f"{number(amount, digits)}{'' if sign == '°' else ' '}{sign}"


def _parts(value: Mapping[str, Any] | Quantity) -> tuple[float, str]:
    if isinstance(value, Quantity):
        return value.value, value.unit
    return float(value["value"]), str(value["unit"])


def duration(minutes: float) -> str:
    """A span of time in the words of a clock."""
    if minutes < 0:
        return f"-{duration(-minutes)}"
    if minutes < 2 and minutes != int(minutes):
        return f"{number(minutes * 60, 2)} s"
    whole = round(minutes)
    if whole < 120 and whole != 60:
        return f"{whole} min"
    if whole < 4320:
        hours, rest = divmod(
            whole if whole < 1440 else 60 * round(minutes / 60), 60
        )  # nobody plans a day to the minute
        return f"{hours} h {rest:02d} min" if rest else f"{hours} h"
    return f"{number(minutes / 1440)} days"


def about(value: Mapping[str, Any] | Quantity) -> str:
    """An estimate of a whole period, to three digits: `21,900 L` of fuel."""
    amount, unit = _parts(value)
    return quantity({"value": float(f"{amount:.3g}"), "unit": unit})


def clock(value: Mapping[str, Any] | Quantity) -> str:
    """A span of time since the beginning as `3:26`."""
    amount, unit = _parts(value)
    whole = round(amount * _MINUTES[unit])
    return f"{whole // 60}:{whole % 60:02d}"


def instant(text: str) -> str:
    """An RFC 3339 instant as `2026-05-04 09:06 UTC`."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return plain_text(text)
    if at.tzinfo is None:
        return plain_text(text)
    pattern = "%Y-%m-%d %H:%M" + (":%S" if at.second else "")
    offset = at.utcoffset()
    zone = "UTC" if not offset else at.isoformat()[-6:]
    return f"{at.strftime(pattern)} {zone}"


def at_site(text: str, zone: str = "", beside: str = "") -> str:
    """An RFC 3339 instant as a watch at the site shows it: `09:06`, with the day where that is not the day of `beside`.

    Without a zone (IANA name), or with one that is not known here, it is UTC, and says so.
    """
    try:
        at = datetime.fromisoformat(text)
        there = ZoneInfo(zone) if zone else UTC
    except (ValueError, ZoneInfoNotFoundError):
        return instant(text)
    local = at.astimezone(there)
    same_day = bool(beside) and datetime.fromisoformat(beside).astimezone(there).date() == local.date()
    return f"{local:%H:%M}" + ("" if same_day else f", {local.day} {local:%b}") + ("" if zone else " UTC")


_STAMP_IN_TEXT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)")


def instant_only(text: str) -> bool:
    """Whether a text is an instant and nothing else: a program reads it."""
    return _STAMP_IN_TEXT.fullmatch(text) is not None


def timed(text: str, zone: str = "", beside: str = "") -> str:
    """A sentence with its instants in site time."""
    return _STAMP_IN_TEXT.sub(lambda found: at_site(found[0], zone, beside), text)


def fraction(value: float) -> str:
    """A fraction as percent."""
    return f"{number(value * 100)} %"


SHARES = ("mass_fraction", "volume_fraction")
"""Shares whose name without the word would be that of another quantity."""


def label(name: str) -> str:
    """`evaporator_pressure_drop` as `Evaporator pressure drop`."""
    of_what = plain_text(name)
    words = (of_what if of_what in SHARES else of_what.removesuffix("_fraction")).replace("_", " ").split()
    text = " ".join(_ABBREVIATIONS.get(w, w) for w in words)
    return text[:1].upper() + text[1:]


def words(code: object) -> str:
    """A word of an enumeration, `spare_machine`, as `spare machine`."""
    return plain_text(str(code).replace("_", " "))


def value_text(value: Any, name: str = "", digits: int = 3) -> str:
    """Any plain value for the eye; empty for what is no plain value, or is left out."""
    if value is UNSET:
        return ""
    if isinstance(value, Quantity):
        return quantity(value, digits)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if name.endswith(("_fraction", "utilisation")):
            return fraction(value)
        return f"{value:,}" if isinstance(value, int) else number(value, max(digits, 4))
    if is_quantity(value):
        return quantity(_of_air(value) if name.startswith(_AIR) else value, digits)
    if isinstance(value, Mapping) and set(value) == {"value", "currency"}:
        return money(value)
    if isinstance(value, str):
        if _WORD.fullmatch(value):
            return words(value)
        return instant(value) if _STAMP.fullmatch(value) else plain_text(value)
    return ""


_AIR: Final = ("air_flow", "airflow")
_GALLONS_IN_FT3: Final = 1728 / 231
"""A US gallon is 231 cubic inches: NIST Handbook 44 (2024), Appendix C; from memory."""


def _of_air(flow: Mapping[str, Any]) -> Mapping[str, Any]:
    """A flow of air in US units: nobody says it in gallons."""
    if flow["unit"] != "gpm":
        return flow
    return {"value": float(f"{flow['value'] / _GALLONS_IN_FT3:.3g}"), "unit": "cfm"}


def share(value: float | UnsetType) -> str:
    """A fraction as percent; empty where it is left out."""
    return "" if isinstance(value, UnsetType) else fraction(value)


def money(value: Mapping[str, Any]) -> str:
    """`USD 1,250`."""
    return plain_text(f"{value['currency']} {float(value['value']):,.2f}".removesuffix(".00"))


def plain_text(text: str) -> str:
    """One line without control characters, so that no text of an order can steer a terminal or turn a line round."""
    spaced = " ".join(str(text).split())
    if spaced.isascii() and spaced.isprintable():
        return spaced
    return "".join("\ufffd" if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") else c for c in spaced)


_CODE = re.compile(r"`([^`]*)`")
_UNITS_IN_TEXT = re.compile(r"\b(delta_degC/min|delta_degF/min|delta_degC|delta_degF|degC|degF)\b")


def prose(text: str) -> str:
    """A sentence of an answer for somebody who reads no program: names of fields as words, units by their signs."""
    named = _CODE.sub(lambda found: re.sub(r"[_./#]+", " ", found[1]).strip(), text)
    return plain_text(_PERCENT.sub(" %", _UNITS_IN_TEXT.sub(lambda found: UNIT_SIGNS[found[1]], named)))


_PERCENT = re.compile(r"(?<=\d)%")
_LONG = re.compile(
    r"(?<![\w.,/])(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?) "
    r"(min|h|Hz|A|mm|m3/h|m3|m2|m/s|m|ft2|ft/s|ft|in|mph|L/s|L|gpm|gal|kg/h|kg|lb/h|lb|kW|kVA|ton|degC|degF|"
    r"delta_degC|delta_degF|kPa|psi)(?![\w/])"
)
_EXACT = 3
"""Digits that a gauge or a person can use."""
_THOUSANDS = 4
"""Digits of a whole number that is read without commas."""


def rounded(text: str) -> str:
    """A sentence with its long numbers as a person says them: `49.787 h` as `49 h 47 min`, `41.016 Hz` as `41 Hz`.

    Left as it is where two numbers that differ would read alike: the difference may be the point.
    """
    said = {found[0]: _short(float(found[1]), found[2]) for found in _LONG.finditer(text) if _long(*found.groups())}
    if len(set(said.values())) < len(said):
        return text
    return _LONG.sub(lambda found: said.get(found[0], found[0]), text)


def _short(amount: float, unit: str) -> str:
    """A difference of temperature to three digits: a tenth may be all of it."""
    if unit.startswith("delta_"):
        return f"{number(amount)} {unit}"
    return quantity({"value": amount, "unit": unit})


def _long(amount: str, unit: str) -> bool:
    whole = amount.lstrip("-").partition("e")[0]
    long = ("." in whole or "e" in amount) and len(whole.replace(".", "").lstrip("0")) > _EXACT
    return long or len(whole.partition(".")[0]) > _THOUSANDS or (unit in _MINUTES and float(amount) >= 120)


def begun(text: str) -> str:
    """As a sentence begins."""
    return text[:1].upper() + text[1:]


def listed(texts: Sequence[str], most: int = 20) -> str:
    """Names with commas; a long list is cut, and says by how much."""
    shown = ", ".join(texts[:most])
    return plain_text(f"{shown} and {len(texts) - most:,} more" if len(texts) > most else shown)


def count_of(number_: int, one: str, many: str = "") -> str:
    """`1 stop`, `3 stops`."""
    return f"{number_:,} {one if number_ == 1 else many or one + 's'}"
