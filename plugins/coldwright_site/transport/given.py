"""What `site.transport` is asked."""

from typing import Annotated, Literal

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Angle, Force, Length, Mass, Volume

Unload = Literal["crane", "fork_truck", "roll_off", "hand"]
UNLOAD_ORDER: tuple[Unload, ...] = ("crane", "fork_truck", "roll_off", "hand")


class CargoItem(Given, frozen=True, kw_only=True):
    """Something to be carried; sizes and mass are those of one piece."""

    id: Annotated[Text, about("Name of the item.")]
    length: Annotated[Length, about("Along the deck.", low=0.01, high=60, unit="m")]
    width: Annotated[Length, about("Across the deck.", low=0.01, high=20, unit="m")]
    height: Annotated[Length, about("Above the deck.", low=0.01, high=20, unit="m")]
    mass: Annotated[Mass, about("Of one piece.", low=0.01, high=500000, unit="kg")]
    quantity: Annotated[int, about("Pieces.", low=1, high=500)] = 1
    stackable: Annotated[bool, about("May carry, or stand on, another stackable piece.")] = False
    blocked_forward: Annotated[bool, about("Kept from moving forward by the front wall, blocks or other cargo.")] = (
        False
    )
    unload: Annotated[Unload, about("How it comes off.")]


class VehicleType(Given, frozen=True, kw_only=True):
    """A kind of truck (lorry) or trailer."""

    id: Annotated[Text, about("Name of the kind.")]
    deck_length: Annotated[Length, about("Of the deck.", low=0.1, high=60, unit="m")]
    deck_width: Annotated[Length, about("Of the deck.", low=0.1, high=10, unit="m")]
    deck_height: Annotated[Length, about("Of the deck above the road.", low=0, high=3, unit="m")]
    payload: Annotated[Mass, about("Most that it carries.", low=1, high=500000, unit="kg")]
    tare: Annotated[Mass, about("Empty.", low=1, high=200000, unit="kg")] | UnsetType = UNSET
    tare_centre: (
        Annotated[Length, about("From the kingpin to the centre of the empty trailer.", low=-5, high=40, unit="m")]
        | UnsetType
    ) = UNSET
    kingpin_to_axles: (
        Annotated[Length, about("From the kingpin to the middle of the rear axles.", low=0.5, high=40, unit="m")]
        | UnsetType
    ) = UNSET
    count: Annotated[int, about("How many there are; without it, as many as needed.", low=0, high=1000)] | UnsetType = (
        UNSET
    )


class AxleGroup(Given, frozen=True, kw_only=True):
    """Consecutive axles of a vehicle."""

    span: Annotated[Length, about("Between the outer axles; 0 for one axle.", low=0, high=60, unit="m")]
    axles: Annotated[int, about("Axles in the group.", low=1, high=20)]
    mass: Annotated[Mass, about("That the group carries.", low=0, high=500000, unit="kg")]


class CargoPlacement(Given, frozen=True, kw_only=True):
    """Where one piece stands on a kind of vehicle."""

    item: Annotated[Text, about("Item.")]
    vehicle: Annotated[Text, about("Kind of vehicle.")]
    x: Annotated[Length, about("From the kingpin to the middle of the piece.", low=-5, high=60, unit="m")]


class PickLine(Given, frozen=True, kw_only=True):
    """Something that one part of the plan needs."""

    item: Annotated[Text, about("What.")]
    quantity: Annotated[float, about("How much.", low=0, high=1e6)]
    unit: Annotated[Text, about("`each`, `m`, `ft` or another word.")]
    size: Annotated[Text, about("Size, as the yard writes it.")] = ""
    end_type: Annotated[Text, about("Kind of coupling or plug.")] = ""
    purpose: Annotated[str, about("What for.", max_length=200)] = msgspec.field(name="for", default="")


class StockedLength(Given, frozen=True, kw_only=True):
    """A length in which hose or cable is stocked."""

    item: Annotated[Text, about("What.")]
    size: Annotated[Text, about("Size; empty for all.")] = ""
    length: Annotated[Length, about("Of one piece.", low=0.1, high=1000, unit="m")]


class SpareRules(Given, frozen=True, kw_only=True):
    """Counts from which spares and small things are worked out."""

    stocked_lengths: Annotated[tuple[StockedLength, ...], about("Lengths in stock.", max_length=100)] = ()
    joints: Annotated[int, about("Hose joints: a gasket each, and one spare for every five.", low=0, high=10000)] = 0
    hoses: Annotated[int, about("Hoses: two blanking caps each.", low=0, high=10000)] = 0
    crossings: Annotated[int, about("Crossings of ways: a set of ramps each.", low=0, high=1000)] = 0
    engines: Annotated[int, about("Engines: a spill kit each.", low=0, high=1000)] = 0
    liquid_volume: (
        Annotated[Volume, about("Antifreeze or fuel carried: a spill kit above 55 gal.", low=0, high=1e6, unit="L")]
        | UnsetType
    ) = UNSET
    outriggers: Annotated[int, about("Outriggers that stand on mats.", low=0, high=100)] = 0
    mats_per_outrigger: Annotated[int, about("As `site.ground` asks for.", low=1, high=50, basis="common_practice")] = 1
    workers: Annotated[int, about("Workers: a lock and a tag each.", low=0, high=1000)] = 0


class LashingGiven(Given, frozen=True, kw_only=True):
    """Straps over the top of a piece, under European rules."""

    tension: Annotated[
        Force, about("Standard tension force of one strap.", low=0.5, high=50, unit="kN", basis="common_practice")
    ] = Force(4.0, "kN")
    angle: Annotated[
        Angle, about("From the deck to the strap.", low=30, high=90, unit="deg", basis="common_practice")
    ] = Angle(75.0, "deg")
    friction: Annotated[
        float,
        about(
            "Between piece and deck; 0.6 on anti-slip mats, at most 0.2 on a dirty deck.",
            low=0.05,
            high=0.7,
            basis="standard",
        ),
    ] = 0.45


class TransportGiven(Given, frozen=True, kw_only=True):
    """What is carried, on what, and what else the yard must pick."""

    items: Annotated[tuple[CargoItem, ...], about("What is carried.", max_length=200)] = ()
    vehicles: Annotated[tuple[VehicleType, ...], about("Kinds of vehicles.", max_length=12)] = ()
    axle_groups: Annotated[tuple[AxleGroup, ...], about("Groups to check by the bridge formula.", max_length=100)] = ()
    rules: Annotated[Literal["us", "europe"], about("Whose limits on the road, and whose rules of securing loads.")] = (
        "us"
    )
    lashing: Annotated[LashingGiven, about("Straps, under European rules.")] = LashingGiven()
    placements: Annotated[tuple[CargoPlacement, ...], about("Pieces with a fixed place.", max_length=200)] = ()
    pick_lines: Annotated[tuple[PickLine, ...], about("What every part of the plan needs.", max_length=1000)] = ()
    spare_rules: Annotated[SpareRules, about("Spares and small things.")] | UnsetType = UNSET
    site_unloading: (
        Annotated[tuple[Unload, ...], about("What the site can unload with; absent: not tested.", max_length=4)]
        | UnsetType
    ) = UNSET
