"""What a person should know of a pull-down."""

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Power, Temperature, VolumePerPower
from coldwright.contract.sentences import Words
from coldwright_refrigeration.pull_down.curve import Moment, Plant
from coldwright_refrigeration.pull_down.given import PullDownGiven
from coldwright_refrigeration.pull_down.plant import HOTTEST

FINDINGS = (
    finding("set_point_not_reached", "stop", "With all stages on the loop does not reach its set point."),
    finding("oil_heating_incomplete", "stop", "The oil has not been heated for long enough to start."),
    finding("loop_overheats", "stop", "The loop gets hotter than 95 degC before it is cooled."),
    finding("entering_above_maximum", "check", "The loop is warmer than the machine takes: a hot start."),
    finding("starts_above_allowed", "check", "A compressor would start more often than it may."),
    finding("volume_below_minimum", "check", "The loop holds less than its control asks for."),
    finding("swing_above_tolerance", "check", "The temperature swings more than the process bears."),
    finding("no_cycling", "note", "The low load keeps at least one stage running."),
    finding("volume_for_capacity", "note", "Loop volume for each unit of capacity beside the usual figures."),
    finding("well_mixed", "note", "The loop is taken as well mixed."),
)


def not_reached(given: PullDownGiven, plant: Plant, final: float | None, lacking: float, notes: Notes) -> None:
    """The set point is never reached, and by how much the capacity falls short."""
    where: Words = "It does not settle."
    if final is not None:
        where = say("It settles at {settled}.", settled=Temperature.from_si(final, "degC"))
        if final > HOTTEST:
            where = say("It settles above {hottest}.", hottest=Temperature.from_si(HOTTEST, "degC"))
    cooling = Power.from_si(plant.cooling(plant.stages, given.set_point.si), "kW")
    expression = (
        f"Q (1 + k (T - Tr)) = {given.machine.capacity} x (1 + {plant.slope:g} x {plant.rise(given.set_point.si):.6g})"
    )
    notes.show("Q_set", "Cooling of all stages at the set point", expression, cooling)
    notes.stop(
        "set_point_not_reached",
        say(
            "At {set_point} all stages take out {cooling:us=ton} and {lacking:us=ton} comes in: "
            "{shortfall:us=ton} are missing. {where}",
            set_point=given.set_point,
            cooling=cooling,
            lacking=Power.from_si(lacking + cooling.si, "kW"),
            shortfall=Power.from_si(max(lacking, 0.0), "kW"),
            where=where,
        ),
        why="Where the heat coming in is as large as the cooling, the temperature no longer falls.",
        resolve="Shed load until the loop is cold, add capacity, insulate, or accept a warmer set point.",
        field="/machine/capacity",
        references=("refrigeration_first_principles",),
    )


def overheats(curve: list[Moment], notes: Notes) -> None:
    """The loop warms beyond the range of liquid data."""
    hottest = max(moment.temperature for moment in curve)
    notes.stop(
        "loop_overheats",
        say(
            "The loop would get to {hottest}, where its liquid is no longer known.",
            hottest=Temperature.from_si(hottest, "degC"),
        ),
        resolve="Start the machines sooner, or take the load off until they run.",
        field="/load",
    )


def usual_notes(given: PullDownGiven, notes: Notes) -> None:
    """What is always to be known of a pull-down."""
    each = VolumePerPower.from_si(given.loop.volume.si / given.machine.capacity.si, "gal/ton")
    notes.show(
        "V/Q", "Volume of the loop for each unit of capacity", f"{given.loop.volume} / {given.machine.capacity}", each
    )
    notes.note(
        "volume_for_capacity",
        say(
            "The loop holds {each}; usual are 3 to 6 gal/ton for comfort and 6 to 10 gal/ton for a process.", each=each
        ),
        field="/loop/volume",
        references=("refrigeration_practice",),
    )
    notes.note(
        "well_mixed",
        "The loop is taken as well mixed. In a real loop a cold front travels round, in volume over flow, and "
        "readings at "
        "one place step up and down around this curve.",
        references=("refrigeration_first_principles",),
    )
