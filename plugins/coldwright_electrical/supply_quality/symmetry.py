"""Unbalance of three voltages: by magnitudes, by symmetrical components, and what it costs a motor."""

import math
from itertools import pairwise
from typing import Final

from coldwright.contract import Reference, load_table
from coldwright_basis.compare import above, at_most
from coldwright_electrical.shared.references import NOT_NAMED, NOT_SEEN

UNBALANCE_DERATING = load_table("coldwright_electrical", "unbalance_derating")

GREATEST_UNBALANCE: Final = 0.05
"""Above this the derating table ends, and a motor must not run."""

IEC_61000_4_30 = Reference(
    id="iec_61000_4_30",
    title="IEC 61000-4-30, Power quality measurement methods",
    edition=NOT_SEEN,
    clause="supply voltage unbalance",
    provenance="memory",
    remark="The formula from three magnitudes follows from symmetrical components, and is tested against them.",
)

ANSI_C84_1 = Reference(
    id="ansi_c84_1",
    title="ANSI C84.1, Electric power systems and equipment: voltage ratings",
    edition=NOT_NAMED,
    clause="at most 3 % unbalance at the service, no load",
    provenance="seen_reproduced",
)

Three = tuple[float, float, float]


def greatest_deviation(values: Three) -> float:
    """Greatest deviation from the mean over the mean (NEMA MG 1). The mean must be above 0."""
    mean = sum(values) / 3
    return max(abs(v - mean) for v in values) / mean


def triangle_closes(voltages: Three) -> bool:
    """Line voltages of one moment add up to nothing, so none can be longer than the other two together."""
    return at_most(2 * max(voltages), sum(voltages))


def negative_sequence(voltages: Three) -> float:
    """Negative over positive sequence voltage, from magnitudes that close and are not all 0."""
    b = sum(v**4 for v in voltages) / sum(v**2 for v in voltages) ** 2
    root = min(1.0, math.sqrt(max(0.0, 3 - 6 * b)))  # rounding alone can leave [0, 1]
    return math.sqrt((1 - root) / (1 + root))


def derating_factor(unbalance: float) -> float | None:
    """Share of its output that a motor gives, on straight lines of the table; None above its end."""
    if above(unbalance, GREATEST_UNBALANCE):
        return None
    rows: list[list[float]] = UNBALANCE_DERATING.rows
    for (u1, f1), (u2, f2) in pairwise(rows):
        if unbalance <= u2:
            return f1 + (f2 - f1) * (unbalance - u1) / (u2 - u1)
    return rows[-1][1]
