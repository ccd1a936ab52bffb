"""Is the supply fit to start on: volts, unbalance, frequency, currents and phase sequence as metered."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, calculator, tidy
from coldwright.contract.quantities import Current, Voltage
from coldwright_basis.voltages import VOLTAGE_PAIRS, motor_nameplate
from coldwright_electrical.shared.cautions import family
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency
from coldwright_electrical.shared.references import IEC_60204_1, NEMA_MG_1, SAFE_WORK
from coldwright_electrical.supply_quality.actions import BURNS_OUT, in_order
from coldwright_electrical.supply_quality.contradictions import refuse_contradictions
from coldwright_electrical.supply_quality.currents import judge_currents
from coldwright_electrical.supply_quality.examples import EXAMPLES
from coldwright_electrical.supply_quality.findings import FINDINGS
from coldwright_electrical.supply_quality.given import SupplyQualityGiven
from coldwright_electrical.supply_quality.readings import Readings
from coldwright_electrical.supply_quality.results import SupplyQualityResults
from coldwright_electrical.supply_quality.rotation import judge_rotation
from coldwright_electrical.supply_quality.site import ROTATING_PARTS, judge_ground_and_load, judge_people_and_plate
from coldwright_electrical.supply_quality.symmetry import ANSI_C84_1, IEC_61000_4_30, UNBALANCE_DERATING
from coldwright_electrical.supply_quality.unbalance import unbalance_of
from coldwright_electrical.supply_quality.voltages import (
    IEC_60038,
    judge_frequency,
    judge_lost_phase,
    judge_voltages,
    limits_of,
)


@calculator(
    "electrical.supply_quality",
    version="1.1.4",
    title="Fitness of the supply to start and run on",
    references=(*SAFE_WORK, NEMA_MG_1, IEC_60204_1, IEC_61000_4_30, ANSI_C84_1, IEC_60038),
    tables=(UNBALANCE_DERATING, VOLTAGE_PAIRS),
    hazards=("electrical", "rotating"),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def supply_quality(given: SupplyQualityGiven, notes: Notes) -> SupplyQualityResults:
    """Judge the readings of the supply before the first start, at first loading and at every visit.

    Unbalance is the greatest deviation of a line voltage from the mean over the mean (NEMA MG 1), and the exact
    negative over positive sequence voltage from three magnitudes (IEC 61000-4-30). `nec` compares the first with the
    limit, `iec` the second. Above 5 % no motor may run. Phase sequence is only ever proved with a rotation meter at the
    machine's incoming terminals, never by bumping a compressor.
    """
    nameplate = motor_nameplate(given.nominal_voltage.value)
    if not isinstance(given.nameplate_voltage, UnsetType):
        nameplate = given.nameplate_voltage.value
    low, high = limits_of(given, nameplate)
    refuse_contradictions(given, low, high)
    *most, local_prevails = family(given.practice)
    notes.caution(*most, ROTATING_PARTS, local_prevails)
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, why="Motors and tables differ.", field="/frequency")
    readings = Readings(given.line_voltages, given.line_currents)
    average = readings.mean_voltage
    deviation = average / nameplate - 1
    notes.show(
        "V_m", "Mean of the line voltages", f"({' + '.join(f'{v:g}' for v in readings.voltages)}) / 3", average, "V"
    )
    notes.show("d", "Deviation from the nameplate", f"{average:.5g} / {nameplate:g} - 1", deviation)
    actions: list[str] = []
    judge_people_and_plate(given, notes, actions, nameplate)
    judge_lost_phase(readings, notes, actions)
    verdict = judge_rotation(given, notes, actions)
    judge_voltages(given, readings, notes, actions, (low, high))
    judge_frequency(given, notes, actions, deviation)
    unbalance = unbalance_of(given, readings, notes, actions)
    current_unbalance = judge_currents(
        given, readings, notes, actions, unbalance.get("voltage_unbalance_fraction", 0.0)
    )
    judge_ground_and_load(given, notes, actions)
    blocking = tuple(dict.fromkeys(f.code for f in notes.findings if f.severity == "stop"))
    currents = readings.currents
    running = given.loaded and given.supply_state == "live" and not BURNS_OUT.isdisjoint(blocking)
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
        actions=in_order(actions, given.practice, running=running),
        start_allowed=not blocking and given.supply_state == "live",
        blocking=blocking,
    )
