"""Facts R21 to R30: how the lines were connected, by whom, and what was seen of heaters and machine."""

from collections.abc import Callable
from typing import Final

from msgspec import UNSET

from coldwright_readiness.startup.facts import Evidence, Fact, events
from coldwright_readiness.startup.order import Record, proof_good, route_good

LINES: Final = ("line_1", "line_2", "line_3")
OF_QUALIFIED_HANDS: Final = (
    "proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock"
)  # fmt: skip
ASKED_AGAIN_AFTER_MOVE: Final = ("transport_restraints_removed", "refrigerant_valves_open")


def connection_facts(e: Evidence) -> list[Fact]:
    """Those that are asked of this start."""
    return [make(e) for rule, make in _FACTS.items() if is_asked(e, rule)]


def is_asked(e: Evidence, rule: str) -> bool:
    """Whether a rule applies: something of its kind was observed, or evidence is required."""
    kind = KIND_OF_RULE[rule]
    if rule == "R28":
        return e.required or any(r.role is not UNSET for r in _electrical_work(e))
    always = e.required and rule not in ("R29", "R30")
    if rule == "R27":
        always = always and e.limits.configuration.supply_source == "generator"
    return always or kind in e.kinds


KIND_OF_RULE: Final = {
    "R21": "proved_dead",
    "R22": "line_connection",
    "R23": "line_connection",
    "R24": "earth_continuity",
    "R25": "insulation_test",
    "R26": "cable_route",
    "R27": "transfer_interlock",
    "R28": "",
    "R29": "oil_heater",
    "R30": "machine_check",
}


def proved_dead(e: Evidence) -> Fact:
    """R21: for the last work on the lines; without one, the last proof by itself."""
    work = e.last_work()
    before = (lambda r: r.index < work.index) if work is not None else (lambda _: True)
    proof = e.last("proved_dead", before)
    if proof is None:
        return Fact("R21", "missing", [] if work is None else [work])
    wrong = [] if proof_good(proof.data) else ["not everything of the proof is true"]
    spanning, untagged = _locks_over(e, proof, work)
    if untagged:
        wrong.append(f"without a tag: {', '.join(untagged)}")
    if work is not None:
        if not spanning:
            wrong.append("no lock was on from the proof to the work")
        if any(proof.index < r.index < work.index for r in e.timeline.signs_of_life):
            wrong.append("there was power between the proof and the work")
    records = [proof] if work is None else [proof, work]
    return e.judge("R21", records, good=not wrong, undoing=e.move(), detail="; ".join(wrong))


def _locks_over(e: Evidence, proof: Record, work: Record | None) -> tuple[bool, list[str]]:
    """Whether some lock was on all the way from the proof to the work, and the locks of that time without a tag."""
    end = len(e.timeline.records) if work is None else work.index
    applied: dict[str, Record] = {}
    since: dict[str, int] = {}
    untagged: set[str] = set()
    for record in e.all("lock"):
        if record.index > end:
            break
        lock = record.data.lock_id
        if record.data.state == "applied":
            applied[lock] = record
            since.setdefault(lock, record.index)
        elif record.index > proof.index and applied.get(lock) is not None:
            untagged |= _tagless(applied.pop(lock))
            since.pop(lock)
        else:
            applied.pop(lock, None)
            since.pop(lock, None)
    for record in applied.values():
        untagged |= _tagless(record)
    return any(begin < proof.index for begin in since.values()), sorted(untagged)


def _tagless(record: Record) -> set[str]:
    return {record.data.lock_id} if record.data.tagged is False else set()


def connection_order(e: Evidence) -> Fact:
    """R22."""
    last = e.last_each("line_connection")
    bad = [f"{r.data.end}: {fault}" for r in last if (fault := _order_fault(r))]
    seen = {r.data.end for r in last}
    needed: list[Record | None] = list(last)
    if e.required and seen != {"source", "machine"}:
        needed.append(None)
    fact = e.judge("R22", needed, good=not bad, undoing=e.move(), detail="; ".join(bad))
    if fact.status == "missing":
        fact.do = "Open, lock, prove dead; connect the ground first, then the neutral if there is one, then the lines."
    return fact


def _order_fault(record: Record) -> str:
    if record.data.state == "disconnected":
        return "disconnected"
    order = record.data.order
    if order[0] != "ground":
        return "the ground was not first"
    if not set(LINES) <= set(order):
        return "a line is missing"
    if "neutral" in order and order.index("neutral") > min(order.index(line) for line in LINES):
        return "a line went on before the neutral"
    return ""


def connectors_mated(e: Evidence) -> Fact:
    """R23. Leads that were swapped are looked at again at that end."""
    last = e.last_each("line_connection")
    bad = [r.data.end for r in last if not (r.data.fully_mated is True and r.data.covers_on is True)]
    swaps = [s for s in e.all("leads_swapped") if any(r.data.end == s.data.where and r.index < s.index for r in last)]
    undoing = events("V3", swaps) + e.move()
    return e.judge("R23", last, good=not bad, undoing=undoing, detail=f"not home or not covered: {', '.join(bad)}")


