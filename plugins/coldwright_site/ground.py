"""Pressure on the ground below a skid, feet, outriggers or a mat."""

import math
from typing import Annotated, Any, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    Load,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    lazy,
    refuse,
    tidy,
)
from coldwright.contract.quantities import Area, Force, Length, PressureDifference
from coldwright_site import cautions, ground_mat, ground_skid, statics, tabulated
from coldwright_site.ground_given import GroundGiven
from coldwright_site.references import CICA, DUERR, OSHA_1926_1402, PRACTICE, STATICS
from coldwright_site.shapes import STANDARD_GRAVITY, note_ignored, refuse_repeated_ids, require

np = lazy("numpy")
G = STANDARD_GRAVITY
FLAT = 1e-4
"""Ratio of singular values below which feet count as standing on one line."""


class MatResults(Results, frozen=True, kw_only=True):
    """The mat at its effective length."""

    required_length: Annotated[Length, about("Length that the ground asks for.")]
    cantilever: Annotated[Length, about("Mat beyond the foot, each side.")]
    bending_moment_knm: Annotated[float, about("Bending moment, kN.m.")]
    bending_stress_mpa: Annotated[float, about("Bending stress, MPa.")]
    shear_kn: Annotated[float, about("Shear, kN.")]
    shear_stress_mpa: Annotated[float, about("Shear stress, MPa.")]


class GroundResults(Results, frozen=True, kw_only=True):
    """What the ground must carry, and whether it can."""

    allowable_bearing_pressure: Annotated[PressureDifference, about("What the ground bears.")]
    bearing_pressure_maximum: (
        Annotated[PressureDifference, about("Greatest pressure; of feet, with the machine rocking.")] | UnsetType
    ) = UNSET
    bearing_pressure_minimum: (
        Annotated[PressureDifference, about("Least pressure; 0 below a lifted edge.")] | UnsetType
    ) = UNSET
    contact_length_effective: (
        Annotated[Length, about("Bearing side left in the direction of the eccentricity; of a mat, its length.")]
        | UnsetType
    ) = UNSET
    utilisation: Annotated[float, about("Greatest pressure over the allowable one.")] | UnsetType = UNSET
    reactions: Annotated[
        tuple[Force, ...], about("Of feet or outriggers on level elastic ground, in their order.")
    ] = ()
    worst_reaction: Annotated[Force, about("Greatest that any foot can get, rocking included.")] | UnsetType = UNSET
    quick_reaction: Annotated[Force, about("0.65 of crane, load and rigging.")] | UnsetType = UNSET
    required_area: Annotated[Area, about("Area that the ground asks for.")] | UnsetType = UNSET
    required_square_side: Annotated[Length, about("Side of a square of that area.")] | UnsetType = UNSET
    mat: Annotated[MatResults, about("The mat.")] | UnsetType = UNSET
    pressure_at_depth: Annotated[PressureDifference, about("On the weaker layer, spread 2 to 1.")] | UnsetType = UNSET
    level_ok: Annotated[bool, about("Whether both slopes are within the limit.")] | UnsetType = UNSET


class _Bearing(NamedTuple):
    """What a kind of contact comes to; SI units. `patch` is load, length and width of the hardest pressed area."""

    results: dict[str, Any]
    greatest: float | None = None
    patch: tuple[float, float, float] | None = None


WIND = ("wind_force", "wind_force_height")
USED = {
    "skid": ("load", "contact_length", "contact_width", "eccentricity", *WIND),
    "feet": ("load", "feet", "eccentricity", *WIND),
    "outrigger": ("crane", "contact_length", "contact_width", *WIND),
    "mat": ("load", "contact_length", "mat"),
}
NEEDED = {
    "skid": ("load", "contact_length", "contact_width"),
    "feet": ("load", "feet"),
    "outrigger": ("crane",),
    "mat": ("load", "contact_length", "mat"),
}

