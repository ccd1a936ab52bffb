"""A rating table, read between its lines and never beyond them."""

import itertools
from bisect import bisect_right
from typing import NamedTuple

from coldwright.contract import Allowed, FieldError, Notes, field_error, tidy
from coldwright.contract.quantities import Power, Temperature, TemperatureDifference
from coldwright_refrigeration.capacity.given import RatingAxis, RatingGrid, RatingTable

TABLE = "/machine/rating_table"
SAME_LINE = 1e-7
"""K within which a temperature is that of a grid line: 44 degF is 6.6667 degC."""


class Reading(NamedTuple):
    """Capacity and power in W, and the slopes of the capacity in W/K."""

    capacity: float
    power: float
    per_degree_leaving: float
    per_degree_ambient: float


def table_errors(table: RatingTable) -> list[FieldError]:
    """What is wrong with the shape of the table."""
    axes = (
        ("leaving_liquid_temperature", table.leaving_liquid_temperature),
        ("ambient_temperature", table.ambient_temperature),
    )
    errors = [error for name, axis in axes if (error := _axis_error(name, axis))]
    rows, columns = len(table.leaving_liquid_temperature.values), len(table.ambient_temperature.values)
    for name, grid in (("capacity", table.capacity), ("power", table.power)):
        errors += _shape_errors(name, grid, rows, columns)
    return errors


def _axis_error(name: str, axis: RatingAxis) -> FieldError | None:
    for i, (one, other) in enumerate(zip(axis.values, axis.values[1:], strict=False)):
        if other <= one:
            return field_error(
                f"{TABLE}/{name}/values/{i + 1}",
                f"{other:g} does not lie above {one:g}, the temperature before it.",
                value=other,
                allowed=Allowed(above=one, unit=axis.unit),
                why="Rows and columns are read by their order: a table out of order would be read wrong.",
            )
    return None


def _shape_errors(name: str, grid: RatingGrid, rows: int, columns: int) -> list[FieldError]:
    why = "One row for each leaving temperature, one column for each ambient temperature."
    if len(grid.values) != rows:
        text = f"There are {len(grid.values)} rows for {rows} leaving temperatures."
        return [field_error(f"{TABLE}/{name}/values", text, value=len(grid.values), why=why)]
    return [
        field_error(
            f"{TABLE}/{name}/values/{i}",
            f"The row has {len(row)} numbers for {columns} ambient temperatures.",
            value=len(row),
            why=why,
        )
        for i, row in enumerate(grid.values)
        if len(row) != columns
    ]


def rising_rows(table: RatingTable) -> list[str]:
    """Leaving temperatures at which the capacity does not fall from one ambient temperature to the next."""
    axis = table.leaving_liquid_temperature
    return [
        f"{leaving:g} {axis.unit}"
        for leaving, row in zip(axis.values, table.capacity.values, strict=True)
        if any(warmer >= cooler for cooler, warmer in itertools.pairwise(row))
    ]


