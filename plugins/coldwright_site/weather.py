"""Wind on a machine and a lift, heat, cold and lightning."""

import math
from typing import Annotated, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import Force, Length, PressureDifference, Speed, Temperature
from coldwright_site import cautions, tabulated, weather_heat, wind
from coldwright_site.references import (
    ASCE_7,
    EN_13000,
    NWS_HEAT_INDEX,
    NWS_WIND_CHILL,
    OSHA_1926_1417,
    OSHA_LIGHTNING,
    PRACTICE,
    STATICS,
)
from coldwright_site.shapes import STANDARD_GRAVITY
from coldwright_site.stamps import Instant, instant, wrong_day
from coldwright_site.weather_given import MachineInWind, WeatherGiven
from coldwright_site.weather_heat import HeatBand

SOUND_IN_AIR = 343.0
"""m/s at 20 degC."""
QUIET_MINUTES = 30
CALM = 0.1
"""m/s, below which ratios to the wind's force say nothing."""


class WeatherResults(Results, frozen=True, kw_only=True):
    """What the weather allows."""

    wind_pressure: Annotated[PressureDifference, about("Velocity pressure of the gust.")] | UnsetType = UNSET
    wind_force: Annotated[Force, about("On the machine's face.")] | UnsetType = UNSET
    overturning_ratio: (
        Annotated[float, about("Moment that holds the machine over the wind's, without anchors; none in a calm.")]
        | UnsetType
    ) = UNSET
    sliding_ratio: Annotated[float, about("Friction over the wind's force, without anchors.")] | UnsetType = UNSET
    critical_gust: Annotated[Speed, about("Gust that turns the machine over, without anchors.")] | UnsetType = UNSET
    heat_index: Annotated[Temperature, about("In the shade.")] | UnsetType = UNSET
    heat_band: Annotated[HeatBand, about("Band of risk, sun counted when `in_sun`.")] | UnsetType = UNSET
    wind_chill: Annotated[Temperature, about("By the mean wind.")] | UnsetType = UNSET
    resume_at: Annotated[str, about("Earliest return to work outdoors, UTC.")] | UnsetType = UNSET
    lightning_distance: Annotated[Length, about("Of the last flash.")] | UnsetType = UNSET
    wind_speed_limit: Annotated[Speed, about("Wind in which this load may be lifted.")] | UnsetType = UNSET
    lift_allowed: Annotated[bool, about("Whether lightning, gust and warning leave a lift possible.")]


class _Push(NamedTuple):
    """The wind on the machine: pressure and force of the gust, ratios, and the gust that turns it over."""

    pressure: PressureDifference | UnsetType = UNSET
    force: Force | UnsetType = UNSET
    overturning: float | UnsetType = UNSET
    sliding: float | UnsetType = UNSET
    critical: Speed | UnsetType = UNSET


HOT_AND_WINDY = Example(
    "hot_and_windy",
    "A machine on its skid in a gusty, hot afternoon, with a lift to come. Invented.",
    {
        "machine": {
            "mass": {"value": 5200, "unit": "kg"},
            "base_width": {"value": 2.2, "unit": "m"},
            "length": {"value": 5.8, "unit": "m"},
            "height": {"value": 2.4, "unit": "m"},
            "stand_height": {"value": 0.3, "unit": "m"},
        },
        "gust_speed": {"value": 60, "unit": "km/h"},
        "air_temperature": {"value": 34, "unit": "degC"},
        "relative_humidity": 0.55,
        "in_sun": True,
        "work_rate": "heavy",
        "crane": {
            "chart_wind_speed": {"value": 9.8, "unit": "m/s"},
            "load_mass": {"value": 5200, "unit": "kg"},
            "load_face_area": {"value": 14, "unit": "m2"},
        },
    },
)
THUNDER = Example(
    "thunder",
    "Thunder a while ago. Invented.",
    {
        "last_thunder_at": "2026-07-14T14:10:00-05:00",
        "last_lightning": {"at": "2026-07-14T14:09:48-05:00", "flash_to_bang": {"value": 12, "unit": "s"}},
        "evaluated_at": "2026-07-14T14:45:00-05:00",
    },
)