SKID = Example(
    "skid",
    "A machine on its skid, the centre of gravity a little to one side, on sand. Invented.",
    {
        "contact": "skid",
        "load": {"value": 5800, "unit": "kg"},
        "contact_length": {"value": 5.6, "unit": "m"},
        "contact_width": {"value": 2.2, "unit": "m"},
        "eccentricity": {"x": {"value": 0.3, "unit": "m"}, "y": {"value": 0.1, "unit": "m"}},
        "soil_class": "sand",
        "slope": {"x": 0.004, "y": 0.006},
        "services_known": True,
    },
)
OUTRIGGERS = Example(
    "outriggers",
    "A crane on four outriggers with pads of 1.5 m. Invented.",
    {
        "contact": "outrigger",
        "crane": {
            "mass": {"value": 48, "unit": "t"},
            "load_mass": {"value": 6.4, "unit": "t"},
            "radius": {"value": 8, "unit": "m"},
            "slew_angle": {"value": 30, "unit": "deg"},
            "outriggers": [
                {"x": {"value": x, "unit": "m"}, "y": {"value": y, "unit": "m"}}
                for x, y in ((3.4, 3.2), (-3.4, 3.2), (-3.4, -3.2), (3.4, -3.2))
            ],
        },
        "contact_length": {"value": 1.5, "unit": "m"},
        "contact_width": {"value": 1.5, "unit": "m"},
        "allowable_bearing_pressure": {"value": 180, "unit": "kPa"},
        "excavation": {"depth": {"value": 1.2, "unit": "m"}, "distance": {"value": 4, "unit": "m"}},
    },
)


@calculator(
    "site.ground",
    version="1.0.0",
    title="Pressure on the ground below a machine, a crane or a mat",
    references=(STATICS, DUERR, CICA, OSHA_1926_1402, PRACTICE),
    tables=(tabulated.PRESUMPTIVE_BEARING,),
    hazards=("lifting",),
    findings=(
        finding("field_of_another_method", "note", "fields of another contact were given and not used"),
        finding("bearing", ("stop", "check"), "the ground is used above 1 or 0.8 of what it bears"),
        finding("overturns", "stop", "the load lies outside its base"),
        finding("uplift", "check", "an edge or a foot lifts"),
        finding("mat_shortened", "note", "the mat's strength or length shortens what counts of it"),
        finding("weak_layer", "stop", "the layer below is pressed above what it bears"),
        finding("excavation", "stop", "the base is nearer to an excavation than 1.5 times its depth"),
        finding("services_unknown", "check", "nobody has told of pipes, cables and voids below"),
        finding("slope", "stop", "the ground is steeper than the limit"),
    ),
    examples=(SKID, OUTRIGGERS),
    load=Load.HEAVY,
)
def ground(given: GroundGiven, notes: Notes) -> GroundResults:
    """Greatest pressure on the ground, the reactions of feet and outriggers, and the area that the ground asks for.

    Skid: a rigid base on soil that takes no tension, eccentric either way or both. Feet and outriggers: reactions of
    level elastic ground, and beside them the greatest that each foot can get when the machine rocks on three of its
    feet, by linear programme. Mat: Duerr's effective bearing length, shortened where the mat's strength or its own
    length asks for it. Presumptive bearing values hold for undisturbed soil at grade under static load; a pavement
    doesn't raise them.
    """
    notes.caution(*cautions.GROUND)
    notes.assume(
        "rigid_base_static_load",
        "The base is rigid, the soil takes no tension, and the load is at rest.",
        basis="derived",
        references=("site_statics",),
    )
    allowable = _allowable(given, notes)
    require(given, NEEDED[given.contact], f"with contact `{given.contact}`")
    _refuse_half_wind(given)
    others = {name for names in USED.values() for name in names} - set(USED[given.contact])
    note_ignored(given, sorted(others), f"contact `{given.contact}`", notes)
    bearing = _WAYS[given.contact](given, allowable, notes)
    _judge_bearing(bearing, allowable, notes)
    results = dict(bearing.results)
    if bearing.greatest is not None:
        results["utilisation"] = bearing.greatest / allowable
        results["bearing_pressure_maximum"] = _kilopascal(bearing.greatest)
    _judge_surroundings(given, notes)
    return GroundResults(
        allowable_bearing_pressure=_kilopascal(allowable),
        pressure_at_depth=_at_depth(given, bearing, notes),
        level_ok=_level(given, notes),
        **results,
    )


