"""Supply, voltage, rotation and the hour of oil heat (R02, R04 to R07, R20, R29)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from . import units
from .log import Log, Objection, having, stands, surely_after_all
from .plan import HOUR, Plan
from .sightings import Sighting, after, least_between

FOUR_HOURS = 4 * HOUR
HALF_DAY = 12 * HOUR


def volts(s: Sighting) -> tuple[float, float, float]:
    """Between the three pairs of lines."""
    return units.plain(s.data["v_ab"]), units.plain(s.data["v_bc"]), units.plain(s.data["v_ca"])


def unbalance(s: Sighting) -> float:
    """Greatest deviation from the mean over the mean (NEMA MG 1, 12.44.1)."""
    three = volts(s)
    mean = (three[0] + three[1] + three[2]) / 3
    return max(abs(v - mean) for v in three) / mean if mean else 1.0


def alive(plan: Plan, s: Sighting) -> bool:
    """A sign of life of the supply."""
    if s.kind == "line_voltage":
        return min(volts(s)) >= 0.5 * plan.rated_voltage
    return s.kind == "phase_indicator" and s.data["rotation"] in ("correct", "reversed")


def _dead(plan: Plan, s: Sighting) -> bool:
    if s.kind == "line_voltage":
        return min(volts(s)) < 0.5 * plan.rated_voltage
    return s.kind == "phase_indicator" and s.data["rotation"] == "missing_phase"


def supply_signs(log: Log, plan: Plan) -> list[Sighting]:
    """Whatever shows the supply on: switched, back after a gap, or alive."""
    on = log.all("supply", where=lambda s: s.data["state"] in ("on", "interrupted"))
    return on + log.all("line_voltage", "phase_indicator", where=lambda s: alive(plan, s))


def gap_of(s: Sighting) -> int:
    """How long the supply was away when it was interrupted; nothing for any other sign of it."""
    gap = s.data.get("duration") if s.kind == "supply" and s.data["state"] == "interrupted" else None
    return units.microseconds(gap) if gap else 0


def energised_at(s: Sighting) -> int:
    """Latest instant from which this sign shows the supply on; after a gap, when the gap is surely over."""
    return s.hi + gap_of(s)


def leads_touched(log: Log) -> list[Sighting]:
    """Swapped, connected, disconnected, or moved with the machine."""
    return log.all("leads_swapped", "line_connection", "moved")


def _connected_alive(log: Log, plan: Plan) -> list[Sighting]:
    """Lines put on while the supply may have been on (I13)."""
    return [
        s
        for s in log.all("line_connection", where=lambda s: s.data["state"] == "connected")
        if supply_may_be_on(log, plan, s)
    ]


def supply_losses(log: Log, plan: Plan) -> list[Sighting]:
    """Whatever ends the supply to the machine, or may have."""
    lost = log.all("supply", where=lambda s: s.data["state"] in ("off", "interrupted"))
    lost += log.all("isolator", where=lambda s: s.data["state"] == "open")
    lost += log.all("line_voltage", "phase_indicator", where=lambda s: _dead(plan, s))
    lost += log.all("leads_swapped", "moved")
    lost += log.all("line_connection", where=lambda s: s.data["state"] == "disconnected")
    return lost + _connected_alive(log, plan)


def supply_may_be_on(log: Log, plan: Plan, moment: Sighting) -> bool:
    """Whether some order of events has the supply on at that moment: only a recorded `off` shows it off."""
    offs = log.good("supply", where=lambda s: s.data["state"] == "off")
    for sign in supply_signs(log, plan):
        if after(sign, moment) or sign is moment:
            continue
        if not any(after(moment, off) and after(off, sign) for off in offs):
            return True
    return False


def switch_losses(log: Log) -> list[Sighting]:
    """The control switch off, or the machine moved."""
    return log.all("control_switch", where=lambda s: s.data["state"] == "off") + log.all("moved")


@dataclass(frozen=True)
class Part:
    """One thing that must have held for the whole warm-up: what made it good, and what ended it."""

    name: str
    good: tuple[Sighting, ...]
    lost: tuple[Sighting, ...]
    needed: bool = True

    def since(self) -> int | None:
        """Latest instant from which it has surely held; None where it may not hold now. Least over the good ones."""
        held = [energised_at(g) for g in self.good if self._outlasts(g)]
        return min(held) if held else None

    def held_for(self, time: int, moment: Sighting) -> bool:
        """Whether it had surely held for so long when something happened."""
        return any(least_between(g, moment) - gap_of(g) >= time for g in self.good if self._outlasts(g))

    def _outlasts(self, g: Sighting) -> bool:
        return all(after(g, x) for x in self.lost if x is not g)


def warm_up_parts(log: Log, plan: Plan) -> list[Part]:
    """Supply and switch always; isolator, voltage and each heater from the first time that they were seen bad."""
    supply = [s for s in supply_signs(log, plan) if s.stands]
    parts = [
        Part("supply", tuple(supply), tuple(supply_losses(log, plan) + log.edits("R05"))),
        Part("switch", tuple(log.good("control_switch", where=_on)), tuple(switch_losses(log))),
    ]
    opened = log.all("isolator", where=lambda s: s.data["state"] == "open")
    if opened:
        closed = log.good("isolator", where=lambda s: s.data["state"] == "closed")
        parts.append(Part("isolator", tuple(closed), tuple(opened)))
    low = log.all("line_voltage", where=lambda s: min(volts(s)) < 0.9 * plan.rated_voltage)
    if low:
        high = log.good("line_voltage", where=lambda s: min(volts(s)) >= 0.9 * plan.rated_voltage)
        parts.append(Part("voltage", tuple(high), tuple(low)))
    cold = log.all("oil_heater", where=lambda s: not s.data["working"])
    for compressor in sorted({s.data["compressor"] for s in cold}):
        mine = [s for s in cold if s.data["compressor"] == compressor]
        warm = log.good("oil_heater", where=having(compressor=compressor, working=True))
        parts.append(Part("heater", tuple(warm), tuple(mine)))
    return parts


def _on(s: Sighting) -> bool:
    return bool(s.data["state"] == "on")


def warm_up_since(log: Log, plan: Plan) -> int | None:
    """Start of the warm-up: the greatest of what made it good, or None."""
    starts = [part.since() for part in warm_up_parts(log, plan)]
    return None if any(s is None for s in starts) else max(s for s in starts if s is not None)


def oil_warm(log: Log, plan: Plan) -> Iterator[Objection]:
    """R20, and R29: each heater felt warm in this warm-up."""
    since = warm_up_since(log, plan)
    counts = None if since is None else max([since, *(e.hi for e in log.edits("R20"))])
    if since is None or counts is None:
        yield Objection("R20", "no unbroken warm-up is surely running")
    elif counts + plan.warm_up > log.now_lo:
        yield Objection("R20", "the oil has not surely had its time", waits=True)
    bad = log.all("oil_heater", where=lambda s: not s.data["working"])
    for s in bad:
        again = log.good("oil_heater", where=having(compressor=s.data["compressor"], working=True))
        if not stands(again, [s]):
            yield Objection("R29", f"heater of compressor {s.data['compressor']} seen cold")
    if not plan.oil_heaters or since is None:
        return
    for compressor in plan.compressors:
        felt = log.good("oil_heater", where=having(compressor=compressor, working=True))
        felt = surely_after_all(felt, log.edits("R29"))
        begins_it = [
            f
            for f in felt
            if f.hi == since and log.all("oil_heater", where=having(compressor=compressor, working=False))
        ]
        if not begins_it and not [f for f in felt if f.lo > since]:
            yield Objection("R29", f"heater of compressor {compressor} not felt warm in this warm-up")


def energised(log: Log, plan: Plan) -> Iterator[Objection]:
    """R05: supply, switch and isolator, with a sign of life of the last 12 h."""
    for part in warm_up_parts(log, plan):
        if part.name in ("supply", "switch", "isolator") and part.since() is None:
            yield Objection("R05", f"{part.name} not surely on")
    since = next(p.since() for p in warm_up_parts(log, plan) if p.name == "supply")
    if since is not None and since > log.now_lo:
        yield Objection("R05", "a gap of the supply may not be over")
    signs = [s for s in supply_signs(log, plan) if s.stands]
    if not log.not_older(surely_after_all(signs, supply_losses(log, plan) + log.edits("R05")), HALF_DAY):
        yield Objection("R05", "no sign of life in 12 h")


def _voltage_good(plan: Plan, s: Sighting) -> bool:
    low, high = 0.9 * plan.rated_voltage, 1.1 * plan.rated_voltage
    return all(low <= v <= high for v in volts(s)) and unbalance(s) <= plan.unbalance


def hertz_good(plan: Plan, s: Sighting) -> bool | None:
    """Within 5 % of the plate; None where it was not read or the plate's is not known."""
    if "frequency" not in s.data or plan.rated_frequency is None:
        return None
    hertz = units.plain(s.data["frequency"])
    return bool(0.95 * plan.rated_frequency <= hertz <= 1.05 * plan.rated_frequency)


