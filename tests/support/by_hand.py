"""Follows the working of an answer by hand: reads what each line says in numbers, works it out and compares the value.

A line is an equation with the numbers put in: `(p - p_v)/(rho g) = (201.3 kPa - 1.2 kPa)/(998 x 9.80665)`. Each part
between equals signs that has nothing but numbers, units, functions and symbols of earlier lines is worked out here, with
units by pint; one of no such part stays unread. What is printed to a few digits is compared to within those digits.
"""

import itertools
import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from expressions import OFFSETS, Term, known_units, unit_of, worked_out

Json = dict[str, Any]
CLOSE = 1e-4
"""Relative difference that needs no look at the digits that were printed."""
OPEN_END = re.compile(
    r"\b(next|nearest|straight lines|derating table|rounded|whole|not below|not above|at most|at least|ramp|added)\b"
)
"""The value is looked up or rounded from what the numbers give."""
LITERAL = re.compile(r"(?:[A-Za-z]{2,} )*\(?-?[\d.,]+(e[-+]?\d+)?( ?[A-Za-z%]\S*)?\)?|[A-Za-z_]\S*")
"""One number or one symbol: a value that is said, not worked out."""


def _clauses(expression: str) -> list[str]:
    """What stands between commas outside brackets."""
    clauses, depth, begin = [], 0, 0
    for place, sign in enumerate(expression):
        depth += (sign in "([{") - (sign in ")]}")
        if depth == 0 and expression[place : place + 2] in (", ", "; ", ": "):
            clauses.append(expression[begin:place])
            begin = place + 2
    return [*clauses, expression[begin:]]


def _chain(expression: str) -> tuple[list[str], bool]:
    """The parts between equals signs, with what later clauses say of their symbols put in, and whether they end open."""
    first, *others = _clauses(expression)
    put_in: dict[str, str] = {}
    for clause in others:
        name, equals, rest = clause.partition(" = ")
        said = re.match(
            r"-?[\d.,]+(?:e[-+]?\d+)?(?:[ /*x^]*[\d.]+(?:e[-+]?\d+)?)*(?: [A-Za-z%][\w/.]*)?", rest.rpartition(" = ")[2]
        )
        if equals and said and not re.search(r"\s", name.strip()):
            put_in[name.strip()] = said[0] if unit_after(said[0]) else said[0].rpartition(" ")[0] or said[0]
    if "cos" in put_in and "sin" not in put_in:
        put_in["sin"] = f"sqrt(1 - ({put_in['cos']})^2)"
    for name in sorted(put_in, key=len, reverse=True):
        first = re.sub(rf"(?<![\w'\"]){re.escape(name)}(?![\w'\"])", lambda _, n=name: f"({put_in[n]})", first)  # type: ignore[misc]
    first = re.sub(r" \([a-z_ ]+\)$", "", first)
    return first.split(" = "), bool(OPEN_END.search(expression))


def unit_after(text: str) -> bool:
    """Whether the last word of it is a number, or a unit."""
    last = text.rpartition(" ")[2]
    return last[:1].isdigit() or last[:1] in "-." or last in known_units()


def _value(line: Json, bare: bool) -> Term | None:
    unit = line["unit"]
    if bare or unit == "1":
        return Term(line["value"])
    if unit in OFFSETS:
        scale, offset = OFFSETS[unit]
        return Term(line["value"] * scale + offset, (("kelvin", 1.0),), True)
    found = unit_of(unit)
    return None if found is None else Term(line["value"] * found[0], found[1])


def followed(working: list[Json]) -> Iterator[tuple[Json, str, float | None]]:
    """Each line with the part that was worked out and its result in the line's unit; nothing where it was unread."""
    told: dict[str, tuple[Term, Term]] = {}
    counted = Counter(line["symbol"] for line in working)
    for line in working:
        bare_value, value = _value(line, True), _value(line, False)
        yield line, *_held(line, told)
        if bare_value is not None and value is not None and " " not in line["symbol"]:
            name = line["symbol"]
            told[name] = (value, bare_value)
            if counted[name] > 1:  # which of them a later line means, it does not say
                del told[name]


def _held(line: Json, told: dict[str, tuple[Term, Term]]) -> tuple[str, float | None]:
    """The first part that is unlike the value, else one that is like it."""
    like: tuple[str, float | None] = ("", None)
    parts, open_end = _chain(line["expression"])
    if open_end:
        return _alike(parts, told)
    for part in parts:
        if LITERAL.fullmatch(part):
            continue
        judged = [seen for bare in (False, True) if (seen := _compared(part, line, told, bare)) is not None]
        if judged and not any(good for good, _ in judged):
            return part, judged[0][1]
        if judged:
            like = (part, line["value"])
    return like


def _alike(parts: list[str], told: dict[str, tuple[Term, Term]]) -> tuple[str, float | None]:
    """Parts of a line whose value goes on from them: they are compared with each other, as numbers alone."""
    symbols = {name: both[True] for name, both in told.items()}
    worked = [(part, found) for part in parts if (found := worked_out(part, symbols, True)) is not None]
    for (_, (one, spread)), (part, (other, more)) in itertools.pairwise(worked):
        if abs(one.number - other.number) > max(CLOSE * abs(one.number), 1.2 * (spread + more)):
            return f"{worked[0][0]} = {part}", other.number
    return "", None


def _compared(part: str, line: Json, told: dict[str, tuple[Term, Term]], bare: bool) -> tuple[bool, float] | None:
    value = _value(line, bare)
    if value is None:
        return None
    found = worked_out(part, {name: both[bare] for name, both in told.items()}, bare)
    if found is None:
        return None
    term, spread = found
    if term.dimension != value.dimension:
        return None
    apart = abs(term.number - value.number)
    size = abs(value.number)
    scale = (
        1.0
        if bare or line["unit"] == "1"
        else (OFFSETS.get(line["unit"], (0.0, 0.0))[0] or (unit_of(line["unit"]) or (1.0,))[0])
    )
    shown = (term.number - (OFFSETS[line["unit"]][1] if not bare and line["unit"] in OFFSETS else 0.0)) / scale
    return apart <= max(CLOSE * size, 1.2 * spread, 1e-9 * scale), shown


def unlike(working: list[Json]) -> list[str]:
    """Lines whose value is not what their own numbers give."""
    return [
        f"{line.get('calculator', '')} {line['symbol']} ({line['meaning']}): {part!r} gives {number:.6g}, "
        f"not {line['value']:.6g} {line['unit']}"
        for line, part, number in followed(working)
        if number is not None and number != line["value"]
    ]
