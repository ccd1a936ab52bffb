"""How the lines were proved dead and connected (R21 to R28), the machine's own checks (R03, R30)."""

from collections.abc import Iterator

from . import units
from .log import Log, Objection, about, each_last_good, fails, stands, surely_after_all
from .plan import Plan
from .power import supply_signs
from .sightings import Sighting, after

PROOF = ("dead", "tester_proved_before", "tester_proved_after")
ROUTE = ("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled")
HANDS = ("proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock")


def level(log: Log, plan: Plan) -> Iterator[Objection]:
    """R03."""
    bad = log.all("unit_level", where=lambda s: not s.data["ok"]) + log.all("moved")
    if not stands(log.good("unit_level", where=lambda s: s.data["ok"]), bad):
        yield Objection("R03", "machine not surely level")


def machine_checks(log: Log, plan: Plan) -> Iterator[Objection]:
    """R30: no item last seen wrong; two of them are looked at again after a move."""
    for s in log.all("machine_check"):
        mine = log.all("machine_check", where=about(s))
        bad = [o for o in mine if not o.data["ok"]]
        if s.data["item"] in ("transport_restraints_removed", "refrigerant_valves_open"):
            bad = bad + log.all("moved")
        bad = bad + log.edits("R30")
        if bad and not stands([o for o in mine if o.stands and o.data["ok"]], bad):
            yield Objection("R30", f"{s.data['item']} not surely right")


def _proof(s: Sighting) -> bool:
    return all(s.data[p] for p in PROOF) and s.data.get("tried") is not False


def _asked(log: Log, plan: Plan, kind: str) -> bool:
    return plan.evidence or bool(log.all(kind))


def proved_dead(log: Log, plan: Plan) -> Iterator[Objection]:
    """R21: before the last work on the lines, under a lock, with no supply between."""
    if not _asked(log, plan, "proved_dead"):
        return
    if log.all("lock", where=lambda s: s.data["state"] == "applied" and s.data.get("tagged") is False):
        untagged = log.all("lock", where=lambda s: s.data["state"] == "applied" and s.data.get("tagged") is False)
        tagged = log.good("lock", where=lambda s: s.data.get("tagged") is not False)
        if not all(stands([t for t in tagged if t.subject == u.subject], [u]) for u in untagged):
            yield Objection("R21", "a lock without a tag")
    works = log.all("line_connection", "leads_swapped")
    proofs = surely_after_all(log.good("proved_dead", where=_proof), log.edits("R21"))
    failed = log.all("proved_dead", where=lambda s: not _proof(s))
    if not works:
        if not stands(proofs, failed + log.all("moved")):
            yield Objection("R21", "not surely proved dead")
        return
    last = [w for w in works if not any(o.stands and after(o, w) for o in works)]
    if not all(any(_covers(log, plan, p, w, failed) for p in proofs) for w in last):
        yield Objection("R21", "the last work on the lines was not surely under lock and proved dead")


def _covers(log: Log, plan: Plan, proof: Sighting, work: Sighting, failed: list[Sighting]) -> bool:
    def between(s: Sighting) -> bool:
        return not after(proof, s) and not after(s, work)

    if not after(work, proof) or any(between(s) for s in failed + supply_signs(log, plan)):
        return False
    removed = log.all("lock", where=lambda s: s.data["state"] == "removed")
    return any(
        after(proof, a) and all(r.subject != a.subject or after(a, r) or after(r, work) for r in removed)
        for a in log.good("lock", where=lambda s: s.data["state"] == "applied" and s.data.get("tagged") is not False)
    )


def _order_good(s: Sighting) -> bool:
    order = list(s.data["order"])
    lines = [f"line_{n}" for n in (1, 2, 3)]
    if s.data["state"] != "connected" or not order or order[0] != "ground" or not set(lines) <= set(order):
        return False
    return "neutral" not in order or all(order.index("neutral") < order.index(line) for line in lines)


def _mated(s: Sighting) -> bool:
    return s.data["state"] == "connected" and bool(s.data.get("fully_mated")) and bool(s.data.get("covers_on"))


def lines(log: Log, plan: Plan) -> Iterator[Objection]:
    """R22 and R23: in order, fully mated, at every end and set seen."""
    if not _asked(log, plan, "line_connection"):
        return
    ends = {s.data["end"] for s in log.all("line_connection") if s.stands}
    if plan.evidence and ends != {"source", "machine"}:
        yield Objection("R22", "not both ends seen")
    moved = log.all("moved")
    for s in log.all("line_connection"):
        mine = log.all("line_connection", where=about(s))
        disordered = [o for o in mine if not _order_good(o)] + moved + log.edits("R22")
        if not stands([o for o in mine if o.stands and _order_good(o)], disordered):
            yield Objection("R22", "lines not surely in order")
        unmated = [o for o in mine if not _mated(o)] + moved + log.edits("R23")
        unmated += [w for w in log.all("leads_swapped") if w.data.get("where", "source") == s.data["end"]]
        if not stands([o for o in mine if o.stands and _mated(o)], unmated):
            yield Objection("R23", "connectors not surely mated")


def _reading_rule(
    log: Log, plan: Plan, rule: str, kind: str, good: list[Sighting], against: list[Sighting]
) -> Iterator[Objection]:
    if _asked(log, plan, kind) and not stands(good, against + log.edits(rule)):
        yield Objection(rule, f"{kind} not surely good")


def measured(log: Log, plan: Plan) -> Iterator[Objection]:
    """R24 to R27."""
    most = min(1.0, plan.ground_run + 0.1) if plan.ground_run is not None else 1.0

    def earth(s: Sighting) -> bool:
        return units.ohms(s.data["resistance"]) <= most

    def insulated(s: Sighting) -> bool:
        least = 1000 if plan.rated_voltage > 500 else 500
        enough = units.ohms(s.data["resistance"]) >= 1e6 and units.plain(s.data["test_voltage"]) >= least
        return enough and bool(s.data["electronics_disconnected"])

    def routed(s: Sighting) -> bool:
        return all(s.data[p] for p in ROUTE)

    def interlocked(s: Sighting) -> bool:
        return bool(s.data["ok"])

    moved, swapped = log.all("moved"), log.all("leads_swapped")
    apart = log.all("line_connection", where=lambda s: s.data["state"] == "disconnected")
    off = log.all("ground", where=lambda s: not s.data["connected"])
    for rule, kind, test, against in (
        ("R24", "earth_continuity", earth, moved + log.all("line_connection") + off),
        ("R25", "insulation_test", insulated, moved + apart + swapped),
        ("R26", "cable_route", routed, moved),
    ):
        bad = log.all(kind, where=fails(test))
        yield from _reading_rule(log, plan, rule, kind, log.good(kind, where=test), bad + against)
    asked = log.all("transfer_interlock") or (plan.evidence and plan.generator)
    unsafe = log.all("transfer_interlock", where=fails(interlocked))
    if asked and not stands(log.good("transfer_interlock", where=interlocked), unsafe + log.edits("R27")):
        yield Objection("R27", "transfer not surely safe")


def hands(log: Log, plan: Plan) -> Iterator[Objection]:
    """R28: each latest record of these kinds by an electrician."""
    done = log.all(*HANDS)
    if not plan.evidence and not any(s.role for s in done):
        return
    if not done:
        yield Objection("R28", "nobody qualified on record")

    def qualified(s: Sighting) -> bool:
        return bool(s.by) and (s.role == "electrician" or (not s.role and not plan.evidence))

    for kind in HANDS:
        if not each_last_good(log.all(kind), qualified):
            yield Objection("R28", f"{kind} not surely by a qualified person")
