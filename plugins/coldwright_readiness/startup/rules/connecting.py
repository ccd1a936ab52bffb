"""R21 to R28: how the lines were proved dead and connected, and by whom; and whether work on them may begin."""

from collections.abc import Callable
from functools import partial
from typing import Final

from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import Record, after
from coldwright_readiness.startup.evidence.stance import proof_good, route_good
from coldwright_readiness.startup.limits import Limits
from coldwright_readiness.startup.rules.fact import Fact, Need, Standing, judged

LINES: Final = ("line_1", "line_2", "line_3")
OF_QUALIFIED_HANDS: Final = (
    "proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock"
)  # fmt: skip
CONNECTION_KINDS: Final = frozenset(
    {
        "proved_dead", "line_connection", "earth_continuity", "insulation_test", "cable_route", "transfer_interlock",
    }
)  # fmt: skip
"""Kinds that ask for more than a plain start does, once one of them was observed."""
KIND_OF_RULE: Final = {
    "R21": "proved_dead",
    "R22": "line_connection",
    "R23": "line_connection",
    "R24": "earth_continuity",
    "R25": "insulation_test",
    "R26": "cable_route",
    "R27": "transfer_interlock",
}


def asks_for_connection(e: Evidence) -> bool:
    """Whether anything of connecting is asked at all."""
    return e.required or bool(e.taken.kinds & CONNECTION_KINDS)


def is_asked(e: Evidence, rule: str) -> bool:
    """Whether a rule applies: something of its kind was observed, or evidence is required."""
    if rule == "R28":
        return e.required or any(r.role for r in _electrical_work(e))
    always = e.required and (rule != "R27" or e.limits.configuration.supply_source == "generator")
    return always or KIND_OF_RULE[rule] in e.taken.kinds


def connection_facts(e: Evidence) -> dict[str, Callable[[], Fact]]:
    """Rule -> how it is judged, of those that are asked of this start."""
    return {rule: partial(judge, e) for rule, judge in _FACTS.items() if is_asked(e, rule)}


def last_of_each(e: Evidence, kind: str) -> list[Record]:
    """Of each subject every record that can be the last one."""
    found = []
    for records in e.by_subject(kind).values():
        newest = max(records, key=lambda r: (r.earliest, r.id))
        found += [r for r in records if r is newest or not after(newest, r)]
    return found


def proved_dead(e: Evidence) -> Fact:
    """R21: for the last work on the lines, dead by a tried tester under a tagged lock, and no power between."""
    proofs = e.of("proved_dead")
    good = [r for r in proofs if proof_good(r.data)]
    bad = [r for r in proofs if not proof_good(r.data)]
    doubts = e.doubts("proved_dead")
    work = e.line_work
    if not work:
        need = Need("proof that the lines are dead", good, bad, e.moves, doubts, detail="the proof is not complete")
        return judged("R21", [need], e.now)
    newest = max(work, key=lambda r: (r.earliest, r.id))
    last = [r for r in work if r is newest or not after(newest, r)]
    begun = min(last, key=lambda r: (r.earliest, r.id))
    done = max(r.latest for r in last)
    before = [r for r in good if r.proves and after(begun, r) and all(after(w, r) for w in last[:50])]
    proof = max(before, key=lambda r: (r.earliest, r.id), default=None)
    if proof is None:
        wrong = [r for r in bad if r.earliest <= done]
        need = Need("proof that the lines were dead before the work", [], wrong, detail="the proof is not complete")
        return Fact("R21", [Standing(need, "failed" if wrong else "missing", tuple(wrong[-1:] or [begun]))])
    faults = _faults_between(e, proof, bad, done)
    moved = Against(e.moves)
    need = Need("proof before the last work on the lines", [proof], detail="; ".join(faults))
    by = (proof, begun)
    if faults:
        return Fact("R21", [Standing(need, "failed", by)])
    if not moved.all_before(begun):
        return Fact("R21", [Standing(need, "invalidated", by, moved.last)])
    if not Against(doubts).all_before(proof):
        return Fact("R21", [Standing(need, "contradicted", by)])
    return Fact("R21", [Standing(need, "established", by)])


