"""What `refrigeration.condensation` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Length, MassFlow, Temperature


class WetSurface(Results, frozen=True, kw_only=True):
    """One surface in this air."""

    name: Annotated[str, about("Its name.")]
    surface_temperature: Annotated[Temperature, about("Of the bare surface.")]
    wet: Annotated[bool, about("Whether it is below the dew point.")]
    drip_rate: Annotated[MassFlow, about("Water that settles on it, at most.")]
    insulation_thickness: (
        Annotated[
            Length, about("Insulation that keeps its own surface dry; left out where none is needed, or would do.")
        ]
        | UnsetType
    ) = UNSET


class CondensationResults(Results, frozen=True, kw_only=True):
    """The dew point, and what settles on what."""

    dew_point_temperature: Annotated[Temperature, about("Of the air.")]
    surfaces: Annotated[tuple[WetSurface, ...], about("In the order given.")]
    drip_rate: Annotated[MassFlow, about("Water that settles on all of them, at most.")]
