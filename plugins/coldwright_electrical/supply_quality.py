"""Is the supply fit to start on: volts, unbalance, frequency, currents and phase sequence as metered."""

from typing import Annotated, Any, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    tidy,
)
from coldwright.contract.quantities import Current, Frequency, Voltage
from coldwright_electrical import supply_quality_rules as rules
from coldwright_electrical.cautions import FAMILY
from coldwright_electrical.practice import (
    FREQUENCY_UNUSUAL,
    VOLTAGE_PAIRS,
    PracticeField,
    SystemFrequency,
    SystemVoltage,
    frequency_error,
    motor_nameplate,
    unusual_frequency,
)
from coldwright_electrical.references import IEC_60204_1, NEMA_MG_1, SAFE_WORK
from coldwright_electrical.unbalance import (
    ANSI_C84_1,
    IEC_61000_4_30,
    UNBALANCE_DERATING,
    derating_factor,
    greatest_deviation,
    negative_sequence,
    triangle_closes,
)

_READING: Final = "a line that reads under 50 V is dead or floating: record 0, or measure again with a loaded meter"


class LineVoltagesGiven(Given, frozen=True, kw_only=True):
    """Voltages between lines, read within the same minute."""

    ab: Annotated[Voltage, about("Line a to line b.", low=0, high=800, unit="V", why=_READING)]
    bc: Annotated[Voltage, about("Line b to line c.", low=0, high=800, unit="V", why=_READING)]
    ca: Annotated[Voltage, about("Line c to line a.", low=0, high=800, unit="V", why=_READING)]


class LineToGroundVoltagesGiven(Given, frozen=True, kw_only=True):
    """Voltages from each line to ground."""

    a: Annotated[Voltage, about("Line a to ground.", low=0, high=800, unit="V")]
    b: Annotated[Voltage, about("Line b to ground.", low=0, high=800, unit="V")]
    c: Annotated[Voltage, about("Line c to ground.", low=0, high=800, unit="V")]


class LineCurrentsGiven(Given, frozen=True, kw_only=True):
    """Currents of the three lines."""

    a: Annotated[Current, about("Line a.", low=0, high=5000, unit="A")]
    b: Annotated[Current, about("Line b.", low=0, high=5000, unit="A")]
    c: Annotated[Current, about("Line c.", low=0, high=5000, unit="A")]


class SupplyQualityGiven(Given, frozen=True, kw_only=True):
    """Readings at the machine's incoming terminals, and what the machine is made for."""

    practice: PracticeField
    nominal_voltage: SystemVoltage
    nameplate_voltage: (
        Annotated[
            Voltage,
            about(
                "Voltage on the machine's plate; by the usual pairs where left out: 460 for 480.",
                low=180,
                high=690,
                unit="V",
            ),
        ]
        | UnsetType
    ) = UNSET
    voltage_minimum: (
        Annotated[
            Voltage,
            about("Least voltage the maker allows; 0.9 of the plate where left out.", low=50, high=800, unit="V"),
        ]
        | UnsetType
    ) = UNSET
    voltage_maximum: (
        Annotated[
            Voltage,
            about("Greatest voltage the maker allows; 1.1 of the plate where left out.", low=50, high=800, unit="V"),
        ]
        | UnsetType
    ) = UNSET
    frequency: SystemFrequency
    measured_frequency: Annotated[Frequency, about("Frequency as read.", low=20, high=120, unit="Hz")] | UnsetType = (
        UNSET
    )
    line_voltages: Annotated[LineVoltagesGiven, about("The three voltages between lines.")]
    line_to_ground_voltages: (
        Annotated[LineToGroundVoltagesGiven, about("The three voltages to ground.")] | UnsetType
    ) = UNSET
    line_currents: Annotated[LineCurrentsGiven, about("The three line currents.")] | UnsetType = UNSET
    loaded: Annotated[bool, about("Whether the machine ran when the voltages were read.")]
    rotation: Annotated[
        Literal["correct", "reversed", "not_checked"], about("Phase sequence by a rotation meter at the machine.")
    ]
    sequence_relay: Annotated[
        Literal["healthy", "tripped", "not_fitted", "unknown"], about("What the machine's phase monitor shows.")
    ]
    supply_state: Annotated[Literal["live", "isolated_locked_tagged"], about("State of the supply now.")]
    unbalance_limit_fraction: Annotated[
        float,
        about("Voltage unbalance that a hermetic motor is let run on.", low=0.001, high=0.05, basis="common_practice"),
    ] = 0.02
    current_unbalance_limit_fraction: Annotated[
        float, about("Current unbalance that is let pass.", low=0.01, high=0.5, basis="common_practice")
    ] = 0.10
    measured_by_qualified_person: Annotated[
        bool, about("Whether a person qualified for this voltage took the readings.")
    ]


