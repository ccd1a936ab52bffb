"""What the readings of a circuit forbid, and what they ask to look at."""

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import PressureDifference, Temperature, TemperatureDifference
from coldwright.contract.sentences import Words
from coldwright_basis.constants import ZERO_CELSIUS, ZERO_FAHRENHEIT
from coldwright_refrigeration.circuit_check.causes import CAUSES
from coldwright_refrigeration.circuit_check.given import CircuitCheckGiven
from coldwright_refrigeration.circuit_check.readings import STANDSTILL_ALLOWANCE, Readings
from coldwright_refrigeration.shared.references import PRACTICE
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

CIRCUIT_FINDINGS = (
    finding("readings_contradict", "check", "Two readings cannot both be right: measure again. One finding each."),
    finding("liquid_to_compressor", "stop", "Superheat below 2 delta_degF: liquid reaches the compressor."),
    finding("suction_below_freezing", "stop", "The suction dew point is at or below the freezing point of the liquid."),
    finding(
        "suction_near_freezing", "check", "The suction dew point is less than 2 delta_degF above the freezing point."
    ),
    finding(
        "evaporator_inlet_below_freezing", "check", "A blend with glide enters the evaporator below the freezing point."
    ),
    finding("condensing_too_hot", "stop", "The condensing temperature is above the limit of the refrigerant."),
    finding("discharge_too_hot", ("check", "stop"), "The discharge line is above 105 degC (check) or 120 degC (stop)."),
    finding("discharge_superheat_low", "check", "Discharge superheat below 20 delta_degF: liquid in the oil."),
    finding("discharge_superheat_high", "note", "Discharge superheat above 80 delta_degF."),
    finding("compression_ratio_low", "check", "Compression ratio below 1.6."),
    finding("compression_ratio_high", ("check", "stop"), "Compression ratio above 6 (check) or 8 (stop)."),
    finding("running_backwards", "stop", "Compression ratio below 1.3: a scroll compressor turns the wrong way."),
    finding(
        "non_condensables_found",
        "check",
        "The standstill pressure is above that of the refrigerant by more than 5 psi.",
    ),
    finding(
        "standstill_all_vapour", "check", "The standstill pressure is below that of the refrigerant by more than 5 psi."
    ),
    finding("pattern_normal", "note", "Every quantity of the pattern is normal."),
    finding("pattern_abnormal", "check", "At least one quantity of the pattern is low or high."),
    finding("pattern_not_judged", "note", "Not all compressors run: only the stops are judged."),
)
_K = 1 / 1.8
"""Kelvin in a delta_degF: the limits are authored in delta_degF. All of them are common practice, no source."""
LEAST_SUPERHEAT = 2 * _K
FREEZING_MARGIN = 2 * _K
LEAST_DISCHARGE_SUPERHEAT, MOST_DISCHARGE_SUPERHEAT = 20 * _K, 80 * _K
DISCHARGE_CHECK, DISCHARGE_STOP = 105 + ZERO_CELSIUS, 120 + ZERO_CELSIUS
BACKWARDS, RATIO_LOW, RATIO_HIGH, RATIO_STOP = 1.3, 1.6, 6.0, 8.0
CONTRADICTING_SUPERHEAT = -2.0
CLAMP_ERROR = 1.0
GAUGE_ERROR = 0.03
_SOURCE = (PRACTICE.id,)


