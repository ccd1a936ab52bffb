"""What the figures of a machine stand for, with what is not given filled in."""

from typing import NamedTuple

from coldwright.contract import Fluid, Notes
from coldwright.contract.quantities import Frequency, Length, TemperatureDifference, ThermalResistance
from coldwright_basis.usual import given_or_usual
from coldwright_refrigeration.capacity.given import SIXTY_HERTZ, RatedPoint, RatingBasis

TEN_DEGF = TemperatureDifference(10, "delta_degF")


class RatedAt(NamedTuple):
    """Conditions of the rating, beside its two temperatures."""

    fluid: Fluid
    altitude: Length
    fouling_resistance: ThermalResistance
    frequency: Frequency
    temperature_difference: TemperatureDifference


def of_table(basis: RatingBasis, notes: Notes) -> RatedAt:
    """Of a rating table; the usual frequency and difference where it gives none."""
    return RatedAt(
        basis.fluid,
        basis.altitude,
        basis.fouling_resistance,
        given_or_usual(
            basis.frequency, SIXTY_HERTZ, notes, "rating_frequency", "The rating table is taken to be for 60 Hz."
        ),
        given_or_usual(
            basis.temperature_difference,
            TEN_DEGF,
            notes,
            "rating_difference",
            "The rating table is taken to be for liquid that enters 10 delta_degF warmer than it leaves.",
            basis="standard",
            references=("ahri_550_590_2015",),
        ),
    )


def of_point(point: RatedPoint) -> RatedAt:
    """Of one rated point."""
    return RatedAt(point.fluid, point.altitude, point.fouling_resistance, point.frequency, point.temperature_difference)
