"""Usual data of transformers: ratings made, impedance and X/R where the plate is not known."""

from typing import NamedTuple

from coldwright.contract import load_table
from coldwright_basis.compare import at_least
from coldwright_basis.ratings import Practice

TRANSFORMER_RATINGS = load_table("coldwright_electrical", "transformer_ratings")

TRANSFORMER_DEVICE_LIMITS = load_table("coldwright_electrical", "transformer_device_limits")

TRANSFORMER_USUAL_DATA = load_table("coldwright_electrical", "transformer_usual_data")


class UsualData(NamedTuple):
    """Impedance per unit and X/R."""

    impedance: float
    x_over_r: float


def usual_data(kva: float) -> UsualData:
    """Usual impedance and X/R of a transformer."""
    rows: list[list[float]] = TRANSFORMER_USUAL_DATA.rows
    row = next((r for r in rows if kva <= r[0]), rows[-1])
    return UsualData(row[1], row[2])


def next_rating(practice: Practice, kva: float) -> float | None:
    """Smallest rating made that is not below `kva`; None above the largest."""
    ratings: list[float] = TRANSFORMER_RATINGS.rows[practice]
    return next((float(r) for r in ratings if at_least(r, kva)), None)
