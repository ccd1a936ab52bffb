"""Supply, isolator, control switch, voltage and heaters: since when the oil surely warms, and when it surely did."""

from functools import reduce

from coldwright_basis.instants import span
from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.known import Against, Known, Span, common, outside
from coldwright_readiness.startup.evidence.record import Record, after, parted
from coldwright_readiness.startup.evidence.records import Records

ROTATING = ("correct", "reversed")


class Power:
    """What the records say of power at the machine."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self.gaps = [
            r.moved_to(r.earliest, r.latest + span(r.data.duration))
            for r in records.of("supply")
            if r.data.state == "interrupted"
        ]
        """Interruptions, each as long as it can have lasted."""
        volts = records.of("line_voltage")
        alive, self.dead = parted(volts, lambda r: bool(r.volts.alive))
        self.off = [r for r in records.of("supply") if r.data.state == "off"]
        self.signs = alive + [r for r in records.of("phase_indicator") if r.data.rotation in ROTATING]
        """Readings that need a live supply."""
        self.on = [r for r in records.of("supply") if r.data.state == "on"]
        lost_phase = [r for r in records.of("phase_indicator") if r.data.rotation == "missing_phase"]
        opened = [r for r in records.of("isolator") if r.data.state == "open"]
        self.losses = [
            *self.off, *opened, *self.dead, *lost_phase, *records.of("leads_swapped", "line_connection", "moved")
        ]  # fmt: skip
        """What takes the supply away, interruptions apart."""
        self.switched_off = [r for r in records.of("control_switch") if r.data.state == "off"]

    @once
    def supply(self) -> Known:
        """A proper supply at the machine."""
        losses = Against(self.losses)
        healed = [
            gap.moved_to(gap.latest + 1, gap.latest)
            for gap in self.gaps
            if gap.latest <= self.records.now and losses.all_before(gap)
        ]
        return Known([*self.on, *self.signs, *healed], Against([*self.losses, *self.gaps]))

    @property
    def lost_by(self) -> Against:
        """Everything that takes the supply away."""
        return self.supply.against

    @once
    def isolator(self) -> Known:
        """The isolator closed again; closed all the time where it was never seen open."""
        records = self.records.of("isolator")
        return Known(
            [r for r in records if r.data.state == "closed"], Against(r for r in records if r.data.state == "open")
        )

    @once
    def switch(self) -> Known:
        """The control switch on."""
        on = [r for r in self.records.of("control_switch") if r.data.state == "on"]
        return Known(on, Against([*self.switched_off, *self.records.of("moved")]))

    @once
    def voltage(self) -> Known:
        """Volts high enough for the heaters; taken as good until seen low."""
        good, low = parted(self.records.of("line_voltage"), lambda r: bool(r.volts.not_low))
        return Known(good, Against(low))

    @once
    def heaters(self) -> dict[str, Known]:
        """Each heater that was ever seen out of order."""
        found: dict[str, list[Record]] = {}
        for r in self.records.of("oil_heater"):
            found.setdefault(r.data.compressor, []).append(r)
        return {
            name: Known((r for r in records if r.data.working), Against(r for r in records if not r.data.working))
            for name, records in sorted(found.items())
            if any(not r.data.working for r in records)
        }

    @property
    def conditions(self) -> dict[str, Known]:
        """What must be good together for the oil to warm; the last three are taken as good until seen otherwise."""
        found = {"supply": self.supply, "switch": self.switch}
        seen = {"isolator": self.isolator, "voltage": self.voltage}
        found.update((name, state) for name, state in seen.items() if state.against)
        return {**found, **{f"heater {name}": state for name, state in self.heaters.items()}}

    @once
    def heated(self) -> list[Span]:
        """Times at which the oil surely warmed."""
        unseen_good = ("isolator", "voltage", "heater")
        spans = []
        for name, state in self.conditions.items():
            held = state.spans
            if name.startswith(unseen_good):  # before anything against it was seen it is taken as good
                held = [outside(state.against)[0], *held]
            spans.append(held)
        return reduce(common, spans)

    @once
    def warm_since(self) -> int | None:
        """Since when the oil surely warms without a break; None while it does not."""
        states = list(self.conditions.values())
        if not all(state.holds for state in states):
            return None
        return max(self.records.warm_from, *(state.begun.latest for state in states if state.begun is not None))

    @property
    def warm_by(self) -> Record | None:
        """The record that completed it."""
        begun = [state.begun for state in self.conditions.values() if state.begun is not None]
        return max(begun, key=lambda r: (r.latest, r.id), default=None)

    def surely_off(self, record: Record) -> bool:
        """Whether the source was surely off when something was done: seen off before it, and not on since."""
        lives = Against([*self.on, *self.signs, *self.gaps])
        return any(
            off.proves and after(record, off) and lives.first_not_before(off) > record.latest for off in self.off
        )