class Grid:
    """The table in SI units."""

    def __init__(self, table: RatingTable) -> None:
        self._table = table
        self._leaving = _in_kelvin(table.leaving_liquid_temperature)
        self._ambient = _in_kelvin(table.ambient_temperature)

    def outside(self, leaving: float, ambient: float, shifted: tuple[float, float]) -> list[FieldError]:
        """Errors for a point, K, outside the table; `shifted` says by how much penalties moved it."""
        table = self._table
        return [
            error
            for name, axis, lines, value, shift in (
                ("leaving_liquid_temperature", table.leaving_liquid_temperature, self._leaving, leaving, shifted[0]),
                ("ambient_temperature", table.ambient_temperature, self._ambient, ambient, shifted[1]),
            )
            if (error := _outside(name, axis, lines, value, shift))
        ]

    def read(self, leaving: float, ambient: float, notes: Notes | None = None) -> Reading:
        """Bilinear in the cell that holds a point, K, inside the table."""
        i, u = _cell(self._leaving, leaving)
        j, v = _cell(self._ambient, ambient)
        d_leaving = self._leaving[i + 1] - self._leaving[i]
        d_ambient = self._ambient[j + 1] - self._ambient[j]
        q = _corners(self._table.capacity, i, j)
        p = _corners(self._table.power, i, j)
        capacity, power = _bilinear(q, u, v), _bilinear(p, u, v)
        if notes is not None:
            self._show(notes, (leaving, ambient), (i, j), (q, p), (u, v), (capacity, power))
        return Reading(
            capacity,
            power,
            ((q[2] - q[0]) * (1 - v) + (q[3] - q[1]) * v) / d_leaving,
            ((q[1] - q[0]) * (1 - u) + (q[3] - q[2]) * u) / d_ambient,
        )

    def _show(
        self,
        notes: Notes,
        point: tuple[float, float],
        cell: tuple[int, int],
        corners_of: tuple[tuple[float, ...], tuple[float, ...]],
        at: tuple[float, float],
        found: tuple[float, float],
    ) -> None:
        u, v = at
        table = self._table
        for symbol, word, axis, kelvin, line, place in (
            ("u", "leaving", table.leaving_liquid_temperature, point[0], cell[0], u),
            ("v", "ambient", table.ambient_temperature, point[1], cell[1], v),
        ):
            low, high = axis.values[line : line + 2]
            expression = f"({Temperature.from_si(kelvin, axis.unit).value:.9g} - {low:g}) / ({high:g} - {low:g})"
            notes.show(symbol, f"Place between the two {word} temperatures", expression, place)
        for symbol, meaning, corners, value, unit in (
            ("Q_table", "Capacity read in the table", corners_of[0], found[0], table.capacity.unit),
            ("P_table", "Power read in the table", corners_of[1], found[1], table.power.unit),
        ):
            a, b, c, d = (Power.from_si(x, unit).value for x in corners)
            expression = (
                f"(1-{v:.4g}) [(1-{u:.4g}) {a:g} + {u:.4g} x {c:g}] + {v:.4g} [(1-{u:.4g}) {b:g} + {u:.4g} x {d:g}]"
            )
            notes.show(symbol, meaning, expression, Power.from_si(value, unit))


def _in_kelvin(axis: RatingAxis) -> tuple[float, ...]:
    return tuple(Temperature(v, axis.unit).si for v in axis.values)


def _corners(grid: RatingGrid, i: int, j: int) -> tuple[float, float, float, float]:
    values = grid.values
    four = (values[i][j], values[i][j + 1], values[i + 1][j], values[i + 1][j + 1])
    a, b, c, d = (Power(x, grid.unit).si for x in four)
    return a, b, c, d


def _bilinear(corners: tuple[float, float, float, float], u: float, v: float) -> float:
    a, b, c, d = corners
    return (1 - v) * ((1 - u) * a + u * c) + v * ((1 - u) * b + u * d)


def _cell(lines: tuple[float, ...], value: float) -> tuple[int, float]:
    """Number of the cell, and the place in it from 0 to 1. On a line: the cell above; on the last line: below."""
    i = min(max(bisect_right(lines, value + SAME_LINE) - 1, 0), len(lines) - 2)
    place = (value - lines[i]) / (lines[i + 1] - lines[i])
    for line in (0.0, 1.0):
        if abs(place - line) * (lines[i + 1] - lines[i]) <= SAME_LINE:
            return i, line
    return i, place


def _outside(name: str, axis: RatingAxis, lines: tuple[float, ...], value: float, shift: float) -> FieldError | None:
    if lines[0] - SAME_LINE <= value <= lines[-1] + SAME_LINE:
        return None
    shown = Temperature.from_si(value, axis.unit)
    words = name.replace("_", " ")
    moved = (
        f", moved by {TemperatureDifference.from_si(shift, 'delta_degC')} for the penalties that act," if shift else ""
    )
    least, most = (tidy(Temperature.from_si(line - shift, axis.unit).value) for line in (lines[0], lines[-1]))
    return field_error(
        f"/conditions/{name}",
        f"The {words} of {shown}{moved} is outside the rating table, which reaches from {axis.values[0]:g} to "
        f"{axis.values[-1]:g} {axis.unit}.",
        code="outside_table",
        value=Temperature.from_si(value - shift, axis.unit),
        allowed=Allowed(minimum=least, maximum=most, unit=axis.unit),
        why="A rating table is never extrapolated: beyond it the machine may unload or trip.",
    )
