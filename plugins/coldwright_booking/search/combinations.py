"""Another combination where the first cannot be carried out: in the order of the selection, then of fewer types."""

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from coldwright.contract.sentences import Words
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import walk
from coldwright_booking.plan.desk import Desk
from coldwright_booking.plan.machines import Combination
from coldwright_booking.plan.plan import FIRST, Plan
from coldwright_booking.search.cheapest import least_in_all
from coldwright_booking.search.rounds import draw, with_places

MOST_PLANS = 5
"""Combinations of one choice of types that are worked out in full."""
MOST_CHOICES = 24
"""Choices of types that are gone through before the first combination is shown with its stops."""
WHATEVER_MACHINES = ("hydronic.antifreeze", "refrigeration.load")
"""Calculators whose stops no other machine frees."""


class Failed(NamedTuple):
    """A combination that cannot be carried out, and the stop that rules it out."""

    combination: Combination
    why: Words
    swings: bool
    """Whether it was another combination in turn that kept the load from standing still: alone it may do."""


Tried = list[Failed]


def find(facts: Facts, desk: Desk) -> Plan:
    """The best combination that can be carried out; where none can, the best with what stands against it.

    First the combinations of the selection in their order; then again without each type, the types of what failed
    first, then without each two, and so on up to `MOST_CHOICES`: a type more in the fleet is not to hide what would do
    without it.
    """
    decided = walk(FIRST, {"facts": facts}, desk)
    tried: Tried = []
    choices, reached = deque([frozenset[str]()]), {frozenset[str]()}
    first: Plan | None = None
    for _ in range(MOST_CHOICES):
        if not choices:
            break
        aside = choices.popleft()
        plan, found = _first_without_stop(
            {**decided, "facts": replace(facts, left_aside=tuple(sorted(aside)))}, desk, tried
        )
        if found:
            return _chosen(plan, decided, desk, tried)
        first = first or plan
        if not _machines_could_help(first):
            break
        for name in _suspects(plan, tried):
            fewer = aside | {name}
            if fewer not in reached and len(fewer) < len(facts.fleet.machines):
                reached.add(fewer)
                choices.append(fewer)
    assert first is not None  # noqa: S101 - one choice at least was gone through
    return replace(with_places(first, desk), passed_over=_failures(tried, None))


def _chosen(plan: Plan, decided: Mapping[str, Any], desk: Desk, tried: Tried) -> Plan:
    """The first plan without a stop; where the lowest cost is asked for, the cheapest in all from there on."""
    passed_over = _failures(tried, plan)
    if plan.facts.order.preferences == "lowest_cost":
        ruled_out = tuple(failed.combination for failed in tried if not failed.swings)
        facts = plan.facts
        plan = least_in_all(plan, lambda out: draw({**decided, "facts": facts, "ruled_out": out}, desk), ruled_out)
    return replace(plan, passed_over=passed_over)


def _failures(tried: Tried, chosen: Plan | None) -> tuple[tuple[Combination, Words], ...]:
    """Each that failed with its reason, but for the one that is chosen after all."""
    own = chosen.combination.counts if chosen else {}
    return tuple((failed.combination, failed.why) for failed in tried if failed.combination.counts != own)


def _first_without_stop(decided: Mapping[str, Any], desk: Desk, tried: Tried) -> tuple[Plan, bool]:
    """The first combination without a stop, and whether there is one; else the first of all. Adds to `tried`."""
    first: Plan | None = None
    ruled_out = [failed.combination for failed in tried if not failed.swings]
    for _ in range(MOST_PLANS):
        plan = draw({**decided, "ruled_out": tuple(ruled_out)}, desk)
        first = first or plan
        if not plan.combination:
            break
        stop = plan.obstacle
        if not stop:
            return plan, True
        ruled_out.append(plan.combination)
        tried.append(Failed(plan.combination, stop, swings=bool(plan.swings)))
        if not _machines_could_help(plan):
            break
    assert first is not None  # noqa: S101 - one plan at least was drawn
    return first, False


def _machines_could_help(plan: Plan) -> bool:
    """Whether other machines could free every stop of the plan."""
    return not any(
        asked.calculator in WHATEVER_MACHINES and any(f.severity == "stop" for f in asked.notes.findings)
        for asked in plan.heard
    )


def _suspects(plan: Plan, tried: Tried) -> Iterable[str]:
    """Types that may be left aside: those of combinations that failed first."""
    usable = [c.machine.type for c in plan.machines.candidates]
    failed = [picked.machine.type for entry in tried for picked in entry.combination]
    return dict.fromkeys([*(name for name in failed if name in usable), *usable])
