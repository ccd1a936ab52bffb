"""What a person should know of the ground."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, Sentence, finding, say, tidy
from coldwright.contract.quantities import Length, PressureDifference
from coldwright_basis.compare import below
from coldwright_site.ground.contact import Contact
from coldwright_site.ground.given import GroundGiven

FINDINGS = (
    finding("field_of_another_method", "note", "Fields of another contact were given and not used."),
    finding("narrow_base", "note", "A narrow base on sand or gravel, where the value holds for a wide one."),
    finding("bearing", ("stop", "check"), "The ground is used above 1 or 0.8 of what it bears."),
    finding("overturns", "stop", "The load lies outside its base."),
    finding("uplift", "check", "An edge or a foot lifts."),
    finding("mat_shortened", "note", "The mat's strength or length shortens what counts of it."),
    finding("weak_layer", "stop", "The layer below is pressed above what it bears."),
    finding("excavation", "stop", "The base is nearer to an excavation than 1.5 times its depth."),
    finding("services_unknown", "check", "Pipes, cables and voids below are not known."),
    finding("slope", "stop", "The ground is steeper than the limit."),
)
"""What `site.ground` may have to say."""


def overturns(found: Sentence, notes: Notes) -> None:
    """The load lies outside its base."""
    notes.stop(
        "overturns",
        say("{found}: it tips over.", found=found),
        resolve="A wider base, the weight nearer to its middle, or less wind.",
        references=("site_statics",),
    )


def uplift(found: Sentence, notes: Notes) -> None:
    """An edge or a foot lifts."""
    notes.check(
        "uplift",
        found,
        why="What lifts no longer steadies; a little more tips it over.",
        resolve="A wider base, or the weight nearer to its middle.",
        references=("site_statics",),
    )


def judge_bearing(given: GroundGiven, bearing: Contact, allowable: float, notes: Notes) -> None:
    """The greatest pressure against what the ground bears."""
    if bearing.greatest is None:
        return
    use = tidy(bearing.greatest / allowable)
    notes.show("u", "Use of the ground", f"{bearing.greatest / 1000:.6g} / {allowable / 1000:.5g} kPa", use)
    if use > 0.8:
        more = use / 0.8
        notes.show("n_A", "Bearing area that leaves 0.8 in use, over what there is", f"{use:.6g} / 0.8", more)
        notes.finding(
            "stop" if use > 1 else "check",
            "bearing",
            say(
                "The ground is pressed with {greatest:.1f} of {allowable:.1f}: {use:.3f}.",
                greatest=PressureDifference.from_si(bearing.greatest, "kPa"),
                allowable=PressureDifference.from_si(allowable, "kPa"),
                use=use,
            ),
            why="Ground that gives way on one side tips what stands on it.",
            resolve=say("{more:.2f} times the bearing area, by mats or plates, or better ground.", more=more),
            references=("ibc_1806_2" if given.rules == "us" else "bs_8004_1986", "site_practice"),
        )


def judge_surroundings(given: GroundGiven, notes: Notes) -> None:
    """An excavation near by, and what lies below."""
    if given.excavation is not UNSET:
        needed = 1.5 * given.excavation.depth.si
        if below(given.excavation.distance.si, needed):
            notes.stop(
                "excavation",
                say(
                    "The excavation of {depth} is {distance:.2f} away; at least {needed:.2f} is needed.",
                    depth=given.excavation.depth,
                    distance=given.excavation.distance.as_unit("m"),
                    needed=Length.of(needed, "m"),
                ),
                why="The edge breaks away under load; a line of 1 to 1 from its toe is the best that can be hoped for.",
                resolve="Move away from the edge, or have it shored to an engineer's design.",
                field="/excavation/distance",
                references=("site_practice",),
            )
    if not given.services_known:
        notes.check(
            "services_unknown",
            "Whether pipes, cables, tanks or voids lie below is not known.",
            why="Buried pipes, tanks and voids collapse under a load that the soil itself would carry.",
            resolve="Ask whoever controls the site what lies below, and have it marked.",
            field="/services_known",
            references=("osha_1926_1402" if given.rules == "us" else "site_practice",),
        )


def judge_level(given: GroundGiven, notes: Notes) -> bool | UnsetType:
    """Whether the ground is level enough; nothing when its slope was not given."""
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
