"""Hazards of siting, lifting and moving hired machines, and the usual care. Shared by the family."""

from typing import Final

from coldwright.contract import Caution

RULES_PREVAIL = Caution(
    code="rules_prevail",
    hazard="general",
    statement="A planning aid, not a permit: the competent person on site, the chart or plate of what lifts, the "
    "site's permits, local codes and the licensed trades prevail. What people say and gauges show may be wrong.",
)
# --- lifting -------------------------------------------------------------------------------------------------------
NOBODY_UNDER_THE_LOAD = Caution(
    code="nobody_under_the_load",
    hazard="lifting",
    statement="Keep everybody out from under the load and out of where it could fall or swing; fence off the crane's "
    "swing area.",
    references=("osha_1926_1424",),
)
NOBODY_UNDER_THE_FORKS = Caution(
    code="nobody_under_the_load",
    hazard="lifting",
    statement="Keep everybody out from under the raised forks and out of where the load could fall.",
    references=("site_practice",),
)
WRITTEN_LIFT_PLAN = Caution(
    code="written_lift_plan",
    hazard="lifting",
    statement="A load can turn over or break its gear: lift to a written plan, with a qualified rigger, a signal "
    "person and tag lines, lift a hand's breadth first and look.",
    references=("site_practice",),
)
CRANE_CHART_PREVAILS = Caution(
    code="crane_chart_prevails",
    hazard="lifting",
    statement="The crane's own chart for its set-up, radius and boom, the gear's tags and the maker's data for the "
    "lugs prevail over every figure here; look at the ground and the wind before each lift.",
    references=("site_practice",),
)
TRUCK_CARE = Caution(
    code="truck_care",
    hazard="lifting",
    statement="Only a trained operator, the truck's plate and its daily inspection count. Travel with the load low and "
    "tilted back, no faster than a walk, forks as far apart as the load allows; nobody rides on forks or load.",
    references=("osha_1910_178_app_a", "site_practice"),
)
# --- ground --------------------------------------------------------------------------------------------------------
_COMPETENT_PERSON = (
    "A table's bearing value holds for undisturbed soil at grade. Voids, pipes, backfill, slab edges and wet ground carry less: a "
    "competent person looks at the ground, and whoever controls the site says what is buried."
)
GROUND_COMPETENT_PERSON: Final = {
    rules: Caution(
        code="ground_competent_person",
        hazard="lifting",
        statement=_COMPETENT_PERSON,
        references=(*sources, "site_practice"),
    )
    for rules, sources in (("us", ("osha_1926_1402", "ibc_1806_2")), ("europe", ("bs_8004_1986",)))
}
"""By the rules that were asked for."""
RECHECK_AFTER_RAIN = Caution(
    code="recheck_after_rain",
    hazard="lifting",
    statement="Look at level and settlement again after rain, thaw, the first lift and the first day.",
    references=("site_practice",),
)
# --- placement -----------------------------------------------------------------------------------------------------
ENGINE_EXHAUST = Caution(
    code="engine_exhaust",
    hazard="environment",
    statement="Engine exhaust carries carbon monoxide: keep it from air intakes, doors and windows, downwind, and "
    "never run an engine in a room, a pit or between walls.",
    references=("nfpa_37", "site_practice"),
)
EXITS_AND_FIRE_ACCESS = Caution(
    code="exits_and_fire_access",
    hazard="general",
    statement="Exits, fire lanes, hydrants and escape ways stay free of machines, hoses and cables at all times.",
    references=("ifc_503_507",),
)
WORKING_SPACE = Caution(
    code="working_space",
    hazard="electrical",
    statement="The space in front of live parts is at least 30 in (0.76 m) wide and 6.5 ft (1.98 m) high, is kept "
    "clear and is not used for storing.",
    references=("nec_110_26",),
)
AIR_DISCHARGE = Caution(
    code="air_discharge",
    hazard="general",
    statement="Nothing above the fans: a roof, canopy or tree over the discharge turns hot air back into the coils.",
    references=("site_practice",),
)
HOSE_AND_CABLE_ROUTES = Caution(
    code="hose_and_cable_routes",
    hazard="electrical",
    statement="Hoses and cables get ramps where people or wheels cross, each in its own channel; no cable joint or "
    "lead lies below a hose coupling, where a leak would wet it.",
    references=("site_practice",),
)
# --- sound ---------------------------------------------------------------------------------------------------------
HEARING = Caution(
    code="hearing",
    hazard="noise",
    statement="Noise harms hearing for good: first distance, screens and shorter stays, then hearing protectors.",
    references=("osha_1910_95_app_a", "niosh_98_126"),
)
NIGHT_WORK = Caution(
    code="night_work",
    hazard="noise",
    statement="Night running and night work may need a permit; local rules may add 5 dB for a tone such as a slow "
    "fan's hum, and count ground, reflections and wind their own way.",
    references=("site_practice",),
)
SOUND_UNCERTAIN = Caution(
    code="sound_uncertain",
    hazard="noise",
    statement="The level holds for point sources, a light wind from source to receiver, and farther than twice the "
    "machine's largest side; it may be wrong by 3 dB either way. Measure before promising.",
    references=("iso_9613_2",),
)
# --- transport -----------------------------------------------------------------------------------------------------
LOAD_SHIFT = Caution(
    code="load_shift",
    hazard="lifting",
    statement="The driver checks tie-downs, height and width before leaving, within the first 50 miles and at each "
    "stop; loose panels, doors and lids are fixed.",
    references=("fmcsa_393", "site_practice"),
)
ROAD_PERMITS = Caution(
    code="road_permits",
    hazard="general",
    statement="Only the US federal limits are tested: states and towns have their own limits, permits, escorts and "
    "hours.",
    references=("fhwa_bridge_formula", "us_road_size_limits"),
)
LOAD_SHIFT_EUROPE = Caution(
    code="load_shift",
    hazard="lifting",
    statement="The driver checks the lashings, height and width before leaving and at each stop; loose panels, doors and "
    "lids are fixed.",
    references=("directive_2014_47_eu", "site_practice"),
)
ROAD_LIMITS_EUROPE = Caution(
    code="road_permits",
    hazard="general",
    statement="Only the limits of Directive 96/53/EC are tested: states have their own masses, axles, permits, escorts and "
    "hours.",
    references=("directive_96_53_ec",),
)
# --- weather -------------------------------------------------------------------------------------------------------
STORM = Caution(
    code="storm",
    hazard="environment",
    statement="Gusts exceed the hour's mean wind by half or more, and a machine on a roof or a trailer meets more wind "
    "than one on the ground. Fix loose panels. Lower the boom before the storm, never shelter under a crane.",
    references=("osha_1926_1417", "site_practice"),
)
LIGHTNING = Caution(
    code="lightning",
    hazard="environment",
    statement="At the first thunder or flash stop work on cranes, masts, roofs and hoses at once and go inside; come "
    "back 30 minutes after the last thunder.",
    references=("osha_noaa_lightning",),
)
HEAT_AND_COLD = Caution(
    code="heat_and_cold",
    hazard="thermal",
    statement="Water, shade, rest and a partner in heat, more so in arc-rated or sealed clothing; dry layers and warm "
    "breaks in cold. Hot work stops in dry wind unless a fire watch stands by.",
    references=("osha_heat_index_bands", "site_practice"),
)
CRANE: Final = (NOBODY_UNDER_THE_LOAD, WRITTEN_LIFT_PLAN, CRANE_CHART_PREVAILS, RULES_PREVAIL)
FORK_TRUCK: Final = (TRUCK_CARE, NOBODY_UNDER_THE_FORKS, RULES_PREVAIL)
GROUND: Final = {
    rules: (person, RECHECK_AFTER_RAIN, RULES_PREVAIL) for rules, person in GROUND_COMPETENT_PERSON.items()
}
PLACEMENT: Final = (
    EXITS_AND_FIRE_ACCESS, WORKING_SPACE, AIR_DISCHARGE, HOSE_AND_CABLE_ROUTES, RULES_PREVAIL
)  # fmt: skip
SOUND: Final = (HEARING, NIGHT_WORK, SOUND_UNCERTAIN, RULES_PREVAIL)
TRANSPORT: Final = {
    "us": (LOAD_SHIFT, ROAD_PERMITS, RULES_PREVAIL),
    "europe": (LOAD_SHIFT_EUROPE, ROAD_LIMITS_EUROPE, RULES_PREVAIL),
}
WEATHER: Final = (STORM, LIGHTNING, HEAT_AND_COLD, CRANE_CHART_PREVAILS, RULES_PREVAIL)