def _kilopascal(value: float) -> PressureDifference:
    return PressureDifference.from_si(value, "kPa")


def _allowable(given: GroundGiven, notes: Notes) -> float:
    """What the ground bears (Pa): a person's figure, or the presumptive one of the class."""
    if given.allowable_bearing_pressure is not UNSET:
        if given.soil_class not in (UNSET, "unprepared"):
            raise refuse(
                "/soil_class",
                "Give the class of soil or the allowable pressure, not both.",
                value=given.soil_class,
                why="they would have to be weighed against each other by a person",
            )
        return given.allowable_bearing_pressure.si
    if given.soil_class is UNSET:
        text = "Give `soil_class` or `allowable_bearing_pressure`."
        raise Refused([field_error("/allowable_bearing_pressure", text, code="missing")])
    row = next((r for r in tabulated.PRESUMPTIVE_BEARING.rows if r["soil_class"] == given.soil_class), None)
    if row is None:
        raise refuse(
            "/soil_class",
            "Mud, organic soil, peat and unprepared fill have no presumptive value.",
            value=given.soil_class,
            why="a competent person must say what it bears: `allowable_bearing_pressure`",
        )
    value = Force.of(row["psf"], "lbf").si / Area.of(1, "ft2").si
    notes.show("q_a", f"presumptive value of {row['meaning']}", f"{row['psf']} psf", value / 1000, "kPa")
    notes.assume(
        "presumptive_bearing",
        f"The ground is undisturbed {row['meaning']} at grade and bears {value / 1000:.1f} kPa.",
        value=_kilopascal(value),
        basis="standard",
        references=("ibc_1806_2",),
    )
    return value


def _refuse_half_wind(given: GroundGiven) -> None:
    if (given.wind_force is UNSET) != (given.wind_force_height is UNSET):
        missing = "wind_force" if given.wind_force is UNSET else "wind_force_height"
        raise refuse(f"/{missing}", "Wind needs both its force and the height at which it acts.", code="missing")


def _with_wind(given: GroundGiven, weight: float, at: tuple[float, float], notes: Notes) -> tuple[float, float]:
    """Where the weight acts once the wind leans on it, along y towards the side that is heavier already."""
    if given.wind_force is UNSET or given.wind_force_height is UNSET:
        return at
    shift = given.wind_force.si * given.wind_force_height.si / weight
    moved = at[1] + math.copysign(shift, at[1] or 1.0)
    notes.show(
        "e_y",
        "place of the weight along y, wind counted",
        f"{at[1]:.5g} m and {given.wind_force.si:.6g} N x {given.wind_force_height.si:.4g} m / {weight:.6g} N",
        moved,
        "m",
    )
    return at[0], moved


