"""What a person should know of the condenser's air."""

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Length, PressureDifference, TemperatureDifference
from coldwright_refrigeration.air_side.clearances import clearance_of
from coldwright_refrigeration.air_side.flow import FAN_SLOPE, GAP_SHARE, MOST_LOSS, Air
from coldwright_refrigeration.air_side.given import AirSideGiven
from coldwright_refrigeration.shared.references import PRACTICE

FINDINGS = (
    finding("roof_over_discharge", "stop", "Something is above the fans and no duct leads their air away."),
    finding("clearance_short", "check", "A clearance is below what is required. One finding each."),
    finding("recirculation_high", "check", "The air at the coil is more than 2 K above the open air."),
    finding("gap_pressure_high", "check", "A gap takes more than 0.3 of the fans' static pressure."),
    finding("loss_beyond_estimate", "check", "The air is so warm or scarce that no estimate of capacity holds."),
    finding("air_rise_unusual", "note", "The rise over the coil lies outside 8 to 14 K."),
    finding("inlet_below_ambient", "note", "The measured inlet is below the open air; taken as no recirculation."),
    finding("hot_air_upwind", "note", "Always given: keep exhaust and radiator air of generators away."),
    finding("warmer_than_weather_station", "note", "Always given: pavements and roofs are warmer than reports."),
)
"""What `refrigeration.air_side` may have to say."""
_WHY = {
    "coil": "The coil starves, or draws its own warm air.",
    "control": "Nobody can work safely at the panel; electrical working space has rules of its own.",
    "facing_coil": "Two coils pull at the same air.",
}
RECIRCULATION_CHECK = 2.0
USUAL_RISES = (8.0, 14.0)
_SOURCE = (PRACTICE.id,)


def judge(given: AirSideGiven, air: Air, notes: Notes) -> None:
    """Write the findings."""
    _judge_clearances(given, notes)
    if air.recirculation_rise > RECIRCULATION_CHECK:
        notes.check(
            "recirculation_high",
            say(
                "The air at the coil is {rise:.2f} above the open air: {fraction:.2f} of it comes round again.",
                rise=TemperatureDifference.of(air.recirculation_rise, "delta_degC"),
                fraction=air.fraction,
            ),
            why="Each kelvin costs about 1.3 % of the capacity, and the pressure switch may trip on the hottest day.",
            resolve=say(
                "More space, nothing above, screens or ducts that keep warm from cold air, or "
                "the machine turned across the wind; at most {recirculation_check:g}.",
                recirculation_check=TemperatureDifference.of(RECIRCULATION_CHECK, "delta_degC"),
            ),
            references=_SOURCE,
        )
    if air.gap is not None and air.gap.distance_needed is not None:
        sum_of = f"distance x ({air.gap.share_of_static:.4g} / {GAP_SHARE:g})^0.5"
        notes.show("d_gap", "Gap that keeps the share", sum_of, Length.of(air.gap.distance_needed, "m"))
        notes.check(
            "gap_pressure_high",
            say(
                "The gap takes {pressure_drop:.1f}, {share_of_static:.2f} of the fans' static pressure; "
                "about {fan_slope:.0%} of the air is lost.",
                pressure_drop=PressureDifference.of(air.gap.pressure_drop, "Pa"),
                share_of_static=air.gap.share_of_static,
                fan_slope=FAN_SLOPE * air.gap.share_of_static,
            ),
            why="Propeller fans have little pressure to spare.",
            resolve=say(
                "A gap of {distance:.2f} keeps {gap_share:g} of the static pressure.",
                distance=Length.of(air.gap.distance_needed, "m"),
                gap_share=GAP_SHARE,
            ),
            field="/gap/distance",
            references=_SOURCE,
        )
    if air.capacity_effect < MOST_LOSS:
        notes.check(
            "loss_beyond_estimate",
            say(
                "The condenser works as if the ambient were {rise:.1f} warmer: no estimate of "
                "the capacity holds there.",
                rise=TemperatureDifference.of(air.effective - air.ambient, "delta_degC"),
            ),
            why="The machine will trip or unload.",
            resolve="Free the air first.",
            references=_SOURCE,
        )
    if not USUAL_RISES[0] <= air.rise <= USUAL_RISES[1]:
        notes.note(
            "air_rise_unusual",
            say(
                "The air warms by {rise:.1f} over the coil; usual are {least:g} to {most:g}.",
                rise=TemperatureDifference.of(air.rise, "delta_degC"),
                least=TemperatureDifference.of(USUAL_RISES[0], "delta_degC"),
                most=TemperatureDifference.of(USUAL_RISES[1], "delta_degC"),
            ),
            why="Heat and airflow may not belong together.",
            references=_SOURCE,
        )
    notes.note(
        "hot_air_upwind",
        "Exhaust and radiator air of a generator upwind of the coil is not in this sum.",
        resolve="Set generators downwind, or well away.",
        references=_SOURCE,
    )
    notes.note(
        "warmer_than_weather_station",
        say(
            "Pavement or a roof in the sun is {least} to {most} warmer than the weather station says.",
            least=TemperatureDifference(2.0, "delta_degC"),
            most=TemperatureDifference(5.0, "delta_degC"),
        ),
        resolve="Measure at the place, or add it to the ambient temperature.",
        field="/ambient_temperature",
        references=_SOURCE,
    )


def _judge_clearances(given: AirSideGiven, notes: Notes) -> None:
    for i, clearance in enumerate(given.clearances):
        pointer = f"/clearances/{i}"
        if clearance.side == "top" and not clearance.ducted:
            notes.stop(
                "roof_over_discharge",
                say(
                    "Something is {distance} above the fans and no duct leads their air away.",
                    distance=clearance.distance,
                ),
                why="The warm air comes straight back to the coils until the machine trips.",
                resolve="A place under the open sky, or a duct that takes the air past the roof and that the fans can bear.",
                field=pointer,
                references=_SOURCE,
            )
        found = clearance_of(clearance)
        if found is not None and found.shortfall.si > 0:
            source = "the machine's data ask" if clearance.required is not UNSET else "common practice asks"
            notes.check(
                "clearance_short",
                say(
                    "{distance} at `{side}`, where {source} for {required:g}.",
                    distance=clearance.distance,
                    side=clearance.side,
                    source=source,
                    required=found.required,
                ),
                why=_WHY.get(clearance.side, "The fans need the height that the machine's data ask for."),
                resolve=say(
                    "Move the machine by {shortfall:.2f}, or show by calculation that the air suffices.",
                    shortfall=found.shortfall,
                ),
                field=pointer,
                references=_SOURCE,
            )
