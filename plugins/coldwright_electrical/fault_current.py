"""Prospective fault current at the machine, its rating, and whether an earth fault is cleared."""

import math
from typing import Annotated, Literal, NamedTuple, cast

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, FieldError, Notes, Refused, Results, about, calculator, tidy
from coldwright.contract.quantities import Current, Duration, Frequency, Impedance
from coldwright_electrical import fault_findings as findings
from coldwright_electrical.cautions import FAMILY
from coldwright_electrical.fault_inputs import FaultCurrentGiven
from coldwright_electrical.fault_path import (
    FAULT_FACTORS,
    USUAL_FREQUENCY,
    Segment,
    Source,
    segment_errors,
    segments_of,
    source_errors,
    source_of,
)
from coldwright_electrical.impedance import IMPEDANCE_IN_RACEWAY, LINE_REACTANCE, RESISTANCE_FLEXIBLE_COPPER
from coldwright_electrical.practice import FREQUENCY_UNUSUAL, frequency_error, unusual_frequency
from coldwright_electrical.protection import (
    DISCONNECTION_TIMES,
    EQUIPMENT_GROUND,
    FUSE_OPERATING_CURRENTS,
    PROTECTIVE_CONDUCTOR,
    disconnection_time,
)
from coldwright_electrical.references import SAFE_WORK
from coldwright_electrical.sizes import cross_section
from coldwright_electrical.transformer_data import TRANSFORMER_USUAL_DATA

ROOT3 = math.sqrt(3)


class PointToPointResults(Results, frozen=True, kw_only=True):
    """The short method, which adds magnitudes: a cross-check, never a verdict."""

    f: Annotated[float, about("1/multiplier - 1.")]
    multiplier: Annotated[float, about("Share of the source's current that is left.")]
    current: Annotated[Current, about("Current at the machine by this method.")]


class PerUnitResults(Results, frozen=True, kw_only=True):
    """The same circuit worked per unit of the source."""

    base_current: Annotated[Current, about("Current of the base.")]
    impedance: Annotated[float, about("Whole impedance per unit.")]
    current: Annotated[Current, about("Fault current at the machine.")]


class FaultCurrentResults(Results, frozen=True, kw_only=True):
    """Fault currents at the source and at the machine, and what they do there."""

    source_fault_current: Annotated[Current, about("Greatest three-phase fault current at the source.")]
    fault_current_at_machine: Annotated[Current, about("Greatest three-phase fault current at the machine.")]
    fault_current_with_motors: Annotated[Current, about("The same with what motors feed back.")]
    x_over_r: Annotated[float, about("X/R at the machine. Left out where R is 0.")] | UnsetType = UNSET
    peak_factor: Annotated[float, about("kappa, first peak over the peak of the steady current.")]
    peak_current: Annotated[Current, about("First peak at the machine, without motors.")]
    point_to_point: Annotated[PointToPointResults, about("Cross-check by the short method.")]
    per_unit: Annotated[PerUnitResults, about("Cross-check per unit.")]
    rating_verdict: Annotated[
        Literal["ok", "exceeds", "unknown"], about("Current with motors against the machine's rating.")
    ]
    rating_margin_fraction: (
        Annotated[float, about("Share of the machine's rating that is left; below 0 it is exceeded.")] | UnsetType
    ) = UNSET
    earth_fault_loop_impedance: Annotated[Impedance, about("Loop impedance at the machine.")] | UnsetType = UNSET
    earth_fault_current: Annotated[Current, about("Least earth-fault current at the machine.")] | UnsetType = UNSET
    required_operating_current: Annotated[Current, about("Current that makes the device act in time.")] | UnsetType = (
        UNSET
    )
    earth_fault_loop_impedance_maximum: (
        Annotated[Impedance, about("Greatest loop impedance that still clears.")] | UnsetType
    ) = UNSET
    clears: Annotated[bool, about("Whether the earth fault is cleared in time.")] | UnsetType = UNSET
    disconnection_time_limit: Annotated[Duration, about("Time allowed to clear it, `iec`.")] | UnsetType = UNSET
    conductor_withstand_duration: (
        Annotated[Duration, about("How long the weakest conductor stands a fault at the machine.")] | UnsetType
    ) = UNSET


