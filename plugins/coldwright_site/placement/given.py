"""What `site.placement` is asked."""

from typing import Annotated, ClassVar, Literal

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Angle, Area, Density, Length, Power, Temperature, Voltage, VolumeFlow
from coldwright_site.shared.given import Point

Face = Literal["front", "rear", "left", "right"]
FACES: tuple[Face, ...] = ("front", "rear", "left", "right")
ObstacleKind = Literal[
    "wall",
    "combustible_wall",
    "opening",
    "air_intake",
    "engine",
    "hydrant",
    "fire_lane",
    "edge",
    "power_line",
    "cable",
    "walkway",
    "tank",
]


class PlacedMachine(Given, frozen=True, kw_only=True):
    """A machine: `front` is its +x end, `rear` -x, `left` +y, `right` -y, before it is turned."""

    id: Annotated[Text, about("Name of the machine.")]
    length: Annotated[Length, about("Along x.", low=0.1, high=40, unit="m")]
    width: Annotated[Length, about("Along y.", low=0.1, high=20, unit="m")]
    height: Annotated[Length, about("To its discharge.", low=0.1, high=20, unit="m")]
    intake_faces: Annotated[tuple[Face, ...], about("Faces that draw air.", max_length=4)] = ()
    service_faces: Annotated[tuple[Face, ...], about("Faces that people work at; panels are here.", max_length=4)] = ()
    air_flow: Annotated[VolumeFlow, about("Through its coils.", low=0, high=1000, unit="m3/s")] | UnsetType = UNSET
    heat_rejected: Annotated[Power, about("To the air.", low=0, high=50000, unit="kW")] | UnsetType = UNSET
    voltage_to_ground: (
        Annotated[Voltage, about("Of live parts behind the service faces.", low=0, high=600, unit="V")] | UnsetType
    ) = UNSET
    working_space_condition: Annotated[
        Literal[1, 2, 3],
        about("Opposite the live parts: 1 nothing grounded, 2 a grounded wall, 3 live parts.", basis="standard"),
    ] = 2
    discharge: Annotated[Literal["up", "side"], about("Where the hot air leaves.")] = "up"
    ambient_limit: (
        Annotated[Temperature, about("Warmest air that the machine takes.", low=-20, high=80, unit="degC")] | UnsetType
    ) = UNSET
    engine: Annotated[
        bool, about("Driven by an engine, as a generating set is: the rules of engines hold, not those of refrigerant.")
    ] = False


class MachinePosition(Given, frozen=True, kw_only=True):
    """Where a machine stands."""

    id: Annotated[Text, about("Name of the machine.")]
    x: Annotated[Length, about("Of its middle.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Of its middle.", low=-5000, high=5000, unit="m")]
    rotation: Annotated[Angle, about("Counter-clockwise.", low=-360, high=360, unit="deg")] = Angle(0.0, "deg")


class ObstacleGiven(Given, frozen=True, kw_only=True):
    """Something on the site: one corner is a point, two a line, three or more an area."""

    id: Annotated[Text, about("Name of the obstacle.")]
    polygon: Annotated[tuple[Point, ...], about("Corners in order.", min_length=1, max_length=100)]
    height: (
        Annotated[Length, about("Of its top; of an edge or trench, its depth.", low=0, high=300, unit="m")] | UnsetType
    ) = UNSET
    underside: (
        Annotated[Length, about("Of a roof or bridge: free height below.", low=0, high=300, unit="m")] | UnsetType
    ) = UNSET
    voltage: (
        Annotated[Voltage, about("Of a power line; without it, up to 50 kV.", low=0, high=1e6, unit="V")] | UnsetType
    ) = UNSET
    kind: Annotated[ObstacleKind, about("What it is; `edge` is a drop, trench or excavation.")]


class MakerClearances(Given, frozen=True, kw_only=True):
    """Distances that the machine's maker asks for; they take the place of the usual ones."""

    intake_to_wall: Annotated[Length, about("Intake to a solid thing.", low=0, high=50, unit="m")] | UnsetType = UNSET
    intake_to_intake: Annotated[Length, about("Intake to intake.", low=0, high=50, unit="m")] | UnsetType = UNSET
    intake_to_machine: (
        Annotated[Length, about("Intake to another machine's blank side.", low=0, high=50, unit="m")] | UnsetType
    ) = UNSET
    service_access: Annotated[Length, about("Before a service face.", low=0, high=50, unit="m")] | UnsetType = UNSET
    discharge_to_intake: (
        Annotated[Length, about("Hot air to a building's intake.", low=0, high=50, unit="m")] | UnsetType
    ) = UNSET


