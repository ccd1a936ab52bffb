"""The walk along the canonical order: what was on, since when the oil warms, where the pump stood still.

A state holds until the next record of it. The machine's pump is fed through supply, isolator and control switch, so
every loss of one of them is followed by a record, made here, that the pump went off.
"""

import heapq
from bisect import bisect_right
from collections.abc import Callable
from math import inf
from typing import Final

from coldwright_readiness.shared.instants import NANO, span
from coldwright_readiness.startup.limits import Limits
from coldwright_readiness.startup.order import Key, Ordered, Record, Subject

ALIVE_WINDOW: Final = 60 * NANO
"""How far from a reading of flow a pump must have been on at some moment."""


class Loss:
    """Something that ended the supply or the oil's warming: the record, and the reset event it belongs to."""

    __slots__ = ("record", "rule")

    def __init__(self, record: Record, rule: str) -> None:
        self.record, self.rule = record, rule


class WarmUp:
    """One stretch of oil heat; still running while `end` is None."""

    __slots__ = ("begin", "begun_by", "end")

    def __init__(self, begin: int, begun_by: Record) -> None:
        self.begin, self.begun_by = begin, begun_by
        self.end: Loss | None = None


class Spell:
    """Time for which a pump was on, its end not included."""

    __slots__ = ("begin", "end")

    def __init__(self, begin: int) -> None:
        self.begin = begin
        self.end: float = inf