@calculator(
    "electrical.fault_current",
    version="1.1.0",
    title="Fault current at the machine and clearing of an earth fault",
    references=(*SAFE_WORK, *findings.REFERENCES),
    tables=(
        IMPEDANCE_IN_RACEWAY,
        RESISTANCE_FLEXIBLE_COPPER,
        LINE_REACTANCE,
        TRANSFORMER_USUAL_DATA,
        FAULT_FACTORS,
        EQUIPMENT_GROUND,
        PROTECTIVE_CONDUCTOR,
        DISCONNECTION_TIMES,
        FUSE_OPERATING_CURRENTS,
    ),
    hazards=("electrical",),
    findings=findings.FINDINGS,
    examples=(
        Example(
            "a machine on a building's transformer",
            "An invented transformer, an invented run of portable cable and an invented plate.",
            {
                "practice": "nec",
                "system_voltage": {"value": 480, "unit": "V"},
                "source": {
                    "kind": "utility_transformer",
                    "rated_apparent_power": {"value": 750, "unit": "kVA"},
                    "impedance_fraction": 0.0575,
                    "x_over_r": 5.5,
                    "upstream_fault_power": {"value": 200, "unit": "MVA"},
                },
                "segments": [
                    {
                        "length": {"value": 175, "unit": "ft"},
                        "conductor_size": "4/0 AWG",
                        "sets": 2,
                        "ground_conductor_size": "2 AWG",
                        "ground_sets": 2,
                    }
                ],
                "motor_running_current": {"value": 160, "unit": "A"},
                "device": {"rating": {"value": 400, "unit": "A"}, "interrupting_rating": {"value": 35, "unit": "kA"}},
                "machine_short_circuit_rating": {"value": 18, "unit": "kA"},
            },
        ),
        Example(
            "a machine on a generating set",
            "An invented set and run in mm2, whose fault current is weak.",
            {
                "practice": "iec",
                "system_voltage": {"value": 400, "unit": "V"},
                "source": {
                    "kind": "generator",
                    "rated_apparent_power": {"value": 250, "unit": "kVA"},
                    "subtransient_reactance": 0.13,
                },
                "segments": [
                    {
                        "length": {"value": 45, "unit": "m"},
                        "conductor_size": "70 mm2",
                        "ground_conductor_size": "35 mm2",
                    }
                ],
                "device": {"rating": {"value": 200, "unit": "A"}, "magnetic_pickup_multiple": 5},
            },
        ),
    ),
)
def fault_current(given: FaultCurrentGiven, notes: Notes) -> FaultCurrentResults:
    """Fault current at the machine's terminals against its rating, and whether the device clears an earth fault.

    Currents come from vector sums of source and cable: the greatest with the transformer at the low end of its tolerance
    and cool cable, the least with warm cable round the earth-fault loop. The sum is repeated per unit, and by the
    point-to-point method, which understates the current and decides nothing. Peak factor after IEC 60909. Radial
    low-voltage circuits with copper cable, TN supplies.
    """
    hertz = USUAL_FREQUENCY[given.practice] if isinstance(given.frequency, UnsetType) else given.frequency.value
    _refuse_contradictions(given)
    notes.caution(*FAMILY)
    if text := unusual_frequency(given.practice, hertz):
        notes.check(FREQUENCY_UNUSUAL, text, field="/frequency")
    factor = _voltage_factor(given, notes)
    if isinstance(given.frequency, UnsetType):
        notes.assume("frequency", f"{hertz:g} Hz.", value=Frequency.of(hertz, "Hz"), basis="standard")
    source = source_of(given, notes)
    segments = segments_of(given, hertz)
    findings.tell_source(given, notes, source)
    volts = given.system_voltage.value
    whole = source.greatest + sum((s.greatest for s in segments), 0j)
    at_source = factor * volts / (ROOT3 * abs(source.greatest))
    at_machine = factor * volts / (ROOT3 * abs(whole))
    with_motors = at_machine + given.motor_contribution_multiple * given.motor_running_current.to("A")
    _show(notes, factor, volts, source.greatest, whole, (at_source, at_machine))
    notes.show(
        "I_m",
        "the same with motors",
        f"{at_machine:.6g} + {given.motor_contribution_multiple:g} x {given.motor_running_current.to('A'):.5g}",
        with_motors,
        "A",
    )
    kappa = 1.02 + 0.98 * math.exp(-3 * whole.real / whole.imag)
    notes.show("kappa", "peak factor", f"1.02 + 0.98 e^(-3 R/X), R/X = {whole.real / whole.imag:.4g}", kappa)
    verdict = findings.judge_machine(given, notes, with_motors)
    findings.judge_device(given, notes, max(at_source, with_motors))
    findings.judge_ground(given, notes, segments)
    earth = _earth_fault(given, notes, source, segments)
    withstand = _withstand(given, notes, segments, at_machine, earth.current)
    clears = findings.judge_clearing(given, notes, earth.current, earth.required)
    findings.judge_withstand(given, notes, withstand, earth.time_limit, at_once=clears is True)
    rating = given.machine_short_circuit_rating
    return FaultCurrentResults(
        source_fault_current=Current.of(at_source, "A"),
        fault_current_at_machine=Current.of(at_machine, "A"),
        fault_current_with_motors=Current.of(with_motors, "A"),
        x_over_r=tidy(whole.imag / whole.real) if whole.real > 0 else UNSET,
        peak_factor=tidy(kappa),
        peak_current=Current.of(kappa * math.sqrt(2) * at_machine, "A"),
        point_to_point=_point_to_point(notes, volts, at_source, segments),
        per_unit=_per_unit(notes, factor, source, segments),
        rating_verdict=cast(Literal["ok", "exceeds", "unknown"], verdict),
        rating_margin_fraction=UNSET if isinstance(rating, UnsetType) else tidy(1 - with_motors / rating.to("A")),
        earth_fault_loop_impedance=UNSET if earth.impedance is None else Impedance.of(earth.impedance, "ohm"),
        earth_fault_current=UNSET if earth.current is None else Current.of(earth.current, "A"),
        required_operating_current=UNSET if earth.required is None else Current.of(earth.required, "A"),
        earth_fault_loop_impedance_maximum=(
            UNSET
            if earth.required is None
            else Impedance.of(given.voltage_factor_min * volts / ROOT3 / earth.required, "ohm")
        ),
        clears=UNSET if clears is None else clears,
        disconnection_time_limit=UNSET if earth.time_limit is None else Duration.of(earth.time_limit, "s"),
        conductor_withstand_duration=UNSET if withstand is None else Duration.of(withstand, "s"),
    )


