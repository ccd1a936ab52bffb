"""Prospective fault current at the machine, its rating, and whether an earth fault is cleared."""

import math
from typing import Literal, cast

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, calculator, say, tidy
from coldwright.contract.quantities import Current, Duration, Frequency, Impedance
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.fault_current import findings as findings
from coldwright_electrical.fault_current.contradictions import refuse_contradictions
from coldwright_electrical.fault_current.earth_fault import earth_fault_of
from coldwright_electrical.fault_current.examples import EXAMPLES
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import FAULT_FACTORS, USUAL_FREQUENCY, segments_of, source_of
from coldwright_electrical.fault_current.results import FaultCurrentResults
from coldwright_electrical.fault_current.short_circuit import (
    ROOT3,
    per_unit,
    point_to_point,
    show_currents,
    voltage_factor,
)
from coldwright_electrical.fault_current.withstand import withstand_time
from coldwright_electrical.shared.cautions import family
from coldwright_electrical.shared.impedance import IMPEDANCE_IN_RACEWAY, LINE_REACTANCE, RESISTANCE_FLEXIBLE_COPPER
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency
from coldwright_electrical.shared.protection import (
    DISCONNECTION_TIMES,
    EQUIPMENT_GROUND,
    FUSE_OPERATING_CURRENTS,
    PROTECTIVE_CONDUCTOR,
)
from coldwright_electrical.shared.references import SAFE_WORK
from coldwright_electrical.shared.transformers import TRANSFORMER_USUAL_DATA


@calculator(
    "electrical.fault_current",
    version="1.2.1",
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
    examples=EXAMPLES,
)
def fault_current(given: FaultCurrentGiven, notes: Notes) -> FaultCurrentResults:
    """Fault current at the machine's terminals against its rating, and whether the device clears an earth fault.

    Currents come from vector sums of source and cable: the greatest with the transformer at the low end of its tolerance
    and cool cable, the least with warm cable round the earth-fault loop. The sum is repeated per unit, and by the
    point-to-point method, which understates the current and decides nothing. Peak factor after IEC 60909. Radial
    low-voltage circuits with copper cable, TN supplies.
    """
    refuse_contradictions(given)
    usual = Frequency.of(USUAL_FREQUENCY[given.practice], "Hz")
    statement = say("{usual:g}, as is usual in this practice.", usual=usual)
    hertz = given_or_usual(given.frequency, usual, notes, "frequency", statement, basis="standard").value
    notes.caution(*family(given.practice))
    if text := unusual_frequency(given.practice, hertz):
        notes.check(FREQUENCY_UNUSUAL, text, field="/frequency")
    factor = voltage_factor(given, notes)
    source = source_of(given, notes)
    segments = segments_of(given, hertz)
    findings.note_source(given, notes, source)
    volts = given.system_voltage.value
    whole = source.greatest + sum((s.greatest for s in segments), 0j)
    at_source = factor * volts / (ROOT3 * abs(source.greatest))
    at_machine = factor * volts / (ROOT3 * abs(whole))
    with_motors = at_machine + given.motor_contribution_multiple * given.motor_running_current.to("A")
    show_currents(notes, factor, volts, source.greatest, whole, (at_source, at_machine))
    notes.show(
        "I_m",
        "The same with motors",
        f"{at_machine:.6g} + {given.motor_contribution_multiple:g} x {given.motor_running_current.to('A'):.5g}",
        with_motors,
        "A",
    )
    kappa = 1.02 + 0.98 * math.exp(-3 * whole.real / whole.imag)
    notes.show("kappa", "Peak factor", f"1.02 + 0.98 e^(-3 R/X), R/X = {whole.real / whole.imag:.4g}", kappa)
    verdict = findings.judge_machine(given, notes, with_motors)
    findings.judge_device(given, notes, max(at_source, with_motors))
    findings.judge_ground(given, notes, segments)
    earth = earth_fault_of(given, notes, source, segments)
    withstand = withstand_time(given, notes, segments, at_machine, earth.current)
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
        point_to_point=point_to_point(notes, volts, at_source, segments),
        per_unit=per_unit(notes, factor, source, segments),
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
