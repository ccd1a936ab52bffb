"""Lift of a machine by crane or by fork truck."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Example,
    Given,
    Load,
    Notes,
    Refused,
    Results,
    Text,
    about,
    calculator,
    field_error,
    finding,
    tidy,
)
from coldwright.contract.quantities import Angle, Area, Force, Length, Mass, Speed, Voltage
from coldwright_site import cautions, tabulated
from coldwright_site import lift_crane as crane
from coldwright_site import lift_fork_truck as truck
from coldwright_site.lift_bridle import Bridle
from coldwright_site.references import (
    ASME_B30_9,
    EN_13000,
    NAVY_RIGGING,
    OSHA_1910_178_APP_A,
    OSHA_1926_1424,
    OSHA_TRUCK_ETOOL,
    PRACTICE,
    SLING_TWO_LEGS,
    STATICS,
)
from coldwright_site.shapes import (
    NO_OFFSET,
    STANDARD_GRAVITY,
    Offset,
    Position,
    missing_fields,
    note_ignored,
    refuse_repeated_ids,
    require,
)

G = STANDARD_GRAVITY
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
            about("Length of the leg, held against the positions.", low=0.01, high=200, unit="m"),
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
            why="above 1,000 kV only the owner of the line can say the distance",
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
            why="beyond 90 deg a shackle is pulled backwards",
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


class HookLoad(Results, frozen=True, kw_only=True):
    """All that hangs on the hook."""

    mass: Annotated[Mass, about("Mass of the load, its allowances, rigging, block and spreader.")]
    force: Annotated[Force, about("Its weight.")]


class SlingLeg(Results, frozen=True, kw_only=True):
    """One leg of the sling."""

    id: Annotated[str, about("Name of the pick.")]
    length: Annotated[Length, about("From pick to hook.")]
    angle_from_horizontal: Annotated[Angle, about("Of the leg.")]
    tension_minimum: Annotated[Force, about("Least pull that equilibrium allows.")] | UnsetType = UNSET
    tension_maximum: Annotated[Force, about("Greatest pull that equilibrium allows.")] | UnsetType = UNSET
    tension_elastic: (
        Annotated[Force, about("Pull when all legs stretch alike and are cut exactly: for information only.")]
        | UnsetType
    ) = UNSET
    utilisation: Annotated[float, about("Greatest pull over the leg's rating with its hitch.")] | UnsetType = UNSET


class SpreaderForces(Results, frozen=True, kw_only=True):
    """Forces in the spreader from the load."""

    drop_a: Annotated[Force, about("In the drop at end a.")]
    drop_b: Annotated[Force, about("In the drop at end b.")]
    top_leg_a: Annotated[Force, about("In the top leg at end a.")]
    top_leg_b: Annotated[Force, about("In the top leg at end b.")]
    compression: Annotated[Force, about("Along the spreader.")]


class LiftResults(Results, frozen=True, kw_only=True):
    """What the lift asks of hook, legs, gear and truck."""

    hook_load: Annotated[HookLoad, about("What hangs on the hook.")] | UnsetType = UNSET
    legs: Annotated[tuple[SlingLeg, ...], about("In the order of the picks.")] = ()
    governing_tension: Annotated[Force, about("Greatest pull of any leg.")] | UnsetType = UNSET
    required_leg_rated_load: Annotated[Mass, about("Vertical rating that each leg needs.")] | UnsetType = UNSET
    shackle_utilisation: (
        Annotated[float, about("Greatest pull over the shackle's rating at its side angle.")] | UnsetType
    ) = UNSET
    spreader: Annotated[SpreaderForces, about("Forces in the spreader.")] | UnsetType = UNSET
    tilt_angle: Annotated[Angle, about("Angle at which the load hangs.")] | UnsetType = UNSET
    capacity_fraction: Annotated[float, about("Hook load over the crane's chart.")] | UnsetType = UNSET
    wind_speed_limit: Annotated[Speed, about("Wind in which this load may be lifted.")] | UnsetType = UNSET
    capacity_at_load_centre: Annotated[Mass, about("Truck's capacity by its load centre alone.")] | UnsetType = UNSET
    capacity_with_axle: Annotated[Mass, about("Truck's capacity by moments about its front axle.")] | UnsetType = UNSET
    utilisation: Annotated[float, about("Load over the truck's governing capacity.")] | UnsetType = UNSET
    stability_ratio: (
        Annotated[float, about("Moment that holds the truck over the moment that tips it.")] | UnsetType
    ) = UNSET
    fork_cover: Annotated[float, about("Share of the load's depth on the forks.")] | UnsetType = UNSET


CRANE_FIELDS = (
    "rigging_mass", "hook_block_mass", "dynamic_factor", "pick_points", "centre_of_gravity", "hook_z", "hook_offset",
    "leg_rated_load", "hitch_factor", "shackle_rated_load", "shackle_side_angle", "spreader", "crane_chart_capacity",
    "chart_wind_speed", "load_face_area", "drag_coefficient", "power_line",
)  # fmt: skip
TRUCK_FIELDS = (
    "rated_capacity", "rated_load_centre", "rated_lift_height", "load_centre", "lift_height",
    "front_axle_to_fork_face", "attachment_mass", "attachment_centre", "attachment_lost_load",
    "attachment_plate_capacity", "truck_mass", "truck_cg_behind_front_axle", "truck_cg_height", "load_cg_height",
    "grade", "deceleration", "fork_length", "load_depth", "forks_apart",
)  # fmt: skip

FOUR_LEGS = Example(
    "four_legs",
    "Four legs, the centre of gravity a little off the middle. Invented.",
    {
        "method": "crane",
        "load_mass": {"value": 5200, "unit": "kg"},
        "load_mass_basis": "data_plate",
        "rigging_mass": {"value": 180, "unit": "kg"},
        "hook_block_mass": {"value": 250, "unit": "kg"},
        "pick_points": [
            {
                "id": f"{i}",
                "x": {"value": x, "unit": "m"},
                "y": {"value": y, "unit": "m"},
                "z": {"value": 2.4, "unit": "m"},
            }
            for i, x, y in (("a", -2.1, -1.0), ("b", 2.1, -1.0), ("c", 2.1, 1.0), ("d", -2.1, 1.0))
        ],
        "centre_of_gravity": {
            "x": {"value": 0.25, "unit": "m"},
            "y": {"value": 0.05, "unit": "m"},
            "z": {"value": 1.1, "unit": "m"},
        },
        "hook_z": {"value": 7.0, "unit": "m"},
        "leg_rated_load": {"value": 5000, "unit": "kg"},
        "crane_chart_capacity": {"value": 9.5, "unit": "t"},
        "chart_wind_speed": {"value": 9.8, "unit": "m/s"},
        "load_face_area": {"value": 14, "unit": "m2"},
    },
)
OFF_A_LORRY = Example(
    "fork_truck",
    "A small machine taken off a lorry by fork truck. Invented.",
    {
        "method": "fork_truck",
        "load_mass": {"value": 1150, "unit": "kg"},
        "load_mass_basis": "weighed",
        "rated_capacity": {"value": 2500, "unit": "kg"},
        "rated_load_centre": {"value": 0.5, "unit": "m"},
        "rated_lift_height": {"value": 3.3, "unit": "m"},
        "load_centre": {"value": 0.75, "unit": "m"},
        "lift_height": {"value": 1.4, "unit": "m"},
        "front_axle_to_fork_face": {"value": 0.42, "unit": "m"},
        "fork_length": {"value": 1.2, "unit": "m"},
        "load_depth": {"value": 1.5, "unit": "m"},
    },
)


@calculator(
    "site.lift",
    version="1.0.0",
    title="Lift of a machine by crane or fork truck",
    references=(
        STATICS,
        SLING_TWO_LEGS,
        NAVY_RIGGING,
        ASME_B30_9,
        EN_13000,
        OSHA_1926_1424,
        OSHA_1910_178_APP_A,
        OSHA_TRUCK_ETOOL,
        PRACTICE,
    ),
    tables=(tabulated.LOAD_MASS_CONTINGENCY, tabulated.SHACKLE_SIDE_LOAD, tabulated.POWER_LINE_CLEARANCE),
    hazards=("lifting",),
    findings=(
        finding("field_of_another_method", "note", "fields of the other method were given and not used"),
        finding("hook_block_not_given", "check", "the hook block counts as nothing"),
        finding("no_chart", "check", "no chart capacity of the crane was given"),
        finding("crane_overloaded", "stop", "the hook load is above the crane's chart"),
        finding("critical_lift", "check", "the hook load is above 0.9 of the chart"),
        finding("written_plan", "check", "the hook load is above 0.75 of the chart"),
        finding("leg_angle", ("stop", "check", "note"), "a leg is flatter than 30, 45 or 60 deg"),
        finding("no_equilibrium", "stop", "no pulls in the legs hold the load"),
        finding("leg_use", ("stop", "check"), "a leg is used above 1 or 0.9 of its rating"),
        finding("shackle_use", ("stop", "check"), "a shackle is used above 1 or 0.9 of its rating"),
        finding("turns_over", "stop", "the centre of gravity is above the point the load hangs from"),
        finding("centre_of_gravity_above_picks", ("stop", "check"), "the centre of gravity is above the picks"),
        finding("centre_of_gravity_outside_legs", "stop", "the centre of gravity is outside the legs at its height"),
        finding("lug_not_plumb", "note", "a single lug is not plumb over the centre of gravity"),
        finding("tilt", ("stop", "check"), "the load hangs more than 10 or 5 deg out of level"),
        finding("power_line", "stop", "a power line is nearer than allowed"),
        finding("lift_height_not_given", "check", "the height of the lift was not held against the rated one"),
        finding("lift_too_high", "stop", "the lift is above the height that the truck is rated for"),
        finding("truck_overloaded", "stop", "the load is above the truck's capacity"),
        finding("truck_stability", ("stop", "check"), "the truck holds less than 1.15 or 1.4 times the tipping moment"),
        finding("attachment_without_plate", "stop", "an attachment is fitted without a rating for it"),
        finding("fork_cover", "check", "less than two thirds of the load's depth lies on the forks"),
    ),
    examples=(FOUR_LEGS, OFF_A_LORRY),
    load=Load.HEAVY,
)
def lift(given: LiftGiven, notes: Notes) -> LiftResults:
    """Hook load, pull in each leg, stability and wind limit of a crane lift; capacity and stability of a fork truck.

    A crane's sling of one to four legs from one hook: unit vectors from pick to hook, and the least and greatest pull
    of each leg that hold the load, by linear programme where four legs leave one force free. That is the exact form of
    "count on two legs of four", and the greatest pull of any leg is what gear is chosen by. Legs are taken to meet at
    one hook plumb over the centre of gravity, and not to stretch; the lugs' strength is the maker's data.

    A fork truck: the rating moved to the load's own centre, moments about the front axle beside it, and the margin
    against tipping forwards on a slope and in braking.
    """
    mass = crane.lifted_mass(given, notes)
    if given.method == "crane":
        notes.caution(*cautions.CRANE)
        note_ignored(given, TRUCK_FIELDS, "a crane", notes)
        notes.assume(
            "rigid_load_on_one_hook",
            "The load is rigid, all legs meet at one hook that is plumb over the centre of gravity, and for the bounds "
            "they do not stretch. The strength of the lugs is the maker's data.",
            basis="derived",
            references=("site_statics",),
        )
        return _by_crane(given, mass, notes)
    notes.caution(*cautions.FORK_TRUCK)
    note_ignored(given, CRANE_FIELDS, "a fork truck", notes)
    notes.assume(
        "truck_on_firm_ground",
        "The truck stands on firm ground, its mast upright, and tips as a whole about its front axle.",
        basis="derived",
        references=("site_statics",),
    )
    return _by_truck(given, mass, notes)


def _by_crane(given: LiftGiven, mass: float, notes: Notes) -> LiftResults:
    _refuse_half_given(given)
    weight = mass * given.dynamic_factor * G
    notes.show("W", "weight in the legs", f"{mass:.6g} kg x {given.dynamic_factor:g} x g", weight / 1000, "kN")
    hook = crane.hook_mass(given, mass, notes)
    spreader = crane.spreader_forces(given, weight, notes)
    bridle = crane.bridle_of(given, weight, notes)
    crane.judge_power_line(given, notes)
    fraction = crane.judge_capacity(given, hook, notes)
    legs: tuple[SlingLeg, ...] = ()
    governing: Force | UnsetType = UNSET
    needed: Mass | UnsetType = UNSET
    shackle: float | UnsetType = UNSET
    tilt: Angle | UnsetType = UNSET
    if bridle is not None:
        crane.judge_single_lug(given, notes)
        tilt = crane.judge_balance(given, bridle, notes)
        legs = _legs(given, bridle, notes)
        if bridle.greatest:
            worst = max(bridle.greatest)
            governing, needed = Force.from_si(worst, "kN"), crane.rated_load(worst, given.hitch_factor)
            notes.show(
                "WLL",
                "vertical rating that each leg needs",
                f"{worst / 1000:.6g} kN / (g x {given.hitch_factor:g})",
                needed,
            )
            shackle = _shackle(given, worst, notes)
    return LiftResults(
        hook_load=HookLoad(mass=Mass.from_si(hook, "kg"), force=Force.from_si(hook * G, "kN")),
        legs=legs,
        governing_tension=governing,
        required_leg_rated_load=needed,
        shackle_utilisation=shackle,
        spreader=UNSET if spreader is None else SpreaderForces(**spreader),
        tilt_angle=tilt,
        capacity_fraction=fraction,
        wind_speed_limit=crane.wind_limit(given, notes),
    )


def _refuse_half_given(given: LiftGiven) -> None:
    """Picks, centre of gravity and hook come together or not at all."""
    together = ("pick_points", "centre_of_gravity", "hook_z")
    errors = missing_fields(given, together, "with picks, centre of gravity or hook height")
    if len(errors) == len(together):
        errors = []
        if any(given.hook_offset.xy):
            errors = [field_error("/hook_offset", "A hook offset needs picks, centre of gravity and hook height.")]
    errors += refuse_repeated_ids(given.pick_points, "/pick_points")
    if errors:
        raise Refused(errors)


def _legs(given: LiftGiven, bridle: Bridle, notes: Notes) -> tuple[SlingLeg, ...]:
    legs = []
    for index, pick in enumerate(given.pick_points):
        length = Length.from_si(bridle.lengths[index], "m")
        angle = Angle.from_si(bridle.angles[index], "deg")
        if not bridle.greatest:
            legs.append(SlingLeg(id=pick.id, length=length, angle_from_horizontal=angle))
            continue
        use: float | UnsetType = UNSET
        if given.leg_rated_load is not UNSET:
            use = share = bridle.greatest[index] / (G * given.leg_rated_load.si * given.hitch_factor)
            crane.judge_use(share, f"Leg {pick.id}", "leg_use", "/leg_rated_load", notes)
        legs.append(
            SlingLeg(
                id=pick.id,
                length=length,
                angle_from_horizontal=angle,
                tension_minimum=Force.from_si(bridle.least[index], "kN"),
                tension_maximum=Force.from_si(bridle.greatest[index], "kN"),
                tension_elastic=Force.from_si(bridle.elastic[index], "kN"),
                utilisation=use,
            )
        )
    return tuple(legs)


def _shackle(given: LiftGiven, worst: float, notes: Notes) -> float | UnsetType:
    if given.shackle_rated_load is UNSET:
        return UNSET
    degrees = given.shackle_side_angle.to("deg")
    factor = crane.shackle_factor(degrees)
    share = worst / (G * given.shackle_rated_load.si * factor)
    notes.show(
        "u_sh",
        "use of the shackle",
        f"{worst / 1000:.5g} kN / (g x {given.shackle_rated_load.si:g} kg x {factor:.4g} at {degrees:g} deg)",
        share,
    )
    crane.judge_use(share, "The shackle", "shackle_use", "/shackle_rated_load", notes)
    return share


def _by_truck(given: LiftGiven, mass: float, notes: Notes) -> LiftResults:
    require(given, ("rated_capacity", "rated_load_centre", "load_centre"), "with a fork truck")
    truck.judge_attachment(given, notes)
    stability = truck.stability(given, mass, notes)
    cover = truck.fork_cover(given, notes)
    capacity = None if truck.too_high(given, notes) else truck.capacity(given, notes)
    if capacity is None:
        return LiftResults(stability_ratio=stability, fork_cover=cover)
    use = tidy(mass / capacity.governing)
    notes.show("u", "use of the truck", f"{mass:.6g} / {capacity.governing:.6g} kg", use)
    if use > 1:
        notes.stop(
            "truck_overloaded",
            f"The load of {mass:.0f} kg is {use:.3f} of the {capacity.governing:.0f} kg that the truck lifts at this "
            "load centre.",
            resolve=f"A truck of at least {mass:.0f} kg at this load centre, or the load from its other side.",
            field="/rated_capacity",
            references=("osha_1910_178_app_a",),
        )
    return LiftResults(
        capacity_at_load_centre=Mass.from_si(capacity.plain, "kg"),
        capacity_with_axle=UNSET if capacity.with_axle is UNSET else Mass.from_si(capacity.with_axle, "kg"),
        utilisation=use,
        stability_ratio=stability,
        fork_cover=cover,
    )
