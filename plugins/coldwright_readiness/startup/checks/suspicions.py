"""What cannot be, contradicts itself, or asks for a look: rules I1 to I19, N1 and repeated trips; of power in `power`.

A case is raised if any placement of the records in time raises it. Where it is merely possible, the reading taken again
surely afterwards cures it; where it is sure, its own cure does. Cases that forbid a start are settled by a record.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Final

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.quantities import Current, PressureDifference, Temperature
from coldwright_basis.compare import above, at_least, at_most, below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.ratings import rating_at_least
from coldwright_readiness.startup.checks.case import MOST_CASES, Case, case_of, when
from coldwright_readiness.startup.checks.power import (
    alive_under_lock,
    another_hand_at_a_lock,
    live_work,
    power_after_off,
    rotation_after_outage,
    voltage_before,
)
from coldwright_readiness.startup.evidence.device_time import in_device_time
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against, Span, covers, merged, possible, touches
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.evidence.settling import WHO_SETTLES, Settlements
from coldwright_readiness.startup.evidence.stance import compressor_off, compressor_on
from coldwright_readiness.startup.limits import MINUTE
from coldwright_readiness.startup.rules.mixture import READINGS_AGREE, freezing_by_strength, freezing_point

SAME_TIME: Final = 15 * MINUTE
FLOW_WINDOW: Final = MINUTE
"""How far from a reading of flow a pump must have been on at some moment."""
RESETS: Final = 3
"""So many resets of one alarm within `RESETS_WITHIN` ask for its cause: common practice, no source."""
RESETS_WITHIN: Final = 24 * 60 * MINUTE


def suspicions(e: Evidence, settled: Settlements) -> list[Case]:
    """Every case, by (rule, ids); what forbids a start does so however the records of each device are spaced in time."""
    found = _cases(e, settled)
    if any(case.forbids for case in found):
        for other in in_device_time(e):
            cases = _cases(other, Settlements(other))
            raised = {(case.rule, case.ids) for case in cases if case.forbids}
            listed = Counter(case.rule for case in cases)
            found = [
                case
                for case in found
                if not case.forbids or (case.rule, case.ids) in raised or listed[case.rule] >= MOST_CASES
            ]
    return found


def _cases(e: Evidence, settled: Settlements) -> list[Case]:
    """Of two about the same records the graver."""
    found: dict[tuple[str, tuple[str, ...]], Case] = {}
    cases = (_settled(case, settled) for find in _RULES for case in find(e))
    for case in sorted(cases, key=lambda s: (s.rule, s.ids, not s.forbids)):
        found.setdefault((case.rule, case.ids), case)
    return list(found.values())


def _settled(case: Case, settled: Settlements) -> Case:
    listed = settled.one_settled if case.rule == "I16" else settled.all_settled
    if case.rule in WHO_SETTLES and listed(case.rule, case.records):
        return Case(case.rule, case.records, case.said, settled=True)
    return case


def taken_in(e: Evidence) -> Iterator[Case]:
    """I1, I11, I17: what could not be taken as it came."""
    named = {*e.taken.ahead, *e.taken.overtaken, *e.taken.conflicting, *(refusal.wanted for refusal in e.taken.refused)}
    by_id: dict[str, tuple[Record, ...]] = {}
    for r in e.taken.every:
        if r.id in named:
            by_id[r.id] = (*by_id.get(r.id, ()), r)
    for id_ in e.taken.ahead:
        if id_ in by_id:
            text = f"Record {id_} is stamped more than 2 min after it was received: it proves nothing."
            yield Case("I1", by_id[id_], text)
    for id_ in e.taken.overtaken:
        if id_ in by_id and id_ not in e.taken.ahead:
            text = f"Record {id_} is stamped later than one that its device made after it: it proves nothing."
            yield Case("I1", by_id[id_], text)
    for id_ in e.taken.conflicting:
        if id_ in by_id:
            yield Case("I11", by_id[id_], f"Record {id_} came with different contents: neither proves anything.")
    for refusal in e.taken.refused:
        text = f"Record {refusal.record.id} cannot take back {refusal.wanted}: {refusal.why}."
        yield Case("I17", (refusal.record, *by_id.get(refusal.wanted, ())), text)


# --- flow ----------------------------------------------------------------------------------------------------------


def flow_without_pump(e: Evidence) -> Iterator[Case]:
    """I2: an instrument shows flow though no pump can have been on."""
    p = e.pumping
    if not e.of("pump_state"):
        return
    sure = _widened(_runs(e, sure=True))
    for kind in ("flow_switch", "evaporator_pressure_drop"):
        readings = e.of(kind)
        flowing = [r for r in readings if not p.shows_no_flow(r)]
        raised = [r for r in flowing if not covers(sure, r.earliest, r.latest)]
        if not raised:
            continue
        may_run = _widened(_runs(e, sure=False))
        cleared = max((r.earliest for r in readings if r.proves and p.shows_no_flow(r) and p.still(r)), default=-ALWAYS)
        doubtful = Against(raised)
        again = max((r.earliest for r in flowing if r.proves and doubtful.all_before(r)), default=-ALWAYS)
        for r in raised[-MOST_CASES:]:
            merely = touches(may_run, r)
            stands = cleared <= r.latest and not (merely and again > r.latest)
            pump = "perhaps with no pump on" if merely else "with no pump on"
            if kind == "flow_switch":
                text = say("At {time} the flow switch was made, {pump}.", time=when(r), pump=pump)
            else:
                text = say("At {time} the drop was {drop}, {pump}.", time=when(r), drop=r.data.value, pump=pump)
            yield case_of("I2", r, statement=text, forbids=stands)


def _widened(runs: list[Span]) -> list[Span]:
    return merged(Span(s.begin - FLOW_WINDOW, s.end + FLOW_WINDOW if s.end < ALWAYS else ALWAYS) for s in runs)


def _runs(e: Evidence, *, sure: bool) -> list[Span]:
    """Times at which some pump surely ran, or can have run."""
    p = e.pumping
    if sure:
        return merged(span for known in p.runs.values() for span in known.spans)
    return merged(span for pump, on in p.on.items() for span in possible(on, [*p.off[pump], *p.losses(pump)]))


def standing_instruments(cases: list[Case]) -> list[Record]:
    """For R15: readings whose instrument is not to be trusted, wherever its later readings lie."""
    return [
        r.moved_to(r.earliest, ALWAYS) for case in cases if case.rule == "I2" and case.forbids for r in case.records
    ]


def switch_not_seen_open(e: Evidence) -> Iterator[Case]:
    """The flow switch was never seen not made, nor the drop gone, where nothing flowed: it may be stuck."""
    p = e.pumping
    made = p.switch.records_for
    instruments = e.of("flow_switch", "evaporator_pressure_drop")
    if made and not any(r.proves and p.shows_no_flow(r) and p.still(r) for r in instruments):
        newest = max(made, key=lambda r: (r.earliest, r.id))
        how = "with the pump off" if p.limits.pump_stops else "with the machine's supply or return valve closed"
        yield case_of("switch_not_seen_open", newest, statement=f"The flow switch was not yet seen to drop out {how}.")


# --- liquid --------------------------------------------------------------------------------------------------------


def rising_pressure(e: Evidence) -> Iterator[Case]:
    """I5: pressure rises with the pump off and the fill valve shut."""
    before: Record | None = None
    shut = False
    order = sorted(
        (*e.of("loop_pressure", "fill", "antifreeze_charge"), *e.about("valve_position", "fill")),
        key=lambda r: (r.at, r.kind == "loop_pressure", r.id),
    )
    for r in order:
        if r.kind == "valve_position":
            shut = r.data.position == "closed"
            before = before if shut else None
        elif r.kind != "loop_pressure":
            before = None
        elif r.data.pump == "off" and r.data.gauge == "suction":
            if before is not None and above(r.data.value.si - before.data.value.si, 10e3):
                text = say(
                    "Pressure rose from {before} to {after}, pump off, fill valve closed.",
                    before=before.data.value,
                    after=r.data.value,
                )
                yield case_of("I5", before, r, statement=text)
            before = r if shut else None


def liquid(e: Evidence) -> Iterator[Case]:
    """I6, I7, I8, I19."""
    filled = min((r.earliest for r in e.of("fill")), default=ALWAYS)
    for r in e.of("purge"):
        if r.data.result == "steady_water" and r.earliest < filled:
            yield case_of("I6", r, statement=f"At {when(r)} steady liquid came, and nothing had been filled.")
    for r in e.of("antifreeze_reading"):
        by_strength = freezing_by_strength(e, r)
        if by_strength is not None and abs(by_strength - r.data.freeze_point.si) > READINGS_AGREE:
            text = say(
                "{strength:.3g} % by mass freezes at {freezes:.1f}, but {read} was read.",
                strength=100 * r.data.mass_fraction,
                freezes=Temperature.from_si(by_strength, "degC"),
                read=r.data.freeze_point,
            )
            yield case_of("I7", r, statement=text)
    yield from _square_law(e)
    yield from _stood_still(e)


def _square_law(e: Evidence) -> Iterator[Case]:
    c = e.limits.configuration
    flow = max(e.of("flow"), key=lambda r: (r.earliest, r.id), default=None)
    drop = max(e.of("evaporator_pressure_drop"), key=lambda r: (r.earliest, r.id), default=None)
    if c.evaporator_reference_flow is UNSET or c.evaporator_reference_pressure_drop is UNSET:
        return
    if flow is None or drop is None or abs(flow.at - drop.at) > SAME_TIME:
        return
    ratio = flow.data.value.si / c.evaporator_reference_flow.si
    expected = ratio**2 * c.evaporator_reference_pressure_drop.si
    if not at_most(abs(drop.data.value.si - expected), 0.25 * expected):
        text = say(
            "At {flow} the drop should be {expected:.3g}, but {drop} was read.",
            flow=flow.data.value,
            expected=PressureDifference.from_si(expected, "kPa"),
            drop=drop.data.value,
        )
        yield case_of("I8", flow, drop, statement=text)


def _stood_still(e: Evidence) -> Iterator[Case]:
    """I19: a reading with the pump off while the pump was on by its own records."""
    p = e.pumping
    pump = p.limits.pump_in_use
    recorded = Against([*p.off[pump], *(r for r in p.losses(pump) if r.kind not in ("loop_pressure", "purge"))])
    spans = merged(
        Span(r.latest, end) for r in p.on[pump] if r.proves and (end := recorded.first_not_before(r)) > r.latest
    )
    seen: set[int] = set()
    for r in p.at_rest:
        index = bisect_right(spans, r.earliest, key=lambda s: s.begin) - 1
        if index >= 0 and spans[index].end > r.latest and index not in seen:
            seen.add(index)
            yield case_of("I19", r, statement=f"At {when(r)} the pump stood, but on record it ran.")


def temperatures(e: Evidence) -> Iterator[Case]:
    """I9, I10: the wrong way round, and below the freezing point."""
    running = possibly_running(e)
    readings = e.of("water_temperature")
    strengths = [(r, freezing_point(e, r)) for r in e.of("antifreeze_reading")] if e.limits.glycol else []
    freezes = max((f for _, f in strengths), default=None) if e.limits.glycol else ZERO_CELSIUS
    for r in readings:
        leaving, entering = r.data.leaving, r.data.entering
        if leaving is not UNSET and entering is not UNSET:
            rise = leaving.si - entering.si
            on = touches(running, r)
            if (on and above(rise, 0.5)) or (not on and below(rise, -1.0)):
                text = say(
                    "At {time} leaving {leaving}, entering {entering}, {state}.",
                    time=when(r),
                    leaving=leaving,
                    entering=entering,
                    state="a compressor on" if on else "no compressor on",
                )
                yield case_of("I9", r, statement=text)
        cold = [
            s for s in (leaving, entering) if s is not UNSET and freezes is not None and not at_least(s.si, freezes)
        ]
        if cold:
            text = say("At {time} the water was at {water}, below its freezing point.", time=when(r), water=cold[0])
            yield case_of("I10", r, statement=text, forbids=True)


# --- machine -------------------------------------------------------------------------------------------------------


def possibly_running(e: Evidence) -> list[Span]:
    """Times at which some compressor can have run, by the records of it."""
    return merged(span for records in e.by_subject("compressor").values() for span in running_spans(records))


def running_spans(records: list[Record]) -> list[Span]:
    """The same of one compressor."""
    on = [r for r in records if compressor_on(r.data)]
    return possible(on, [r for r in records if compressor_off(r.data)])


def cold_starts(e: Evidence) -> Iterator[Case]:
    """I12: a compressor that can have been started before its oil was surely warm."""
    heated = e.power.heated
    for records in e.by_subject("compressor").values():
        running_until = -ALWAYS
        off = Against(r for r in records if compressor_off(r.data))
        for r in sorted((r for r in records if compressor_on(r.data)), key=lambda r: (r.earliest, r.id)):
            begins = r.earliest > running_until
            ends = off.first_not_before(r)
            running_until = max(running_until, ends - 1 if ends < ALWAYS else ALWAYS)
            if begins and not covers(heated, r.earliest - e.limits.warm_up, r.latest):
                text = f"Compressor {r.data.id} was started at {when(r)}, before the oil was surely warm."
                yield case_of("I12", r, statement=text, forbids=True)


def repeated_trips(e: Evidence) -> Iterator[Case]:
    """Alarms reset so often within a day that their cause is to be found first."""
    for (code,), records in e.by_subject("alarm").items():
        first = min((r.earliest for r in records if r.data.state == "active"), default=ALWAYS)
        resets = sorted(
            (r for r in records if r.data.state == "cleared" and r.latest >= first), key=lambda r: (r.at, r.id)
        )
        runs = [tuple(resets[n : n + RESETS]) for n in range(len(resets) - RESETS + 1)]
        for run in runs[-MOST_CASES:]:
            if run[-1].earliest - run[0].latest <= RESETS_WITHIN:
                ids = ", ".join(sorted(r.id for r in run))
                text = f"Alarm {code} was reset {RESETS} times within a day ({ids})."
                yield Case("repeated_trips", run, text, forbids=True)


def plate_and_cable(e: Evidence) -> Iterator[Case]:
    """I18: a breaker that does not protect its cable."""
    plate = max(e.of("plate_check"), key=lambda r: (r.earliest, r.id), default=None)
    if plate is not None:
        breaker, cable = plate.data.breaker_rating, plate.data.cable_ampacity
        upper = rating_at_least("nec", cable.si * (1 + 2e-9)) or cable.si
        if not at_most(breaker.si, cable.si) and not at_most(breaker.si, upper):
            text = say(
                "The breaker of {breaker} is above {upper:g}, the next standard rating over the cable's {cable}.",
                breaker=breaker,
                upper=Current(upper, "A"),
                cable=cable,
            )
            yield case_of("I18", plate, statement=text)


def frost(e: Evidence) -> Iterator[Case]:
    """N1."""
    needed = e.limits.configuration.required_freeze_point
    if not e.limits.glycol and needed is not UNSET and not at_least(needed.si, ZERO_CELSIUS):
        text = say("The weather asks for a freezing point of {needed}, and the loop holds water.", needed=needed)
        yield Case("N1", (), text)


_RULES: Final[tuple[Callable[[Evidence], Iterator[Case]], ...]] = (
    taken_in, flow_without_pump, switch_not_seen_open, power_after_off, live_work, voltage_before, alive_under_lock,
    another_hand_at_a_lock, rotation_after_outage, rising_pressure, liquid, temperatures, cold_starts, repeated_trips,
    plate_and_cable, frost,
)  # fmt: skip
