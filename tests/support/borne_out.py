"""Numbers in sentences: each of three digits or more must come from numbers that the answer holds otherwise.

The kit compares the quantities that a sentence carries as values, to a millionth. Here the text itself is read, as a
person reads it: what stands there with a decimal point or as a percentage as well, to the digits that are printed. A
number may be one of the answer's, the sum, difference or ratio of two of them, or what a ratio lacks of one or has above it.
"""

import math
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from expressions import OFFSETS, known_units, unit_of

Json = dict[str, Any]
Numbers = dict[tuple[tuple[str, float], ...], set[float]]
KELVIN = (("kelvin", 1.0),)
NUMBER = re.compile(
    r"(?<![\w.:/`#-])(?P<number>-?\d{1,3}(?:,\d{3})+(?:\.\d+)?|-?\d+(?:\.\d+)?(?:e[-+]?\d+)?)(?P<percent> ?%)?"
    r"(?: (?P<unit>[A-Za-z][A-Za-z0-9_]*(?:[./][A-Za-z0-9_]+)*))?(?!\w|:\d|\.\d|-\w|/\d)"
)
NAMED = re.compile(r"[A-Za-z].*\d|\d.*[A-Za-z]")
CITED = re.compile(
    r"`[^`]*`|\b(?:Table|clause|section|Section|Art\.?|Article|part|Part|NEC|CFR|IEC|EN|ISO|ASHRAE|UFC|NFPA|ASCE|EC\w*)"
    r" [\d.()A-Z/: -]+|\d+(?:/0)? (?:AWG|kcmil|mm2)\b|\(?\d{3}\.\d+(?:\([A-Z]\))?\)?(?:\(\d\))?|R-?\d+\w*|\d{4}-\d\d-\d\dT?\S*"
)


CONSTANTS = {
    "blowing_out", "rules_from_2026", "backflow_pressure_drop", "tap", "every_plan_stops", "first_choice_passed_over",
    "light_load", "light_load_at_night", "overcurrent_factor_unusable", "friction_high",
    "starting_factor_needs_reason", "backflow_not_enough", "off_frequency",
    "discharge_superheat_low", "discharge_superheat_high",
    "power_line", "fire_lane_narrow", "fire_lane_low", "other_eu_rule",
}  # fmt: skip
"""Sentences with constants of their method, or sentences of other answers, in them."""
LIMIT = re.compile(r"\d\d[05]")
"""A whole number that ends so is as a rule a limit of the method: 105 degC."""
FACTORS = (0.5, 0.8, 1 / 0.9, 1.25, 1 / 0.75, 1.4, 1.5, 2.0)
"""Parts and multiples that findings give of a number: 80 % of a breaker, the band of an estimate, one and a half of a depth."""


class Figure(NamedTuple):
    """A number of a sentence, in base units of pint."""

    text: str
    number: float
    half: float
    dimension: tuple[tuple[str, float], ...]
    round: bool
    plain: float
    plain_half: float


def not_borne_out(answer: Json) -> Iterator[str]:
    """Code, text and number of what stands in a sentence alone."""
    numbers: Numbers = {}
    _gather({k: answer.get(k) for k in ("given", "results")}, numbers)
    _gather([a.get("value") for a in answer.get("assumptions", [])], numbers)
    for line in answer.get("working", []):
        _gather({"value": line["value"], "unit": line["unit"]}, numbers)
    names = sorted(filter(NAMED.search, _texts(answer.get("given"))), key=len, reverse=True)
    for note in (*answer.get("findings", []), *answer.get("assumptions", [])):
        if "calculator" in note or note["code"].startswith("default:"):
            continue
        for member in ("statement", "do"):
            text = note.get(member, "")
            for name in names:
                text = text.replace(name, "")
            if note["code"] in CONSTANTS:
                continue
            for said in off_its_limit(text):
                yield f"{note['code']}: {said!r} does not come to that in {member}"
            for said in _unfounded(CITED.sub("", text), numbers):
                yield f"{note['code']}: {said!r} in {member} {note[member]!r}"


UNIT = r"[A-Za-z][\w/]*(?:\.[A-Za-z]\w*)*"
BESIDE_LIMIT = re.compile(
    rf"(?P<one>-?\d[\d,]*(?:\.\d+)?) (?P<unit>{UNIT})[^\d%]{{0,40}}?(?:, |is )(?P<by>\d[\d,]*(?:\.\d+)?)(?P<percent> ?%)?"
    rf"(?: (?P<of>{UNIT}))? (?:above|below|over) [^\d%.;:]{{2,60}}? (?P<other>-?\d[\d,]*(?:\.\d+)?) (?P<same>{UNIT})"
)
"""`... 4.2 L/s, 16% below its minimum of 5 L/s`, `... 512 A, 12 A above the 500 A`."""


