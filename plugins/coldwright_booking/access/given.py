"""What lifts the machines, as the order has it."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Length, Mass, Speed
from coldwright_site.transport.given import Unload


class ForkTruck(Given, frozen=True, kw_only=True):
    """The fork truck on site, as its plate has it."""

    rated_capacity: Annotated[Mass, about("Capacity on its plate.", low=1, high=100000, unit="kg")]
    rated_load_centre: Annotated[Length, about("Load centre on its plate.", low=0.01, high=5, unit="m")]
    rated_lift_height: (
        Annotated[Length, about("Height that the capacity is for.", low=0.01, high=20, unit="m")] | UnsetType
    ) = UNSET
    fork_length: Annotated[Length, about("Length of its forks.", low=0.01, high=10, unit="m")] | UnsetType = UNSET


class Access(Given, frozen=True, kw_only=True):
    """How the machines get to their place."""

    lift: Annotated[Literal["crane", "fork_truck", "roll_off"], about("What sets them down.")] | UnsetType = UNSET
    radius: Annotated[Length, about("Radius of the crane.", above=0, high=100, unit="m")] | UnsetType = UNSET
    crane_chart_capacity: (
        Annotated[Mass, about("The crane's chart at that radius, as it will stand.", low=1, high=3e6, unit="kg")]
        | UnsetType
    ) = UNSET
    hook_block_mass: (
        Annotated[Mass, about("Hook block, ball and rope below the boom tip.", low=0, high=50000, unit="kg")]
        | UnsetType
    ) = UNSET
    rigging_mass: Annotated[Mass, about("Slings, shackles and beams.", low=0, high=100000, unit="kg")] | UnsetType = (
        UNSET
    )
    crane_wind_limit: (
        Annotated[
            Speed,
            about(
                "Wind speed that the crane's chart is for: what a forecast is compared with.",
                low=0.5,
                high=40,
                unit="m/s",
            ),
        ]
        | UnsetType
    ) = UNSET
    expected_gust: (
        Annotated[
            Speed,
            about(
                "Strongest gust forecast for the days of lifting; a re-check of the booking takes it from forecasts.",
                low=0,
                high=150,
                unit="m/s",
            ),
        ]
        | UnsetType
    ) = UNSET
    expected_wind: (
        Annotated[
            Speed,
            about("Strongest mean wind forecast for those days, in the same way.", low=0, high=120, unit="m/s"),
        ]
        | UnsetType
    ) = UNSET
    crane_mass: (
        Annotated[Mass, about("Crane with its ballast: what its outriggers press with.", low=1, high=3e6, unit="kg")]
        | UnsetType
    ) = UNSET
    fork_truck: Annotated[ForkTruck, about("The fork truck, where one lifts.")] | UnsetType = UNSET
    unloading: Annotated[
        tuple[Unload, ...],
        about("What takes pallets and single pieces off the vehicle on site; none given: it is asked.", max_length=4),
    ] = ()
    surface: Annotated[Text, about("Surface of the way and the place.")] = ""
