"""What cannot be, contradicts itself, or asks for a look: rules I1 to I19 and N1."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Temperature
from coldwright_basis.ratings import rating_at_least
from coldwright_readiness.shared.instants import NANO, show
from coldwright_readiness.startup.facts import Evidence
from coldwright_readiness.startup.facts_loop import FREEZE_READINGS_AGREE, freezing_by_strength
from coldwright_readiness.startup.limits import HIGH, LOW, at_least, at_most
from coldwright_readiness.startup.order import Record

FLOW_WITHOUT_PUMP: Final = 2000.0
"""Pa of drop that no standing liquid makes."""
DEAD: Final = 0.1
"""Fraction of rated voltage under which a circuit is dead rather than badly fed."""
SAME_TIME: Final = 15 * 60 * NANO


@dataclass(frozen=True)
class Suspicion:
    """One case of a rule. `stands`: it still forbids the start."""

    rule: str
    ids: tuple[str, ...]
    statement: str
    stands: bool = False
    severity: Literal["stop", "check"] = "check"


def suspicions(e: Evidence) -> list[Suspicion]:
    """Every case, by (rule, ids); of two about the same records the graver."""
    found: dict[tuple[str, tuple[str, ...]], Suspicion] = {}
    for case in sorted(
        (s for find in _RULES for s in find(e)), key=lambda s: (s.rule, s.ids, not s.stands, s.statement)
    ):
        found.setdefault((case.rule, case.ids), case)
    return list(found.values())


def _case(rule: str, *records: Record, statement: str, stands: bool = False) -> Suspicion:
    ids = tuple(sorted({r.id for r in records}))
    return Suspicion(rule, ids, statement, stands, "stop" if stands else "check")


def _at(record: Record) -> str:
    return show(record.at)


def dropped(e: Evidence) -> Iterator[Suspicion]:
    """I1, I11, I17: what the canonical order could not take as it came."""
    order = e.timeline.ordered
    for id_ in order.future:
        yield Suspicion("I1", (id_,), f"{id_} is stamped more than 2 min after the time of the question.")
    for id_ in order.conflicting:
        yield Suspicion("I11", (id_,), f"{id_} came with different contents; only what speaks against a start counts.")
    for id_, named in order.wrong_corrections:
        yield Suspicion("I17", tuple(sorted({id_, named})), f"{id_} cannot correct {named}, which stays.")


def flow_without_pump(e: Evidence) -> Iterator[Suspicion]:
    """I2. Stands until the same instrument shows no flow with every pump off."""
    if not e.all("pump_state"):
        return
    for kind in ("flow_switch", "evaporator_pressure_drop"):
        readings = e.all(kind)
        cleared = max((r.earliest for r in readings if not _shows_flow(r) and not r.any_pump_on), default=None)
        for r in readings:
            if _shows_flow(r) and not e.timeline.pump_on_near(r.at):
                what = "the flow switch was made" if kind == "flow_switch" else f"the drop was {r.data.value}"
                stands = cleared is None or cleared <= r.latest
                yield _case("I2", r, statement=f"At {_at(r)} {what} with no pump on.", stands=stands)


def _shows_flow(record: Record) -> bool:
    if record.kind == "flow_switch":
        return bool(record.data.state == "made")
    return not at_most(record.data.value.si, FLOW_WITHOUT_PUMP)


def power_and_locks(e: Evidence) -> Iterator[Suspicion]:
    """I3, I4, I13, I14, I15, I16."""
    t = e.timeline
    for r in t.alive_after_off:
        yield _case("I3", r, statement=f"At {_at(r)} there was voltage after the supply was seen off.")
    last_off = max((r.index for r in e.all("supply") if r.data.state == "off"), default=-1)
    for r in t.swapped_live:
        stands = last_off < r.index
        yield _case("I4", r, statement=f"At {_at(r)} leads were swapped with the supply on.", stands=stands)
    for r in t.connected_live:
        done = "made" if r.data.state == "connected" else "broken"
        statement = f"At {_at(r)} a line connection was {done} with the supply on."
        yield _case("I13", r, statement=statement, stands=last_off < r.index)
    for before, after in pairwise(e.all("ground")):
        if not before.data.connected and after.data.connected and (before.source_on or after.source_on):
            statement = f"The ground was off and on again by {_at(after)} with the supply on."
            yield _case("I13", before, after, statement=statement)
    for r in e.all("line_voltage")[:-1]:
        lines = e.limits.lines(r.data)
        if max(lines) >= DEAD and not (at_least(min(lines), LOW) and at_most(max(lines), HIGH)):
            volts = f"{r.data.v_ab.value:g}/{r.data.v_bc.value:g}/{r.data.v_ca.value:g} V"
            yield _case("I14", r, statement=f"At {_at(r)} the machine saw {volts}.")
    since = min((lock.index for lock in t.locks.values()), default=None)
    for r in t.signs_of_life:
        if r.kind != "supply" and r.locked_by is not None:
            statement = f"At {_at(r)} there was voltage while lock {r.locked_by.data.lock_id} was on."
            yield _case("I15", r, r.locked_by, statement=statement, stands=since is not None and since < r.index)
    yield from _foreign_hands(e)


def _foreign_hands(e: Evidence) -> Iterator[Suspicion]:
    applied: dict[str, Record] = {}
    for r in e.all("lock"):
        if r.data.state == "applied":
            applied[r.data.lock_id] = r
        elif (own := applied.pop(r.data.lock_id, None)) and UNSET not in (own.by, r.by) and own.by != r.by:
            statement = f"Lock {r.data.lock_id} of {own.by} was taken off by {r.by}."
            yield _case("I16", own, r, statement=statement)


def liquid(e: Evidence) -> Iterator[Suspicion]:
    """I5, I6, I7, I8, I19."""
    yield from _rising_pressure(e)
    filled = min((r.index for r in e.all("fill")), default=None)
    for r in e.all("purge"):
        if r.data.result == "steady_water" and (filled is None or r.index < filled):
            yield _case("I6", r, statement=f"At {_at(r)} steady liquid came, and nothing had been filled.")
    for r in e.all("antifreeze_reading"):
        by_strength = freezing_by_strength(e, r)
        if by_strength is not None and abs(by_strength - r.data.freeze_point.si) > FREEZE_READINGS_AGREE:
            celsius = by_strength - 273.15
            statement = (
                f"{r.data.mass_fraction:g} by mass freezes at {celsius:.1f} degC, read was {r.data.freeze_point}."
            )
            yield _case("I7", r, statement=statement)
    yield from _square_law(e)
    for r in e.timeline.stood_still:
        yield _case("I19", r, statement=f"At {_at(r)} the pump stood, on record it ran.")


def _rising_pressure(e: Evidence) -> Iterator[Suspicion]:
    before: Record | None = None
    shut = False
    for r in e.all("loop_pressure", "fill", "antifreeze_charge", "valve_position"):
        if r.kind == "valve_position":
            if r.data.valve == "fill":
                shut = r.data.position == "closed"
                before = before if shut else None
        elif r.kind != "loop_pressure":
            before = None
        elif r.data.pump == "off":
            if before is not None and r.data.value.si - before.data.value.si > 10e3 * (1 + 1e-9):
                statement = f"Pressure rose from {before.data.value} to {r.data.value}, pump off, fill valve closed."
                yield _case("I5", before, r, statement=statement)
            before = r if shut else None


def _square_law(e: Evidence) -> Iterator[Suspicion]:
    c = e.limits.configuration
    flow, drop = e.last("flow"), e.last("evaporator_pressure_drop")
    if c.evaporator_reference_flow is UNSET or c.evaporator_reference_pressure_drop is UNSET:
        return
    if flow is None or drop is None or abs(flow.at - drop.at) > SAME_TIME:
        return
    ratio = flow.data.value.si / c.evaporator_reference_flow.si
    expected = ratio**2 * c.evaporator_reference_pressure_drop.si
    if not at_most(abs(drop.data.value.si - expected), 0.25 * expected):
        statement = f"At {flow.data.value} the drop should be {expected / 1000:.3g} kPa, read was {drop.data.value}."
        yield _case("I8", flow, drop, statement=statement)


def temperatures(e: Evidence) -> Iterator[Suspicion]:
    """I9, I10."""
    strength = 273.15 if not e.limits.glycol else None
    coldest_now = {
        side: next((r for r in reversed(e.all("water_temperature")) if getattr(r.data, side) is not UNSET), None)
        for side in ("entering", "leaving")
    }
    for r in e.all("water_temperature", "antifreeze_reading"):
        if r.kind == "antifreeze_reading":
            strength = _freezes(e, r) if e.limits.glycol else strength
            continue
        leaving, entering = r.data.leaving, r.data.entering
        if leaving is not UNSET and entering is not UNSET:
            rise = leaving.si - entering.si
            if (r.compressor_on and rise > 0.5 + 1e-9) or (not r.compressor_on and rise < -1.0 - 1e-9):
                state = "a compressor on" if r.compressor_on else "no compressor on"
                yield _case("I9", r, statement=f"At {_at(r)} leaving {leaving}, entering {entering}, {state}.")
        cold = {side for side in coldest_now if _below(getattr(r.data, side), strength)}
        if cold:
            shown = ", ".join(f"{side} {getattr(r.data, side)}" for side in sorted(cold))
            stands = any(coldest_now[side] is r for side in cold)
            yield _case("I10", r, statement=f"At {_at(r)} {shown}: below the freezing point.", stands=stands)


def _freezes(e: Evidence, reading: Record) -> float:
    by_strength = freezing_by_strength(e, reading)
    read: float = reading.data.freeze_point.si
    apart = by_strength is not None and abs(by_strength - read) > FREEZE_READINGS_AGREE
    return max(read, by_strength) if apart and by_strength is not None else read


def _below(temperature: Temperature | UnsetType, freezing: float | None) -> bool:
    if temperature is UNSET or freezing is None:
        return False
    return not at_least(temperature.si, freezing)


def machine(e: Evidence) -> Iterator[Suspicion]:
    """I12, I18."""
    running: set[str] = set()
    for r in e.all("compressor"):
        if r.data.state == "off":
            running.discard(r.data.id)
        elif r.data.id not in running:
            running.add(r.data.id)
            if r.warm_since is None or r.at < r.warm_since + e.limits.warm_up:
                yield _case(
                    "I12", r, statement=f"Compressor {r.data.id} was started at {_at(r)}, before the oil was warm."
                )
    plate = e.last("plate_check")
    if plate is not None:
        breaker, cable = plate.data.breaker_rating, plate.data.cable_ampacity
        upper = rating_at_least("nec", cable.si * (1 + 2e-9)) or cable.si
        if not at_most(breaker.si, cable.si) and not at_most(breaker.si, upper):
            statement = f"The breaker of {breaker} is above {upper:g} A, the next standard rating over {cable}."
            yield _case("I18", plate, statement=statement)


def frost(e: Evidence) -> Iterator[Suspicion]:
    """N1."""
    needed = e.limits.configuration.required_freeze_point
    if not e.limits.glycol and needed is not UNSET and not at_least(needed.si, 273.15):
        yield Suspicion("N1", (), f"The weather asks for a freezing point of {needed}, and the loop holds water.")


_RULES: Final[tuple[Callable[[Evidence], Iterator[Suspicion]], ...]] = (
    dropped,
    flow_without_pump,
    power_and_locks,
    liquid,
    temperatures,
    machine,
    frost,
)
