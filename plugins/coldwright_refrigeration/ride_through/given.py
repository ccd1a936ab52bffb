"""What `refrigeration.ride_through` is asked."""

from typing import Annotated, Literal

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import Duration, Power, Temperature, TemperatureDifference, Volume
from coldwright_refrigeration.shared.given import WATER


class RideThroughLoop(Given, frozen=True, kw_only=True):
    """The loop in steady running."""

    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    volume: Annotated[Volume, about("Liquid in the whole loop, buffer counted in.", low=1, high=1e8, unit="L")]
    supply_volume: Annotated[
        Volume,
        about("Of that, cold on its way from the machines to the load, buffer left out.", low=0, high=1e8, unit="L"),
    ]
    buffer_volume: Annotated[
        Volume, about("Of that, in buffer vessels between the machines and the load.", low=0, high=1e8, unit="L")
    ] = Volume(0.0, "L")
    usable_fraction: Annotated[
        float,
        about(
            "Part of a buffer that leaves it cold before warm liquid comes with it.",
            low=0.3,
            high=1,
            basis="common_practice",
            references=("refrigeration_practice",),
        ),
    ] = 0.8
    leaving_temperature: Annotated[Temperature, about("Supply to the load.", low=-30, high=40, unit="degC")]
    temperature_difference: Annotated[
        TemperatureDifference, about("By which the load warms it.", low=0.5, high=30, unit="delta_degC")
    ]


class Interruption(Given, frozen=True, kw_only=True):
    """What stops, and what must pass before it cools again."""

    name: Annotated[str, about("Its name.", min_length=1, max_length=100)] = "restart"
    outage: Annotated[Duration, about("Without supply at the machines; 0: they trip alone.", low=0, high=7, unit="d")]
    circulation: Annotated[
        Literal["keeps", "stops"], about("Whether the pumps run on during the outage; after it they run.")
    ]
    capacity_left: Annotated[Power, about("Of machines that run on.", low=0, high=1e5, unit="kW", us="ton")] = Power(
        0.0, "kW"
    )
    control_restart: Annotated[
        Duration,
        about(
            "From supply to the first call for cooling: controls, pump, flow proof.",
            low=0,
            high=2,
            unit="h",
            basis="common_practice",
        ),
    ] = Duration(2.0, "min")
    anti_recycle_time: Annotated[
        Duration,
        about("Least time from stop to start of a compressor.", low=0, high=2, unit="h", basis="common_practice"),
    ] = Duration(5.0, "min")
    oil_warm_up: Annotated[
        Duration,
        about(
            "Oil heating before a start, after an outage; the machine's own figure rules.",
            low=0,
            high=48,
            unit="h",
            basis="common_practice",
        ),
    ] = Duration(1.0, "h")
    oil_stays_warm: Annotated[
        Duration,
        about(
            "Outage up to which the maker asks for no new warm-up; 0: any asks for it.",
            low=0,
            high=48,
            unit="h",
            basis="common_practice",
        ),
    ] = Duration(0.0, "min")
    stages: Annotated[int, about("Equal stages that restart one after the other.", low=1, high=32)] = 1
    stage_delay: Annotated[
        Duration, about("From one stage to the next.", low=0, high=2, unit="h", basis="common_practice")
    ] = Duration(3.0, "min")


class RideThroughGiven(Given, frozen=True, kw_only=True):
    """A loop, its load, how warm the supply may become, and what may interrupt the cooling."""

    loop: Annotated[RideThroughLoop, about("The loop.")]
    load: Annotated[Power, about("Heat that the load gives.", above=0, high=1e5, unit="kW", us="ton")]
    capacity: Annotated[Power, about("Of the machines that stop and restart.", above=0, high=1e5, unit="kW", us="ton")]
    warmest_supply: Annotated[Temperature, about("Warmest supply that the load bears.", low=-30, high=60, unit="degC")]
    interruptions: Annotated[tuple[Interruption, ...], about("Each judged alone.", min_length=1, max_length=10)]