class SupplyQualityResults(Results, frozen=True, kw_only=True):
    """What the readings say, and whether the machine may start."""

    average_voltage: Annotated[Voltage, about("Mean of the voltages between lines.")]
    deviation_from_nominal_fraction: Annotated[float, about("Mean over nominal voltage, less one.")]
    deviation_from_nameplate_fraction: Annotated[float, about("Mean over nameplate voltage, less one.")]
    voltage_minimum: Annotated[Voltage, about("Least line voltage let pass.")]
    voltage_maximum: Annotated[Voltage, about("Greatest line voltage let pass.")]
    voltage_unbalance_fraction: (
        Annotated[float, about("Greatest deviation from the mean over the mean. Left out if all three read 0.")]
        | UnsetType
    ) = UNSET
    negative_sequence_fraction: (
        Annotated[float, about("Negative over positive sequence voltage. Left out if all three read 0.")] | UnsetType
    ) = UNSET
    unbalance_margin_fraction: (
        Annotated[float, about("Limit less the unbalance that counts; below 0 it is over the limit.")] | UnsetType
    ) = UNSET
    derating_factor: (
        Annotated[float, about("Share of its output that a motor gives. Left out above 5 % unbalance.")] | UnsetType
    ) = UNSET
    temperature_rise_increase_fraction: (
        Annotated[float, about("Growth of the winding's temperature rise.")] | UnsetType
    ) = UNSET
    expected_current_unbalance_low_fraction: (
        Annotated[float, about("Least current unbalance that this voltage unbalance brings: 6 times.")] | UnsetType
    ) = UNSET
    expected_current_unbalance_high_fraction: (
        Annotated[float, about("Greatest current unbalance that this voltage unbalance brings: 10 times.")] | UnsetType
    ) = UNSET
    average_current: Annotated[Current, about("Mean of the line currents.")] | UnsetType = UNSET
    current_unbalance_fraction: (
        Annotated[float, about("Greatest deviation of a line current from the mean over the mean.")] | UnsetType
    ) = UNSET
    rotation_verdict: Annotated[
        Literal["correct", "reversed", "unknown", "conflict"], about("Verdict on the phase sequence.")
    ]
    actions: Annotated[tuple[str, ...], about("What to do, in this order.")]
    start_allowed: Annotated[bool, about("Whether the readings allow a start: nothing blocks, and the supply is live.")]
    blocking: Annotated[tuple[str, ...], about("Codes of the `stop` findings.")]