def _skid(given: GroundGiven, allowable: float, notes: Notes) -> _Bearing:
    if given.load is UNSET or given.contact_length is UNSET or given.contact_width is UNSET:
        return _Bearing({})
    weight, sides = given.load.si * G, (given.contact_length.si, given.contact_width.si)
    e = _with_wind(given, weight, given.eccentricity.xy, notes)
    results = _required(weight, allowable, notes)
    bearing = ground_skid.bear(weight, sides, e)
    if bearing is None:
        _overturns(
            f"The weight acts {e[0]:.3g} m and {e[1]:.3g} m off the middle of {sides[0]:g} x {sides[1]:g} m", notes
        )
        return _Bearing(results)
    for symbol, meaning, value in (("q_max", "greatest", bearing.greatest), ("q_min", "least", bearing.least)):
        notes.show(
            symbol,
            f"{meaning} pressure, {bearing.way}",
            f"W {weight:.6g} N on {sides[0]:.4g} x {sides[1]:.4g} m, e ({e[0]:.4g}, {e[1]:.4g}) m",
            value / 1000,
            "kPa",
        )
    if bearing.lifted:
        _uplift(f"Part of the skid lifts: {bearing.length:.2f} m of it bears in the direction of the weight.", notes)
    along_x = abs(e[0]) / sides[0] >= abs(e[1]) / sides[1]
    patch = (bearing.length, sides[1]) if along_x else (sides[0], bearing.length)
    return _Bearing(
        results
        | {
            "bearing_pressure_minimum": _kilopascal(bearing.least),
            "contact_length_effective": Length.from_si(bearing.length, "m"),
        },
        bearing.greatest,
        (weight, *patch),
    )


def _feet(given: GroundGiven, allowable: float, notes: Notes) -> _Bearing:
    if given.load is UNSET:
        return _Bearing({})
    if errors := refuse_repeated_ids(given.feet, "/feet"):
        raise Refused(errors)
    weight = given.load.si * G
    at = _with_wind(given, weight, given.eccentricity.xy, notes)
    level, worst = _on_points([f.xy for f in given.feet], weight, at, "/feet", notes)
    areas = [f.area.si for f in given.feet]
    results: dict[str, Any] = {
        "reactions": _kilonewtons(level),
        "bearing_pressure_minimum": _kilopascal(max(0.0, min(r / a for r, a in zip(level, areas, strict=True)))),
    }
    if worst is None:
        return _Bearing(results)
    pressed = [r / a for r, a in zip(worst, areas, strict=True)]
    hardest = pressed.index(max(pressed))
    results |= {"worst_reaction": Force.from_si(max(worst), "kN")} | _required(max(worst), allowable, notes)
    side = math.sqrt(areas[hardest])
    return _Bearing(results, pressed[hardest], (worst[hardest], side, side))


def _outrigger(given: GroundGiven, allowable: float, notes: Notes) -> _Bearing:
    crane = given.crane
    if crane is UNSET:
        return _Bearing({})
    weight = (crane.mass.si + crane.load_mass.si) * G
    quick = 0.65 * weight
    notes.show(
        "F_q",
        "quick rule for one outrigger",
        f"0.65 ({crane.mass.si:g} + {crane.load_mass.si:g}) kg x g",
        quick / 1000,
        "kN",
    )
    results: dict[str, Any] = {"quick_reaction": Force.from_si(quick, "kN")}
    force: float | None = quick
    if crane.outriggers:
        if crane.radius is UNSET or crane.slew_angle is UNSET:
            lacking = [n for n in ("radius", "slew_angle") if getattr(crane, n) is UNSET]
            raise Refused([field_error(f"/crane/{n}", "Outriggers need it.", code="missing") for n in lacking])
        reach = crane.load_mass.si * crane.radius.si / (crane.mass.si + crane.load_mass.si)
        at = (reach * math.cos(crane.slew_angle.si), reach * math.sin(crane.slew_angle.si))
        at = _with_wind(given, weight, at, notes)
        level, worst = _on_points([p.xy for p in crane.outriggers], weight, at, "/crane/outriggers", notes)
        results["reactions"] = _kilonewtons(level)
        force = None if worst is None else max(worst)
        if force is not None:
            results["worst_reaction"] = Force.from_si(force, "kN")
    if force is None:
        return _Bearing(results)
    results |= _required(force, allowable, notes)
    if given.contact_length is UNSET or given.contact_width is UNSET:
        return _Bearing(results)
    pad = (given.contact_length.si, given.contact_width.si)
    return _Bearing(results, force / (pad[0] * pad[1]), (force, *pad))


