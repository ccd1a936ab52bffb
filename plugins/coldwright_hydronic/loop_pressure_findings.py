"""What `hydronic.loop` finds about pressures and pumps."""

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding
from coldwright.contract.quantities import GaugePressure, Length, VolumeFlow
from coldwright_hydronic.loop_case import Case
from coldwright_hydronic.loop_given import LineGiven, LoopGiven, PumpGiven
from coldwright_hydronic.loop_model import Reading
from coldwright_hydronic.loop_power import WANTED_MARGIN, WANTED_RATIO, air_pressure, npsh_required
from coldwright_hydronic.pump_curves import RunningPumps

BEST_EFFICIENCY_REGION = (0.5, 1.2)

PRESSURE_FINDINGS: tuple[FindingKind, ...] = (
    finding("over_working_pressure", "stop", "A pressure above the working pressure of an element."),
    finding("lay_flat_collapses", "stop", "Lay-flat hose at or below the pressure of the air: it collapses."),
    finding(
        "below_air_pressure", "check", "A place at or below the pressure of the air: vents and couplings draw air."
    ),
    finding("liquid_boils", "stop", "A pressure at or below the vapour pressure of the liquid."),
    finding("pressure_reference_assumed", "note", "No pressure was given: 150 kPa at the pump suction is assumed."),
    finding("pressure_reference_not_used", "check", "An open tank sets the pressures; the reference was not used."),
    finding("shut_off_unknown", "note", "With a fixed flow the pressure against a shut valve was not tested."),
)
PUMP_FINDINGS: tuple[FindingKind, ...] = (
    finding("cavitation", "stop", "Less suction head than the pump needs."),
    finding("npsh_margin_small", "check", "Suction head less than 1.3 times, or less than 1 m above, what is needed."),
    finding("npsh_not_known", "check", "The flow is beyond the curve of the suction head needed."),
    finding("beyond_curve", "stop", "The flow is beyond the last point of the pump's curve."),
    finding("away_from_best_efficiency", "check", "The flow is outside 0.5 to 1.2 times that of best efficiency."),
    finding("efficiency_not_known", "check", "The efficiency at this flow is not known: no power was worked out."),
    finding("pump_flow_low", "check", "Flow through a pump below its minimum."),
    finding("off_frequency", "check", "A 60 Hz pump on 50 Hz, or the other way round."),
    finding("pumps_not_interlocked", "check", "Pumps in series that are not known to be interlocked."),
    finding(
        "machine_pump_not_bypassed", ("check", "note"), "The site's pump runs, the machine's is not said bypassed."
    ),
    finding("stopped_pump_in_line", "check", "A stopped pump stands in the line."),
)


def _shown(pressure: float) -> GaugePressure:
    return GaugePressure.from_si(round(pressure, 3), "kPa")


def find_pressures(case: Case, notes: Notes) -> None:
    """Too high, too low, and what was assumed."""
    given = case.given
    if given.open_source is not UNSET and given.pressure_reference is not UNSET:
        notes.check(
            "pressure_reference_not_used",
            "The surface of the open tank sets the pressures; pressure_reference was not used.",
            resolve="leave pressure_reference out, or leave open_source out for a closed loop",
            field="/pressure_reference",
        )
    find_assumed_reference(given, notes)
    rated = [r for r in case.readings if r.node.element.working_pressure is not UNSET]
    for reading in rated:
        _working_pressure(case, reading, notes)
    if rated and case.press.shut_off_rise is None:
        notes.note(
            "shut_off_unknown",
            "With a fixed flow the pump is not known, so the pressure against a shut valve was not tested.",
            why="a shut valve puts the shut-off head of the pump on the hose before it",
            resolve="give the pump's curve",
            field="/fixed_flow",
        )
    _low_pressures(case, notes)


