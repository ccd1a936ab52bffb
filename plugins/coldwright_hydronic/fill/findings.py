"""What a person should know of a fill."""

from collections.abc import Iterator
from typing import Any, Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import GaugePressure, Length, PressureDifference, Temperature
from coldwright_basis.compare import above, below
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.fill.static_pressures import Heights
from coldwright_hydronic.shared.backflow import (
    can_harm_drinking_water,
    holds_back_pressure,
    in_words,
    least_in_words,
    suits,
)
from coldwright_hydronic.shared.cautions import (
    ETHYLENE_TOXIC,
    HOSE_UNDER_PRESSURE,
    LOCAL_CODE,
    NEVER_LOOSEN_UNDER_PRESSURE,
    NO_AIR_TEST,
    POTABLE_BACKFLOW,
    WATER_QUALITY,
)

FINDINGS: Final = (
    finding("fill_pressure_low", "stop", "The fill pressure is below what is required."),
    finding("top_pressure_not_positive", "stop", "An opened vent would draw air in."),
    finding("relief_margin_used", "stop", "The relief valve is at or within its margin."),
    finding("height_above_rating", "stop", "The height asks for more pressure than a part may take."),
    finding("rating_exceeded", "stop", "A part is above its working pressure."),
    finding("backflow_not_enough", ("stop", "check"), "The backflow preventer does not suit the contents."),
    finding("shut_in_without_relief", ("stop", "check"), "A full loop can be shut in with nothing to take its growth."),
    finding("vessel_over_maximum", "stop", "The fill pressure leaves the expansion vessel nothing to take."),
    finding("vessel_already_full", "check", "The fill pressure is above the precharge: part of the vessel is taken."),
    finding("feed_pump_needed", "check", "The tap does not reach the required pressure."),
    finding("long_fill", "check", "Filling takes more than 4 hours."),
    finding("meter_differs", "check", "Meter and volume differ by more than 10 %."),
    finding("vessel_barely_works", "check", "Precharge over greatest pressure is above 0.8."),
    finding("buffer_needed", "check", "The loop is too small for the control."),
    finding("pressure_high_for_height", "check", "Over 345 kPa at the machine on a job of under 20 m."),
    finding("no_net_expansion", "note", "The pipe grows as much as the liquid."),
    finding("top_is_not_the_high_point", "note", "Machine or fill point stand above the high point given."),
    finding("shut_in_hose_in_the_sun", "note", "A full length shut in at both ends bursts when it warms."),
    finding("lay_flat_swells", "note", "Charged lay-flat hose holds a few per cent more."),
)


LONG_FILL = 4 * 3600.0

METER_TOLERANCE = 0.10

BARELY_WORKS = 0.8

HIGH_PRESSURE, LOW_JOB = 345e3, 20.0

PRECHARGE_FAR_BELOW = 1.2
"""Absolute pressure at the vessel over its precharge from which part of the vessel counts as taken."""