def _mat(given: GroundGiven, allowable: float, notes: Notes) -> _Bearing:
    if given.load is UNSET or given.contact_length is UNSET or given.mat is UNSET:
        return _Bearing({})
    load, own, foot, mat = given.load.si * G, given.mat.mass.si * G, given.contact_length.si, given.mat
    bearing = ground_mat.bear(load, own, foot, mat, allowable)
    ground_mat.show(bearing, load, own, foot, mat, notes)
    if bearing.length < bearing.required_length * (1 - 1e-9):
        notes.note(
            "mat_shortened",
            f"The ground asks for {bearing.required_length:.2f} m of mat; {bearing.length:.2f} m counts, by its "
            f"length or its strength.",
            field="/mat",
            references=("duerr_crane_mats",),
        )
    pressure = _kilopascal(bearing.pressure)
    results = _required(load + own, allowable, notes) | {
        "bearing_pressure_minimum": pressure,
        "contact_length_effective": Length.from_si(bearing.length, "m"),
        "mat": MatResults(
            required_length=Length.from_si(bearing.required_length, "m"),
            cantilever=Length.from_si(bearing.cantilever, "m"),
            bending_moment_knm=bearing.moment / 1e3,
            bending_stress_mpa=bearing.bending_stress / 1e6,
            shear_kn=bearing.shear / 1e3,
            shear_stress_mpa=bearing.shear_stress / 1e6,
        ),
    }
    return _Bearing(results, bearing.pressure, (load + own, bearing.length, given.mat.width.si))


_WAYS = {"skid": _skid, "feet": _feet, "outrigger": _outrigger, "mat": _mat}


def _on_points(
    points: list[tuple[float, float]], weight: float, at: tuple[float, float], pointer: str, notes: Notes
) -> tuple[list[float], list[float] | None]:
    """Reactions on level elastic ground, and the greatest that each point can get; none when the load tips over."""
    plan = np.array(points)
    if len(points) < 3:
        raise refuse(pointer, "At least three are needed.", allowed=Allowed(minimum=3, unit="entries"))
    middle = plan.mean(axis=0)
    singular = np.linalg.svd(plan - middle, compute_uv=False)
    if singular[-1] <= FLAT * singular[0]:
        raise refuse(pointer, "They stand on one line.", why="nothing would keep the load from tipping over")
    scaled = (plan - middle) / singular[0]
    matrix = np.vstack([np.ones(len(points)), scaled.T])
    load = np.array([1.0, *(np.array(at) - middle) / singular[0]])
    level = [weight * float(r) for r in statics.elastic(matrix, load, np.ones(len(points)))]
    shares = statics.greatest(matrix, load)
    worst = None if shares is None else [weight * s for s in shares]
    for index, reaction in enumerate(level):
        most = "" if worst is None else f"; rocking on three, up to {worst[index] / 1000:.5g} kN"
        notes.show(
            f"R_{index + 1}",
            f"reaction of point {index + 1} on level elastic ground{most}",
            f"R = a + b x + c y with sum R = W {weight / 1000:.6g} kN at ({at[0]:.4g}, {at[1]:.4g}) m",
            reaction / 1000,
            "kN",
        )
    if worst is None:
        _overturns(f"The weight acts at ({at[0]:.3g}, {at[1]:.3g}) m, outside the points that carry it", notes)
    elif min(level) < -1e-9 * weight:
        _uplift(f"A point lifts: the least reaction is {min(level) / 1000:.4g} kN.", notes)
    return level, worst


def _kilonewtons(values: list[float]) -> tuple[Force, ...]:
    return tuple(Force.from_si(v, "kN") for v in values)


def _required(force: float, allowable: float, notes: Notes) -> dict[str, Any]:
    area = force / allowable
    notes.show("A", "area that the ground asks for", f"{force / 1000:.6g} kN / {allowable / 1000:.5g} kPa", area, "m2")
    return {
        "required_area": Area.from_si(area, "m2"),
        "required_square_side": Length.from_si(math.sqrt(area), "m"),
    }


