"""What a person should know of a charge and where it stands."""

from typing import Literal

from msgspec import UNSET

from coldwright.contract import Notes, finding, joined, say
from coldwright.contract.quantities import Concentration, Length, Mass, Volume
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.refrigerant_safety.placement import FOOT, SHARE_OF_LFL, Placement
from coldwright_refrigeration.shared.references import ASHRAE_15
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS_TABLE, RefrigerantLimits

FINDINGS = (
    finding("concentration_over_limit", ("stop", "check"), "A leak could exceed the concentration limit."),
    finding("flammable_over_quarter_lfl", ("stop", "check"), "A leak could reach a quarter of the flammable limit."),
    finding("a3_not_listed", "stop", "A refrigerant of group A3 in a space, in a machine that is not listed for it."),
    finding(
        "below_grade_unprotected",
        ("stop", "check"),
        "Below grade without detection and mechanical ventilation; `check` where detection and fans are not given.",
    ),
    finding("relief_outlet_too_near", "check", "The relief outlet is too low or too near to an opening."),
    finding("leak_rate_over_limit", "check", "The leak rate is above its limit: the repair clock runs."),
    finding("addition_above_charge", "check", "More was added at once than the circuit holds."),
    finding("detection_compulsory", "check", "From 500 t CO2 equivalent a detection system is compulsory."),
    finding("reclaimed_only", "note", "R-22 is no longer made: reclaimed refrigerant only."),
    finding("other_eu_rule", "note", "A rule beside the CO2 equivalent applies in the EU or Great Britain."),
    finding("space_volume_not_used", "note", "Outdoors the volume of a space is not used."),
)
"""What `refrigeration.refrigerant_safety` may have to say."""
SOURCES = (ASHRAE_15.id, LIMITS_TABLE.reference.id)
RELIEF_HEIGHT, RELIEF_DISTANCE = 15 * FOOT, 20 * FOOT
"""ASHRAE 15, from memory."""


def judge_placement(
    given: RefrigerantSafetyGiven, limits: RefrigerantLimits, placement: Placement, notes: Notes
) -> None:
    """A space that people use stops the placement; a machinery room has rules of its own to be checked."""
    volume, charge = placement.minimum_volume, placement.maximum_charge
    if placement.concentration is None or placement.fraction_of_limit is None or volume is None or charge is None:
        return
    severity: Literal["check", "stop"] = "check" if given.location == "machinery_room" else "stop"
    free = say(
        "Needs at least {volume:.4g}, or no circuit above {charge:.4g}, or a place outdoors.",
        volume=Volume.of(volume, "m3"),
        charge=Mass.of(charge, "kg"),
    )
    grams, limit = placement.concentration * 1000, placement.limit * 1000
    if placement.fraction_of_limit > 1:
        notes.finding(
            severity,
            "concentration_over_limit",
            say(
                "A leak would reach {grams:.4g}, {fraction_of_limit:.2f} times the limit of {limit:g}.",
                grams=Concentration.of(grams, "g/m3"),
                fraction_of_limit=placement.fraction_of_limit,
                limit=Concentration.of(limit, "g/m3"),
            ),
            why="Above the limit people cannot be sure to get out: suffocation, the heart, or fire.",
            resolve=free,
            field="/space_volume",
            references=SOURCES,
        )
    burns = limits.lower_flammability_limit_kg_m3
    if placement.fraction_of_lfl is not None and burns is not UNSET and placement.fraction_of_lfl > SHARE_OF_LFL:
        least = placement.charge / (SHARE_OF_LFL * burns)
        expression = f"{placement.charge:.4g} kg / ({SHARE_OF_LFL:g} x {burns:g} kg/m3)"
        notes.show("V_LFL", "Space that keeps a quarter of the flammable limit", expression, least, "m3")
        notes.finding(
            severity,
            "flammable_over_quarter_lfl",
            f"A leak would reach {placement.fraction_of_lfl:.3f} of the lower flammability limit, above {SHARE_OF_LFL:g}.",
            why=f"{given.refrigerant} ({limits.safety_group}) burns, and no room mixes evenly.",
            resolve=say(
                "Needs at least {least:.4g} for this, smaller circuits, or a place outdoors.",
                least=Volume.of(least, "m3"),
            ),
            field="/space_volume",
            references=SOURCES,
        )
    if limits.safety_group == "A3" and not given.listed_for_indoor_use:
        notes.stop(
            "a3_not_listed",
            f"{given.refrigerant} is of group A3 and the machine is not said to be listed for use in a space.",
            why="A small leak burns or explodes.",
            resolve="Set it outdoors, or use a machine that is listed for this refrigerant and space.",
            field="/listed_for_indoor_use",
            references=SOURCES,
        )
    if given.location == "below_grade" and not (given.leak_detection and given.mechanical_ventilation is True):
        fans_unknown = given.mechanical_ventilation is UNSET
        lacking = [
            *(["without leak detection"] if not given.leak_detection else []),
            *(["ventilation not given"] if fans_unknown else []),
            *(["without mechanical ventilation"] if given.mechanical_ventilation is False else []),
        ]
        notes.finding(
            "check" if given.leak_detection and fans_unknown else "stop",
            "below_grade_unprotected",
            f"Below grade, {' and '.join(lacking)}.",
            why="The vapour is heavier than air: it fills a pit from the floor and does not leave by itself.",
            resolve="Fit a detector that starts the fans and an alarm outside, or set the machine above grade.",
            field="/location",
            references=(ASHRAE_15.id,),
        )


def judge_relief(given: RefrigerantSafetyGiven, notes: Notes) -> None:
    """Where the relief device blows to."""
    relief = given.relief_discharge
    if relief is UNSET:
        return
    height, distance = relief.height_above_grade, relief.distance_to_opening
    faults = []
    if height.si < RELIEF_HEIGHT:
        least = Length.from_si(RELIEF_HEIGHT, "ft")
        faults.append(say("{height:.3g} above grade instead of {least:.3g}", height=height, least=least))
    if distance.si < RELIEF_DISTANCE:
        least = Length.from_si(RELIEF_DISTANCE, "ft")
        faults.append(say("{distance:.3g} from an opening instead of {least:.3g}", distance=distance, least=least))
    if faults:
        notes.check(
            "relief_outlet_too_near",
            say("The relief outlet is {faults}.", faults=joined(faults, " and ")),
            why="It blows without warning, and the whole charge may come.",
            resolve="Pipe it higher or further off, never smaller than the device, never with a valve in it; or keep "
            "people and intakes away as the authority allows.",
            field="/relief_discharge",
            references=(ASHRAE_15.id,),
        )
