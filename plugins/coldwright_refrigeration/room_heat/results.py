"""What `refrigeration.room_heat` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, Power, Temperature, VolumeFlow


class RoomHeatResults(Results, frozen=True, kw_only=True):
    """Heat to the room, the air that it takes, and how warm and how soon."""

    heat_to_room: Annotated[Power, about("Heat that is not ducted out.", us="Btu/h")]
    required_flow: (
        Annotated[VolumeFlow, about("Air out of the room that keeps the limit; left out where none does.")] | UnsetType
    ) = UNSET
    air_changes: Annotated[float, about("That flow over the room, each hour.")] | UnsetType = UNSET
    room_temperature: (
        Annotated[Temperature, about("Where the room settles with the flow given; left out with none.")] | UnsetType
    ) = UNSET
    time_to_limit: (
        Annotated[
            Duration,
            about("From outdoor air to the limit, of the air alone; left out where the limit is never reached."),
        ]
        | UnsetType
    ) = UNSET
    time_to_limit_shut: Annotated[Duration, about("The same where no air is exchanged at all.")] | UnsetType = UNSET
