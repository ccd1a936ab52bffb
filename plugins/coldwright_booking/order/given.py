"""The order, as the caller sends it."""

import datetime
from typing import Annotated, ClassVar, Literal

import msgspec
from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.fields import TEXT_PATTERN, exactly
from coldwright.contract.parts import RuledOut
from coldwright.contract.quantities import (
    Current,
    Duration,
    Frequency,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    SoundLevel,
    Temperature,
    TemperatureDifference,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright_booking.access.given import Access
from coldwright_booking.fleet.given import Fleet, LiquidConnection
from coldwright_booking.rates.given import Rates
from coldwright_electrical.shared.given import PracticeField, ResidualCurrent
from coldwright_refrigeration.load.given import AnyLoad
from coldwright_site.ground.given import SlopeGiven
from coldwright_site.placement.given import FreeArea, ObstacleGiven
from coldwright_site.shared.given import Point

SoilClass = Literal["bedrock", "sedimentary_rock", "gravel", "sand", "clay", "unprepared"]


class Period(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """First and last day of the hire."""

    from_: Annotated[datetime.date, about("First day.")]
    to: Annotated[datetime.date, about("Last day, counted in.")]


class Duty(Given, frozen=True, kw_only=True):
    """The cooling that is wanted."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = (("load", "loads"),)

    load: Annotated[Power, about("Heat to remove.", low=1, high=20000, unit="kW", us="ton")] | UnsetType = UNSET
    loads: Annotated[
        tuple[AnyLoad, ...], about("The heat by its parts, as `refrigeration.load` takes them.", max_length=90)
    ] = ()
    leaving_temperature: Annotated[Temperature, about("Liquid leaving the machines.", low=-25, high=25, unit="degC")]
    warmest_supply_temperature: (
        Annotated[
            Temperature,
            about(
                "Warmest supply that a critical load bears while something restarts; 3 K above the leaving liquid.",
                low=-25,
                high=45,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[TemperatureDifference, about("Entering minus leaving.", low=2, high=20, unit="delta_degC")]
        | UnsetType
    ) = UNSET
    liquid_flow: (
        Annotated[VolumeFlow, about("Flow wanted, instead of the difference.", low=0.02, high=2000, unit="L/s")]
        | UnsetType
    ) = UNSET
    lowest_load_fraction: (
        Annotated[float, about("Least load over the load; 0.25 where it is not given.", low=0, high=1)] | UnsetType
    ) = UNSET
    average_load_fraction: (
        Annotated[
            float,
            about(
                "Mean load over the load, for energy, fuel and their cost; 1 where it is not given.", above=0, high=1
            ),
        ]
        | UnsetType
    ) = UNSET
    margin_fraction: Annotated[
        float, about("Margin on the load.", low=0, high=0.5, basis="common_practice", references=("booking_practice",))
    ] = 0.10


class SoundLimit(Given, frozen=True, kw_only=True):
    """A place where sound is limited."""

    id: Annotated[Text, about("Name of the place.")] = ""
    distance: Annotated[Length, about("From the machines.", low=1, high=2000, unit="m")]
    limit_day: Annotated[SoundLevel, about("Limit by day.", low=20, high=120, unit="dBA")] | UnsetType = UNSET
    limit_night: Annotated[SoundLevel, about("Limit by night.", low=20, high=120, unit="dBA")] | UnsetType = UNSET


class Ground(Given, frozen=True, kw_only=True):
    """Ground that the machines stand on."""

    soil_class: Annotated[SoilClass, about("Class of undisturbed soil.")] | UnsetType = UNSET
    allowable_bearing_pressure: (
        Annotated[PressureDifference, about("From a competent person.", low=1, high=100000, unit="kPa")] | UnsetType
    ) = UNSET
    slope: Annotated[SlopeGiven, about("Slope.")] | UnsetType = UNSET
    services_known: Annotated[bool, about("Whether pipes, cables and voids below have been asked for.")] = False


class SiteArea(FreeArea, frozen=True, kw_only=True):
    """The free area of the site, what stands in and round it, and where hoses and cables lead."""

    obstacles: Annotated[
        tuple[ObstacleGiven, ...],
        about("Walls, doors, roads and what else is there, in the same frame.", max_length=100),
    ] = ()
    load_point: Annotated[Point, about("Where the hoses end.")] | UnsetType = UNSET
    supply_point: Annotated[Point, about("Where the cables begin; a set of the plan needs none.")] | UnsetType = UNSET
    recirculation_fraction: (
        Annotated[
            float, about("Share of hot air that is drawn again; 0.05 in the open, 0.10 between walls.", low=0, high=0.9)
        ]
        | UnsetType
    ) = UNSET


class Room(Given, frozen=True, kw_only=True):
    """The room: what a leak can fill, and the air that carries the machines' heat away."""

    volume: Annotated[Volume, about("Smallest space that a leak can fill.", low=1, high=1e6, unit="m3")] | UnsetType = (
        UNSET
    )
    kind: Annotated[
        Literal["enclosed_space", "machinery_room", "below_grade"],
        about("A space that people use, a machinery room, or any pit or basement."),
    ] = "enclosed_space"
    leak_detection: Annotated[bool, about("Whether a leakage detection system raises an alarm.")] = False
    mechanical_ventilation: (
        Annotated[bool, about("Whether fans, started by the detector, can clear the space.")] | UnsetType
    ) = UNSET
    ventilation_flow: (
        Annotated[VolumeFlow, about("Air that its fans draw out of it; 0: shut.", low=0, high=1e6, unit="L/s")]
        | UnsetType
    ) = UNSET
    outdoor_temperature: (
        Annotated[
            Temperature,
            about(
                "Hottest air that comes in; 10 K below the air to plan for, which is that of the room.",
                low=-40,
                high=55,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    ducted_fraction: Annotated[
        float, about("Share of the machines' heat that ducts lead out of the room.", low=0, high=1)
    ] = 0.0


class Position(Given, frozen=True, kw_only=True):
    """A place on the map, WGS 84."""

    latitude: Annotated[float, about("Degrees north [deg].", low=-90, high=90)]
    longitude: Annotated[float, about("Degrees east [deg].", low=-180, high=180)]


class Site(Given, frozen=True, kw_only=True):
    """Where the machines will stand."""

    name: Annotated[Text, about("Name of the site.")] = ""
    position: (
        Annotated[Position, about("Where it is; finds the nearest place of a forecast, not assessed.")] | UnsetType
    ) = UNSET
    elevation: Annotated[Length, about("Height above the sea.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    distance_from_yard: (
        Annotated[Length, about("Way from the yard, for the cost of transport.", low=0, high=10000, unit="km")]
        | UnsetType
    ) = UNSET
    design_ambient_temperature: Annotated[Temperature, about("Hottest air to plan for.", low=-10, high=55, unit="degC")]
    lowest_ambient_temperature: (
        Annotated[Temperature, about("Coldest air of the period.", low=-45, high=45, unit="degC")] | UnsetType
    ) = UNSET
    fill_flow: (
        Annotated[VolumeFlow, about("Flow of the tap that fills the loop; 0.8 L/s.", low=0.02, high=100, unit="L/s")]
        | UnsetType
    ) = UNSET
    relative_humidity_fraction: (
        Annotated[float, about("Of the hottest air; instead of its dew point.", low=0.01, high=1)] | UnsetType
    ) = UNSET
    dew_point_temperature: (
        Annotated[
            Temperature,
            about(
                "Of the dampest air; 24 degC, but at least 3 K below the hottest air and no warmer than the mean of hottest "
                "and coldest.",
                low=-40,
                high=40,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    tap_pressure: (
        Annotated[GaugePressure, about("Pressure of that tap, shut.", low=0, high=2000, unit="kPa")] | UnsetType
    ) = UNSET
    indoors: Annotated[bool, about("Whether machines and loop stand in a building without frost.")] | UnsetType = UNSET
    room: Annotated[Room, about("The room that machines indoors stand in.")] | UnsetType = UNSET
    sound_limits: Annotated[tuple[SoundLimit, ...], about("Places where sound is limited.", max_length=20)] = ()
    ground: Annotated[Ground, about("Ground.")] | UnsetType = UNSET
    area: Annotated[SiteArea, about("Free area for the machines.")] | UnsetType = UNSET


class Supply(Given, frozen=True, kw_only=True):
    """Electric supply."""

    source: Annotated[Literal["site", "generator", "unknown"], about("Who feeds the machines.")]
    voltage: Annotated[Voltage, about("Nominal voltage between lines.", low=180, high=690, unit="V")] | UnsetType = (
        UNSET
    )
    frequency: Annotated[Frequency, about("50 or 60 Hz.", low=50, high=60, unit="Hz")] | UnsetType = UNSET
    breaker_rating: (
        Annotated[Current, about("Breaker that the site offers.", above=0, high=6000, unit="A")] | UnsetType
    ) = UNSET
    available_current: (
        Annotated[Current, about("Current that the site can give.", above=0, high=10000, unit="A")] | UnsetType
    ) = UNSET
    fault_current: (
        Annotated[Current, about("Fault current at the site's breaker.", low=0.01, high=200, unit="kA")] | UnsetType
    ) = UNSET
    residual_current: ResidualCurrent = UNSET
    restart_time: (
        Annotated[
            Duration,
            about(
                "From a loss of the supply until it is back; a generating set 15 min, a site 5 min.",
                low=0,
                high=48,
                unit="h",
                basis="common_practice",
            ),
        ]
        | UnsetType
    ) = UNSET
    starting_dip_limit_fraction: (
        Annotated[float, about("Voltage dip that a start may make; 0.20.", low=0.01, high=0.5)] | UnsetType
    ) = UNSET
    grid_emission_factor: (
        Annotated[float, about("Carbon dioxide of the site's supply, kg/kWh.", low=0, high=3)] | UnsetType
    ) = UNSET


class OrderFluid(Given, frozen=True, kw_only=True):
    """Liquid that the order asks for."""

    kind: Annotated[Literal["water", "ethylene_glycol", "propylene_glycol"], about("Water or a glycol.")]
    mass_fraction: (
        Annotated[float, about("Glycol by mass; absent: what the cold asks for.", low=0.05, high=0.6)] | UnsetType
    ) = UNSET
    freeze_margin: (
        Annotated[
            TemperatureDifference,
            about(
                "How far below the leaving liquid the mixture freezes; 15 delta_degF, as the start on site asks.",
                low=5,
                high=30,
                unit="delta_degF",
            ),
        ]
        | UnsetType
    ) = UNSET


class Routes(Given, frozen=True, kw_only=True):
    """Ways of hose and cable."""

    hose_length: Annotated[Length, about("Hose, one way.", low=1, high=1000, unit="m")]
    highest_point: (
        Annotated[Length, about("Highest point above the machine; 5 m.", low=-50, high=100, unit="m")] | UnsetType
    ) = UNSET
    cable_length: Annotated[Length, about("Cable, one way.", low=1, high=600, unit="m")]
    crossings: Annotated[int, about("Places where traffic crosses hose and cable.", low=0, high=50)] = 0
    hose_fittings: (
        Annotated[float, about("Sum of the loss coefficients of bends and couplings, both ways; 6.", low=0, high=200)]
        | UnsetType
    ) = UNSET


class LoadSide(Given, frozen=True, kw_only=True):
    """What the machines cool, seen from the hose."""

    rated_flow: Annotated[VolumeFlow, about("Flow of its rating.", low=0.01, high=2000, unit="L/s")] | UnsetType = UNSET
    rated_pressure_drop: (
        Annotated[PressureDifference, about("Its drop at that flow; 50 kPa.", low=0.1, high=1000, unit="kPa")]
        | UnsetType
    ) = UNSET
    volume: Annotated[Volume, about("Liquid in it.", low=0, high=1e6, unit="L")] | UnsetType = UNSET
    connection: Annotated[LiquidConnection, about("Its connection.")] | UnsetType = UNSET
    pump: Annotated[Literal["machine", "site"], about("Whose pump moves the liquid.")] | UnsetType = UNSET
    flush: Annotated[
        bool, about("Whether the hoses are flushed round it, to a drain that the site names, before they are filled.")
    ] = False
    fast_valve_closing_time: (
        Annotated[
            Duration,
            about("Closing time of a fast valve on the load side, where there is one.", low=0, high=60, unit="s"),
        ]
        | UnsetType
    ) = UNSET


Instant = Annotated[datetime.datetime, Meta(tz=True)]
OwnName = Annotated[str, Meta(pattern=exactly("[A-Za-z0-9][A-Za-z0-9_.-]{0,99}"))]
OwnText = Annotated[str, Meta(max_length=500, pattern=TEXT_PATTERN)]


class Order(Given, frozen=True, kw_only=True):
    """A booking order."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = (("fleet", "fleet_id"),)

    reference: Annotated[str, about("Order number of the caller.", min_length=1, max_length=100)]
    period: Annotated[Period, about("Days of the hire.")]
    practice: PracticeField
    duty: Annotated[Duty, about("Cooling that is wanted.")]
    site: Annotated[Site, about("Where.")]
    supply: Annotated[Supply, about("Electric supply.")]
    fluid: Annotated[OrderFluid, about("Liquid; absent: decided here.")] | UnsetType = UNSET
    routes: Annotated[Routes, about("Ways of hose and cable.")]
    load_side: Annotated[LoadSide, about("What is cooled.")] = LoadSide()
    access: Annotated[Access, about("How the machines get to their place.")] = Access()
    redundancy: (
        Annotated[
            Literal["none", "spare_machine", "spare_circuit"],
            about("Spare: the load is met with the largest machine or circuit out."),
        ]
        | UnsetType
    ) = UNSET
    critical: Annotated[bool, about("Whether losing the cooling does harm.")] = False
    officer_on_duty: (
        Annotated[
            Text,
            about(
                "Name and telephone of the supervisor who can be reached day and night; every start of the machines names "
                "them.",
                min_length=1,
            ),
        ]
        | UnsetType
    ) = UNSET
    machine_types: Annotated[
        tuple[Annotated[str, about("A type of the fleet.", max_length=100)], ...],
        about("Only these types; none: any.", max_length=40),
    ] = ()
    ruled_out: Annotated[
        tuple[RuledOut, ...],
        about(
            "Combinations of machines that are not to be taken, each with its reason. A part of another plugin that stops "
            "a plan has the next combination tried by it.",
            max_length=20,
        ),
    ] = ()
    fleet: Annotated[Fleet, about("The fleet to choose from.")] | UnsetType = UNSET
    fleet_id: (
        Annotated[str, about("Id of a stored fleet, where the service looks it up.", min_length=1, max_length=100)]
        | UnsetType
    ) = UNSET
    preferences: Annotated[
        Literal["fewest_machines", "lowest_cost", "lowest_power", "smallest_footprint"],
        about("What decides between combinations that suit."),
    ] = "fewest_machines"
    rates: (
        Annotated[
            Rates, about("Prices of this order; those of the fleet where one is left out. In the fleet's currency.")
        ]
        | UnsetType
    ) = UNSET
    customer: Annotated[
        str,
        about(
            "Who hires, in your own words; kept with the booking, not assessed.", max_length=200, pattern=TEXT_PATTERN
        ),
    ] = ""
    metadata: Annotated[
        dict[OwnName, OwnText],
        about(
            "Your own fields, up to 50 texts; kept with the booking and searched by lists, not assessed.", max_length=50
        ),
    ] = msgspec.field(default_factory=dict)
    state: (
        Annotated[
            Literal["quote", "held"],
            about(
                "Of the booking, not assessed: `quote` holds no stock, `held` does. Not given: `held`, and in an edit as it "
                "was. What is confirmed or on hire stays so."
            ),
        ]
        | UnsetType
    ) = UNSET
    held_until: (
        Annotated[
            Instant,
            about(
                "Of the booking, not assessed: when the hold lapses. Not given: never, and in an edit when it would have. "
                "What is confirmed or on hire is held for good: there it changes nothing, and no reply names it."
            ),
        ]
        | UnsetType
    ) = UNSET
