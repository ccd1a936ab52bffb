"""What a copper conductor may carry: tables and their factors. `None` where a cell was not seen."""

import math
from bisect import bisect_left
from typing import Final

from coldwright.contract import load_table
from coldwright_basis.compare import whole_at_least

_PACKAGE: Final = "coldwright_electrical"

AMPACITY_IN_RACEWAY = load_table(_PACKAGE, "ampacity_in_raceway")

AMPACITY_PORTABLE_CABLE = load_table(_PACKAGE, "ampacity_portable_cable")

AMPACITY_RUBBER_CABLE = load_table(_PACKAGE, "ampacity_rubber_cable")

AMBIENT_FACTORS = load_table(_PACKAGE, "ambient_factors")

BUNDLING_FACTORS = load_table(_PACKAGE, "bundling_factors")

RUBBER_TEMPERATURE: Final = 60.0
"""degC: conductor temperature for which the table of rubber cable holds."""

SINGLE: Final = 0

THREE_CONDUCTOR: Final = 2

_raceway: Final = {
    row[0]: dict(zip((60, 75, 90), map(float, row[1:]), strict=True)) for row in AMPACITY_IN_RACEWAY.rows
}

_portable: Final = {row["size"]: row for row in AMPACITY_PORTABLE_CABLE.rows}

_rubber: Final = {size: (float(single), float(multi)) for size, single, multi in AMPACITY_RUBBER_CABLE.rows}

_bands: Final = tuple(int(row["up_to"]) for row in AMBIENT_FACTORS.rows)

_bundle_starts: Final = tuple((int(start), float(factor)) for start, factor in BUNDLING_FACTORS.rows)

RACEWAY_SIZES: Final = tuple(_raceway)

PORTABLE_SIZES: Final = tuple(_portable)

RUBBER_SIZES: Final = tuple(_rubber)
"""In rising order of cross-section, as in the tables."""


def raceway_ampacity(size: str, column: int) -> float | None:
    """NEC Table 310.16 [A]; `column` 60, 75 or 90."""
    return _raceway.get(size, {}).get(column)


def portable_ampacity(size: str, column: int, conductors: int) -> float | None:
    """NEC Table 400.5(A)(2) [A]; `conductors` is `SINGLE` or `THREE_CONDUCTOR`."""
    cells = _portable.get(size, {}).get(str(column))
    return None if cells is None else float(cells[conductors])


def rubber_ampacity(size: str, *, multi_core: bool) -> float | None:
    """DIN VDE 0298-4 Table 11 [A]."""
    cells = _rubber.get(size)
    return None if cells is None else cells[multi_core]


def ambient_factor(ambient: float, column: int) -> float | None:
    """NEC Table 310.15(B)(1) for an ambient in degC; a fraction of a degree counts as the next whole one."""
    index = bisect_left(_bands, whole_at_least(ambient))
    if index == len(_bands):
        return None
    factor = AMBIENT_FACTORS.rows[index].get(str(column))
    return None if factor is None else float(factor)


def rubber_ambient_factor(ambient: float) -> float | None:
    """sqrt((60 - ambient) / 30) for rubber cable; `None` at 60 degC and above."""
    if ambient >= RUBBER_TEMPERATURE:
        return None
    return math.sqrt((RUBBER_TEMPERATURE - ambient) / 30)


def bundling_factor(conductors: int) -> float:
    """NEC Table 310.15(C)(1): more than three current-carrying conductors together."""
    factor = 1.0
    for start, value in _bundle_starts:
        if conductors >= start:
            factor = value
    return factor