class PitGiven(Given, frozen=True, kw_only=True):
    """A pit or well that the machines stand in and draw air down through."""

    area: Annotated[Area, about("In plan.", low=0.1, high=100000, unit="m2")]
    depth: Annotated[Length, about("Of the pit.", low=0, high=100, unit="m")]


class FreeArea(Given, frozen=True, kw_only=True):
    """Ground that is free for the machines: its corners, or the sizes of a rectangle whose corner is at 0."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = (("polygon", "length"),)

    polygon: Annotated[tuple[Point, ...], about("Corners in order, three or more.", max_length=100)] = ()
    length: Annotated[Length, about("Of a rectangle, along x.", low=0.5, high=2000, unit="m")] | UnsetType = UNSET
    width: Annotated[Length, about("Of a rectangle, along y.", low=0.5, high=2000, unit="m")] | UnsetType = UNSET
    edges: Annotated[
        Literal["walls", "open"],
        about("What lies beyond: something as high as a wall, on the safe side, or nothing that takes air or room."),
    ] = "walls"


class RouteGiven(Given, frozen=True, kw_only=True):
    """Ends of a route."""

    start: Annotated[Point, about("Where it begins.")] = msgspec.field(name="from")
    end: Annotated[Point, about("Where it ends.")] = msgspec.field(name="to")


class PlacementGiven(Given, frozen=True, kw_only=True):
    """Machines, what is round them, the air they draw, and the routes of hoses and cables."""

    machines: Annotated[tuple[PlacedMachine, ...], about("Machines.", max_length=30)] = ()
    positions: Annotated[tuple[MachinePosition, ...], about("Where they stand.", max_length=30)] | UnsetType = UNSET
    obstacles: Annotated[tuple[ObstacleGiven, ...], about("What is round them.", max_length=100)] = ()
    area: Annotated[FreeArea, about("Ground that is free for them.")] | UnsetType = UNSET
    arrange: Annotated[
        bool,
        about("Whether to look for their positions: in `area`, or, where none is given, on the least rectangle."),
    ] = False
    work_out_missing: Annotated[
        bool, about("Whether to work out how many metres an area lacks that is too small: that takes the longest.")
    ] = True
    load_point: (
        Annotated[Point, about("Where the hoses end, instead of `hose_route`: they begin at the nearest machine.")]
        | UnsetType
    ) = UNSET
    supply_point: (
        Annotated[Point, about("Where the cables begin, instead of `cable_route`: they end at the farthest machine.")]
        | UnsetType
    ) = UNSET
    clearances: Annotated[MakerClearances, about("The maker's own distances.")] | UnsetType = UNSET
    pit: Annotated[PitGiven, about("A pit that they stand in.")] | UnsetType = UNSET
    discharge_area: Annotated[
        Area, about("Of all discharges together.", low=0, high=100000, unit="m2", basis="derived")
    ] = Area(0.0, "m2")
    air_density: Annotated[Density, about("Of the air.", low=0.5, high=2, unit="kg/m3", basis="common_practice")] = (
        Density(1.15, "kg/m3")
    )
    air_specific_heat: Annotated[float, about("Of the air [J/(kg K)].", low=900, high=1200, basis="handbook")] = 1006.0
    recirculation_fraction: Annotated[float, about("Share of hot air that is drawn again.", low=0, below=1)] = 0.0
    ambient: Annotated[Temperature, about("Air of the day.", low=-60, high=60, unit="degC")] | UnsetType = UNSET
    snow_depth: Annotated[Length, about("Of snow expected.", low=0, high=20, unit="m")] = Length(0.0, "m")
    flood_level: Annotated[Length, about("Of water expected, above grade.", low=0, high=20, unit="m")] = Length(
        0.0, "m"
    )
    hose_run: Annotated[Length, about("Hose at hand.", low=0, high=10000, unit="m")] | UnsetType = UNSET
    cable_run: Annotated[Length, about("Cable at hand.", low=0, high=10000, unit="m")] | UnsetType = UNSET
    hose_route: Annotated[RouteGiven, about("Ends of the hoses.")] | UnsetType = UNSET
    cable_route: Annotated[RouteGiven, about("Ends of the cables.")] | UnsetType = UNSET
    drawing: Annotated[bool, about("Whether the answer carries a plan drawing.")] = False