def _faults_between(e: Evidence, proof: Record, bad: list[Record], done: int) -> list[str]:
    """What was wrong from the proof to the end of the work."""
    faults = []
    if any(not after(proof, r) and r.earliest <= done for r in bad):
        faults.append("a later proof is not complete")
    spanning, untagged = _locks_over(e, proof, done)
    if untagged:
        faults.append(f"without a tag: {', '.join(untagged)}")
    if not spanning:
        faults.append("no lock was on from the proof to the work")
    lives = Against([*e.power.on, *e.power.signs, *e.power.gaps])
    if lives.first_not_before(proof) <= done:
        faults.append("there was power between the proof and the work")
    return faults


def _locks_over(e: Evidence, proof: Record, done: int) -> tuple[bool, list[str]]:
    """Whether some lock was surely on all the way, and the locks of that time without a tag."""
    spanning, untagged = False, []
    for (lock, _), records in e.by_subject("lock").items():
        removed = Against(r for r in records if r.data.state == "removed")
        for on in (r for r in records if r.data.state == "applied" and r.earliest <= done):
            off = removed.first_not_before(on)
            if on.proves and after(proof, on) and off > done:
                spanning = True
            if on.data.tagged is False and off > proof.earliest:
                untagged.append(lock)
    return spanning, sorted(set(untagged))


def connection_order(e: Evidence) -> Fact:
    """R22: at each end ground first, neutral before any line, all three lines."""
    needs = []
    for subject, records in e.by_subject("line_connection").items():
        bad = [r for r in records if order_fault(r, e.limits)]
        good = [r for r in records if not order_fault(r, e.limits)]
        need = Need(f"{subject[0]} end, set {subject[1]}", good, bad, e.moves, e.doubts("line_connection", *subject))
        if bad:
            need.detail = order_fault(max(bad, key=lambda r: (r.latest, r.id)), e.limits)
        needs.append(need)
    if e.required:
        seen = {subject[0] for subject in e.by_subject("line_connection")}
        needs += [Need(f"{end} end", []) for end in ("source", "machine") if end not in seen]
    return judged("R22", needs or [Need("the connection of the lines", [])], e.now)


def order_fault(record: Record, limits: Limits) -> str:
    """What is wrong with the order in which conductors went on."""
    if record.data.state == "disconnected":
        return "disconnected"
    order = record.data.order
    if order[0] != "ground":
        return f"the {limits.earth} was not first"
    if not set(LINES) <= set(order):
        return "a line is missing"
    if "neutral" in order and order.index("neutral") > min(order.index(line) for line in LINES):
        return "a line went on before the neutral"
    return ""


def connectors_mated(e: Evidence) -> Fact:
    """R23: connectors home and covered; leads that were swapped are looked at again at that end."""
    needs = []
    for subject, records in e.by_subject("line_connection").items():
        good = [r for r in records if r.data.fully_mated is True and r.data.covers_on is True]
        bad = [r for r in records if not (r.data.fully_mated is True and r.data.covers_on is True)]
        swaps = e.such("leads_swapped", lambda d, end=subject[0]: d.where == end)  # type: ignore[misc]
        doubts = e.doubts("line_connection", *subject)
        name = f"connectors at the {subject[0]}"
        needs.append(Need(name, good, bad, [*swaps, *e.moves], doubts, detail="not home or not covered"))
    return judged("R23", needs or [Need("connectors", [])], e.now)


def ground_continuity(e: Evidence) -> Fact:
    """R24: the path of the ground is good."""
    readings = e.of("earth_continuity")
    good = [r for r in readings if e.limits.ground_path_good(r.data)]
    bad = [r for r in readings if not e.limits.ground_path_good(r.data)]
    undoing = [*e.of("line_connection"), *e.such("ground", lambda d: not d.connected), *e.moves]
    detail = f"read {bad[-1].data.resistance}" if bad else ""
    need = Need(f"{e.limits.earth} path", good, bad, undoing, e.doubts("earth_continuity"), detail=detail)
    return judged("R24", [need], e.now)


def insulation_good(e: Evidence) -> Fact:
    """R25: the cable's insulation is good."""
    readings = e.of("insulation_test")
    good = [r for r in readings if e.limits.insulation_good(r.data)]
    bad = [r for r in readings if not e.limits.insulation_good(r.data)]
    off = e.such("line_connection", lambda d: d.state == "disconnected")
    undoing = [*off, *e.of("leads_swapped"), *e.moves]
    detail = f"read {bad[-1].data.resistance}" if bad else ""
    return judged("R25", [Need("insulation", good, bad, undoing, e.doubts("insulation_test"), detail=detail)], e.now)