class _EarthFault(NamedTuple):
    """Ohm, A, A, s; None where its inputs are missing."""

    impedance: float | None
    current: float | None
    required: float | None
    time_limit: float | None


def _refuse_contradictions(given: FaultCurrentGiven) -> None:
    errors: list[FieldError] = []
    if not isinstance(given.frequency, UnsetType) and (error := frequency_error(given.frequency)):
        errors.append(error)
    errors += source_errors(given.source)
    errors += segment_errors(given)
    if errors:
        raise Refused(errors)


def _voltage_factor(given: FaultCurrentGiven, notes: Notes) -> float:
    if not isinstance(given.voltage_factor_max, UnsetType):
        return given.voltage_factor_max
    factor = float(FAULT_FACTORS.rows["voltage_factor_max"][given.practice])
    notes.assume(
        "voltage_factor_max",
        f"The voltage before the fault is {factor:g} times nominal.",
        value=factor,
        basis="standard",
        references=(FAULT_FACTORS.reference.id,),
    )
    return factor


def _show(
    notes: Notes, factor: float, volts: float, source: complex, whole: complex, currents: tuple[float, float]
) -> None:
    notes.show(
        "R",
        "resistance to the machine",
        f"source {source.real:.5g}, cable {whole.real - source.real:.5g} ohm",
        whole.real,
        "ohm",
    )
    notes.show(
        "X",
        "reactance to the machine",
        f"source {source.imag:.5g}, cable {whole.imag - source.imag:.5g} ohm",
        whole.imag,
        "ohm",
    )
    notes.show(
        "I_s", "fault current at the source", f"{factor:g} x {volts:g} / (sqrt3 x {abs(source):.5g})", currents[0], "A"
    )
    notes.show(
        "I_3", "fault current at the machine", f"{factor:g} x {volts:g} / (sqrt3 x {abs(whole):.5g})", currents[1], "A"
    )


def _point_to_point(notes: Notes, volts: float, at_source: float, segments: list[Segment]) -> PointToPointResults:
    """f = sqrt3 L I / (C n V), C being 1/|z per length|; one segment after the other."""
    current, multiplier = at_source, 1.0
    for segment in segments:
        step = 1 / (1 + ROOT3 * current * abs(segment.greatest) / volts)
        current, multiplier = current * step, multiplier * step
    notes.show("M", "point-to-point multiplier, a cross-check", "product of 1/(1 + sqrt3 L I / (C n V))", multiplier)
    return PointToPointResults(
        f=tidy(1 / multiplier - 1), multiplier=tidy(multiplier), current=Current.of(current, "A")
    )