@calculator(
    "electrical.supply_quality",
    version="1.1.0",
    title="Fitness of the supply to start and run on",
    references=(*SAFE_WORK, NEMA_MG_1, IEC_60204_1, IEC_61000_4_30, ANSI_C84_1, rules.IEC_60038),
    tables=(UNBALANCE_DERATING, VOLTAGE_PAIRS),
    hazards=("electrical", "rotating"),
    findings=(
        finding("not_qualified", "stop", "The readings were not taken by a qualified person."),
        finding("nameplate_mismatch", "stop", "The machine is made for another voltage than the system's."),
        finding("lost_phase", "stop", "A line is dead or nearly so."),
        finding("rotation_reversed", "stop", "The phase sequence is reversed."),
        finding("rotation_unknown", "stop", "Nobody has checked the phase sequence."),
        finding("rotation_conflict", "stop", "Rotation reads correct and the phase monitor has tripped."),
        finding("voltage_low", "stop", "A line voltage is below the least allowed."),
        finding("voltage_high", "stop", "A line voltage is above the greatest allowed."),
        finding("unbalance_above_limit", "stop", "The voltage unbalance is above the limit."),
        finding("unbalance_above_five_percent", "stop", "The voltage unbalance is above 5 %: no motor may run."),
        finding("frequency_out", "stop", "The frequency is outside its range."),
        finding("voltage_and_frequency_out", "stop", "Voltage and frequency together deviate too far."),
        finding("single_phasing", "stop", "A line carries almost no current while the others do."),
        finding("unbalance_derates", "check", "The voltage unbalance costs the motor output and life."),
        finding("readings_do_not_close", "check", "The three voltages cannot be of one moment."),
        finding("current_unbalance", "check", "The current unbalance is above its limit."),
        finding("machine_suspected", ("check", "note"), "Currents are less even than the voltages explain."),
        finding("unloaded_readings", "check", "The voltages were read without load."),
        finding("loaded_without_current", "check", "The machine is said to run, and no current was read."),
        finding("line_to_ground_uneven", "check", "The voltages to ground differ."),
        finding("outside_nominal_tolerance", "check", "The mean is more than 10 % off the nominal voltage."),
        finding(FREQUENCY_UNUSUAL, "check", "Frequency and practice do not usually go together."),
        finding("no_load_currents", "note", "The machine ran, and no currents were given."),
        finding("nameplate_below_nominal", "note", "The plate is below the nominal voltage, as is usual."),
        finding("supply_isolated", "note", "The supply is isolated: nothing can start."),
    ),
    examples=(
        Example(
            "first loading",
            "Invented readings of an invented machine at first loading, slightly uneven.",
            {
                "practice": "nec",
                "nominal_voltage": {"value": 480, "unit": "V"},
                "frequency": {"value": 60, "unit": "Hz"},
                "measured_frequency": {"value": 59.9, "unit": "Hz"},
                "line_voltages": {
                    "ab": {"value": 474, "unit": "V"},
                    "bc": {"value": 479, "unit": "V"},
                    "ca": {"value": 468, "unit": "V"},
                },
                "line_currents": {
                    "a": {"value": 118, "unit": "A"},
                    "b": {"value": 126, "unit": "A"},
                    "c": {"value": 113, "unit": "A"},
                },
                "loaded": True,
                "rotation": "correct",
                "sequence_relay": "healthy",
                "supply_state": "live",
                "measured_by_qualified_person": True,
            },
        ),
        Example(
            "reversed at energising",
            "Invented readings before the first start: two lines change places.",
            {
                "practice": "iec",
                "nominal_voltage": {"value": 400, "unit": "V"},
                "frequency": {"value": 50, "unit": "Hz"},
                "line_voltages": {
                    "ab": {"value": 402, "unit": "V"},
                    "bc": {"value": 404, "unit": "V"},
                    "ca": {"value": 401, "unit": "V"},
                },
                "loaded": False,
                "rotation": "reversed",
                "sequence_relay": "tripped",
                "supply_state": "live",
                "measured_by_qualified_person": True,
            },
        ),
    ),
)
def supply_quality(given: SupplyQualityGiven, notes: Notes) -> SupplyQualityResults:
    """Judge the readings of the supply before the first start, at first loading and at every visit.

    Unbalance is the greatest deviation of a line voltage from the mean over the mean (NEMA MG 1), and the exact
    negative over positive sequence voltage from three magnitudes (IEC 61000-4-30). `nec` holds the first against the
    limit, `iec` the second. Above 5 % no motor may run. Phase sequence is only ever proved with a rotation meter at the
    machine's incoming terminals, never by bumping a compressor.
    """
    nameplate = motor_nameplate(given.nominal_voltage.value)
    if not isinstance(given.nameplate_voltage, UnsetType):
        nameplate = given.nameplate_voltage.value
    low, high = _limits(given, nameplate)
    _refuse_contradictions(given, low, high)
    notes.caution(*FAMILY[:-1], rules.ROTATING_PARTS, FAMILY[-1])
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, why="Motors and tables differ.", field="/frequency")
    readings = rules.Readings(given.line_voltages, given.line_currents)
    average = readings.mean_voltage
    deviation = average / nameplate - 1
    notes.show(
        "V_m", "mean of the line voltages", f"({' + '.join(f'{v:g}' for v in readings.voltages)}) / 3", average, "V"
    )
    notes.show("d", "deviation from the nameplate", f"{average:.5g} / {nameplate:g} - 1", deviation)
    actions: list[str] = []
    rules.judge_people_and_plate(given, notes, actions, nameplate)
    rules.judge_lost_phase(readings, notes, actions)
    verdict = rules.judge_rotation(given, notes, actions)
    rules.judge_voltages(given, readings, notes, actions, (low, high))
    rules.judge_frequency(given, notes, actions, deviation)
    unbalance = _unbalance(given, readings, notes, actions)
    current_unbalance = rules.judge_currents(
        given, readings, notes, actions, unbalance.get("voltage_unbalance_fraction", 0.0)
    )
    rules.judge_ground_and_load(given, notes, actions)
    blocking = tuple(dict.fromkeys(f.code for f in notes.findings if f.severity == "stop"))
    currents = readings.currents
    running = given.loaded and given.supply_state == "live" and not rules.BURNS_OUT.isdisjoint(blocking)
    return SupplyQualityResults(
        average_voltage=Voltage.of(average, "V"),
        deviation_from_nominal_fraction=tidy(average / given.nominal_voltage.value - 1),
        deviation_from_nameplate_fraction=tidy(deviation),
        voltage_minimum=Voltage.of(low, "V"),
        voltage_maximum=Voltage.of(high, "V"),
        **unbalance,
        average_current=Current.of(sum(currents) / 3, "A") if currents else UNSET,
        current_unbalance_fraction=UNSET if current_unbalance is None else tidy(current_unbalance),
        rotation_verdict=verdict,
        actions=rules.in_order(actions, running=running),
        start_allowed=not blocking and given.supply_state == "live",
        blocking=blocking,
    )


