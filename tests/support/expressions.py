"""Reads an expression of the working as a person writes it, and works it out: numbers, units by pint, functions, symbols."""

import cmath
import functools
import math
import re
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import pint

SPELT = {
    "degC": "delta_degC", "degF": "delta_degF", "K": "kelvin", "ton": "ton_of_refrigeration", "dBA": "dimensionless",
    "dB": "dimensionless", "%": "percent", "kvar": "kW", "psf": "force_pound / ft**2", "h": "hour", "kft": "kft",
    "in": "inch", "lb": "pound", "gal": "gallon", "inH2O": "inch_H2O_39F", "inHg": "inch_Hg_32F", "kcmil": "507.06e-9 m**2",
    "gpm": "gallon / minute", "cfm": "ft**3 / minute", "mph": "mile / hour", "d": "day", "t": "tonne", "1": "dimensionless",
    "ftH2O": "foot_H2O_39F", "A": "ampere", "V": "volt", "kVA": "kW", "ft": "foot", "yr": "year",
}  # fmt: skip
OFFSETS = {"degC": (1.0, 273.15), "degF": (5 / 9, 459.67 * 5 / 9)}
FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sqrt": cmath.sqrt, "min": min, "max": max, "ln": math.log, "log10": math.log10, "exp": math.exp, "atan": math.atan,
    "sin": math.sin, "cos": math.cos, "abs": abs, "ceil": math.ceil, "asin": math.asin, "acos": math.acos, "tan": math.tan,
}  # fmt: skip
CONSTANTS: dict[str, complex] = {"pi": math.pi, "e": math.e, "sqrt3": 3**0.5, "g": 9.80665, "j": 1j}
TOKEN = re.compile(
    r"\s*(?:(?P<number>\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\d,])|\d+\.?\d*(?:e[-+]?\d+)?)"
    r"|(?P<name>[A-Za-z_][\w'\"]*(?:/[A-Za-z]\w*_\w+)?)|(?P<sign>[-+*/^()\[\]{}|,×−]))"
)


LABEL = re.compile(r"[A-Za-z]\w+")
"""A word that says of a number what it is: `table 405 x ambient 0.91`."""
LINKS = ("at", "of", "from", "to", "and", "where", "for", "by", "in", "on", "with", "over", "under", "solved")
AFTER = re.compile(r"[a-z]{5,}")
"""The same behind its number: `287.2 running + 14.5`."""


class Unread(Exception):  # noqa: N818
    """A part that has more in it than numbers."""


class Term(NamedTuple):
    """A number with its dimension: exponents by base unit of pint."""

    number: Any
    dimension: tuple[tuple[str, float], ...] = ()
    absolute: bool = False


@functools.cache
def _registry() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


@functools.cache
def unit_of(text: str) -> tuple[float, tuple[tuple[str, float], ...]] | None:
    """Scale and dimension of a unit as an answer spells it; nothing where it is none."""
    registry = _registry()
    spelt = "/".join(f"({_spelt(part.strip('()'))})" for part in text.split("/"))
    try:
        found: Any = registry.parse_expression(spelt)
    except Exception:
        return None
    if isinstance(found, int | float):
        return float(found), ()
    base = found.to_base_units()
    dimension = tuple(sorted((str(name), float(power)) for name, power in base.unit_items()))
    return float(base.magnitude), tuple(pair for pair in dimension if pair[0] != "radian")


def _spelt(product: str) -> str:
    """Units with a point between them, as pint writes them."""
    return "*".join(SPELT.get(unit, re.sub(r"(?<=[a-z])([23])$", r"**\1", unit)) for unit in product.split("."))


BESIDE = """
kg/m3 g/m3 kg.m m.K/W MJ/m3.K kJ/kg kg/kg m3/kg Pa kPa N kN lb m s K ohm/kft ohm/km J/kg.K J/m3.K kJ/(kg.K) kJ/m3 m/s2 m3/s kg/s
m2 m3 J/K MJ/K mol/m3 kN/m2 N.m J/mol.K gpm degF mm GPa 1/Pa mPa.s W/K m2.K/W W/m2.K W/m kJ/kg.K psf mm2 kW/K W t % kvar kN.m cSt
"""
"""What working writes beside the units of the contract."""