def judge(given: FillGiven, notes: Notes, worked: dict[str, Any], density: float, heights: Heights) -> None:
    """Everything that a person should know of this filling. `worked` holds the results by name."""
    _judge_pressure(given, notes, worked, heights)
    _judge_relief_and_ratings(given, notes, worked)
    _judge_backflow(given, notes)
    _judge_supply(notes, worked)
    _judge_vessel(given, notes, worked, density, heights)
    if "buffer_volume" in worked and worked["buffer_volume"].value > 0:
        notes.check(
            "buffer_needed",
            say(
                "The control needs {minimum_loop_volume}; {buffer_volume} is missing.",
                minimum_loop_volume=worked["minimum_loop_volume"],
                buffer_volume=worked["buffer_volume"],
            ),
            why="The last step starts too often: oil leaves the compressor and its motor overheats.",
            resolve="Add a buffer tank in the part that always circulates, a longer hose, a wider band or a smaller step.",
            field="/cycling",
            references=("cervera_vazquez_2016", "hydronic_first_principles"),
        )
    notes.note(
        "shut_in_hose_in_the_sun",
        say(
            "A full hose shut in at both ends bursts when the sun warms it: in a rigid space water gains {rise} from {cold} "
            "to {warm}. Leave one end open to the expansion vessel, or crack a vent.",
            rise=PressureDifference(9200.0, "kPa"),
            cold=Temperature(10.0, "degC"),
            warm=Temperature(30.0, "degC"),
        ),
        references=("water_properties",),
    )
    if given.lines:
        notes.note(
            "lay_flat_swells",
            "Charged lay-flat hose holds a few per cent more than its bore at rest.",
            references=("hydronic_practice",),
        )
    notes.caution(
        POTABLE_BACKFLOW,
        HOSE_UNDER_PRESSURE,
        NO_AIR_TEST,
        NEVER_LOOSEN_UNDER_PRESSURE,
        WATER_QUALITY,
        *(() if given.fluid.kind == "water" else (ETHYLENE_TOXIC,)),
        LOCAL_CODE,
    )


def _judge_pressure(given: FillGiven, notes: Notes, worked: dict[str, Any], heights: Heights) -> None:
    if heights.top is None or heights.high_point is None:
        return
    if heights.top > heights.high_point:
        notes.note(
            "top_is_not_the_high_point",
            say(
                "The machine or the fill point, at {top:.2f}, stands above the high point given and is the top.",
                top=Length.of(heights.top, "m"),
            ),
            field="/high_point_elevation",
        )
    required = worked["required_fill_pressure"]
    weak = [(field, name, rating) for field, name, rating in _rated_parts(given) if above(required.si, rating.si)]
    for field, name, rating in weak:
        notes.stop(
            "height_above_rating",
            say(
                "This height asks for {required} at the fill point, more than the working pressure of "
                "{name}, {rating}.",
                required=required,
                name=name,
                rating=rating,
            ),
            why="Filled high enough for its top, the part may burst; filled lower, the top draws air.",
            resolve=say(
                "Take a part rated above {required} and the pump's head on top of it, or bring "
                "the top of the loop lower.",
                required=required,
            ),
            field=field,
        )
    first = "Take stronger parts first, then fill" if weak else "Fill"
    if given.fill_pressure is UNSET:
        return
    if below(given.fill_pressure.si, required.si):
        notes.stop(
            "fill_pressure_low",
            say(
                "{fill_pressure} at the fill point; {required} is required, {shortfall:.1f} more.",
                fill_pressure=given.fill_pressure,
                required=required,
                shortfall=PressureDifference.from_si(required.si - given.fill_pressure.si, "kPa"),
            ),
            why="The top of the loop draws air and the pump's suction starves.",
            resolve=say("{first} to {required} with the pump off.", first=first, required=required),
            field="/fill_pressure",
            references=("hydronic_first_principles",),
        )
    if worked["top_pressure"].value <= 0:
        notes.stop(
            "top_pressure_not_positive",
            say("The top stands at {top_pressure} gauge.", top_pressure=worked["top_pressure"]),
            why="A vent opened there draws air in.",
            resolve=say("{first} to {required} before any vent is opened.", first=first, required=required),
            field="/fill_pressure",
            references=("hydronic_first_principles",),
        )
    if worked["machine_pressure"].si > HIGH_PRESSURE and heights.top - heights.fill < LOW_JOB:
        notes.check(
            "pressure_high_for_height",
            say(
                "{machine_pressure} at the machine for a top {rise:.1f} above the fill point.",
                machine_pressure=worked["machine_pressure"],
                rise=Length.of(heights.top - heights.fill, "m"),
            ),
            why="That much serves a far higher job and uses up relief valve, hose and expansion vessel.",
            resolve=say("{required} is enough here, unless something else asks for more.", required=required),
            field="/fill_pressure",
            references=("hydronic_practice",),
        )