@calculator(
    "site.weather",
    version="1.1.0",
    title="Wind on a machine and a lift, heat, cold and lightning",
    references=(
        STATICS,
        ASCE_7,
        EN_13000,
        NWS_HEAT_INDEX,
        NWS_WIND_CHILL,
        OSHA_LIGHTNING,
        OSHA_1926_1417,
        PRACTICE,
    ),
    tables=(tabulated.HEAT_BANDS,),
    hazards=("environment", "lifting", "thermal"),
    findings=(
        finding("overturning", ("stop", "check"), "the machine holds less than 1.0 or 1.5 times the wind's moment"),
        finding("sliding", ("stop", "check"), "friction holds less than 1.0 or 1.5 times the wind's force"),
        finding("too_windy_to_lift", "stop", "the gust is above the lift's wind limit"),
        finding("wind_not_judged", "note", "no wind limit of a lift was held against a gust"),
        finding("storm_warning", "stop", "a storm warning stands"),
        finding("lightning", "stop", "thunder or a flash was less than 30 minutes ago"),
        finding("heat", ("check", "note"), "the heat index is in a band that asks for measures"),
        finding("heat_index_not_defined", "note", "the air is outside the range of the heat index"),
        finding("sun_counted", "note", "full sun is counted by its upper bound"),
        finding("wind_chill_not_defined", "note", "air or wind is outside the range of the wind chill"),
        finding("cold", "check", "the wind chill is below 0 degF"),
    ),
    examples=(HOT_AND_WINDY, THUNDER),
)
def weather(given: WeatherGiven, notes: Notes) -> WeatherResults:
    """Whether wind turns a machine over or stops a lift, how heat and cold press on people, and when lightning is past.

    The gust acts on the whole face at half its height, with the drag of a box; anchors are left out of the ratios. The
    heat index is that of the shade; full sun adds up to 15 degF, which is counted as a whole. Outside their ranges the
    heat index (40 to 120 degF) and the wind chill (at most 50 degF, above 3 mph) are left out.
    """
    notes.caution(*cautions.WEATHER)
    notes.assume(
        "gust_on_the_whole_face",
        "The gust acts on the whole face at half its height, with the drag of a box; the heat index is that of the "
        "shade.",
        basis="derived",
        references=("site_statics", "nws_heat_index"),
    )
    evaluated, resume = _lightning(given)
    limit = _lift_limit(given, notes)
    push = _push(given, notes)
    index, band = _heat(given, notes)
    return WeatherResults(
        wind_pressure=push.pressure,
        wind_force=push.force,
        overturning_ratio=push.overturning,
        sliding_ratio=push.sliding,
        critical_gust=push.critical,
        heat_index=index,
        heat_band=band,
        wind_chill=_chill(given, notes),
        resume_at=UNSET if resume is None else str(resume),
        lightning_distance=_lightning_distance(given, notes),
        wind_speed_limit=UNSET if limit is None else Speed.from_si(limit, "m/s"),
        lift_allowed=_lift_allowed(given, evaluated, resume, limit, notes),
    )


def _lightning(given: WeatherGiven) -> tuple[Instant | None, Instant | None]:
    """The moment asked for, and the earliest return to work."""
    stamps = {"/last_thunder_at": given.last_thunder_at, "/evaluated_at": given.evaluated_at}
    if given.last_lightning is not UNSET:
        stamps["/last_lightning/at"] = given.last_lightning.at
    sent = {pointer: stamp for pointer, stamp in stamps.items() if stamp is not UNSET}
    errors = [e for pointer, stamp in sent.items() for e in wrong_day(stamp, pointer)]
    seen = [stamp for pointer, stamp in sent.items() if pointer != "/evaluated_at"]
    if seen and given.evaluated_at is UNSET:
        text = "Thunder or lightning needs the moment that is asked about."
        errors.append(field_error("/evaluated_at", text, code="missing"))
    if errors:
        raise Refused(errors)
    resume = max((instant(s) for s in seen), default=None)
    evaluated = None if given.evaluated_at is UNSET else instant(given.evaluated_at)
    return evaluated, None if resume is None else resume.later(QUIET_MINUTES)


def _lightning_distance(given: WeatherGiven, notes: Notes) -> Length | UnsetType:
    if given.last_lightning is UNSET or given.last_lightning.flash_to_bang is UNSET:
        return UNSET
    seconds = given.last_lightning.flash_to_bang.si
    distance = SOUND_IN_AIR * seconds
    notes.show("s", "distance of the last flash", f"{SOUND_IN_AIR:g} m/s x {seconds:g} s", distance, "m")
    return Length.from_si(distance, "km")


def _lift_limit(given: WeatherGiven, notes: Notes) -> float | None:
    crane = given.crane
    if crane is UNSET:
        return None
    chart, mass, area = crane.chart_wind_speed.si, crane.load_mass.si, crane.load_face_area.si
    limit = wind.lift_wind_limit(chart, mass, area, crane.drag_coefficient)
    notes.show(
        "v",
        "wind limit of the lift",
        f"min({chart:.4g}, {chart:.4g} sqrt(1.2 x {mass / 1000:.5g} t / ({crane.drag_coefficient:g} x {area:.5g} m2)))",
        limit,
        "m/s",
    )
    return limit