def voltage(log: Log, plan: Plan) -> Iterator[Objection]:
    """R06: read after the last loss and the last hand at the leads, not 4 h old; hertz for a generator."""
    lost = supply_losses(log, plan) + leads_touched(log) + log.edits("R06")
    bad = log.all("line_voltage", where=lambda s: not _voltage_good(plan, s))
    good = log.good("line_voltage", where=lambda s: _voltage_good(plan, s))
    if not log.not_older(surely_after_all(good, bad + lost), FOUR_HOURS):
        yield Objection("R06", "no good voltage surely after the last loss")
    off_speed = log.all("line_voltage", where=lambda s: hertz_good(plan, s) is False)
    on_speed = log.good("line_voltage", where=lambda s: bool(hertz_good(plan, s)))
    if off_speed and not stands(on_speed, off_speed):
        yield Objection("R06", "hertz outside 5 %")
    if plan.generator and not log.not_older(surely_after_all(on_speed, off_speed + lost), FOUR_HOURS):
        yield Objection("R06", "generator not read in hertz since its last start")


def _touches_rotation(plan: Plan, s: Sighting) -> bool:
    """Whether a loss of supply may have changed the order of the phases."""
    if plan.generator or plan.transfer_switch:
        return True
    return s.kind == "supply" and s.data.get("cause") in ("line_work", "storm", "source_work")


