"""What `refrigeration.ride_through` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, Temperature, Volume


class Ridden(Results, frozen=True, kw_only=True):
    """One interruption."""

    name: Annotated[str, about("Its name.")]
    no_flow: Annotated[Duration, about("For which no liquid moves at all.")]
    no_cooling: Annotated[Duration, about("From the stop to the first stage that cools again.")]
    carried: Annotated[
        Duration,
        about("Liquid moving, time that the loop must bridge: a stage that runs already counts for its share."),
    ]
    holds: (
        Annotated[Duration, about("Liquid moving, how long the supply stays below the warmest; left out: for ever.")]
        | UnsetType
    ) = UNSET
    warmest_reached: (
        Annotated[
            Temperature,
            about("Supply at the end of that time; left out beyond 60 degC, where the load gives less heat."),
        ]
        | UnsetType
    ) = UNSET
    kept: Annotated[bool, about("Whether the load is never without liquid that is cold enough.")]
    volume_to_add: (
        Annotated[Volume, about("Buffer in the supply that would keep it; 0 where nothing lacks.")] | UnsetType
    ) = UNSET
    volume_to_add_with_warm_oil: (
        Annotated[Volume, about("The same with oil heaters on a supply that stays, where the oil warms again.")]
        | UnsetType
    ) = UNSET


class RideThroughResults(Results, frozen=True, kw_only=True):
    """How long the liquid stays cold, interruption by interruption."""

    turnover: Annotated[Duration, about("Once around the loop.")]
    cold_time: Annotated[Duration, about("For which supply that is cold already reaches the load.")]
    interruptions: Annotated[tuple[Ridden, ...], about("In the order given.")]
