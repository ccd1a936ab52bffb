"""Physical quantities: one struct a kind, whose unit is one of the spellings that kind allows.

A quantity is `{"value": number, "unit": "..."}`. No unit text is ever parsed: the spellings are literals of the schema
and the factors come from a table which pint made once (`conversion.json`; a test compares every pair with pint).
A plugin declares kinds of its own with `Kind`, whose factors the test kit compares with pint.
"""

import json
import re
from collections.abc import Mapping
from importlib.resources import files
from math import isfinite
from typing import Annotated, ClassVar, Literal, NamedTuple, Self

from msgspec import Meta, Struct, defstruct

from coldwright.contract.refusal import Defect

_TABLE = json.loads(files("coldwright.contract").joinpath("conversion.json").read_text("utf-8"))

UNLISTED = frozenset({"Mohm"})
"""Spellings that are taken and not published: generated clients cannot distinguish `Mohm` from `mohm`."""

SIGNIFICANT_DIGITS = 12
"""Quantities are rounded to this many digits: enough for every method, free of the noise of binary fractions."""

_SPELL = f".{SIGNIFICANT_DIGITS}g"

type_of_kind: dict[str, type["Quantity"]] = {}
"""Kinds of the contract, by name."""
kinds_of_plugins: dict[str, type["Quantity"]] = {}
"""Kinds that plugins declare, by package and name: `coldwright_acme.carbon_intensity`."""

IN_US = "us="
"""Before the unit in which a sentence in US units says a quantity, where that is not the usual one: tons of cooling."""

UNIT_TEXT = re.compile(r"[A-Za-z0-9][A-Za-z0-9_./%^-]{0,29}")
"""How a unit may be spelt, so that it can stand in the document and in a sentence."""


class Kind(NamedTuple):
    """What a plugin says of a quantity of its own, beside the unit's spellings: `declared = Kind({...})` in its class.

    `factors` gives for each spelling the number by which a value in it is multiplied to be in the base unit, which is
    the one whose factor is 1; `.si` is the value in that. Make them with `coldwright plugins factors kg/kWh lb/MWh`.
    `low` and `high` bound every field of the kind, in the base unit, where the field has no range of its own.
    `us` is the unit of answers in US units, `pint` the way in which pint writes a spelling that it does not know.
    """

    factors: Mapping[str, float]
    us: str = ""
    low: float | None = None
    high: float | None = None
    why: str = ""
    pint: Mapping[str, str] = {}

    @property
    def base(self) -> str:
        """The unit whose factor is 1; empty where there is none."""
        return next((unit for unit, factor in self.factors.items() if factor == 1), "")


def tidy(number: float, what: str = "a result") -> float:
    """Round to `SIGNIFICANT_DIGITS`; refuse what is not finite, which is always a defect of the calculator."""
    if not isfinite(number):
        raise Defect(f"{what} is not a finite number: {number}")
    return float(format(number, _SPELL))