def off_its_limit(text: str) -> Iterator[str]:
    """Excesses and shortfalls that are not what the value and the limit beside them in the sentence make."""
    for found in BESIDE_LIMIT.finditer(text):
        if found["unit"] != found["same"] or found["unit"] in OFFSETS or unit_of(found["unit"]) is None:
            continue
        one, other, by = (float(found[name].replace(",", "")) for name in ("one", "other", "by"))
        halves = [_half(found[name].replace(",", "")) for name in ("one", "other", "by")]
        if found["percent"] and other:
            expected, spread = abs(one / other - 1), (halves[0] + halves[1] * abs(one / other)) / abs(other)
            by, spread = by / 100, spread + halves[2] / 100
        elif found["of"] == found["unit"]:
            expected, spread = abs(one - other), sum(halves)
        else:
            continue
        if abs(expected - by) > 1.01 * spread + 1e-9 * abs(one):
            yield found[0]


def _gather(value: Any, numbers: Numbers) -> None:
    if isinstance(value, dict):
        if value.keys() == {"value", "unit"} and isinstance(value["value"], int | float):
            _add(float(value["value"]), value["unit"], numbers)
            return
        for inner in value.values():
            _gather(inner, numbers)
    elif isinstance(value, list | tuple):
        _add(float(len(value)), "1", numbers)
        for inner in value:
            _gather(inner, numbers)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        _add(float(value), "1", numbers)


def _add(number: float, unit: str, numbers: Numbers) -> None:
    if unit in OFFSETS:
        scale, offset = OFFSETS[unit]
        numbers.setdefault(KELVIN, set()).add(number * scale + offset)
        return
    scale, dimension = unit_of(unit) or (1.0, ())
    numbers.setdefault(dimension, set()).add(number * scale)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            if name != "unit":
                yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)
    elif isinstance(value, str):
        yield value


def _unfounded(text: str, numbers: Numbers) -> Iterator[str]:
    """Figures of a sentence that neither the answer nor its other figures bear out."""
    numbers = {dimension: set(there) for dimension, there in numbers.items()}
    left = []
    for found in NUMBER.finditer(text):
        figure = _read(found)
        if figure.round:
            numbers.setdefault(figure.dimension, set()).add(figure.number)
        else:
            left.append(figure)
    while standing := [figure for figure in left if _founded(figure, numbers)]:
        for figure in standing:
            numbers.setdefault(figure.dimension, set()).add(figure.number)
        left = [figure for figure in left if figure not in standing]
    for figure in left:
        yield figure.text


def _read(found: re.Match[str]) -> Figure:
    spelt = found["number"].replace(",", "")
    number, half = float(spelt), _half(spelt)
    unit = found["unit"] if found["unit"] in known_units() else "1"
    if found["percent"]:
        number, half, unit = number / 100, half / 100, "1"
    dimension: tuple[tuple[str, float], ...] = KELVIN
    if unit in OFFSETS:
        scale, offset = OFFSETS[unit]
    else:
        scale, dimension = unit_of(unit) or (1.0, ())
        offset = 0.0
    return Figure(
        found[0],
        number * scale + offset,
        1.001 * half * scale + 1e-9 * abs(number),
        dimension,
        _digits(spelt) < 3 or bool(LIMIT.fullmatch(spelt)),
        abs(number),
        half,
    )


def _founded(figure: Figure, numbers: Numbers) -> bool:
    wanted, half, dimension = figure.number, figure.half, figure.dimension
    there = sorted(numbers.get(dimension, set()))
    if any(abs(abs(wanted) - abs(n)) <= half for n in there):
        return True
    if any(abs(abs(wanted) - abs(n) * factor) <= half for n in there for factor in FACTORS):
        return True
    if any(abs(abs(wanted) - abs(a + s * b)) <= 3 * half for a in there for b in there for s in (1, -1)):
        return True
    if dimension:
        if any(abs(figure.plain - abs(n)) <= figure.plain_half for n in numbers.get((), ())):
            return True  # 2.4 gpm per ton
        return any(abs(wanted - a * b) <= half for a in there for b in numbers.get((), ()))
    return any(
        abs(abs(wanted) - form) <= half
        for alike in numbers.values()
        for a in alike
        for b in alike
        if b and a and a != b
        for form in (abs(a / b), abs(1 - a / b))
    )


def _digits(spelt: str) -> int:
    mantissa = spelt.partition("e")[0].replace("-", "")
    return len(mantissa.replace(".", "").lstrip("0") if "." in mantissa else mantissa.strip("0"))


def _half(spelt: str) -> float:
    mantissa, _, exponent = spelt.partition("e")
    places = len(mantissa.partition(".")[2])
    digits = mantissa.lstrip("-")
    trailing = len(digits) - len(digits.rstrip("0")) if "." not in digits else 0
    return 0.5 * math.pow(10.0, -places + trailing + int(exponent or 0))