def _rated_parts(given: FillGiven) -> Iterator[tuple[str, str, GaugePressure]]:
    rated = [(f"/lines/{i}", n.name, n.working_pressure) for i, n in enumerate(given.lines)]
    rated += [(f"/vessels/{i}", v.name, v.working_pressure) for i, v in enumerate(given.vessels)]
    for pointer, name, pressure in rated:
        if pressure is not UNSET:
            yield f"{pointer}/working_pressure", name, pressure


def _judge_relief_and_ratings(given: FillGiven, notes: Notes, worked: dict[str, Any]) -> None:
    if "relief_margin" in worked and worked["relief_margin"].value <= 0:
        notes.stop(
            "relief_margin_used",
            say(
                "At the relief valve the pressure is {relief_margin:.1f} past the setting less its margin.",
                relief_margin=PressureDifference.of(-worked["relief_margin"].value, "kPa"),
            ),
            why="The valve weeps or opens, the loop loses liquid and draws air.",
            resolve="Lower the fill pressure, or take a higher setting that every part is rated for.",
            field="/relief_valve_setting",
            references=("hydronic_practice",),
        )
    pressures = [] if given.fill_pressure is UNSET else [("fill pressure", given.fill_pressure)]
    if given.expansion is not UNSET and given.expansion.maximum_pressure is not UNSET:
        pressures.append(("greatest pressure", given.expansion.maximum_pressure))
    for field, name, rating in _rated_parts(given):
        for what, pressure in pressures:
            if above(pressure.si, rating.si):
                notes.stop(
                    "rating_exceeded",
                    say(
                        "The {what} of {pressure} is above the working pressure of {name}, {rating}.",
                        what=what,
                        pressure=pressure,
                        name=name,
                        rating=rating,
                    ),
                    why="The part may burst.",
                    resolve="Lower the pressure or take a part of a higher rating.",
                    field=field,
                )
    if given.relief_valve_setting is UNSET and given.expansion is UNSET and given.can_be_shut_in is not False:
        known = given.can_be_shut_in is True
        notes.finding(
            "stop" if known else "check",
            "shut_in_without_relief",
            "The full loop can be shut in"
            + ("" if known else ", for all that is known,")
            + " with neither a relief valve "
            "nor an expansion vessel on it.",
            why="A few kelvin of warming raise the pressure by megapascals.",
            resolve="Fit a relief valve or leave a vessel open to the loop, and give its data here.",
            field="/can_be_shut_in",
            references=("water_properties",),
        )


def _judge_backflow(given: FillGiven, notes: Notes) -> None:
    if given.tap is UNSET or given.tap.backflow_preventer is UNSET:
        return
    device = given.tap.backflow_preventer
    harmful = can_harm_drinking_water(given.fluid, treated=given.treated)
    if suits(device, harmful=harmful):
        return
    worst = device == "hose_vacuum_breaker" or (harmful and device != "double_check")
    contents = "glycol or treated water" if harmful else "plain water"
    why = "What is in the loop can be drawn or pushed into the drinking water"
    if not holds_back_pressure(device):
        why += "; this device does not hold back the pressure of the loop"
    notes.finding(
        "stop" if worst else "check",
        "backflow_not_enough",
        say("A loop of {contents} behind {in_words}.", contents=contents, in_words=in_words(device)),
        why=why,
        resolve=say("Use {least_in_words}.", least_in_words=least_in_words(harmful=harmful)),
        field="/tap/backflow_preventer",
        references=("backflow_rules", "irc_2018_p2902"),
    )


