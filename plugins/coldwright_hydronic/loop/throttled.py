"""How much of the pumps' head valves take away, and what would do without them."""

from dataclasses import replace
from typing import Any

from coldwright.contract import FindingKind, Notes, finding, say, tidy
from coldwright.contract.quantities import Frequency, Length
from coldwright.contract.sentences import Words
from coldwright_basis.compare import SLACK, at_least
from coldwright_basis.pump_curves import RunningPumps, total_head
from coldwright_hydronic.loop.building import Loop
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import ValveGiven
from coldwright_hydronic.loop.slowing import slowed

MUCH = 0.4
"""Share of a pump's head that is not throttled away without being asked about (common practice)."""

THROTTLED_FINDINGS: tuple[FindingKind, ...] = (
    finding("head_throttled", "check", "Valves take away 0.4 of the pumps' head or more."),
)


def throttled(case: Case, wanted: float | None, notes: Notes) -> dict[str, Any]:
    """Share of the head that valves in the line take, or must take for the flow wanted, and fewer pumps or less
    speed that would give the same flow without.
    """
    loop = case.loop
    flow = case.flow if wanted is None else min(wanted, case.flow)
    if not loop.pumps or flow <= 0.0 or flow > loop.end:
        return {}
    needed = _without_valves(loop, flow)
    rise = loop.rise(flow)
    if rise <= 0.0:  # a loop of no resistance, with a curve that ends at no head
        return {}
    share = 1.0 - needed / rise
    if share <= SLACK:
        return {}
    results: dict[str, Any] = {"throttled_head_fraction": tidy(share)}
    notes.show("s_thr", "Share of the head that valves take", "1 - S without valves / (rho g H)", share)
    if not at_least(share, MUCH):
        return results
    head = needed / loop.weight
    enough = _fewer(loop, flow, head)
    if enough is not None:
        results["pumps_enough"] = enough
    frequency = slowed(loop, flow, needed)
    if frequency is not None:
        results["frequency_without_valves"] = frequency
    _note(loop, rise, needed, enough, frequency, notes)
    return results


def _without_valves(loop: Loop, flow: float) -> float:
    """Pa that the loop takes at a flow with its valves wide open."""
    valves = sum(node.part.drop(flow) for node in loop.nodes if isinstance(node.element, ValveGiven))
    return loop.resistance(flow) - valves + loop.lift


def _fewer(loop: Loop, flow: float, head: float) -> int | None:
    """Least number of equal pumps side by side, below those that run, that give the head at the flow."""
    first = loop.pumps[0]
    for count in range(1, first.count):
        few: tuple[RunningPumps, ...] = (replace(first, count=count), *loop.pumps[1:])
        if flow <= few[0].end and total_head(few, flow) >= head:
            return count
    return None


def _note(
    loop: Loop, rise: float, needed: float, enough: int | None, frequency: Frequency | None, notes: Notes
) -> None:
    pumps: Words = ""
    if enough is not None:
        pumps = say(
            "Run {few} of the {all} pumps, where each machine keeps its own least flow; or: ",
            few=enough,
            all=loop.pumps[0].count,
        )
    speed: Words = ""
    if frequency is not None and enough is None:
        speed = say("Slow the pumps to {frequency} by their own drives, never by the supply; or: ", frequency=frequency)
    elif frequency is not None:
        speed = say("slow the pumps to {frequency} by their own drives, never by the supply; or: ", frequency=frequency)
    head, taken = Length.from_si(rise / loop.weight, "m"), Length.from_si((rise - needed) / loop.weight, "m")
    notes.show("H", "Head that the pumps make", "at this flow", head)
    notes.show("H_thr", "Head that valves take", f"s_thr x {head}", taken)
    notes.check(
        "head_throttled",
        say("Of the {head} of head that the pumps make, valves take {taken}.", head=head, taken=taken),
        why="The pumps turn it into heat, which the machines must cool away, and a valve so far shut is loud and wears.",
        do=say("{pumps}{speed}take a smaller pump.", pumps=pumps, speed=speed),
        cleared_by="the planner of the loop",
        field="/pumps",
        references=("hydronic_practice",),
    )