class Quantity(Struct, frozen=True, forbid_unknown_fields=True, gc=False):
    """A number with its unit."""

    value: Annotated[float, Meta(ge=-1e15, le=1e15, description="The number, in the unit beside it.")]
    unit: str = ""

    kind: ClassVar[str] = ""
    si_unit: ClassVar[str] = ""
    metric_unit: ClassVar[str] = ""
    us_unit: ClassVar[str] = ""
    units: ClassVar[dict[str, tuple[float, float]]] = {}
    declared: ClassVar[Kind | None] = None
    """Of a plugin's own kind: its factors and its range."""

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        kind = re.sub(r"(?<!^)(?=[A-Z])", "_", cls.__name__).lower()
        if (own := cls.declared) is not None:
            cls.kind = f"{cls.__module__.partition('.')[0]}.{kind}"
            cls.si_unit = cls.metric_unit = own.base
            cls.us_unit = own.us or own.base
            cls.units = {unit: (float(factor), 0.0) for unit, factor in own.factors.items()}
            kinds_of_plugins[cls.kind] = cls
        elif kind in _TABLE:
            row = _TABLE[kind]
            cls.kind, cls.si_unit, cls.metric_unit, cls.us_unit = kind, row["si"], row["metric"], row["us"]
            cls.units = {unit: (scale, offset) for unit, (scale, offset) in row["units"].items()}
            type_of_kind[kind] = cls
        else:
            raise TypeError(f"{cls.__name__} is a quantity of its own kind and has no `declared = Kind(...)`")

    @classmethod
    def of(cls, value: float, unit: str) -> Self:
        """Build from a number in `unit`; raises `Defect` for a number that is not finite."""
        if not isfinite(value):
            tidy(value, cls.kind)  # which refuses it; where all is well, its own call would cost as much as the rest
        return cls(float(format(value, _SPELL)), unit)

    @classmethod
    def from_si(cls, value: float, unit: str) -> Self:
        """Build from a number in the SI unit of the kind (`si_unit`), expressed in `unit`."""
        scale, offset = cls.units[unit]
        number = (value - offset) / scale
        if not isfinite(number):
            tidy(number, cls.kind)
        return cls(float(format(number, _SPELL)), unit)  # as `of` does it, without the call: most results are made here

    @property
    def si(self) -> float:
        """The number in the SI unit of the kind."""
        if self.unit == self.si_unit:
            return self.value
        scale, offset = self.units[self.unit]
        return self.value * scale + offset

    def to(self, unit: str) -> float:
        """The number in `unit`; the same number, untouched, where that is its unit already."""
        if unit == self.unit:
            return self.value
        scale, offset = self.units[unit]
        return (self.si - offset) / scale

    def as_unit(self, unit: str) -> Self:
        """The same quantity in another unit of its kind."""
        return self if unit == self.unit else type(self).of(self.to(unit), unit)

    def in_us(self) -> Self:
        """The same quantity as it is given in US units: a bore stays small, a time stays a time."""
        neighbour = _US_OF_METRIC.get(self.unit, "")
        return self.as_unit(neighbour if neighbour in self.units else self.us_unit)

    def in_metric(self) -> Self:
        """The same quantity in a metric unit; as it is where its unit is one."""
        return self if self.unit in _US_OF_METRIC else self.as_unit(self.metric_unit)

    def __str__(self) -> str:
        return f"{_plainly(f'{self.value:.5g}')} {self.unit}"

    def __format__(self, spec: str) -> str:
        """As text; `{length:.1f}` says how the number is written, `{load:us=ton}` in which unit US answers say it."""
        number = spec.partition(IN_US)[0].strip() if IN_US in spec else spec
        return f"{_plainly(f'{self.value:{number}}')} {self.unit}" if number else str(self)


def _plainly(number: str) -> str:
    """A large number without its power of ten, which nobody on a site reads: `1.5748e+06` as `1574800`."""
    return f"{float(number):.0f}" if "e+" in number else number


_US_OF_METRIC = {
    "mm": "in", "mm2": "in2", "m2": "ft2", "km/h": "mph", "m/s": "ft/s", "dB": "dB", "h": "h", "s": "s", "min": "min",
    "d": "d", "kA": "kA", "mohm": "mohm", "MVA": "MVA", "W": "W", "MW": "MW", "MJ": "MJ", "Pa": "psi", "kN": "lbf",
    "rad": "rad",
}  # fmt: skip
"""Metric units whose neighbour is not the kind's usual one."""


class Temperature(Quantity, frozen=True):
    """A temperature, on a scale with its own zero."""

    unit: Annotated[Literal["degC", "degF", "K"], Meta(description="Unit of the number.")]


class TemperatureDifference(Quantity, frozen=True):
    """A difference of two temperatures."""

    unit: Annotated[Literal["delta_degC", "delta_degF"], Meta(description="Unit of the number.")]


class TemperatureRate(Quantity, frozen=True):
    """A change of temperature with time; positive when it falls."""

    unit: Annotated[Literal["delta_degC/min", "delta_degF/min"], Meta(description="Unit of the number.")]


class GaugePressure(Quantity, frozen=True):
    """A pressure above that of the atmosphere around it; may be negative."""

    unit: Annotated[Literal["kPa", "bar", "psi"], Meta(description="Unit of the number.")]