def judge(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    """Write the findings."""
    _judge_contradictions(given, r, notes)
    _judge_freezing(given, r, notes)
    _judge_compressor(r, notes)
    _judge_discharge(given, r, notes)
    _judge_standstill(given, r, notes)
    _judge_pattern(r, notes)


def _judge_contradictions(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    def contradict(statement: Words, why: str, field: str) -> None:
        notes.check(
            "readings_contradict",
            statement,
            why=why,
            resolve="Measure again: clean and insulate the clamp, zero the gauge, check altitude and refrigerant.",
            field=field,
            references=_SOURCE,
        )

    if r.superheat < CONTRADICTING_SUPERHEAT:
        contradict(
            say(
                "The suction line is {difference:.1f} colder than its dew point.",
                difference=TemperatureDifference.of(-r.superheat, "delta_degC"),
            ),
            "A suction line that is wet reads the saturation temperature, not less. Probe, altitude or refrigerant is "
            "wrong; a blend may read lower by its glide.",
            "/suction_line_temperature",
        )
    if r.liquid_line < r.air - CLAMP_ERROR:
        contradict(
            say(
                "The liquid line is {difference:.1f} colder than the air that cools it.",
                difference=TemperatureDifference.of(r.air - r.liquid_line, "delta_degC"),
            ),
            "Air cannot cool below itself. Without an economizer, a subcooler or a restriction before the probe one of "
            "the two temperatures is wrong.",
            "/liquid_line_temperature",
        )
    if r.condensing_over_ambient < 0:
        contradict(
            say(
                "The refrigerant condenses {difference:.1f} below the temperature of the air.",
                difference=TemperatureDifference.of(-r.condensing_over_ambient, "delta_degC"),
            ),
            "A running condenser gives its heat to colder air.",
            "/condenser_air_temperature",
        )
    if r.approach < 0:
        contradict(
            say(
                "The liquid leaves {difference:.1f} colder than the dew point in the evaporator.",
                difference=TemperatureDifference.of(-r.approach, "delta_degC"),
            ),
            "Nothing leaves colder than what cools it.",
            "/leaving_liquid_temperature",
        )
    if r.liquid_pressure > r.discharge_pressure * (1 + GAUGE_ERROR):
        contradict(
            say(
                "The liquid line is at {liquid_pressure:.0f}, above the {discharge_pressure:.0f} of the "
                "discharge line.",
                liquid_pressure=PressureDifference.from_si(r.liquid_pressure, "kPa"),
                discharge_pressure=PressureDifference.from_si(r.discharge_pressure, "kPa"),
            ),
            "Refrigerant flows from high pressure to low.",
            "/liquid_line_pressure" if given.liquid_line_pressure is not UNSET else "/liquid_line_pressure_absolute",
        )
    if r.liquid_ratio is not None and r.liquid_ratio < 0:
        contradict(
            say(
                "The liquid enters at {entering_liquid_temperature} and leaves warmer, at "
                "{leaving_liquid_temperature}.",
                entering_liquid_temperature=given.entering_liquid_temperature,
                leaving_liquid_temperature=given.leaving_liquid_temperature,
            ),
            "A running circuit cools. The two sensors are swapped, or nothing runs.",
            "/entering_liquid_temperature",
        )


def _judge_freezing(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    freezing = given.liquid_freezing_temperature.si
    margin = r.suction_dew - freezing
    if margin <= 0:
        notes.stop(
            "suction_below_freezing",
            say(
                "The suction dew point of {suction_dew:.1f} is {shortfall:.1f} below the freezing point of "
                "the liquid, {liquid_freezing_temperature}.",
                suction_dew=Temperature.from_si(r.suction_dew, "degC"),
                shortfall=TemperatureDifference.of(-margin, "delta_degC"),
                liquid_freezing_temperature=given.liquid_freezing_temperature,
            ),
            why="Ice bursts the evaporator and lets liquid into the circuit.",
            resolve="Stop the compressors and keep the pump running. Bring the flow up, the leaving temperature up, or "
            "the freezing point down.",
            field="/suction_pressure" if given.suction_pressure is not UNSET else "/suction_pressure_absolute",
            references=_SOURCE,
        )
    elif margin < FREEZING_MARGIN:
        notes.check(
            "suction_near_freezing",
            say(
                "The suction dew point is only {difference:.1f} above the freezing point of the liquid.",
                difference=TemperatureDifference.of(margin, "delta_degC"),
            ),
            why="A small loss of flow or load brings it below.",
            resolve=say(
                "Raise it by {difference:.1f}, to {margin:.1f} above: more flow, warmer leaving liquid, or more antifreeze.",
                difference=TemperatureDifference.of(FREEZING_MARGIN - margin, "delta_degC"),
                margin=TemperatureDifference.of(FREEZING_MARGIN, "delta_degC"),
            ),
            field="/liquid_freezing_temperature",
            references=_SOURCE,
        )
    if margin > 0 and r.suction_bubble <= freezing and r.suction_dew > r.suction_bubble:
        notes.check(
            "evaporator_inlet_below_freezing",
            say(
                "The blend enters the evaporator near its bubble point of {suction_bubble:.1f}, at or "
                "below the freezing point of {liquid_freezing_temperature}.",
                suction_bubble=Temperature.from_si(r.suction_bubble, "degC"),
                liquid_freezing_temperature=given.liquid_freezing_temperature,
            ),
            why="With glide the inlet is the coldest place; ice starts there while the dew point still looks safe.",
            resolve="Raise the leaving temperature or the flow, or add antifreeze.",
            field="/liquid_freezing_temperature",
            references=_SOURCE,
        )


def _judge_compressor(r: Readings, notes: Notes) -> None:
    if r.superheat < LEAST_SUPERHEAT:
        notes.stop(
            "liquid_to_compressor",
            say(
                "Superheat is {difference:.1f}, below {limit:.1f}.",
                difference=TemperatureDifference.of(r.superheat, "delta_degC"),
                limit=TemperatureDifference.of(LEAST_SUPERHEAT, "delta_degC"),
            ),
            why="Liquid washes out the oil and breaks the compressor.",
            resolve="Stop the compressor until the cause is found: expansion valve and its sensor, flow, load.",
            field="/suction_line_temperature",
            references=_SOURCE,
        )
    if r.ratio < BACKWARDS:
        notes.stop(
            "running_backwards",
            f"The compression ratio is {r.ratio:.2f}, almost no pressure difference.",
            why="A scroll that turns the wrong way is noisy, pumps nothing and burns out in minutes.",
            resolve="Stop. A licensed electrician swaps two phases of the supply and proves the rotation.",
            references=_SOURCE,
        )
    elif r.ratio < RATIO_LOW:
        notes.check(
            "compression_ratio_low",
            f"The compression ratio is {r.ratio:.2f}, below {RATIO_LOW:g}.",
            why="Too little difference for oil return and for the expansion valve.",
            resolve="Look at the head-pressure control, the unloader and the compressor's direction.",
            references=_SOURCE,
        )
    elif r.ratio > RATIO_HIGH:
        limit = RATIO_STOP if r.ratio > RATIO_STOP else RATIO_HIGH
        notes.finding(
            "stop" if r.ratio > RATIO_STOP else "check",
            "compression_ratio_high",
            say("The compression ratio is {ratio:.2f}, above {limit:g}.", ratio=r.ratio, limit=limit),
            why="The compressor overheats.",
            resolve="Bring the condensing temperature down (air, coil, fans) or the suction pressure up (flow, load).",
            references=_SOURCE,
        )


def _judge_discharge(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    limit = (REFRIGERANTS[given.refrigerant].condensing_stop_degF + ZERO_FAHRENHEIT) * _K
    if r.condensing > limit:
        shown = Temperature.from_si(limit, "degC")
        notes.show("T_lim", f"Highest condensing temperature of {given.refrigerant}", "from the table of limits", shown)
        notes.stop(
            "condensing_too_hot",
            say(
                "The refrigerant condenses at {condensing:.1f}, {excess:.1f} above the {limit:.1f} for {refrigerant}.",
                condensing=Temperature.from_si(r.condensing, "degC"),
                excess=TemperatureDifference.of(r.condensing - limit, "delta_degC"),
                limit=shown,
                refrigerant=given.refrigerant,
            ),
            why="The high-pressure switch is near, and the compressor overheats.",
            resolve="Shed load at once; then clean the coil, see every fan turn, and give the condenser cooler air.",
            references=_SOURCE,
        )
    if given.discharge_line_temperature is UNSET or r.discharge_superheat is None:
        return
    line = given.discharge_line_temperature.si
    if line > DISCHARGE_CHECK:
        bound = DISCHARGE_STOP if line > DISCHARGE_STOP else DISCHARGE_CHECK
        notes.finding(
            "stop" if line > DISCHARGE_STOP else "check",
            "discharge_too_hot",
            say(
                "The discharge line is at {line:.1f}, above {bound:.0f}.",
                line=Temperature.from_si(line, "degC"),
                bound=Temperature.from_si(bound, "degC"),
            ),
            why="Oil loses its film and cokes.",
            resolve="Lower superheat or condensing temperature; look at the compressor.",
            field="/discharge_line_temperature",
            references=_SOURCE,
        )
    if r.discharge_superheat < LEAST_DISCHARGE_SUPERHEAT:
        notes.check(
            "discharge_superheat_low",
            say(
                "Discharge superheat is {difference:.1f}, below {limit:.1f}.",
                difference=TemperatureDifference.of(r.discharge_superheat, "delta_degC"),
                limit=TemperatureDifference.of(LEAST_DISCHARGE_SUPERHEAT, "delta_degC"),
            ),
            why="Refrigerant stays dissolved in the oil, and the oil foams and thins.",
            resolve="Look for liquid in the suction: expansion valve, its sensor, oil heater.",
            field="/discharge_line_temperature",
            references=_SOURCE,
        )
    elif r.discharge_superheat > MOST_DISCHARGE_SUPERHEAT:
        notes.note(
            "discharge_superheat_high",
            say(
                "Discharge superheat is {difference:.1f}, above {limit:.1f}.",
                difference=TemperatureDifference.of(r.discharge_superheat, "delta_degC"),
                limit=TemperatureDifference.of(MOST_DISCHARGE_SUPERHEAT, "delta_degC"),
            ),
            why="High suction superheat or a worn compressor.",
            field="/discharge_line_temperature",
            references=_SOURCE,
        )


def _judge_standstill(given: CircuitCheckGiven, r: Readings, notes: Notes) -> None:
    if given.standstill is UNSET or r.standstill is None:
        return
    measured, bubble, dew = (p / 1000 for p in r.standstill)
    read, at = given.standstill.pressure, given.standstill.temperature
    notes.show("p_s", "Standstill pressure, absolute", f"{read} + {r.air_pressure / 1000:.5g} kPa", measured, "kPa")
    notes.show("p_b", "Bubble pressure at standstill", f"saturation of {given.refrigerant} at {at}", bubble, "kPa")
    notes.show("p_d", "Dew pressure at standstill", f"saturation of {given.refrigerant} at {at}", dew, "kPa")
    if r.air_found:
        notes.check(
            "non_condensables_found",
            say(
                "At standstill the circuit holds {measured:.0f} absolute, {excess:.0f} above the bubble pressure.",
                measured=PressureDifference.of(measured, "kPa"),
                excess=PressureDifference.of(measured - bubble, "kPa"),
            ),
            why="Air or nitrogen adds its own pressure: it raises the condensing pressure and spoils the oil.",
            resolve="A certified technician recovers, evacuates and charges anew.",
            field="/standstill/pressure",
            references=_SOURCE,
        )
    elif r.standstill.dew - r.standstill.measured > STANDSTILL_ALLOWANCE:
        notes.check(
            "standstill_all_vapour",
            say(
                "At standstill the circuit holds {measured:.0f} absolute, {shortfall:.0f} below the dew pressure.",
                measured=PressureDifference.of(measured, "kPa"),
                shortfall=PressureDifference.of(dew - measured, "kPa"),
            ),
            why="There is no liquid left: the charge is very low, or the circuit is not at one temperature.",
            resolve="Let everything come to one temperature and read again; then search for the leak.",
            field="/standstill/pressure",
            references=_SOURCE,
        )


def _judge_pattern(r: Readings, notes: Notes) -> None:
    if not r.full_load:
        notes.note(
            "pattern_not_judged",
            "Not all compressors run, so superheat, subcooling and approaches are not compared with full-load bands.",
            resolve="Read again with all compressors running.",
            field="/compressors_running",
            references=_SOURCE,
        )
        return
    odd = [f"{quantity} {word}" for quantity, word in r.pattern.items() if word != "normal"]
    if not odd:
        notes.note("pattern_normal", "Every quantity lies in its usual band.", references=_SOURCE)
        return
    notes.check(
        "pattern_abnormal",
        f"Outside the usual band: {', '.join(odd)}.",
        why="Each trouble leaves its own pattern; see `likely_causes`.",
        resolve=(
            CAUSES[r.suspects[0].cause].next_check
            if r.suspects
            else "No trouble on the list fits. Measure again and compare with the machine's own data."
        ),
        references=_SOURCE,
    )