def find_assumed_reference(given: LoopGiven, notes: Notes) -> None:
    """All pressures move with the reference, so its absence is told."""
    if given.open_source is UNSET and given.pressure_reference is UNSET:
        notes.note(
            "pressure_reference_assumed",
            "No pressure is known in the loop: 150 kPa at the pump suction is assumed.",
            why="every pressure of the answer moves with it",
            resolve="give pressure_reference: the fill pressure, where the vessel or the fill is connected",
            field="/pressure_reference",
            references=("hydronic_practice",),
        )


def _working_pressure(case: Case, reading: Reading, notes: Notes) -> None:
    rated = reading.node.element.working_pressure
    if rated is UNSET:
        return
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    lowest = min(reading.node.bottom, reading.node.top) - pump
    standing = case.press.standing_at_pump - weight * lowest
    cases = {
        "with the pump running": max(reading.pressure_in, reading.pressure_out),
        "with the pump stopped": standing,
    }
    if case.press.shut_off_rise is not None:
        cases["with the pump against a shut valve"] = standing + case.press.shut_off_rise
    when, worst = max(cases.items(), key=lambda item: item[1])
    if worst > rated.si * (1.0 + 1e-9):
        notes.stop(
            "over_working_pressure",
            f"{reading.node.element.name} sees {_shown(worst)} {when}, {_shown(worst - rated.si)} above its working "
            f"pressure of {rated}.",
            why="it can burst; a shut valve puts the shut-off head of the pump on everything before it",
            resolve="a part of a higher rating, less fill pressure, a lower frequency, or a pump of less shut-off head",
            field=f"{reading.node.pointer}/working_pressure",
        )


def _parted_at_rest(case: Case, boiling: float, notes: Notes) -> None:
    """A closed loop whose top stands below the vapour pressure with the pump stopped."""
    if case.given.open_source is not UNSET or not case.readings:
        return
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    where = max(case.readings, key=lambda r: max(r.node.bottom, r.node.top))
    standing = case.press.standing_at_pump - weight * (max(where.node.bottom, where.node.top) - pump)
    if standing <= boiling:
        notes.stop(
            "liquid_boils",
            f"With the pump stopped {where.node.element.name} would stand at {_shown(standing)}, at or below the vapour "
            "pressure of the liquid.",
            why="the column has parted before the pump starts: the loop is not full, and the start hammers it together",
            resolve="raise the fill pressure until the top stands above the pressure of the air",
            field=where.node.pointer,
            references=("hydronic_first_principles",),
        )


def _low_pressures(case: Case, notes: Notes) -> None:
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    boiling = -1e12 if case.vapor is None else case.vapor - air_pressure(case.given)
    boiling = max(boiling, -air_pressure(case.given))
    low: list[tuple[float, Reading]] = []
    for reading in case.readings:
        lowest = min(reading.pressure_in, reading.pressure_out)
        element = reading.node.element
        if isinstance(element, LineGiven) and element.line_kind == "lay_flat_hose":
            standing = case.press.standing_at_pump - weight * (max(reading.node.bottom, reading.node.top) - pump)
            closed = case.given.open_source is UNSET
            _lay_flat(reading, lowest, standing if closed else lowest, notes)
        if lowest <= 0.0:
            low.append((lowest, reading))
    _parted_at_rest(case, boiling, notes)
    if not low:
        return
    worst, where = min(low, key=lambda item: item[0])
    notes.check(
        "below_air_pressure",
        f"{_shown(worst)} in {where.node.element.name}: at or below the pressure of the air.",
        why="vents and couplings draw air in instead of letting it out",
        resolve=f"raise the fill pressure by {_shown(-worst)} and some more, or drop less before this place",
        field=where.node.pointer,
    )
    if worst <= boiling:
        notes.stop(
            "liquid_boils",
            f"{_shown(worst)} in {where.node.element.name} is at or below the vapour pressure of the liquid.",
            why="the liquid boils and the column parts: these pressures do not exist, and the flow neither",
            resolve="raise the fill pressure, or drop less before this place",
            field=where.node.pointer,
        )