def _overturns(text: str, notes: Notes) -> None:
    notes.stop(
        "overturns",
        f"{text}: it tips over.",
        resolve="A wider base, the weight nearer to its middle, or less wind.",
        references=("site_statics",),
    )


def _uplift(text: str, notes: Notes) -> None:
    notes.check(
        "uplift",
        text,
        why="What lifts no longer steadies; a little more tips it over.",
        resolve="A wider base, or the weight nearer to its middle.",
        references=("site_statics",),
    )


def _judge_bearing(bearing: _Bearing, allowable: float, notes: Notes) -> None:
    if bearing.greatest is None:
        return
    use = tidy(bearing.greatest / allowable)
    notes.show("u", "use of the ground", f"{bearing.greatest / 1000:.6g} / {allowable / 1000:.5g} kPa", use)
    if use > 0.8:
        notes.finding(
            "stop" if use > 1 else "check",
            "bearing",
            f"The ground is pressed with {bearing.greatest / 1000:.1f} kPa of {allowable / 1000:.1f} kPa: {use:.3f}.",
            why="Ground that gives way on one side tips what stands on it.",
            resolve=f"{use:.2f} times the bearing area, by mats or plates, or better ground.",
            references=("ibc_1806_2", "site_practice"),
        )


def _at_depth(given: GroundGiven, bearing: _Bearing, notes: Notes) -> PressureDifference | UnsetType:
    if given.depth_check is UNSET or bearing.patch is None:
        return UNSET
    load, length, width = bearing.patch
    depth, allowable = given.depth_check.depth.si, given.depth_check.allowable.si
    pressure = load / ((length + depth) * (width + depth))
    notes.show(
        "q_z",
        "pressure at the depth of the layer, spread 2 to 1",
        f"{load / 1000:.6g} kN / (({length:.4g} + {depth:.4g}) x ({width:.4g} + {depth:.4g}) m2)",
        pressure / 1000,
        "kPa",
    )
    if pressure > allowable:
        notes.stop(
            "weak_layer",
            f"The layer {depth:g} m down is pressed with {pressure / 1000:.1f} kPa and bears {allowable / 1000:.1f} "
            f"kPa.",
            resolve="Spread the load wider.",
            field="/depth_check/allowable",
            references=("site_practice",),
        )
    return _kilopascal(pressure)


def _judge_surroundings(given: GroundGiven, notes: Notes) -> None:
    if given.excavation is not UNSET:
        needed = 1.5 * given.excavation.depth.si
        if given.excavation.distance.si < needed:
            notes.stop(
                "excavation",
                f"The excavation of {given.excavation.depth} is {given.excavation.distance.si:.2f} m away; at least "
                f"{needed:.2f} m is asked for.",
                why="The edge breaks away under load; a line of 1 to 1 from its toe is the best that can be hoped for.",
                resolve="Move away from the edge, or have it shored to an engineer's design.",
                field="/excavation/distance",
                references=("site_practice",),
            )
    if not given.services_known:
        notes.check(
            "services_unknown",
            "Nobody has told of pipes, cables, tanks and voids below.",
            why="They break in under a load that soil would carry.",
            resolve="Ask whoever controls the site, then set `services_known`.",
            field="/services_known",
            references=("osha_1926_1402",),
        )


def _level(given: GroundGiven, notes: Notes) -> bool | UnsetType:
    if given.slope is UNSET:
        return UNSET
    steepest = max(abs(given.slope.x), abs(given.slope.y))
    if steepest <= given.slope_limit:
        return True
    notes.stop(
        "slope",
        f"The ground slopes {steepest:.4g}; at most {given.slope_limit:.4g} is taken as level.",
        why="A machine out of level starves compressors of oil and keeps water from draining; a crane loses capacity.",
        resolve="Level it with plates or mats, or choose another place.",
        field="/slope",
        references=("site_practice",),
    )
    return False
