"""Pumps, flow, fillings of the loop and its first run."""

from bisect import bisect_right

from coldwright_basis.compare import at_most
from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.known import Against, Known, Span, common, covers, merged, outside
from coldwright_readiness.startup.evidence.power import Power
from coldwright_readiness.startup.evidence.record import ALWAYS, Record, parted
from coldwright_readiness.startup.evidence.records import Records
from coldwright_readiness.startup.limits import NO_FLOW
from coldwright_readiness.startup.words import word


class Pumping:
    """What the records say of the liquid and what moves it."""

    def __init__(self, records: Records, power: Power) -> None:
        self.records, self.power = records, power
        self.limits = records.limits
        states = records.of("pump_state")
        self.on = {p: [r for r in states if r.data.pump == p and r.data.state == "on"] for p in ("machine", "site")}
        self.off = {p: [r for r in states if r.data.pump == p and r.data.state != "on"] for p in ("machine", "site")}

    @once
    def at_rest(self) -> list[Record]:
        """Readings that were made with the pump off: whatever else they say, the pump in use stood."""
        return [r for r in self.records.of("loop_pressure", "purge") if r.data.pump == "off"]

    def losses(self, pump: str) -> list[Record]:
        """What stops a pump beside its own records: the machine's is fed through supply, isolator and control switch."""
        found = self.at_rest if pump == self.limits.pump_in_use else []
        if pump == "machine":
            power = self.power
            found = [*found, *power.losses, *power.gaps, *power.switched_off]
        return found

    @once
    def runs(self) -> dict[str, Known]:
        """Each pump as running."""
        return {p: Known(self.on[p], Against([*self.off[p], *self.losses(p)])) for p in ("machine", "site")}

    @property
    def run(self) -> Known:
        """The pump in use as running."""
        return self.runs[self.limits.pump_in_use]

    @once
    def stands(self) -> list[Span]:
        """Times at which surely no pump ran: after the instant at which it was seen off, not at it."""
        spans = [Span(-ALWAYS, ALWAYS)]
        for pump, on in self.on.items():
            if on:
                still = Known([r for r in (*self.off[pump], *self.losses(pump)) if r.proves], Against(on))
                before_any_on = outside(still.against)[0]
                spans = common(spans, [before_any_on, *_after(still.spans)])
        return spans

    def stood(self, record: Record) -> bool:
        """Whether surely no pump ran when `record` was made."""
        return covers(self.stands, record.earliest, record.latest)

    @once
    def shut(self) -> list[Span]:
        """Times at which the machine's supply or return valve was surely closed: nothing flows through the evaporator."""
        spans: list[Span] = []
        for name in ("supply", "return"):
            records = [r for r in self.records.of("valve_position") if word(r.data.valve) == name]
            closed, other = parted(records, lambda r: bool(r.data.position == "closed"))
            spans += _after(Known(closed, Against(other)).spans)
        return merged(spans)

    def still(self, record: Record) -> bool:
        """Whether surely nothing flowed when `record` was made: no pump ran, or one that cannot stop, against a closed valve."""
        return self.stood(record) or (not self.limits.pump_stops and covers(self.shut, record.earliest, record.latest))

    # --- flow ------------------------------------------------------------------------------------------------------

    @once
    def switch(self) -> Known:
        """The flow switch as made."""
        made, not_made = parted(self.records.of("flow_switch"), lambda r: r.data.state == "made")
        return Known(made, Against(not_made))

    @once
    def drop(self) -> Known:
        """The drop across the evaporator as within its limits."""
        within, out = parted(
            self.records.of("evaporator_pressure_drop"), lambda r: self.limits.drop_good(r.data.value.si)
        )
        return Known(within, Against(out))

    @once
    def low_flow(self) -> list[Record]:
        """Readings of a flow under its least; what was read while surely no pump ran is natural."""
        return [r for r in self.flows[1] if not self.stood(r)]

    @once
    def flows(self) -> tuple[list[Record], list[Record]]:
        """Readings of the flow: good ones, and those under its least."""
        return parted(self.records.of("flow"), lambda r: self.limits.flow_good(r.data.value.si))

    @once
    def openings(self) -> list[Record]:
        """The loop was opened or drained, or the machine moved."""
        return self.records.of("loop_opened", "drain", "moved")

    @once
    def left_open(self) -> list[Record]:
        """The fill or the drain valve seen not closed: liquid went in or out, though nobody recorded how much."""
        shut = {name: self.limits.loop_valves[name] for name in ("fill", "drain")}
        valves = self.records.of("valve_position")
        return [r for r in valves if shut.get(word(r.data.valve), r.data.position) != r.data.position]

    @once
    def proved(self) -> list[Span]:
        """Times at which the flow was surely proved: pump, switch and drop all good, and read since anything undid it."""
        undoing = Against([*self.low_flow, *self.openings, *self.moved_valves, *self.first_fills])
        return common(self._while_it_ran(self.switch, undoing), self._while_it_ran(self.drop, undoing))

    def _while_it_ran(self, shown: Known, undoing: Against) -> list[Span]:
        """Each from a reading that was surely made after the pump was started, to the end of that very run at the latest: what
        was read in a run, or before a valve was moved, says nothing of what comes then.
        """
        found = []
        for r in shown.records_for:
            index = bisect_right(self.run.spans, r.earliest - 1, key=lambda s: s.begin) - 1
            if index >= 0 and self.run.spans[index].end > r.latest:
                against = min(shown.against.first_not_before(r), undoing.first_not_before(r))
                found.append(Span(r.latest, min(self.run.spans[index].end, against)))
        return merged(s for s in found if s.begin < s.end)

    def proved_at(self, record: Record) -> bool:
        """Whether the flow was surely proved while `record` was made."""
        return covers(self.proved, record.earliest, record.latest)

    def shows_no_flow(self, record: Record) -> bool:
        """The switch not made, or a drop that standing liquid can make."""
        if record.kind == "flow_switch":
            return bool(record.data.state != "made")
        return at_most(record.data.value.si, NO_FLOW)

    # --- filling and first run -------------------------------------------------------------------------------------

    @once
    def first_fills(self) -> list[Record]:
        """A first fill says that the loop had been empty."""
        return [r for r in self.records.of("fill") if r.data.purpose == "first_fill"]

    @once
    def air_let_in(self) -> list[Record]:
        """Pressure too low at the highest point: air came in there."""
        return [
            r
            for r in self.records.of("loop_pressure")
            if r.data.pump == "off" and r.data.gauge != "other" and not self.limits.high_point_good(r.data.value.si)
        ]

    @once
    def filling(self) -> Against:
        """What a filling begins with: what was seen of the one before counts no more."""
        return Against([*self.first_fills, *self.openings, *self.air_let_in])

    @once
    def first_runs(self) -> list[Span]:
        """Stretches of proved flow on this filling that lasted long enough, each from when it was surely so to its end."""
        found: list[Span] = []
        if not self.filling:
            return found
        for begin, end in self.proved:
            on_this = max(begin, self.filling.latest)
            until = min(end, self.records.now)
            if until - on_this >= self.limits.first_run:
                found.append(Span(on_this, until))
        return found

    def run_before(self, record: Record) -> bool:
        """Whether a first run was surely over when `record` was made."""
        return self.run_over_at(record.earliest)

    def run_over_at(self, instant: int) -> bool:
        """Whether a first run was surely over at an instant: what is done then counts as done after it."""
        return any(run.begin + self.limits.first_run < instant for run in self.first_runs[:1])

    @once
    def moved_valves(self) -> list[Record]:
        """Records at which a valve on the way of the flow can stand otherwise than before."""
        found = []
        groups: dict[tuple[str, ...], list[Record]] = {}
        for r in self.records.of("valve_position"):
            name = word(r.data.valve)
            if name in self.limits.flow_valves or (name == "other" and r.data.in_flow_path is True):
                groups.setdefault(r.subject[1], []).append(r)
        for records in groups.values():
            found += _moves(records)
        return found


def _after(spans: list[Span]) -> list[Span]:
    """The same, without the instants at which they begin."""
    return [Span(s.begin + 1, s.end) for s in spans if s.begin + 1 < s.end]


def _moves(records: list[Record]) -> list[Record]:
    """Of one valve: every record that another, with another position, can have been right before."""
    positions = sorted({r.data.position for r in records})
    if len(positions) < 2:
        return []
    others = {p: Against(r for r in records if r.data.position != p) for p in positions}
    same = {p: [r for r in records if r.data.position == p] for p in positions}
    moves = []
    for position in positions:
        unmoved = Known(same[position], others[position])
        for r in same[position]:
            if not others[position].may_lie(-ALWAYS, r.latest):
                continue
            if not covers(unmoved.spans, r.earliest, r.latest) or _begins(unmoved.spans, r):
                moves.append(r)
    return moves


def _begins(spans: list[Span], record: Record) -> bool:
    """Whether a spell of one position begins with this record."""
    index = bisect_right(spans, record.latest, key=lambda s: s.begin) - 1
    return index >= 0 and spans[index].begin == record.latest