class AbsolutePressure(Quantity, frozen=True):
    """A pressure above vacuum."""

    unit: Annotated[Literal["kPa", "bar", "psi"], Meta(description="Unit of the number.")]


class PressureDifference(Quantity, frozen=True):
    """A difference of two pressures; heads of water are conventional (1,000 kg/m3)."""

    unit: Annotated[Literal["kPa", "bar", "psi", "m_water", "ft_water", "Pa"], Meta(description="Unit of the number.")]


class VolumeFlow(Quantity, frozen=True):
    """A volume flow rate; `gpm` is US gallons a minute."""

    unit: Annotated[Literal["L/s", "m3/h", "gpm", "m3/s", "L/min"], Meta(description="Unit of the number.")]


class MassFlow(Quantity, frozen=True):
    """A mass flow rate."""

    unit: Annotated[Literal["kg/s", "kg/h", "lb/h"], Meta(description="Unit of the number.")]


class Power(Quantity, frozen=True):
    """A power, of heat or work; `ton` is 12,000 Btu/h, `hp` is 745.69987 W."""

    unit: Annotated[Literal["kW", "W", "Btu/h", "ton", "hp", "MW"], Meta(description="Unit of the number.")]


class ApparentPower(Quantity, frozen=True):
    """An apparent power: voltage times current."""

    unit: Annotated[Literal["kVA", "MVA"], Meta(description="Unit of the number.")]


class Energy(Quantity, frozen=True):
    """Heat or work."""

    unit: Annotated[Literal["kWh", "MJ"], Meta(description="Unit of the number.")]


class Current(Quantity, frozen=True):
    """An electric current."""

    unit: Annotated[Literal["A", "kA"], Meta(description="Unit of the number.")]


class Voltage(Quantity, frozen=True):
    """A voltage."""

    unit: Annotated[Literal["V"], Meta(description="Unit of the number.")]


class Frequency(Quantity, frozen=True):
    """A frequency."""

    unit: Annotated[Literal["Hz"], Meta(description="Unit of the number.")]


class Impedance(Quantity, frozen=True):
    """A resistance, a reactance or their vector sum; `mohm` is a thousandth of an ohm."""

    unit: Annotated[Literal["ohm", "mohm"], Meta(description="Unit of the number.")]


class InsulationResistance(Quantity, frozen=True):
    """A resistance of insulation; a `megohm` is a million ohm."""

    unit: Annotated[Literal["megohm", "Mohm", "ohm"], Meta(description="Unit of the number.")]


class ImpedancePerLength(Quantity, frozen=True):
    """An impedance of one conductor over a length."""

    unit: Annotated[Literal["ohm/km", "ohm/kft"], Meta(description="Unit of the number.")]


class Length(Quantity, frozen=True):
    """A length."""

    unit: Annotated[Literal["m", "mm", "km", "ft", "in"], Meta(description="Unit of the number.")]


class Area(Quantity, frozen=True):
    """An area."""

    unit: Annotated[Literal["m2", "mm2", "ft2", "in2"], Meta(description="Unit of the number.")]


class Volume(Quantity, frozen=True):
    """A volume; `gal` is the US gallon."""

    unit: Annotated[Literal["L", "m3", "gal"], Meta(description="Unit of the number.")]


class Mass(Quantity, frozen=True):
    """A mass; `t` is 1,000 kg."""

    unit: Annotated[Literal["kg", "t", "lb"], Meta(description="Unit of the number.")]


class Force(Quantity, frozen=True):
    """A force."""

    unit: Annotated[Literal["N", "kN", "lbf"], Meta(description="Unit of the number.")]


class Duration(Quantity, frozen=True):
    """A span of time."""

    unit: Annotated[Literal["s", "min", "h", "d"], Meta(description="Unit of the number.")]


class Velocity(Quantity, frozen=True):
    """A velocity of a fluid or a thing."""

    unit: Annotated[Literal["m/s", "ft/s", "ft/min"], Meta(description="Unit of the number.")]


class Speed(Quantity, frozen=True):
    """A speed of wind or of a vehicle."""

    unit: Annotated[Literal["km/h", "mph", "m/s"], Meta(description="Unit of the number.")]