def _lay_flat(reading: Reading, running: float, standing: float, notes: Notes) -> None:
    lowest = min(running, standing)
    if lowest <= 0.0:
        notes.stop(
            "lay_flat_collapses",
            f"{reading.node.element.name} is lay-flat hose at {_shown(lowest)} with the pump "
            f"{'running' if running <= standing else 'stopped'}.",
            why="it collapses flat, the flow stops and its couplings draw air",
            resolve=f"raise the fill pressure by more than {_shown(-lowest)}, or use lay-flat for the supply alone",
            field=reading.node.pointer,
        )


# --- pumps -----------------------------------------------------------------------------------------------------------


def find_pumps(case: Case, notes: Notes) -> None:
    """Each running pump at its share of the flow, and how the pumps stand to one another."""
    head_before = 0.0
    for running in case.loop.pumps:
        pump, pointer = case.given.pumps[running.index], f"/pumps/{running.index}"
        find_off_frequency(pump, pointer, notes)
        _run_out(case, running, pointer, notes)
        _efficiency(case, running, pump, pointer, notes)
        each = case.flow / running.count
        if pump.minimum_flow is not UNSET and each < pump.minimum_flow.si * (1.0 - 1e-9):
            notes.check(
                "pump_flow_low",
                f"Pump {running.index} runs at {VolumeFlow.from_si(each, 'L/s')}, below its minimum of "
                f"{pump.minimum_flow}.",
                why="its liquid warms up, and its bearings and seal suffer",
                resolve="fewer pumps side by side, a smaller pump, or a bypass back to its suction",
                field=f"{pointer}/minimum_flow",
            )
        available = None if case.npsh is None else case.npsh + head_before
        find_suction(pump, pointer, each, available, notes)
        head_before += running.head(case.flow)
    find_owners(case.given, notes)


def find_off_frequency(pump: PumpGiven, pointer: str, notes: Notes) -> None:
    """50 Hz on a 60 Hz curve, and the other way round."""
    if pump.frequency is UNSET:
        return
    f, rated = pump.frequency.si, pump.rated_frequency.si
    if abs(f - 50.0) <= 0.5 and abs(rated - 60.0) <= 0.5:
        text, why = "A 60 Hz curve at 50 Hz: flow falls to 0.83, head to 0.69.", "the loop may get too little flow"
    elif abs(f - 60.0) <= 0.5 and abs(rated - 50.0) <= 0.5:
        text, why = "A 50 Hz curve at 60 Hz: the power at the shaft rises to 1.73.", "the motor is overloaded"
    else:
        return
    notes.check(
        "off_frequency",
        text,
        why=why,
        resolve="see that pump, motor and machine are made for the frequency of this site",
        field=f"{pointer}/frequency",
        references=("hydronic_first_principles",),
    )


def _run_out(case: Case, running: RunningPumps, pointer: str, notes: Notes) -> None:
    last = running.curve.last
    flow = running.rated_flow(case.flow)
    if flow > last * (1.0 + 1e-9):
        notes.stop(
            "beyond_curve",
            f"Pump {running.index} runs {flow / last - 1:.1%} beyond the last point of its curve, at "
            f"{VolumeFlow.from_si(last * running.ratio * running.count, 'L/s')}.",
            why="beyond its curve a pump runs out: the motor is overloaded and the suction head needed soars",
            resolve="throttle on the discharge side, lower the frequency, or give the curve further out",
            field=f"{pointer}/curve",
            references=("hi_9_6_3",),
        )


