"""The heat of machines in a room: the air that carries it away, where the room settles, and how soon it is too hot."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Load, Notes, calculator, finding, say, tidy
from coldwright.contract.quantities import Duration, Power, Temperature, VolumeFlow
from coldwright_basis.compare import above
from coldwright_refrigeration.load.loop import AIR_HEAT
from coldwright_refrigeration.room_heat.balance import GAS_CONSTANT, density, flow_needed, settles_at, time_to
from coldwright_refrigeration.room_heat.examples import EXAMPLES
from coldwright_refrigeration.room_heat.given import RoomHeatGiven
from coldwright_refrigeration.room_heat.results import RoomHeatResults
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import FANS_START, HOT_ROOM, LOCAL_RULES
from coldwright_refrigeration.shared.moist_air import standard_pressure

HOUR = 3600.0
FAST = HOUR / 4
"""s: sooner than that nobody comes in time (common practice)."""


@calculator(
    "refrigeration.room_heat",
    version="1.0.1",
    title="Heat of machines in a room",
    references=(
        references.FIRST_PRINCIPLES,
        references.HICKS_ENERGY,
        references.PSYCHROLIB,
        references.PRACTICE,
        *references.SAFETY,
    ),
    hazards=("thermal", "rotating"),
    findings=(
        finding("outside_air_too_warm", "stop", "The air that comes in is as warm as the machines bear, or warmer."),
        finding("room_too_hot", "stop", "With the air given the room becomes warmer than the machines bear."),
        finding("ventilation_not_given", "check", "How much air the room exchanges is not given."),
        finding("room_heats_fast", "note", "With its fans off the room is too hot within a quarter of an hour."),
    ),
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def room_heat(given: RoomHeatGiven, notes: Notes) -> RoomHeatResults:
    """How much air must leave the room so that the machines in it can breathe, and what happens without?

    All heat goes to the air; walls and goods, which take some at first, are left out, on the safe side. Flows are of air
    as warm as the room, as a fan in its wall moves it.
    """
    notes.caution(LOCAL_RULES, HOT_ROOM, FANS_START)
    heat = given.heat_rejected.si * (1.0 - given.ducted_fraction)
    outdoor, limit = given.outdoor_temperature.si, given.room_limit.si
    results = RoomHeatResults(heat_to_room=Power.from_si(heat, "kW"))
    if heat <= 0.0:
        return results
    if outdoor >= limit:
        notes.stop(
            "outside_air_too_warm",
            say(
                "The air that comes in is {air}, and the machines bear {limit}.",
                air=given.outdoor_temperature,
                limit=given.room_limit,
            ),
            why="No flow of it carries heat away below that limit.",
            do="Duct the condensers' air in and out, or stand the machines where it is cooler.",
            cleared_by="the person who places the machines",
            field="/outdoor_temperature",
        )
        return results
    return _ventilated(given, heat, notes)


def _ventilated(given: RoomHeatGiven, heat: float, notes: Notes) -> RoomHeatResults:
    outdoor, limit = given.outdoor_temperature.si, given.room_limit.si
    pressure = standard_pressure(given.altitude.si)
    needed = flow_needed(heat, outdoor, limit, pressure)
    required = VolumeFlow.from_si(needed, "L/s")
    power, cp = Power.from_si(heat, "kW"), f"{AIR_HEAT / 1000:g} kJ/kg.K"
    expression = (
        f"Q / (rho cp (T_limit - T_out)) = {power} / ({density(limit, pressure):.6g} kg/m3 x {cp} x "
        f"({given.room_limit} - {given.outdoor_temperature}))"
    )
    notes.show("F", "Air that keeps the limit", expression, required)
    flow, volume = given.ventilation_flow, given.room_volume
    settled: Temperature | UnsetType = UNSET
    soon: Duration | UnsetType = UNSET
    shut: Duration | UnsetType = UNSET
    if flow is UNSET:
        notes.check(
            "ventilation_not_given",
            say("The machines need {flow} of air out of the room, and its fans are not given.", flow=required),
            do="Have the fans and openings of the room measured, or duct the hot air out.",
            cleared_by="the site's mechanic",
            field="/ventilation_flow",
        )
    elif flow.si > 0.0 and (at := settles_at(heat, outdoor, flow.si, pressure)) is not None:
        settled = Temperature.from_si(at, "degC")
        expression = (
            f"T_out / (1 - Q R / (F p cp)) = {outdoor:.7g} K / (1 - {power} x {GAS_CONSTANT} J/kg.K / "
            f"({flow} x {pressure / 1000:.6g} kPa x {cp}))"
        )
        notes.show("T", "Where the room settles", expression, settled)
    if volume is not UNSET:
        closed = time_to(limit, heat, outdoor, 0.0, volume.si, pressure)
        shut = UNSET if closed is None else Duration.from_si(closed, "min")
        if flow is not UNSET and (found := time_to(limit, heat, outdoor, flow.si, volume.si, pressure)) is not None:
            soon = Duration.from_si(found, "min")
    if flow is not UNSET and above(needed, flow.si):
        notes.stop(
            "room_too_hot",
            say(
                "{flow} of air leaves the room; {required} is needed to keep it at {limit}.",
                flow=flow,
                required=required,
                limit=given.room_limit,
            ),
            why="Machines that breathe their own heat lose capacity and trip on high pressure.",
            do="Add fans and openings for the rest, or duct the hot air out.",
            cleared_by="the site's mechanic",
            field="/ventilation_flow",
        )
    if shut is not UNSET and shut.si < FAST:
        notes.note(
            "room_heats_fast",
            say("With no air exchanged the room is at {limit} after {time}.", limit=given.room_limit, time=shut),
            why="A fan that stops is then an emergency.",
            resolve="Stop the machines by the same switch as the fans, and give the room an alarm of temperature.",
            field="/room_volume",
        )
    return RoomHeatResults(
        heat_to_room=Power.from_si(heat, "kW"),
        required_flow=required,
        air_changes=UNSET if volume is UNSET else tidy(needed * HOUR / volume.si),
        room_temperature=settled,
        time_to_limit=soon,
        time_to_limit_shut=shut,
    )