def _lift_allowed(
    given: WeatherGiven, evaluated: Instant | None, resume: Instant | None, limit: float | None, notes: Notes
) -> bool:
    allowed = True
    if evaluated is not None and resume is not None and evaluated < resume:
        allowed = False
        notes.stop(
            "lightning",
            f"Thunder or a flash less than {QUIET_MINUTES} minutes ago: cranes, masts, roofs and hoses are left at "
            f"once.",
            resolve=f"Go inside, and come back at {resume} if no more is heard.",
            field="/last_lightning" if given.last_thunder_at is UNSET else "/last_thunder_at",
            references=("osha_noaa_lightning",),
        )
    if limit is None or given.gust_speed is UNSET:
        _wind_not_judged(limit, notes)
    elif tidy(given.gust_speed.si) > tidy(limit):
        allowed = False
        notes.stop(
            "too_windy_to_lift",
            f"The gust of {given.gust_speed.si:.1f} m/s is above the lift's limit of {limit:.1f} m/s.",
            why="The load sails: it pulls the boom sideways and cannot be held by tag lines.",
            resolve="Wait for less wind, or a smaller face.",
            field="/gust_speed",
            references=("en_13000_wind",),
        )
    if given.storm_warning:
        allowed = False
        notes.stop(
            "storm_warning",
            "A storm warning stands: no lift begins, and crane, panels and loose things are secured.",
            resolve="The competent person decides when the warning is over.",
            field="/storm_warning",
            references=("osha_1926_1417",),
        )
    return allowed


def _wind_not_judged(limit: float | None, notes: Notes) -> None:
    lacking = "no lift was described" if limit is None else "no gust was given"
    notes.note(
        "wind_not_judged",
        f"`lift_allowed` speaks of lightning and storm warnings only, and not of wind: {lacking}.",
        resolve="Give `crane` and `gust_speed` before anything is lifted.",
        field="/crane" if limit is None else "/gust_speed",
        references=("en_13000_wind",),
    )


def _push(given: WeatherGiven, notes: Notes) -> _Push:
    """Pressure, force and ratios of the gust, and the gust that turns the machine over."""
    pressure = None if given.gust_speed is UNSET else wind.pressure(given.gust_speed.si, given.exposure_factor)
    if pressure is not None:
        speed = given.gust_speed.si if given.gust_speed is not UNSET else 0.0
        expression = f"0.613 x {given.exposure_factor:g} x {speed:.5g}^2"
        notes.show("q", "pressure of the gust", expression, pressure, "Pa")
        _show_twin(given, notes)
    shown = UNSET if pressure is None else PressureDifference.from_si(pressure, "Pa")
    machine = given.machine
    if machine is UNSET:
        return _Push(pressure=shown)
    arm = machine.base_width.si / 2 - machine.cg_offset.si
    if arm <= 0:
        raise refuse(
            "/machine/cg_offset",
            "The centre of gravity is over or beyond the edge of the base.",
            value=machine.cg_offset,
            allowed=Allowed(below=machine.base_width.si / 2, unit="m"),
            why="the machine falls over without wind",
        )
    area, lever = machine.length.si * machine.height.si, machine.height.si / 2 + machine.stand_height.si
    holding = machine.mass.si * STANDARD_GRAVITY * arm
    critical = math.sqrt(
        holding / (wind.pressure(1.0, given.exposure_factor) * machine.drag_coefficient * area * lever)
    )
    notes.show(
        "V_cr",
        "gust that turns the machine over",
        f"sqrt(m g (b/2 - e) / (0.613 Kz Cf l h (h/2 + stand))), m g (b/2 - e) = {holding / 1000:.5g} kN.m",
        critical,
        "m/s",
    )
    push = _Push(pressure=shown, critical=Speed.from_si(critical, "m/s"))
    if pressure is None:
        return push
    force = pressure * machine.drag_coefficient * area
    notes.show("F", "wind force", f"q Cf l h = {pressure:.6g} x {machine.drag_coefficient:g} x {area:.5g}", force, "N")
    push = push._replace(force=Force.from_si(force, "kN"))
    if given.gust_speed is UNSET or given.gust_speed.si < CALM:
        return push
    return _ratios(given, machine, push, holding / (force * lever), force, notes)