def ground_continuity(e: Evidence) -> Fact:
    """R24."""
    last = e.last("earth_continuity")
    undoing = events("V3", e.all("line_connection")) + e.move()
    undoing += events("V3", (r for r in e.all("ground") if not r.data.connected))
    return e.judge("R24", [last], good=last is not None and not last.adverse, undoing=undoing, detail=_read(last))


def insulation_good(e: Evidence) -> Fact:
    """R25."""
    last = e.last("insulation_test")
    off = [r for r in e.all("line_connection") if r.data.state == "disconnected"]
    undoing = events("V3", [*off, *e.all("leads_swapped")]) + e.move()
    return e.judge("R25", [last], good=last is not None and not last.adverse, undoing=undoing, detail=_read(last))


def _read(record: Record | None) -> str:
    return "" if record is None else f"read {record.data.resistance}"


def cable_route_safe(e: Evidence) -> Fact:
    """R26."""
    last = e.last("cable_route")
    good = last is not None and route_good(last.data)
    return e.judge("R26", [last], good=good, undoing=e.move(), detail="not everything of the route is true")


def transfer_safe(e: Evidence) -> Fact:
    """R27."""
    last = e.last("transfer_interlock")
    return e.judge("R27", [last], good=last is not None and last.data.ok, detail="not in order")


def _electrical_work(e: Evidence) -> list[Record]:
    """The last record of each kind and subject that qualified hands must make."""
    return [r for kind in OF_QUALIFIED_HANDS for r in e.last_each(kind)]


def qualified_hands(e: Evidence) -> Fact:
    """R28."""
    work = _electrical_work(e)
    bad = [r for r in work if not _qualified(r, e.required)]
    detail = f"not by a named electrician: {', '.join(sorted(r.id for r in bad))}"
    return e.judge("R28", bad or work, good=not bad, detail=detail)


def _qualified(record: Record, required: bool) -> bool:
    if record.by is UNSET or (required and record.role is UNSET):
        return False
    return record.role is UNSET or record.role == "electrician"


def oil_heaters_working(e: Evidence) -> Fact:
    """R29."""
    last = e.last_each("oil_heater")
    cold = [r for r in last if not r.data.working]
    names = ", ".join(sorted(r.data.compressor for r in cold))
    return e.judge(
        "R29", last, good=not cold, undoing=e.move(), doubtful=e.doubtful_unseen("oil_heater"), detail=f"cold: {names}"
    )


def machine_checks_ok(e: Evidence) -> Fact:
    """R30. After a move, restraints and refrigerant valves are looked at again."""
    last = e.last_each("machine_check")
    bad = [r for r in last if not r.data.ok]
    again = [r for r in last if r.data.item in ASKED_AGAIN_AFTER_MOVE]
    undoing = e.move() if again and e.moved is not None and again[0].index < e.moved.index else []
    items = ", ".join(sorted(r.data.item for r in bad))
    return e.judge(
        "R30",
        last,
        good=not bad,
        undoing=undoing,
        doubtful=e.doubtful_unseen("machine_check"),
        detail=f"not in order: {items}",
    )


_FACTS: Final[dict[str, Callable[[Evidence], Fact]]] = {
    "R21": proved_dead,
    "R22": connection_order,
    "R23": connectors_mated,
    "R24": ground_continuity,
    "R25": insulation_good,
    "R26": cable_route_safe,
    "R27": transfer_safe,
    "R28": qualified_hands,
    "R29": oil_heaters_working,
    "R30": machine_checks_ok,
}


def may_connect(e: Evidence) -> bool:
    """Whether work on the lines may begin: off, locked, tagged, proved dead since."""
    return not why_not_connect(e)


def why_not_connect(e: Evidence) -> list[str]:
    """What is missing for work on the lines; nothing where it may begin."""
    t = e.timeline
    missing = []
    if t.source is not False:
        missing.append("the supply was last seen on" if t.source else "no record of the supply off")
    if not any(r.data.state == "applied" and r.data.tagged is not False for r in e.last_each("lock")):
        missing.append("no tagged lock is on")
    proof = e.last("proved_dead")
    last_power = t.signs_of_life[-1].index if t.signs_of_life else -1
    if proof is None:
        missing.append("not proved dead")
    elif not proof_good(proof.data):
        missing.append(f"the proof {proof.id} is not complete: tester tried before, dead, tester tried after")
    elif e.doubtful(proof):
        missing.append("the proof came with two stories")
    elif proof.index <= last_power:
        missing.append("not proved dead since the last power")
    return missing


def may_energise(e: Evidence, facts: dict[str, Fact]) -> bool:
    """Whether the source may be closed: no lock on, and everything of plate, level, ground and connection holds."""
    asked = ["R02", "R03", "R04", *(f"R{n}" for n in range(21, 29))]
    return not e.timeline.locks and all(facts[r].established for r in asked if r in facts)