def _limits(given: SupplyQualityGiven, nameplate: float) -> tuple[float, float]:
    low, high = given.voltage_minimum, given.voltage_maximum
    return (
        tidy(0.9 * nameplate) if isinstance(low, UnsetType) else low.value,
        tidy(1.1 * nameplate) if isinstance(high, UnsetType) else high.value,
    )


def _refuse_contradictions(given: SupplyQualityGiven, low: float, high: float) -> None:
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    if low >= high:
        pointer = "/voltage_minimum" if not isinstance(given.voltage_minimum, UnsetType) else "/voltage_maximum"
        errors.append(
            field_error(pointer, f"The least voltage, {low:g} V, is not below the greatest, {high:g} V.", value=low)
        )
    for name in ("ab", "bc", "ca"):
        value = getattr(given.line_voltages, name).value
        if 0 < value < 50:
            errors.append(
                field_error(
                    f"/line_voltages/{name}",
                    f"{value:g} V is neither a live line nor a dead one.",
                    code="out_of_range",
                    value=value,
                    allowed=Allowed(minimum=50, maximum=800, unit="V"),
                    why=_READING,
                )
            )
    if errors:
        raise Refused(errors)


def _unbalance(given: SupplyQualityGiven, readings: rules.Readings, notes: Notes, actions: list[str]) -> dict[str, Any]:
    """The results that need a mean above 0; the findings on the way."""
    mean = readings.mean_voltage
    if mean <= 0:
        return {}
    u = greatest_deviation(readings.voltages)
    closes = triangle_closes(readings.voltages)
    negative = negative_sequence(readings.voltages) if closes else 1.0
    notes.show("u", "voltage unbalance", f"max |V - V_m| / V_m, V_m = {mean:.5g} V", u)
    notes.show(
        "VUF",
        "negative over positive sequence",
        "sqrt((1 - sqrt(3 - 6b)) / (1 + sqrt(3 - 6b))), b = sum V^4 / (sum V^2)^2",
        negative,
    )
    rules.judge_unbalance(given, notes, actions, u, negative, closes=closes)
    counted = u if given.practice == "nec" else negative
    rise = 2 * (u * 100) ** 2 / 100
    notes.show("dT", "growth of the temperature rise", f"2 u%^2 / 100, u% = {u * 100:.4g}", rise)
    found = {
        "voltage_unbalance_fraction": tidy(u),
        "negative_sequence_fraction": tidy(negative),
        "unbalance_margin_fraction": tidy(given.unbalance_limit_fraction - counted),
        "temperature_rise_increase_fraction": tidy(rise),
    }
    factor = derating_factor(u)
    if factor is not None:
        notes.show("k", "derating factor", f"straight lines of the derating table at u = {u:.4g}", factor)
        found["derating_factor"] = tidy(factor)
    if readings.currents:
        found |= {
            "expected_current_unbalance_low_fraction": tidy(6 * u),
            "expected_current_unbalance_high_fraction": tidy(10 * u),
        }
    return found