def cable_route_safe(e: Evidence) -> Fact:
    """R26: the cable lies safely."""
    good = e.such("cable_route", route_good)
    bad = e.such("cable_route", lambda d: not route_good(d))
    need = Need(
        "cable route", good, bad, e.moves, e.doubts("cable_route"), detail="not everything of the route is true"
    )
    return judged("R26", [need], e.now)


def transfer_safe(e: Evidence) -> Fact:
    """R27: two sources cannot feed together."""
    good = e.such("transfer_interlock", lambda d: d.ok)
    bad = e.such("transfer_interlock", lambda d: not d.ok)
    need = Need("transfer equipment", good, bad, doubts=e.doubts("transfer_interlock"), detail="not in order")
    return judged("R27", [need], e.now)


def _electrical_work(e: Evidence) -> list[Record]:
    """What qualified hands must make, of each kind and subject every record that can be the last."""
    return [r for kind in OF_QUALIFIED_HANDS for r in last_of_each(e, kind)]


def qualified_hands(e: Evidence) -> Fact:
    """R28: work on the lines was recorded by a named electrician."""
    work = _electrical_work(e)
    bad = [r for r in work if not _qualified(r, e.required)]
    need = Need("work on the lines", work, detail=f"not by a named electrician: {', '.join(sorted(r.id for r in bad))}")
    if bad:
        return Fact("R28", [Standing(need, "failed", tuple(bad))])
    return Fact("R28", [Standing(need, "established" if work else "missing", tuple(work))])


def _qualified(record: Record, required: bool) -> bool:
    if not record.by or (required and not record.role):
        return False
    return not record.role or record.role == "electrician"


_FACTS: Final[dict[str, Callable[[Evidence], Fact]]] = {
    "R21": proved_dead,
    "R22": connection_order,
    "R23": connectors_mated,
    "R24": ground_continuity,
    "R25": insulation_good,
    "R26": cable_route_safe,
    "R27": transfer_safe,
    "R28": qualified_hands,
}


def locks_on(e: Evidence, *, surely: bool) -> list[Record]:
    """Locks that are on: surely so, or possibly."""
    found = []
    removed: dict[str, list[Record]] = {}
    for r in e.such("lock", lambda d: d.state == "removed"):
        removed.setdefault(r.data.lock_id, []).append(r)
    removals = {lock: Against(records) for lock, records in removed.items()}
    for records in e.by_subject("lock").values():
        on = [r for r in records if r.data.state == "applied"]
        off = [r for r in records if r.data.state == "removed"]
        if surely:
            gone_by = removals.get(records[0].data.lock_id, Against(()))
            state = [r for r in on if r.proves and gone_by.all_before(r)]
        else:
            applied = Against(on)
            gone = any(r.proves and applied.all_before(r) for r in off)
            state = [] if gone else on
        found += state[:1]
    return found


def why_not_connect(e: Evidence) -> list[str]:
    """What is missing for work on the lines; nothing where it may begin."""
    lives = Against([*e.power.on, *e.power.signs, *e.power.gaps])
    missing = []
    if not any(off.proves and lives.all_before(off) for off in e.power.off):
        missing.append("the supply may be on" if lives else "no record of the supply off")
    if not any(r.data.tagged is not False for r in locks_on(e, surely=True)):
        missing.append("no tagged lock is on")
    proofs = e.of("proved_dead")
    bad = Against([r for r in proofs if not proof_good(r.data)] + e.doubts("proved_dead"))
    good = [r for r in proofs if r.proves and proof_good(r.data) and bad.all_before(r)]
    if not good:
        missing.append("not proved dead" if not proofs else "the proof is not complete")
    elif not any(lives.all_before(r) for r in good):
        missing.append("not proved dead since the last power")
    return missing


def may_energise(e: Evidence, facts: dict[str, Fact]) -> bool:
    """Whether the source may be closed: no lock on or in doubt, nothing left to swap, plate, level, ground, connection hold."""
    asked = ["R02", "R03", "R04", *(f"R{n}" for n in range(21, 29))]
    in_doubt = facts["R01"].status == "contradicted"
    if in_doubt or locks_on(e, surely=False) or leads_to_swap(e, facts):
        return False
    return all(facts[r].established for r in asked if r in facts)


def leads_to_swap(e: Evidence, facts: dict[str, Fact]) -> bool:
    """Whether the rotation was read as reversed and no leads were swapped since."""
    fact = facts["R07"]
    if fact.status != "failed" or fact.reason != "reversed":
        return False
    read = fact.by[0]
    return not any(after(s, read) for s in e.of("leads_swapped", "line_connection"))
