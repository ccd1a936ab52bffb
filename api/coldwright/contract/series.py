"""Numbers over time, or over anything else, as columns: each with its name, its unit and one array."""

import math
from typing import Annotated, Any, Self

from msgspec import Meta, Struct

from coldwright.contract.people import UNIT_SIGNS, plain_text
from coldwright.contract.quantities import Quantity, kind_of_unit
from coldwright.contract.refusal import Defect

LONGEST = 20_000
"""Numbers in one column: more than two years of hours."""
Numbers = Annotated[
    tuple[Annotated[float, Meta(ge=-1e15, le=1e15)], ...],
    Meta(max_length=LONGEST, description="The numbers, in order."),
]


class Column(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One column."""

    name: Annotated[str, Meta(min_length=1, max_length=100, description="What it is.")]
    unit: Annotated[str, Meta(min_length=1, max_length=30, description="Unit of the numbers; `1` for plain numbers.")]
    values: Numbers

    @classmethod
    def of(cls, name: str, kind: type[Quantity] | None, unit: str, values: Any) -> Self:
        """From numbers in `unit`, which must be one of the kind's; `None` for plain numbers, whose unit is `1`.

        Raises `Defect` for a unit of another kind and for a number that is not finite.
        """
        if (unit not in kind.units) if kind is not None else (unit != "1"):
            raise Defect(f"the column {name!r} has the unit {unit!r}, which is none of its kind")
        numbers = tuple(map(float, values))
        if not all(map(math.isfinite, numbers)):
            raise Defect(f"the column {name!r} holds a number that is not finite")
        return cls(name=name, unit=unit, values=tuple(float(f"{n:.12g}") for n in numbers))

    def to(self, unit: str) -> tuple[float, ...]:
        """The numbers in another unit of the kind that this one belongs to; raises `Defect` for one of no such kind."""
        kind = kind_of_unit(self.unit)
        if unit == self.unit:
            return self.values
        if kind is None or unit not in kind.units:
            raise Defect(f"the column {self.name!r} is in {self.unit}, which cannot be given in {unit}")
        return tuple(kind(value, self.unit).to(unit) for value in self.values)

    def in_us(self) -> "Column":
        """The same in US units."""
        kind = kind_of_unit(self.unit)
        if kind is None or not self.values:
            return self
        unit = kind(0.0, self.unit).in_us().unit
        return self if unit == self.unit else Column.of(self.name, kind, unit, self.to(unit))


class Series(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Columns of one length over another: drawn on pages, kept by sweeps and drawn by them, converted with the answer."""

    along: Annotated[Column, Meta(description="What they stand over, from low to high: usually time.")]
    columns: Annotated[tuple[Column, ...], Meta(min_length=1, max_length=20, description="Each as long as `along`.")]

    def __post_init__(self) -> None:
        count = len(self.along.values)
        for column in self.columns:
            if len(column.values) != count:
                raise ValueError(f"the column {column.name!r} has {len(column.values)} numbers, `along` has {count}")
        if any(b < a for a, b in zip(self.along.values, self.along.values[1:], strict=False)):
            raise ValueError(f"the column {self.along.name!r} does not rise")
        if len({c.name for c in self.columns}) < len(self.columns):
            raise ValueError("two columns have one name")

    def column(self, name: str) -> Column:
        """The column of that name; raises `KeyError`."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def in_us(self) -> "Series":
        """The same in US units."""
        return Series(along=self.along.in_us(), columns=tuple(c.in_us() for c in self.columns))


def with_unit(column: Column) -> str:
    """Its name and its unit, as on an axis."""
    return f"{column.name}, {sign}" if (sign := sign_of(column.unit)) else column.name


def sign_of(unit: str) -> str:
    """A unit as people write it."""
    return plain_text(UNIT_SIGNS.get(unit, unit))