@functools.cache
def known_units() -> tuple[str, ...]:
    """Every unit of the contract, and what working writes beside them, the longest first."""
    from coldwright.contract.quantities import every_kind

    known = {unit for kind in every_kind() for unit in kind.units} | set(BESIDE.split())
    return tuple(sorted((u for u in known if u != "1" and unit_of(u) is not None), key=len, reverse=True))


class _Reader:
    """Recursive descent over one part. `bare` leaves the units out."""

    def __init__(
        self, text: str, symbols: Mapping[str, Term], bare: bool, moved: tuple[int, float] | None = None
    ) -> None:
        self.text, self.symbols, self.bare, self.moved = text, symbols, bare, moved
        self.at, self.literals = 0, 0
        self.spans: list[str] = []

    def peek(self) -> tuple[str, str] | None:
        found = TOKEN.match(self.text, self.at)
        if found is None:
            if self.text[self.at :].strip():
                raise Unread(self.text[self.at :])
            return None
        kind = found.lastgroup or ""
        return kind, found[kind]

    def take(self) -> str:
        found = TOKEN.match(self.text, self.at)
        assert found is not None
        self.at = found.end()
        return found[found.lastgroup or 0]

    def whole(self) -> Term:
        term = self.sum()
        if self.peek() is not None:
            raise Unread(self.text)
        return term

    def sum(self) -> Term:
        term = self.product()
        while (ahead := self.peek()) and ahead[1] in "+-−" and ahead[0] == "sign":
            minus = self.take() != "+"
            other = self.product()
            term = self.added(term, other, minus)
        return term

    def added(self, a: Term, b: Term, minus: bool) -> Term:
        if a.dimension != b.dimension and a.number != 0 and b.number != 0:
            raise Unread("dimensions differ")
        absolute = a.absolute != b.absolute
        return Term(a.number - b.number if minus else a.number + b.number, a.dimension or b.dimension, absolute)

    def product(self) -> Term:
        term = self.power()
        while ahead := self.peek():
            kind, text = ahead
            if kind == "sign" and text in "*/×":
                divide = self.take() == "/"
                term = self.times(term, self.power(), divide)
            elif kind == "name" and text == "x":
                self.take()
                term = self.times(term, self.power())
            elif kind in ("name", "number") or text in "([{":
                term = self.times(term, self.power())
            else:
                break
        return term

    @staticmethod
    def times(a: Term, b: Term, divide: bool = False) -> Term:
        powers = dict(a.dimension)
        for name, power in b.dimension:
            powers[name] = powers.get(name, 0.0) + (-power if divide else power)
        number = a.number / b.number if divide else a.number * b.number
        return Term(number, tuple(sorted((n, p) for n, p in powers.items() if abs(p) > 1e-9)))

    def power(self) -> Term:
        base = self.primary()
        if (ahead := self.peek()) and ahead[1] == "^":
            self.take()
            sign = -1 if (ahead := self.peek()) and ahead[1] in "-−" and self.take() else 1
            exponent = self.primary()
            if exponent.dimension:
                raise Unread("a power with a unit")
            by = sign * exponent.number
            return Term(base.number**by, tuple((n, p * by) for n, p in base.dimension))
        return base

    def primary(self) -> Term:
        ahead = self.peek()
        if ahead is None:
            raise Unread("nothing")
        kind, text = ahead
        if kind == "sign" and text in "-−":
            self.take()
            ahead = self.peek()
            if ahead and ahead[0] == "number":
                return self.number(-1.0)
            term = self.power()
            return term._replace(number=-term.number)
        if kind == "sign" and text in "([{|":
            self.take()
            term = self.sum()
            self.expect("|" if text == "|" else ")]}")
            return term._replace(number=abs(term.number)) if text == "|" else self.with_unit(term.number, term)
        if kind == "number":
            return self.number()
        if kind == "name":
            self.take()
            return self.named(text)
        raise Unread(text)

    def expect(self, signs: str) -> None:
        ahead = self.peek()
        if ahead is None or ahead[1] not in signs:
            raise Unread(self.text)
        self.take()

    def number(self, sign: float = 1.0) -> Term:
        text = self.take()
        value = sign * float(text.replace(",", ""))
        if self.moved is not None and self.moved[0] == self.literals:
            value += self.moved[1]
        self.literals += 1
        self.spans.append(text)
        term = self.with_unit(value)
        if (ahead := self.peek()) and ahead[0] == "name" and AFTER.fullmatch(ahead[1]) and ahead[1] not in FUNCTIONS:
            self.take()
        return term

    def with_unit(self, value: Any, term: Term | None = None) -> Term:
        """The number, or what stands in brackets, with the unit that stands behind it."""
        rest = self.text[self.at :]
        behind = rest.lstrip()
        for unit in known_units():
            if behind.startswith(unit) and not re.match(r"[\w%]", behind[len(unit) : len(unit) + 1] or " "):
                if unit in ("x", "e", "g") or (len(rest) == len(behind) and unit != "%"):
                    continue
                self.at += len(rest) - len(behind) + len(unit)
                if self.bare:
                    return term or Term(value)
                if term is not None:
                    if term.dimension or unit in OFFSETS:
                        raise Unread("two units")
                    return Term(value * (unit_of(unit) or (1.0,))[0], (unit_of(unit) or (1.0, ()))[1])
                if unit in OFFSETS:
                    scale, offset = OFFSETS[unit]
                    return Term(value * scale + offset, (("kelvin", 1.0),), True)
                found = unit_of(unit)
                assert found is not None
                return Term(value * found[0], found[1])
        return term or Term(value)

    def named(self, name: str) -> Term:
        ahead = self.peek()
        label = LABEL.fullmatch(name) and name not in (*FUNCTIONS, *LINKS)
        if label and ahead and ahead[0] == "number":
            return self.primary()
        if name in self.symbols:
            return self.symbols[name]
        if name in FUNCTIONS and ahead and ahead[1] in "([{":
            return self.called(name)
        if name in FUNCTIONS and ahead and ahead[0] != "sign":
            argument = self.power()
            return self.applied(name, [argument])
        if self.text[self.at : self.at + 1] == "(" and name not in ("x", "g", "pi"):
            raise Unread(f"{name} of something")
        if label and ahead and ahead[1] in "([":
            return self.primary()
        if name in CONSTANTS:
            return (
                Term(CONSTANTS[name]) if name != "g" or self.bare else Term(9.80665, (("meter", 1.0), ("second", -2.0)))
            )
        raise Unread(name)

    def called(self, name: str) -> Term:
        self.take()
        arguments = [self.sum()]
        while (ahead := self.peek()) and ahead[1] == ",":
            self.take()
            arguments.append(self.sum())
        self.expect(")]")
        return self.applied(name, arguments)

    @staticmethod
    def applied(name: str, arguments: list[Term]) -> Term:
        dimension = next((a.dimension for a in arguments if a.dimension), ())
        numbers = [a.number for a in arguments]
        if name == "sqrt":
            root = math.sqrt(numbers[0])
            return Term(root, tuple((n, p / 2) for n, p in dimension))
        if name == "abs":
            return Term(abs(numbers[0]), dimension)
        if name in ("min", "max"):
            if any(a.dimension != dimension and a.number != 0 for a in arguments):
                raise Unread("dimensions differ")
            return Term(FUNCTIONS[name](numbers), dimension)
        if dimension:
            raise Unread(f"{name} of a unit")
        return Term(FUNCTIONS[name](*numbers))


