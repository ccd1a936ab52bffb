"""What `site.lift` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Angle, Area, Length, Mass, Speed, Voltage
from coldwright_site.shared.given import NO_OFFSET, Offset, Position

NO_MASS = Mass(0.0, "kg")
NO_LENGTH = Length(0.0, "m")


class PickPoint(Given, frozen=True, kw_only=True):
    """A lug or sling point on the load, in the same frame as the centre of gravity."""

    id: Annotated[Text, about("Name of the pick.")]
    x: Annotated[Length, about("Along x.", low=-100, high=100, unit="m")]
    y: Annotated[Length, about("Along y.", low=-100, high=100, unit="m")]
    z: Annotated[Length, about("Height.", low=-100, high=100, unit="m")]
    leg_length: (
        Annotated[
            Length,
            about("Length of the leg, compared with the positions.", low=0.01, high=200, unit="m"),
        ]
        | UnsetType
    ) = UNSET

    @property
    def xyz(self) -> tuple[float, float, float]:
        """The coordinates in m."""
        return self.x.si, self.y.si, self.z.si


class SpreaderGiven(Given, frozen=True, kw_only=True):
    """A spreader with one drop at each end and a bridle of two legs above."""

    span: Annotated[Length, about("Between the drops.", low=0.1, high=40, unit="m")]
    mass: Annotated[Mass, about("The spreader itself, with its top rigging.", low=0, high=50000, unit="kg")] = NO_MASS
    hook_offset: Annotated[
        Length, about("Hook from the middle of the span, towards end b.", low=-20, high=20, unit="m", basis="derived")
    ] = NO_LENGTH
    bridle_height: Annotated[Length, about("Hook above the spreader.", low=0.01, high=40, unit="m")]


class PowerLineGiven(Given, frozen=True, kw_only=True):
    """An energised line near the lift."""

    voltage: Annotated[
        Voltage,
        about(
            "Voltage of the line.",
            above=0,
            high=1e6,
            unit="V",
            why="Above 1,000 kV only the owner of the line can say the distance",
        ),
    ]
    distance: Annotated[Length, about("Nearest that boom, rope or load can come.", low=0, high=1000, unit="m")]


class LiftGiven(Given, frozen=True, kw_only=True):
    """What is lifted, by what, and how it is slung. The fields of the other method are taken and not used."""

    method: Annotated[Literal["crane", "fork_truck"], about("What lifts.")]
    load_mass: Annotated[
        Mass,
        about(
            "All that leaves the ground: the machine with whatever it holds or bears, be it water, fuel, snow or fittings.",
            low=1,
            high=500000,
            unit="kg",
        ),
    ]
    load_mass_basis: Annotated[
        Literal["weighed", "data_plate", "estimated"],
        about("How the mass is known: nothing, 5 % or 10 % is added."),
    ]
    # --- crane
    rigging_mass: Annotated[Mass, about("Slings, shackles, beams.", low=0, high=100000, unit="kg")] = NO_MASS
    hook_block_mass: Annotated[Mass, about("Hook block and ball.", low=0, high=50000, unit="kg")] = NO_MASS
    dynamic_factor: Annotated[
        float, about("For starts, stops and snatches.", low=1, high=2, basis="common_practice")
    ] = 1.0
    pick_points: Annotated[tuple[PickPoint, ...], about("One to four picks.", max_length=4)] = ()
    centre_of_gravity: Annotated[Position, about("Centre of gravity of the load.")] | UnsetType = UNSET
    hook_z: (
        Annotated[Length, about("Height of the hook, in the frame of the picks.", low=-100, high=200, unit="m")]
        | UnsetType
    ) = UNSET
    hook_offset: Annotated[
        Offset, about("Where the hook stands off the plumb line of the centre of gravity, before the load swings.")
    ] = NO_OFFSET
    leg_rated_load: (
        Annotated[Mass, about("Rating of one leg, vertical.", low=1, high=500000, unit="kg")] | UnsetType
    ) = UNSET
    hitch_factor: Annotated[
        float,
        about("1 vertical, 2 basket, a choker as on its tag.", low=0.1, high=2, basis="common_practice"),
    ] = 1.0
    shackle_rated_load: (
        Annotated[Mass, about("Rating of one shackle, in line.", low=1, high=500000, unit="kg")] | UnsetType
    ) = UNSET
    shackle_side_angle: Annotated[
        Angle,
        about(
            "Pull of the shackle off its line.",
            low=0,
            high=90,
            unit="deg",
            why="Beyond 90 deg a shackle is pulled backwards",
        ),
    ] = Angle(0.0, "deg")
    spreader: Annotated[SpreaderGiven, about("A spreader, if there is one.")] | UnsetType = UNSET
    crane_chart_capacity: (
        Annotated[Mass, about("The crane's chart at the largest radius of this lift.", low=1, high=3e6, unit="kg")]
        | UnsetType
    ) = UNSET
    chart_wind_speed: (
        Annotated[Speed, about("Wind speed that the chart is for.", low=0.5, high=40, unit="m/s")] | UnsetType
    ) = UNSET
    expected_gust: (
        Annotated[Speed, about("Strongest gust expected, 10 m above ground.", low=0, high=150, unit="m/s")] | UnsetType
    ) = UNSET
    expected_wind: (
        Annotated[
            Speed,
            about(
                "Strongest mean wind expected there; a gust is taken as 1.4 times it, unless a stronger one is given.",
                low=0,
                high=120,
                unit="m/s",
            ),
        ]
        | UnsetType
    ) = UNSET
    load_face_area: (
        Annotated[Area, about("Largest face of the load to the wind.", low=0.0001, high=1000, unit="m2")] | UnsetType
    ) = UNSET
    drag_coefficient: Annotated[
        float, about("Of the load in the wind; 1.3 for a box.", low=1.2, high=2, basis="handbook")
    ] = 1.3
    power_line: Annotated[PowerLineGiven, about("The nearest power line, if there is one.")] | UnsetType = UNSET
    # --- fork truck
    rated_capacity: Annotated[Mass, about("Truck's plate: capacity.", low=1, high=100000, unit="kg")] | UnsetType = (
        UNSET
    )
    rated_load_centre: (
        Annotated[Length, about("Truck's plate: load centre.", low=0.01, high=5, unit="m")] | UnsetType
    ) = UNSET
    rated_lift_height: (
        Annotated[Length, about("Truck's plate: height that the capacity is for.", low=0.01, high=20, unit="m")]
        | UnsetType
    ) = UNSET
    load_centre: (
        Annotated[Length, about("From the fork face to the centre of gravity.", low=0.01, high=10, unit="m")]
        | UnsetType
    ) = UNSET
    lift_height: Annotated[Length, about("Height of this lift.", low=0, high=20, unit="m")] | UnsetType = UNSET
    front_axle_to_fork_face: (
        Annotated[Length, about("From the front axle to the fork face.", low=0.01, high=3, unit="m")] | UnsetType
    ) = UNSET
    attachment_mass: Annotated[Mass, about("Attachment on the forks.", low=0, high=20000, unit="kg")] = NO_MASS
    attachment_centre: Annotated[
        Length, about("From the fork face to the attachment's centre.", low=0, high=5, unit="m")
    ] = NO_LENGTH
    attachment_lost_load: Annotated[
        Length, about("How much farther out the attachment holds the load.", low=0, high=5, unit="m")
    ] = NO_LENGTH
    attachment_plate_capacity: (
        Annotated[Mass, about("Truck's plate: capacity with the attachment.", low=1, high=100000, unit="kg")]
        | UnsetType
    ) = UNSET
    truck_mass: Annotated[Mass, about("Truck without load.", low=1, high=200000, unit="kg")] | UnsetType = UNSET
    truck_cg_behind_front_axle: (
        Annotated[Length, about("Truck's centre of gravity behind its front axle.", low=0.01, high=10, unit="m")]
        | UnsetType
    ) = UNSET
    truck_cg_height: (
        Annotated[Length, about("Truck's centre of gravity above ground.", low=0.01, high=5, unit="m")] | UnsetType
    ) = UNSET
    load_cg_height: (
        Annotated[Length, about("Load's centre of gravity above ground.", low=0, high=20, unit="m")] | UnsetType
    ) = UNSET
    grade: Annotated[float, about("Slope of the way, nose down positive, as a fraction.", low=-0.3, high=0.3)] = 0.0
    deceleration: Annotated[float, about("Braking, as a fraction of g.", low=0, high=1)] = 0.0
    fork_length: Annotated[Length, about("Length of the forks.", low=0.01, high=10, unit="m")] | UnsetType = UNSET
    load_depth: (
        Annotated[Length, about("Depth of the load along the forks.", low=0.01, high=20, unit="m")] | UnsetType
    ) = UNSET
    forks_apart: Annotated[Length, about("Between the forks.", low=0.01, high=5, unit="m")] | UnsetType = UNSET


CRANE_FIELDS = (
    "rigging_mass", "hook_block_mass", "dynamic_factor", "pick_points", "centre_of_gravity", "hook_z", "hook_offset",
    "leg_rated_load", "hitch_factor", "shackle_rated_load", "shackle_side_angle", "spreader", "crane_chart_capacity",
    "chart_wind_speed", "expected_gust", "expected_wind", "load_face_area", "drag_coefficient", "power_line",
)  # fmt: skip
TRUCK_FIELDS = (
    "rated_capacity", "rated_load_centre", "rated_lift_height", "load_centre", "lift_height",
    "front_axle_to_fork_face", "attachment_mass", "attachment_centre", "attachment_lost_load",
    "attachment_plate_capacity", "truck_mass", "truck_cg_behind_front_axle", "truck_cg_height", "load_cg_height",
    "grade", "deceleration", "fork_length", "load_depth", "forks_apart",
)  # fmt: skip
