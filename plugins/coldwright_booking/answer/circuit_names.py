"""What is found of a cable or a fault names the circuit that it is about, where the plan has several."""

from collections.abc import Iterator

from msgspec.structs import replace

from coldwright.contract import Notes, say, spoken
from coldwright.contract.notes import Finding
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan

FREQUENCY_UNUSUAL = "frequency_unusual_for_practice"
"""Code that the calculators of one family share."""


def circuit_names(plan: Plan) -> dict[int, str]:
    """Name of the circuit by the identity of what was asked of it; empty where there is only one."""
    named = list(_circuits(plan))
    if len({name for name, _ in named}) < 2:
        return {}
    return {id(asked): name for name, asked in named}


def _circuits(plan: Plan) -> Iterator[tuple[str, object]]:
    if plan.cable is None:
        return
    for machine in plan.cable.machines:
        name = machine.picked.machine.type
        yield from ((name, asked) for asked in (machine.asked, machine.fault) if isinstance(asked, Asked))
    for name, feed in plan.cable.feeds:
        yield f"feed of the {name}", feed.asked


def of_circuit(said: Notes, name: str) -> Notes:
    """The same with each stop and check begun by the name; what informs, or is asked of the site, is true of all."""
    notes = Notes({})
    notes.caution(*said.cautions)
    notes.assumptions, notes.working = said.assumptions, said.working
    notes.findings = [found if _of_all(found) else _begun(found, name) for found in said.findings]
    return notes


def _of_all(found: Finding) -> bool:
    return found.severity == "note" or found.code == FREQUENCY_UNUSUAL


def _begun(found: Finding, name: str) -> Finding:
    text = found.said.get("statement", found.statement)
    anew = spoken(statement=say("{circuit}: {statement}", circuit=name, statement=text))
    said = {key: words for key, words in found.said.items() if key != "statement"} | anew.get("said", {})
    return replace(found, statement=anew["statement"], said=said)