def _per_unit(notes: Notes, factor: float, source: Source, segments: list[Segment]) -> PerUnitResults:
    impedance = abs(source.per_unit + sum((s.greatest / source.base_impedance for s in segments), 0j))
    current = factor * source.base_current / impedance
    notes.show(
        "I_pu",
        "fault current worked per unit",
        f"{factor:g} x {source.base_current:.6g} / {impedance:.5g}",
        current,
        "A",
    )
    return PerUnitResults(
        base_current=Current.of(source.base_current, "A"), impedance=tidy(impedance), current=Current.of(current, "A")
    )


def _earth_fault(given: FaultCurrentGiven, notes: Notes, source: Source, segments: list[Segment]) -> _EarthFault:
    to_earth = given.system_voltage.value / ROOT3
    time_limit = required = None
    if not isinstance(given.device, UnsetType):
        if given.practice == "iec":
            time_limit = disconnection_time(to_earth, given.device.rating.to("A"), socket_outlet=given.socket_outlet)
        required = _required(given, notes, time_limit)
    loops = [s.loop for s in segments]
    if any(loop is None for loop in loops):
        return _EarthFault(None, None, required, time_limit)
    cable = sum((loop for loop in loops if loop is not None), 0j)
    impedance = abs(source.loop + cable)
    current = given.voltage_factor_min * to_earth / impedance
    notes.show(
        "Z_s",
        "earth-fault loop",
        f"|source {source.loop:.4g} + lines and grounds, warm, {cable:.4g}|, j the reactance",
        impedance,
        "ohm",
    )
    notes.show(
        "I_ef",
        "least earth-fault current",
        f"{given.voltage_factor_min:g} x {to_earth:.5g} / {impedance:.5g}",
        current,
        "A",
    )
    return _EarthFault(impedance, current, required, time_limit)


def _required(given: FaultCurrentGiven, notes: Notes, time_limit: float | None) -> float | None:
    device = given.device
    if isinstance(device, UnsetType):
        return None
    if not isinstance(device.operating_current, UnsetType):
        return device.operating_current.to("A")
    rating = device.rating.to("A")
    if device.kind == "circuit_breaker":
        required = rating * device.magnetic_pickup_multiple * (1 + device.pickup_tolerance_fraction)
        notes.show(
            "I_a",
            "current that trips the breaker at once",
            f"{rating:g} x {device.magnetic_pickup_multiple:g} x (1 + {device.pickup_tolerance_fraction:g})",
            required,
            "A",
        )
        return required
    rows: list[list[float]] = FUSE_OPERATING_CURRENTS.rows
    found = next((row[2] for row in rows if row[0] == rating and row[1] == time_limit), None)
    if found is not None:
        notes.check(
            "fuse_curve_assumed",
            f"A gG fuse of {rating:g} A acts within {time_limit:g} s at {found:g} A, by a table of examples.",
            resolve="Read the fuse's own curve and give device.operating_current.",
            field="/device/operating_current",
            references=(FUSE_OPERATING_CURRENTS.reference.id,),
        )
    return found


def _withstand(
    given: FaultCurrentGiven, notes: Notes, segments: list[Segment], three_phase: float, earth: float | None
) -> float | None:
    """Least of (k S / I)^2 over the lines with a three-phase fault and the grounds with an earth fault, both at the machine."""
    k = float(FAULT_FACTORS.rows["k_of_copper"][given.practice])
    stand = []
    for segment in segments:
        stand.append((cross_section(segment.given.conductor_size) * segment.given.sets, three_phase))
        ground = segment.given.ground_conductor_size
        if earth is not None and not isinstance(ground, UnsetType):
            stand.append((cross_section(ground) * segment.ground_sets, earth))
    if not stand:
        return None
    area, current = min(stand, key=lambda pair: pair[0] / pair[1])
    duration = (k * area / current) ** 2
    notes.show(
        "t",
        "time the weakest conductor stands",
        f"least of (k S / I)^2 over lines and grounds = ({k:g} x {area:.5g} mm2 / {current:.6g})^2",
        duration,
        "s",
    )
    return duration