class Density(Quantity, frozen=True):
    """A density."""

    unit: Annotated[Literal["kg/m3", "lb/ft3"], Meta(description="Unit of the number.")]


class Concentration(Quantity, frozen=True):
    """A concentration of vapour in air, by mass."""

    unit: Annotated[Literal["g/m3", "lb/1000ft3"], Meta(description="Unit of the number.")]


class DynamicViscosity(Quantity, frozen=True):
    """A dynamic viscosity."""

    unit: Annotated[Literal["mPa.s", "cP", "Pa.s"], Meta(description="Unit of the number.")]


class SpecificHeat(Quantity, frozen=True):
    """A specific heat; also a specific entropy."""

    unit: Annotated[Literal["kJ/kg.K", "Btu/lb.degF"], Meta(description="Unit of the number.")]


class SpecificEnthalpy(Quantity, frozen=True):
    """A specific enthalpy."""

    unit: Annotated[Literal["kJ/kg", "Btu/lb"], Meta(description="Unit of the number.")]


class HeatTransferCoefficient(Quantity, frozen=True):
    """A heat transfer coefficient."""

    unit: Annotated[Literal["W/m2.K", "Btu/h.ft2.degF"], Meta(description="Unit of the number.")]


class ThermalConductivity(Quantity, frozen=True):
    """A thermal conductivity."""

    unit: Annotated[Literal["W/m.K"], Meta(description="Unit of the number.")]


class ThermalResistance(Quantity, frozen=True):
    """A thermal resistance of an area: fouling."""

    unit: Annotated[Literal["m2.K/W", "h.ft2.degF/Btu"], Meta(description="Unit of the number.")]


class HeatFlux(Quantity, frozen=True):
    """A heat flux."""

    unit: Annotated[Literal["kW/m2", "W/m2"], Meta(description="Unit of the number.")]


class HeatLossCoefficient(Quantity, frozen=True):
    """A heat loss coefficient: heat flow for a degree of difference."""

    unit: Annotated[Literal["W/K", "kW/K"], Meta(description="Unit of the number.")]


class Angle(Quantity, frozen=True):
    """An angle."""

    unit: Annotated[Literal["deg", "rad"], Meta(description="Unit of the number.")]


class SoundLevel(Quantity, frozen=True):
    """A level of sound; `dBA` is weighted by the A curve."""

    unit: Annotated[Literal["dB", "dBA"], Meta(description="Unit of the number.")]


class FuelRate(Quantity, frozen=True):
    """A fuel consumption rate; `gal` is the US gallon."""

    unit: Annotated[Literal["L/h", "gal/h"], Meta(description="Unit of the number.")]


class VolumePerPower(Quantity, frozen=True):
    """A volume for each unit of cooling power; `ton` is 12,000 Btu/h."""

    unit: Annotated[Literal["L/kW", "gal/ton"], Meta(description="Unit of the number.")]


class Modulus(Quantity, frozen=True):
    """An elastic modulus."""

    unit: Annotated[Literal["GPa", "MPa"], Meta(description="Unit of the number.")]


class Moment(Quantity, frozen=True):
    """A moment of force."""

    unit: Annotated[Literal["N.m", "kN.m", "lbf.ft"], Meta(description="Unit of the number.")]


def every_kind() -> tuple[type[Quantity], ...]:
    """Kinds of the contract, then those that plugins declare."""
    return (*type_of_kind.values(), *kinds_of_plugins.values())


def kind_of_unit(unit: str, beside: str = "") -> type[Quantity] | None:
    """The first kind that is written in this unit, and in the one `beside` it where any is written in both.

    Two kinds share m/s and ohm: `mph` beside m/s says that it is the speed of wind.
    """
    kinds = [kind for kind in every_kind() if unit in kind.units]
    return next((kind for kind in kinds if beside in kind.units), kinds[0] if kinds else None)


def know(name: str, kind: Kind) -> None:
    """Take in a kind that a plugin declares in another process, by its `kind`, so that its values can be converted."""
    package, _, own = name.partition(".")
    if name not in kinds_of_plugins:
        title = "".join(part.title() for part in own.split("_"))
        defstruct(title, [("unit", str)], bases=(Quantity,), frozen=True, module=package, namespace={"declared": kind})