def _judge_supply(notes: Notes, worked: dict[str, Any]) -> None:
    reachable, required = worked.get("reachable_pressure"), worked.get("required_fill_pressure")
    if reachable is not None and required is not None and below(reachable.si, required.si):
        notes.check(
            "feed_pump_needed",
            say(
                "The tap reaches {reachable} behind the backflow preventer; {required} is required.",
                reachable=reachable,
                required=required,
            ),
            why="The top would stay empty.",
            resolve="Bring a feed pump.",
            field="/tap",
        )
    if "fill_time" in worked and worked["fill_time"].si > LONG_FILL:
        notes.check(
            "long_fill",
            say("Filling takes {fill_time:.1f}.", fill_time=worked["fill_time"].as_unit("h")),
            why="The crew waits.",
            resolve="Take a hydrant with its meter and backflow preventer, or a tanker.",
            field="/tap/flow",
            references=("hydronic_practice",),
        )
    difference = worked.get("meter_difference_fraction")
    if difference is not None and above(abs(difference), METER_TOLERANCE):
        cause = "Air is trapped, or volume was counted that is not there" if difference < 0 else (
            "It leaks, a drain is open, or pipe was not counted"
        )  # fmt: skip
        notes.check(
            "meter_differs",
            f"The meter says {abs(difference):.0%} {'less' if difference < 0 else 'more'} than the volume.",
            why=cause,
            resolve="Walk the loop before the pump is started.",
            field="/meter",
            references=("hydronic_practice",),
        )


def _judge_vessel(given: FillGiven, notes: Notes, worked: dict[str, Any], density: float, heights: Heights) -> None:
    plan = given.expansion
    if plan is UNSET:
        return
    if worked["expansion_fraction"] <= 0:
        notes.note(
            "no_net_expansion",
            "Over this range the pipe grows as much as the liquid: no vessel is needed for expansion.",
            field="/expansion",
        )
    if plan.minimum_pressure is UNSET or plan.maximum_pressure is UNSET:
        return
    air = given.atmospheric_pressure.si
    low, high = plan.minimum_pressure.si + air, plan.maximum_pressure.si + air
    if low > BARELY_WORKS * high:
        notes.check(
            "vessel_barely_works",
            f"Precharge over greatest pressure is {low / high:.2f} (absolute): only {1 - low / high:.0%} of the vessel works.",
            why="A small error of either pressure leaves it nothing to take.",
            resolve="Raise the greatest pressure, set the vessel higher, or lower the precharge.",
            field="/expansion/maximum_pressure",
            references=("ashrae_expansion_vessel",),
        )
    if given.fill_pressure is UNSET:
        return
    at_vessel = given.fill_pressure.si - density * STANDARD_GRAVITY * (heights.vessel - heights.fill) + air
    gauge = PressureDifference.from_si(at_vessel - air, "kPa")
    if at_vessel >= high:
        notes.show("p_v", "Pressure at the vessel", "p_fill - rho g (z_vessel - z_fill)", gauge)
        notes.stop(
            "vessel_over_maximum",
            say(
                "The fill pressure puts {pressure:.0f} on the vessel, whose greatest is {maximum_pressure}.",
                pressure=gauge,
                maximum_pressure=plan.maximum_pressure,
            ),
            why="Nothing is left to take the expansion: the relief valve opens.",
            resolve="Lower the fill pressure or raise the greatest pressure.",
            field="/fill_pressure",
            references=("ashrae_expansion_vessel",),
        )
    elif plan.vessel_type == "diaphragm" and at_vessel > PRECHARGE_FAR_BELOW * low:
        notes.show("p_v", "Pressure at the vessel", "p_fill - rho g (z_vessel - z_fill)", gauge)
        notes.check(
            "vessel_already_full",
            say(
                "The fill pressure puts {pressure:.0f} on a vessel precharged to "
                "{minimum_pressure}: {full:.0%} of it is full of liquid, and {gas:.0%} of its gas "
                "is left to squeeze.",
                pressure=gauge,
                minimum_pressure=plan.minimum_pressure,
                full=1 - low / at_vessel,
                gas=1 - at_vessel / high,
            ),
            why="The vessel worked out here is too small for that.",
            resolve="Set the precharge to the fill pressure at the vessel's height, vessel empty.",
            field="/expansion/minimum_pressure",
            references=("ashrae_expansion_vessel",),
        )
