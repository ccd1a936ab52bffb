"""What `refrigeration.room_heat` is asked."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Length, Power, Temperature, Volume, VolumeFlow


class RoomHeatGiven(Given, frozen=True, kw_only=True):
    """Machines in a room, and the outside air that is to carry their heat away."""

    heat_rejected: Annotated[
        Power, about("Heat that the machines give to the air.", above=0, high=1e5, unit="kW", us="Btu/h")
    ]
    ducted_fraction: Annotated[
        float, about("Share of it that ducts lead out before it mixes with the room.", low=0, high=1)
    ] = 0.0
    outdoor_temperature: Annotated[Temperature, about("Air that comes in.", low=-40, high=55, unit="degC")]
    room_limit: Annotated[
        Temperature, about("Warmest air that the machines bear at their coils.", low=0, high=80, unit="degC")
    ]
    ventilation_flow: (
        Annotated[VolumeFlow, about("Air out of the room, as warm as the room; 0: shut.", low=0, high=1e6, unit="L/s")]
        | UnsetType
    ) = UNSET
    room_volume: Annotated[Volume, about("Air in the room.", low=1, high=1e7, unit="m3")] | UnsetType = UNSET
    altitude: Annotated[Length, about("Height above the sea.", low=-100, high=4000, unit="m")] = Length(0.0, "m")
