"""What `hydronic.loop` finds about pumps."""

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding, say
from coldwright.contract.quantities import Length, VolumeFlow
from coldwright_basis.compare import above, below
from coldwright_basis.pump_curves import RunningPumps
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import LoopGiven, PumpGiven
from coldwright_hydronic.loop.power import WANTED_MARGIN, WANTED_RATIO, npsh_required
from coldwright_hydronic.loop.pump_shares import pump_shares

BEST_EFFICIENCY_REGION = (0.5, 1.2)

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


def find_pumps(case: Case, notes: Notes) -> None:
    """Each running pump at its share of the flow, and how the pumps stand to one another."""
    for share in pump_shares(case):
        running, pump, each, pointer = share.running, share.pump, share.each, f"/pumps/{share.running.index}"
        find_off_frequency(pump, pointer, notes)
        _run_out(case, running, pointer, notes)
        _efficiency(case, running, pump, pointer, notes)
        if pump.minimum_flow is not UNSET and below(each, pump.minimum_flow.si):
            notes.check(
                "pump_flow_low",
                say(
                    "Pump {index} runs at {each}, below its minimum of {minimum_flow}.",
                    index=running.index,
                    each=VolumeFlow.from_si(each, "L/s"),
                    minimum_flow=pump.minimum_flow,
                ),
                why="Its liquid warms up, and its bearings and seal suffer.",
                resolve="Fewer pumps side by side, a smaller pump, or a bypass back to its suction.",
                field=f"{pointer}/minimum_flow",
            )
        find_suction(pump, pointer, each, share.available, notes)
    find_owners(case.given, notes)


def find_off_frequency(pump: PumpGiven, pointer: str, notes: Notes) -> None:
    """50 Hz on a 60 Hz curve, and the other way round."""
    if pump.frequency is UNSET:
        return
    f, rated = pump.frequency.si, pump.curve_frequency.si
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
        resolve="See that pump, motor and machine are made for the frequency of this site.",
        field=f"{pointer}/frequency",
        references=("hydronic_first_principles",),
    )


def _run_out(case: Case, running: RunningPumps, pointer: str, notes: Notes) -> None:
    last = running.curve.last
    flow = running.rated_flow(case.flow)
    if above(flow, last):
        notes.stop(
            "beyond_curve",
            say(
                "Pump {index} runs {excess:.1%} beyond the last point of its curve, at {last}.",
                index=running.index,
                excess=flow / last - 1,
                last=VolumeFlow.from_si(last * running.ratio * running.count, "L/s"),
            ),
            why="Beyond its curve a pump runs out: the motor is overloaded and the suction head needed soars.",
            resolve="Throttle on the discharge side, lower the frequency, or give the curve further out.",
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
            say("Pump {index} runs outside its efficiency curve: no power was worked out.", index=running.index),
            resolve="Give the efficiency curve up to this flow.",
            field=f"{pointer}/efficiency_curve",
        )
    low, high = BEST_EFFICIENCY_REGION
    if best.flow.si > 0.0 and not low <= flow / best.flow.si <= high:
        notes.check(
            "away_from_best_efficiency",
            say(
                "Pump {index} runs at {ratio:.2f} times its flow of best efficiency; 0.5 to 1.2 is good.",
                index=running.index,
                ratio=flow / best.flow.si,
            ),
            why="Far from it a pump shakes, wears and, running out, overloads its motor.",
            resolve="Throttle, change the frequency, or take a pump that fits the loop.",
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
            say(
                "At {each} the pump runs beyond the curve of the suction head that it needs.",
                each=VolumeFlow.from_si(each, "L/s"),
            ),
            why="What it needs rises with the flow.",
            resolve="Give the curve up to this flow.",
            field=field,
        )
        return
    has, needs = Length.from_si(available, "m"), Length.from_si(needed, "m")
    if below(available, needed):
        notes.stop(
            "cavitation",
            say(
                "The suction head is {has}, the pump needs {needs}; {ratio} times that, {wanted}, is wanted.",
                has=has,
                needs=needs,
                ratio=WANTED_RATIO,
                wanted=Length.from_si(WANTED_RATIO * needed, "m"),
            ),
            why="The liquid boils in the impeller: noise, loss of head, and damage.",
            resolve=say(
                "Raise the suction pressure by {shortfall} of liquid or more.",
                shortfall=Length.from_si(needed - available, "m"),
            ),
            field=field,
            references=("crane_tp410_7_32", "hi_9_6_1"),
        )
    elif below(available, WANTED_RATIO * needed) or below(available - needed, WANTED_MARGIN):
        notes.check(
            "npsh_margin_small",
            say(
                "The suction head is {has}, {margin} above the {needs} that the pump needs.",
                has=has,
                margin=Length.from_si(available - needed, "m"),
                needs=needs,
            ),
            why=say(
                "1.3 times the need, and {more} above it, leaves room for air, dirt and gauges.", more=Length(1.0, "m")
            ),
            resolve="Raise the suction pressure.",
            field=field,
            references=("crane_tp410_7_32", "hi_9_6_1"),
        )


def find_owners(given: LoopGiven, notes: Notes) -> None:
    """Two pumps in one line are two who can be stopped alone."""
    series = [i for i, pump in enumerate(given.pumps) if pump.state == "running"]
    if len(series) > 1 and given.pumps_interlocked is not True:
        notes.check(
            "pumps_not_interlocked",
            say("{series} pumps run in series and are not known to start and stop together.", series=len(series)),
            why="One that stops alone holds the flow back and may turn idly; the suction of the next falls.",
            resolve="Interlock them, and see that the machine's flow proof still stops its compressors.",
            field="/pumps_interlocked",
            references=("hydronic_practice",),
        )
    if given.pump_owner == "site" and all(pump.state != "bypassed" for pump in given.pumps):
        notes.finding(
            "check" if given.pumps else "note",
            "machine_pump_not_bypassed",
            "The site's pump runs, and the machine's own pump is not said to be bypassed.",
            why="A pump left standing in the line holds the flow back and may turn idly, and without flow the machine "
            "must still stop its compressors.",
            resolve="Bypass the machine's pump (list it with state bypassed), or list it as stopped_in_line with its Kv.",
            field="/pump_owner",
            references=("hydronic_practice",),
        )
    for i, pump in enumerate(given.pumps):
        if pump.state == "stopped_in_line":
            notes.check(
                "stopped_pump_in_line",
                say(
                    "Pump {index} stands in the line with a Kv of {stopped_kv} for each.",
                    index=i,
                    stopped_kv=pump.stopped_kv,
                ),
                why="It holds the flow back, and the flow may turn it.",
                resolve="Bypass it.",
                field=f"/pumps/{i}/state",
                references=("hydronic_practice",),
            )