def worked_out(text: str, symbols: Mapping[str, Term], bare: bool) -> tuple[Term, float] | None:
    """A part and how far the digits that were left out can move it."""
    try:
        reader = _Reader(text, symbols, bare)
        term = reader.whole()
        if isinstance(term.number, complex):
            return None
        spread = 0.0
        of_sums = not re.search(r"[x*^]|/(?! ?2\b)|\) ?\(", text)  # half of a sum is a mean, printed like its terms
        for place, span in enumerate(reader.spans):
            moved = _Reader(text, symbols, bare, (place, _half_a_digit(span, of_sums))).whole()
            spread += abs(moved.number - term.number)
    except (Unread, ArithmeticError, ValueError, TypeError):
        return None
    return term, spread


def _half_a_digit(text: str, of_sums: bool) -> float:
    """Half a unit of the last place that was printed; of one or two digits in a product, as if of four."""
    mantissa, _, exponent = text.replace(",", "").partition("e")
    digits = mantissa.replace(".", "").lstrip("0")
    places = len(mantissa.partition(".")[2])
    value = abs(float(text.replace(",", "")))
    if places == 0 and len(digits) < 3:
        return 0.0
    if places == 0 or (len(digits) < 3 and not (of_sums and places > 1) and (places < 2 or value < 0.1)):
        return value * 5e-4
    smallest: float = 0.5 * 10.0 ** (-places + int(exponent or 0))
    return smallest