class Timeline:
    """What the walk found. `records` are in canonical order, inserted ones among them, each with its `index`."""

    def __init__(self, limits: Limits, evaluated_at: int, ordered: Ordered) -> None:
        self.limits, self.evaluated_at, self.ordered = limits, evaluated_at, ordered
        self.records: list[Record] = []
        self.by_kind: dict[str, list[Record]] = {}
        self.latest: dict[tuple[str, Subject], Record] = {}
        # Power: None is not known. `source` is the supply itself, whatever the isolator does.
        self.supply: bool | None = None
        self.source: bool | None = None
        self.switch: bool | None = None
        self.isolator_closed = True
        self.voltage_good = True
        self.cold_heaters: set[str] = set()
        self.made_good: dict[str, int] = {}
        self.gap_until: int | None = None
        self.warm_since: int | None = None
        self.warm_ups: list[WarmUp] = []
        # Events that facts and suspicions look at.
        self.losses: list[Loss] = []
        self.signs_of_life: list[Record] = []
        self.inferred: list[Record] = []
        self.alive_after_off: list[Record] = []
        self.swapped_live: list[Record] = []
        self.connected_live: list[Record] = []
        self.stood_still: list[Record] = []
        self.moved: Record | None = None
        # Pumps, locks, compressors as last seen.
        self.pumps: dict[str, Record] = {}
        self.locks: dict[str, Record] = {}
        self.running: set[str] = set()
        self._inserted: list[tuple[Key, Record]] = []
        self._spells: dict[str, list[Spell]] = {}
        self._walk()

    def _walk(self) -> None:
        waiting = [(r.key, r) for r in self.ordered.records]
        position = 0
        while position < len(waiting) or self._inserted:
            if self._inserted and (position == len(waiting) or self._inserted[0][0] < waiting[position][0]):
                self._take(heapq.heappop(self._inserted)[1])
            else:
                self._take(waiting[position][1])
                position += 1
        if self.gap_until is not None and self.gap_until > self.evaluated_at:  # in the middle of an interruption
            self.supply = False
            self._settle(self.losses[-1].record, "V1")

    def _take(self, record: Record) -> None:
        record.index = len(self.records)
        self.records.append(record)
        record.warm_since, record.source_on = self.warm_since, self.source is True
        record.pump_on, record.any_pump_on = self.pump_runs(self.limits.pump_in_use), self.any_pump_runs()
        record.compressor_on, record.locked_by = bool(self.running), next(iter(self.locks.values()), None)
        if record.cause is None:
            self.by_kind.setdefault(record.kind, []).append(record)
            self.latest[record.subject] = record
        effect = _EFFECTS.get(record.kind)
        if effect is not None:
            effect(self, record)

    # --- questions -------------------------------------------------------------------------------------------------

    def pump_runs(self, pump: str) -> bool:
        """Whether a pump is on by its last record so far."""
        return pump in self.pumps and self.pumps[pump].data.state == "on"

    def any_pump_runs(self) -> bool:
        """Whether one of the pumps is."""
        return self.pump_runs("machine") or self.pump_runs("site")

    def pump_on_near(self, moment: int) -> bool:
        """Whether any pump was on at some moment within the window around `moment`."""
        first, last = moment - ALIVE_WINDOW, moment + ALIVE_WINDOW
        for spells in self._spells.values():
            position = bisect_right(spells, last, key=lambda spell: spell.begin) - 1
            if position >= 0 and spells[position].end > first:
                return True
        return False

    # --- changes of state ------------------------------------------------------------------------------------------

    def _settle(self, record: Record, rule: str) -> None:
        """Begin or end the oil's warming, as everything now stands."""
        good = (
            self.supply is True
            and self.switch is True
            and self.isolator_closed
            and self.voltage_good
            and not self.cold_heaters
        )
        if good and self.warm_since is None:
            begin = max(self.made_good.values())
            self.warm_since = begin if self.gap_until is None else max(begin, self.gap_until)
            self.warm_ups.append(WarmUp(self.warm_since, record))
        elif not good and self.warm_since is not None:
            self.warm_since = None
            self.warm_ups[-1].end = Loss(record, rule)

    def _lose_supply(self, record: Record, rule: str) -> None:
        self.supply = False
        self.losses.append(Loss(record, rule))
        self._settle(record, rule)
        self._pump_stops(record)

    def _gain_supply(self, record: Record) -> None:
        self.signs_of_life.append(record)
        self.source = True
        if self.supply is not True:
            self.supply = True
            self.made_good["supply"] = record.latest
        self._settle(record, "V1")

    def _pump_stops(self, cause: Record) -> None:
        off = cause.pump_off("machine", cause.effective)
        heapq.heappush(self._inserted, (off.key, off))

    # --- one effect for each kind ----------------------------------------------------------------------------------

    def _supply(self, record: Record) -> None:
        state = record.data.state
        if state == "on":
            self._gain_supply(record)
        elif state == "off":
            self.source = False
            self._lose_supply(record, "V1")
        elif record.part == 0:
            self.source = False
            back = record.latest + span(record.data.duration)
            self.gap_until = back if self.gap_until is None else max(back, self.gap_until)
            self.supply = False
            self.losses.append(Loss(record, "V1"))
            self._settle(record, "V1")
        else:
            self.losses.append(Loss(record, "V1"))
            self._pump_stops(record)
            if record.effective <= self.evaluated_at:
                self._gain_supply(record)

    def _isolator(self, record: Record) -> None:
        if record.data.state == "open":
            self.isolator_closed = False
            self._lose_supply(record, "V1")
        elif not self.isolator_closed:
            self.isolator_closed = True
            self.made_good["isolator"] = record.latest
            self._settle(record, "V1")

    def _control_switch(self, record: Record) -> None:
        if record.data.state == "off":
            self.switch = False
            self._settle(record, "V2")
            self._pump_stops(record)
        elif self.switch is not True:
            self.switch = True
            self.made_good["switch"] = record.latest
            self._settle(record, "V2")

    def _leads_swapped(self, record: Record) -> None:
        if self.source is True:
            self.swapped_live.append(record)
        self._lose_supply(record, "V3")

    def _line_connection(self, record: Record) -> None:
        live = self.source is True
        if live:
            self.connected_live.append(record)
        if live or record.data.state == "disconnected":
            self._lose_supply(record, "V3")

    def _sign_of_life(self, record: Record) -> None:
        if self.supply is not True:
            self.inferred.append(record)
            if self.source is False and record.kind == "line_voltage":
                self.alive_after_off.append(record)
        self._gain_supply(record)

    def _line_voltage(self, record: Record) -> None:
        good = self.limits.not_low(record.data)
        if good and not self.voltage_good:
            self.made_good["voltage"] = record.latest
        self.voltage_good = good
        if self.limits.alive(record.data):
            self._sign_of_life(record)
        elif self.supply is True:
            self._lose_supply(record, "V1")
        self._settle(record, "V1")

    def _phase_indicator(self, record: Record) -> None:
        if record.data.rotation in ("correct", "reversed"):
            self._sign_of_life(record)
        elif record.data.rotation == "missing_phase" and self.supply is True:
            self._lose_supply(record, "V1")

    def _oil_heater(self, record: Record) -> None:
        if not record.data.working:
            self.cold_heaters.add(record.data.compressor)
        elif record.data.compressor in self.cold_heaters:
            self.cold_heaters.discard(record.data.compressor)
            self.made_good["heaters"] = max(record.latest, self.made_good.get("heaters", record.latest))
        self._settle(record, "V1")

    def _moved(self, record: Record) -> None:
        self.moved = record
        self.switch = False
        self._lose_supply(record, "V10")

    def _lock(self, record: Record) -> None:
        if record.data.state == "applied":
            self.locks.setdefault(record.data.lock_id, record)
        else:
            self.locks.pop(record.data.lock_id, None)

    def _compressor(self, record: Record) -> None:
        if record.data.state == "on":
            self.running.add(record.data.id)
        else:
            self.running.discard(record.data.id)

    def _pump_state(self, record: Record) -> None:
        was_on = self.pump_runs(record.data.pump)
        self.pumps[record.data.pump] = record
        spells = self._spells.setdefault(record.data.pump, [])
        if record.data.state == "on" and not was_on:
            spells.append(Spell(record.effective))
        elif record.data.state != "on" and was_on:
            spells[-1].end = record.effective
            if spells[-1].end == spells[-1].begin:  # on and off at one instant: off holds
                spells.pop()

    def _at_rest(self, record: Record) -> None:
        """A reading made with the pump off says that the pump stood, whatever its last record was."""
        if record.data.pump == "off" and self.pump_runs(self.limits.pump_in_use):
            self.stood_still.append(record)
            off = record.pump_off(self.limits.pump_in_use, record.latest)
            heapq.heappush(self._inserted, (off.key, off))


_EFFECTS: Final[dict[str, Callable[[Timeline, Record], None]]] = {
    "supply": Timeline._supply,
    "isolator": Timeline._isolator,
    "control_switch": Timeline._control_switch,
    "leads_swapped": Timeline._leads_swapped,
    "line_connection": Timeline._line_connection,
    "line_voltage": Timeline._line_voltage,
    "phase_indicator": Timeline._phase_indicator,
    "oil_heater": Timeline._oil_heater,
    "moved": Timeline._moved,
    "lock": Timeline._lock,
    "compressor": Timeline._compressor,
    "pump_state": Timeline._pump_state,
    "loop_pressure": Timeline._at_rest,
    "purge": Timeline._at_rest,
}