def _efficiency(case: Case, running: RunningPumps, pump: PumpGiven, pointer: str, notes: Notes) -> None:
    if not pump.efficiency_curve:
        return
    flow = running.rated_flow(case.flow)
    first, last = pump.efficiency_curve[0].flow.si, pump.efficiency_curve[-1].flow.si
    best = max(pump.efficiency_curve, key=lambda p: p.efficiency)
    if not first <= flow <= last:
        notes.check(
            "efficiency_not_known",
            f"Pump {running.index} runs outside its efficiency curve: no power was worked out.",
            resolve="give the efficiency curve up to this flow",
            field=f"{pointer}/efficiency_curve",
        )
    low, high = BEST_EFFICIENCY_REGION
    if best.flow.si > 0.0 and not low <= flow / best.flow.si <= high:
        notes.check(
            "away_from_best_efficiency",
            f"Pump {running.index} runs at {flow / best.flow.si:.2f} times its flow of best efficiency; 0.5 to 1.2 is good.",
            why="far from it a pump shakes, wears and, running out, overloads its motor",
            resolve="throttle, change the frequency, or take a pump that fits the loop",
            field=f"{pointer}/efficiency_curve",
            references=("hi_9_6_3",),
        )


def find_suction(pump: PumpGiven, pointer: str, each: float, available: float | None, notes: Notes) -> None:
    """Suction head available against needed."""
    if not pump.npsh_required_curve or available is None:
        return
    field = f"{pointer}/npsh_required_curve"
    needed = npsh_required(pump, each)
    if needed is None:
        notes.check(
            "npsh_not_known",
            f"At {VolumeFlow.from_si(each, 'L/s')} the pump runs beyond the curve of the suction head that it needs.",
            why="what it needs rises with the flow",
            resolve="give the curve up to this flow",
            field=field,
        )
        return
    has, needs = Length.from_si(available, "m"), Length.from_si(needed, "m")
    if available < needed * (1.0 - 1e-9):
        notes.stop(
            "cavitation",
            f"The suction head is {has}, the pump needs {needs}; {WANTED_RATIO} times that, "
            f"{Length.from_si(WANTED_RATIO * needed, 'm')}, is wanted.",
            why="the liquid boils in the impeller: noise, loss of head, and damage",
            resolve=f"raise the suction pressure by {Length.from_si(needed - available, 'm')} of liquid or more",
            field=field,
            references=("crane_tp410_7_32", "hi_9_6_1"),
        )
    elif available < WANTED_RATIO * needed * (1.0 - 1e-9) or available - needed < WANTED_MARGIN * (1.0 - 1e-9):
        notes.check(
            "npsh_margin_small",
            f"The suction head is {has}, {Length.from_si(available - needed, 'm')} above the {needs} that the pump needs.",
            why="1.3 times the need, and 1 m above it, leaves room for air, dirt and gauges",
            resolve="raise the suction pressure",
            field=field,
            references=("crane_tp410_7_32", "hi_9_6_1"),
        )


def find_owners(given: LoopGiven, notes: Notes) -> None:
    """Two pumps in one line are two who can be stopped alone."""
    series = [i for i, pump in enumerate(given.pumps) if pump.state == "running"]
    if len(series) > 1 and given.pumps_interlocked is not True:
        notes.check(
            "pumps_not_interlocked",
            f"{len(series)} pumps run in series and are not known to start and stop together.",
            why="one that stops alone holds the flow back and may turn idly; the suction of the next falls",
            resolve="interlock them, and see that the machine's flow proof still stops its compressors",
            field="/pumps_interlocked",
            references=("hydronic_practice",),
        )
    if given.pump_owner == "site" and all(pump.state != "bypassed" for pump in given.pumps):
        notes.finding(
            "check" if given.pumps else "note",
            "machine_pump_not_bypassed",
            "The site's pump runs, and the machine's own pump is not said to be bypassed.",
            why="a pump left standing in the line holds the flow back and may turn idly, and without flow the machine "
            "must still stop its compressors",
            resolve="bypass the machine's pump (list it with state bypassed), or list it as stopped_in_line with its Kv",
            field="/pump_owner",
            references=("hydronic_practice",),
        )
    for i, pump in enumerate(given.pumps):
        if pump.state == "stopped_in_line":
            notes.check(
                "stopped_pump_in_line",
                f"Pump {i} stands in the line with a Kv of {pump.stopped_kv} for each.",
                why="it holds the flow back, and the flow may turn it",
                resolve="bypass it",
                field=f"/pumps/{i}/state",
                references=("hydronic_practice",),
            )
