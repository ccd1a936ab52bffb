"""Where hose meets machines and load: bores and couplings that are unlike, runs and machines that must be joined."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright_booking.fleet.given import BufferVessel, Coupling, LiquidConnection, OtherItem
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Desk
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.hoses import HoseKind
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.pipework import Pipework, other_bore

HEADER_WORDS = ("manifold", "header")
ADAPTOR_WORDS = ("adaptor", "adapter")
AT_LOAD = 2
"""Joints with the load's own connections, supply and return: of one run each, or of the headers that join several."""


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
    pipework: Pipework
    header_item: str
    """Item of the stock that calls itself a manifold or header; empty where there is none."""
    reducers: int
    """Ends of the hose that meet another bore."""


class JointsNeeds(NamedTuple):
    """What the joints take of the plan."""

    facts: Facts
    machines: Machines
    loop: LoopPlan
    fill: Fill


def decide(needs: JointsNeeds, _: Desk) -> Joints:
    """Compare the ends of the hoses with what they meet."""
    facts, combination, loop = needs.facts, needs.machines.combination, needs.loop
    made = loop.pipework
    odd = [p for p in combination if _unlike_bore(p.machine.connection, made.hose_of(p) or loop.hose)]
    far_end = AT_LOAD if _unlike_bore(facts.order.load_side.connection, loop.hose) else 0
    vessels = sum(
        2 * loop.runs * b.count for b in needs.fill.buffers if _unlike_bore(_connection(facts, b.item), loop.hose)
    )
    return Joints(
        unlike=_unlike_couplings(facts, combination, loop, needs.fill),
        pipework=made,
        header_item=_header_item(facts),
        reducers=2 * sum(p.count for p in odd) + far_end + vessels,
    )


JOINTS = Block("joints", JointsNeeds, (), decide)


def _unlike_bore(connection: LiquidConnection | UnsetType, hose: HoseKind) -> bool:
    """Whether a connection is of another nominal size than the hose that meets it."""
    return connection is not UNSET and other_bore(connection.inner_diameter, hose.bore)


def _connection(facts: Facts, item: str) -> LiquidConnection | UnsetType:
    """Of a buffer vessel of the stock."""
    rows = (a for a in facts.fleet.accessories if isinstance(a, BufferVessel) and a.item == item)
    return next((row.connection for row in rows), UNSET)


def _unlike_couplings(facts: Facts, combination: Combination, loop: LoopPlan, fill: Fill) -> tuple[Unlike, ...]:
    """Couplings of another kind than the hose has; those that are not given are not among them."""
    made = loop.pipework
    ends = [
        (p.machine.type, (made.hose_of(p) or loop.hose).coupling, p.machine.connection, 2 * p.count)
        for p in combination
    ]
    ends += [(b.item, loop.hose.coupling, _connection(facts, b.item), 2 * loop.runs * b.count) for b in fill.buffers]
    ends.append(("the load side", loop.hose.coupling, facts.order.load_side.connection, AT_LOAD))
    return tuple(
        Unlike(where, hose, connection.coupling, count, *_adaptor(facts, hose, connection.coupling))
        for where, hose, connection, count in ends
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


def _header_item(facts: Facts) -> str:
    """Item of the stock that calls itself a manifold or header; empty where there is none."""
    rows = (r for r in facts.fleet.accessories if isinstance(r, OtherItem))
    return next((r.item for r in rows if any(w in r.item.casefold() for w in HEADER_WORDS)), "")