def rotation(log: Log, plan: Plan) -> Iterator[Objection]:
    """R07: last indication correct, and after whatever may have changed it."""
    against = log.all("phase_indicator", where=lambda s: s.data["rotation"] != "correct") + leads_touched(log)
    against += [s for s in supply_losses(log, plan) if _touches_rotation(plan, s)] + log.edits("R07")
    if plan.evidence or log.all("line_connection"):
        against += log.all("ground", where=lambda s: not s.data["connected"])
    if not stands(log.good("phase_indicator", where=lambda s: s.data["rotation"] == "correct"), against):
        yield Objection("R07", "rotation not surely seen correct since it may have changed")


def _plate_good(plan: Plan, s: Sighting) -> bool:
    data: Any = s.data
    least, most = units.plain(data["minimum_circuit_ampacity"]), units.plain(data["maximum_overcurrent_device"])
    cable, breaker = units.plain(data["cable_ampacity"]), units.plain(data["breaker_rating"])
    if (
        "rated_voltage" in data
        and abs(units.plain(data["rated_voltage"]) - plan.rated_voltage) > 0.01 * plan.rated_voltage
    ):
        return False
    return least <= cable and least <= breaker <= most


def supply_and_ground(log: Log, plan: Plan) -> Iterator[Objection]:
    """R02 and R04."""
    recabled = log.all("moved") + log.all("line_connection", where=lambda s: s.data["state"] == "disconnected")
    bad = log.all("plate_check", where=lambda s: not _plate_good(plan, s))
    if not stands(log.good("plate_check", where=lambda s: _plate_good(plan, s)), bad + recabled + log.edits("R02")):
        yield Objection("R02", "plate, cable and breaker not surely compared and right")
    off = log.all("ground", where=lambda s: not s.data["connected"]) + log.all("moved") + log.edits("R04")
    if not stands(log.good("ground", where=lambda s: s.data["connected"]), off):
        yield Objection("R04", "ground not surely connected")