def _ratios(
    given: WeatherGiven, machine: MachineInWind, push: _Push, overturning: float, force: float, notes: Notes
) -> _Push:
    overturning, sliding = tidy(overturning), tidy(given.friction * machine.mass.si * STANDARD_GRAVITY / force)
    notes.show("r_o", "overturning ratio", "m g (b/2 - e) / (F (h/2 + stand))", overturning)
    expression = f"{given.friction:g} x {machine.mass.si:g} kg x g / {force:.6g} N"
    notes.show("r_s", "sliding ratio", expression, sliding)
    for code, ratio, what in (
        ("overturning", overturning, "The machine holds {:.2f} times the moment of the wind"),
        ("sliding", sliding, "Friction holds {:.2f} times the force of the wind"),
    ):
        if ratio < 1.5:
            tied = " It is anchored: the anchors carry the rest." if given.anchored else ""
            notes.finding(
                "stop" if ratio < 1.0 and not given.anchored else "check",
                code,
                f"{what.format(ratio)}, anchors left out.{tied}",
                resolve=f"Anchors for at least {max(0.0, 1.5 - ratio) * force / 1000:.1f} kN at the middle of the "
                f"face, less face to the wind, or a sheltered place.",
                field="/machine",
                references=("site_statics", "site_practice"),
            )
    return push._replace(overturning=overturning, sliding=sliding)


def _show_twin(given: WeatherGiven, notes: Notes) -> None:
    """The same pressure in US terms, as ASCE 7 writes it, for a reader who wants to compare."""
    if given.gust_speed is UNSET:
        return
    mph = given.gust_speed.to("mph")
    top = 15.0
    if given.machine is not UNSET:
        top = given.machine.height.to("ft") + given.machine.stand_height.to("ft")
    kz = wind.exposure_c(top)
    notes.show(
        "q_asce",
        "the same by ASCE 7 for exposure C, for comparison",
        f"0.00256 x Kz {kz:.3f} (at {max(top, 15):.3g} ft) x Kzt 1 x Kd 0.85 x {mph:.4g}^2",
        wind.pressure_psf(mph, kz),
        "psf",
    )


def _heat(given: WeatherGiven, notes: Notes) -> tuple[Temperature | UnsetType, HeatBand | UnsetType]:
    if given.air_temperature is UNSET or given.relative_humidity is UNSET:
        return UNSET, UNSET
    t, rh = given.air_temperature.to("degF"), 100 * given.relative_humidity
    if not weather_heat.HEAT_FROM - 1e-9 <= t <= weather_heat.HEAT_TO + 1e-9:
        notes.note(
            "heat_index_not_defined",
            f"The heat index is defined from 40 to 120 degF; the air has {t:.1f} degF.",
            field="/air_temperature",
            references=("nws_heat_index",),
        )
        return UNSET, UNSET
    index = weather_heat.heat_index(t, rh)
    notes.show("HI", f"heat index: {index.way}", f"T {t:.5g} degF, RH {rh:.4g} %", index.value, "degF")
    sun = tabulated.HEAT_BANDS.rows["sun"] if given.in_sun else 0.0
    band = weather_heat.band(index.value + sun)
    if given.in_sun:
        notes.note(
            "sun_counted",
            f"Full sun adds up to {sun:g} degF; the band is that of {index.value + sun:.0f} degF, an upper bound.",
            field="/in_sun",
            references=("osha_heat_index_bands",),
        )
    if band != "lower":
        work = "" if given.work_rate is UNSET else f" {given.work_rate.capitalize()} work."
        notes.finding(
            "note" if band == "moderate" else "check",
            "heat",
            f"Heat index {index.value:.0f} degF in the shade: {band.replace('_', ' ')} risk.{work}",
            resolve="Work in the cool hours, water every quarter of an hour, shade, rest, a partner, days to get used "
            "to it.",
            field="/air_temperature",
            references=("osha_heat_index_bands",),
        )
    return Temperature.of(index.value, "degF").as_unit("degC"), band


def _chill(given: WeatherGiven, notes: Notes) -> Temperature | UnsetType:
    if given.air_temperature is UNSET or given.wind_speed is UNSET:
        return UNSET
    t, v = given.air_temperature.to("degF"), given.wind_speed.to("mph")
    if t > weather_heat.CHILL_TO + 1e-9 or v <= weather_heat.CHILL_WIND:
        notes.note(
            "wind_chill_not_defined",
            f"The wind chill is defined up to 50 degF and above 3 mph; here {t:.1f} degF and {v:.1f} mph.",
            field="/wind_speed",
            references=("nws_wind_chill",),
        )
        return UNSET
    chill = weather_heat.wind_chill(t, v)
    notes.show(
        "WC", "wind chill", f"35.74 + 0.6215 T - 35.75 V^.16 + 0.4275 T V^.16, T {t:.4g}, V {v:.4g}", chill, "degF"
    )
    if chill < 0:
        notes.check(
            "cold",
            f"The wind chill is {chill:.0f} degF: bare skin freezes, and hands get clumsy.",
            resolve="Shelter, dry layers, warm breaks, two people.",
            field="/wind_speed",
            references=("nws_wind_chill", "site_practice"),
        )
    return Temperature.of(chill, "degF").as_unit("degC")
