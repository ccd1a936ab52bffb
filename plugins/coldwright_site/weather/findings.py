"""What a person should know of the weather."""

from msgspec import UNSET

from coldwright.contract import Notes, finding, say, tidy
from coldwright.contract.quantities import Speed
from coldwright_basis.instants import show
from coldwright_site.weather.given import WeatherGiven
from coldwright_site.weather.lightning import QUIET_MINUTES

FINDINGS = (
    finding("overturning", ("stop", "check"), "The machine holds less than 1.0 or 1.5 times the wind's moment."),
    finding("sliding", ("stop", "check"), "Friction holds less than 1.0 or 1.5 times the wind's force."),
    finding("too_windy_to_lift", "stop", "The gust is above the lift's wind limit."),
    finding("wind_not_judged", "note", "No gust was compared with a lift's wind limit."),
    finding("storm_warning", "stop", "A storm warning stands."),
    finding("lightning", "stop", "Thunder or a flash was less than 30 minutes ago."),
    finding("heat", ("check", "note"), "The heat index is in a band that asks for measures."),
    finding("heat_index_not_defined", "note", "The air is outside the range of the heat index."),
    finding("sun_counted", "note", "Full sun is counted by its upper bound."),
    finding("wind_chill_not_defined", "note", "Air or wind is outside the range of the wind chill."),
    finding("cold", "check", "The wind chill is below 0 degF."),
)
"""What `site.weather` may have to say."""


def wind_not_judged(limit: float | None, notes: Notes) -> None:
    """Says that `lift_allowed` does not speak of wind."""
    lacking = "no lift was described" if limit is None else "no gust was given"
    notes.note(
        "wind_not_judged",
        f"`lift_allowed` speaks of lightning and storm warnings only, and not of wind: {lacking}.",
        resolve="Give `crane` and `gust_speed` before anything is lifted.",
        field="/crane" if limit is None else "/gust_speed",
        references=("en_13000_wind",),
    )


def lift_allowed(
    given: WeatherGiven, evaluated: int | None, resume: int | None, limit: float | None, notes: Notes
) -> bool:
    """Whether lightning, gust and warning leave a lift possible."""
    allowed = True
    if evaluated is not None and resume is not None and evaluated < resume:
        allowed = False
        notes.stop(
            "lightning",
            f"Thunder or a flash less than {QUIET_MINUTES} minutes ago: cranes, masts, roofs and hoses are left at "
            f"once.",
            resolve=f"Go inside, and come back at {show(resume)} if no more is heard.",
            field="/last_lightning" if given.last_thunder_at is UNSET else "/last_thunder_at",
            references=("osha_noaa_lightning",),
        )
    if limit is None or given.gust_speed is UNSET:
        wind_not_judged(limit, notes)
    elif tidy(given.gust_speed.si) > tidy(limit):
        allowed = False
        notes.stop(
            "too_windy_to_lift",
            say(
                "The gust of {gust_speed:.1f us=mph} is above the lift's limit of {limit:.1f us=mph}.",
                gust_speed=given.gust_speed.as_unit("m/s"),
                limit=Speed.of(limit, "m/s"),
            ),
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
