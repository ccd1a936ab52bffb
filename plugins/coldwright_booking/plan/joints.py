"""Where hose meets machines and load: bores and couplings that are unlike, runs and machines that must be joined."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright_booking.fleet.given import Coupling, LiquidConnection, OtherItem
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Desk
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines

SAME_BORE = 0.02
"""Difference of two bores, as a fraction, that are one nominal size: 76 and 76.2 mm (common practice)."""
HEADER_WORDS = ("manifold", "header")
ADAPTOR_WORDS = ("adaptor", "adapter")


@dataclass(frozen=True)
class Unlike:
    """Ends of the hose that do not fit what they meet."""

    where: str
    hose: str
    other: str
    count: int
    item: str
    """Adaptor of the stock between the two; empty where there is none."""
    kind: str


@dataclass(frozen=True)
class Joints:
    """How hose, machines and load are joined."""

    unlike: tuple[Unlike, ...]
    near: int
    """Headers at the machines' end, supply and return."""
    far: int
    """Headers at the load's end, supply and return."""
    header_item: str
    """Item of the stock that calls itself a manifold or header; empty where there is none."""
    reducers: int
    """Ends of the hose that meet another bore."""


class JointsNeeds(NamedTuple):
    """What the joints take of the plan."""

    facts: Facts
    machines: Machines
    loop: LoopPlan


def decide(needs: JointsNeeds, _: Desk) -> Joints:
    """Compare the ends of the hose with what they meet."""
    facts, combination, loop = needs.facts, needs.machines.combination, needs.loop
    bore = loop.hose.bore.si
    odd = [p for p in combination if _other_bore(p.machine.connection, bore)]
    far_end = 2 * loop.runs if _other_bore(facts.order.load_side.connection, bore) else 0
    near, far = _headers(combination, loop)
    return Joints(
        unlike=_unlike_couplings(facts, combination, loop),
        near=near,
        far=far,
        header_item=_header_item(facts),
        reducers=2 * sum(p.count for p in odd) + far_end,
    )


JOINTS = Block("joints", JointsNeeds, (), decide)


def _other_bore(connection: LiquidConnection | UnsetType, bore: float) -> bool:
    """Whether a connection is of another nominal size."""
    if connection is UNSET:
        return False
    own = connection.inner_diameter.si
    return abs(own - bore) > SAME_BORE * max(own, bore)


def _unlike_couplings(facts: Facts, combination: Combination, loop: LoopPlan) -> tuple[Unlike, ...]:
    """Couplings of another kind than the hose has; those that are not given are not among them."""
    ends = [(p.machine.type, p.machine.connection, 2 * p.count) for p in combination]
    ends.append(("the load side", facts.order.load_side.connection, 2 * loop.runs))
    hose = loop.hose.coupling
    return tuple(
        Unlike(where, hose, connection.coupling, count, *_adaptor(facts, hose, connection.coupling))
        for where, connection, count in ends
        if connection is not UNSET and _plain(hose) and _plain(connection.coupling) not in ("", _plain(hose))
    )


def _plain(coupling: str) -> str:
    return " ".join(coupling.casefold().replace("-", " ").split())


def _adaptor(facts: Facts, first: str, second: str) -> tuple[str, str]:
    """Item that calls itself an adaptor and names both kinds, and its kind in the stock."""
    for row in facts.fleet.accessories:
        if not isinstance(row, OtherItem | Coupling):
            continue
        words = _plain(f"{row.item} {row.coupling if isinstance(row, Coupling) else ''}")
        if any(w in words for w in ADAPTOR_WORDS) and _plain(first) in words and _plain(second) in words:
            return row.item, "coupling" if isinstance(row, Coupling) else "other"
    return "", ""


def _headers(combination: Combination, loop: LoopPlan) -> tuple[int, int]:
    """Headers, one for supply and one for return, at the machines' end and at the load's end."""
    return (2 if combination.units > 1 or loop.runs > 1 else 0), (2 if loop.runs > 1 else 0)


def _header_item(facts: Facts) -> str:
    """Item of the stock that calls itself a manifold or header; empty where there is none."""
    rows = (r for r in facts.fleet.accessories if isinstance(r, OtherItem))
    return next((r.item for r in rows if any(w in r.item.casefold() for w in HEADER_WORDS)), "")
