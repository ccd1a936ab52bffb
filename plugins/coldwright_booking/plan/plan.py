"""A plan, as far as it goes: the values of its blocks."""

from dataclasses import dataclass
from typing import Any

from coldwright.contract import say
from coldwright.contract.quantities import GaugePressure
from coldwright.contract.sentences import Words
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.arrival import ARRIVAL
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CABLE, CablePlan
from coldwright_booking.plan.capacities import CAPACITIES, Candidate, LeftOut
from coldwright_booking.plan.condensation import CONDENSATION, Sweat
from coldwright_booking.plan.cost import COST, Cost
from coldwright_booking.plan.crew import CREW, Crew
from coldwright_booking.plan.desk import Asked, Unanswered
from coldwright_booking.plan.energy import ENERGY, Energy
from coldwright_booking.plan.fill import CHARGE, FILL, STANDING, Charge, Fill
from coldwright_booking.plan.filling import FILLING, Filling
from coldwright_booking.plan.indoors import INDOORS, Indoors
from coldwright_booking.plan.joints import JOINTS, Joints
from coldwright_booking.plan.layout import LAYOUT, Layout
from coldwright_booking.plan.lifting import LIFTING, Lifting
from coldwright_booking.plan.liquid import LIQUID, Liquid
from coldwright_booking.plan.load import LOAD, Heat
from coldwright_booking.plan.loaded import loaded
from coldwright_booking.plan.loop import LOOP, LoopPlan
from coldwright_booking.plan.machines import MACHINES, Combination, Machines
from coldwright_booking.plan.pick_list import PlanPickLine
from coldwright_booking.plan.picking import PICKING, Picking
from coldwright_booking.plan.removal import REMOVAL, Removal
from coldwright_booking.plan.restarts import RESTART, Restart
from coldwright_booking.plan.site import SITE, SitePlan
from coldwright_booking.plan.starts import STARTS
from coldwright_booking.plan.supply import SUPPLY, SupplyPlan
from coldwright_booking.plan.surge import SURGE
from coldwright_booking.plan.transport import TRANSPORT, TransportPlan
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.results import SurgeResults
from coldwright_readiness.procedure import ProcedureResults
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shared.given import Configuration

FIRST: tuple[Block[Any, Any], ...] = (LIQUID, LOAD, STANDING, CAPACITIES)
"""What no choice of machines moves."""
ROUND: tuple[Block[Any, Any], ...] = (MACHINES, LOOP, FILL)
"""What is gone through again until the load with the heat of hose and pump stands still."""
REST: tuple[Block[Any, Any], ...] = (
    SUPPLY,
    CABLE,
    JOINTS,
    SURGE,
    CHARGE,
    INDOORS,
    RESTART,
    CONDENSATION,
    FILLING,
    LIFTING,
    LAYOUT,
    SITE,
    ARRIVAL,
    STARTS,
    REMOVAL,
    CREW,
    ENERGY,
    PICKING,
    TRANSPORT,
    COST,
)
"""What hangs on the machines and their loop, in an order in which each finds what it needs."""


BLOCKS = (*FIRST, *ROUND, *REST)


@dataclass(frozen=True)
class Plan:
    """A plan, as far as it goes. Each value is called like the block that decides it."""

    facts: Facts
    liquid: Liquid
    load: Heat
    capacities: tuple[Candidate | LeftOut, ...]
    machines: Machines
    fill: Fill
    picking: Picking
    rounds: int
    standing: GaugePressure | None = None
    loop: LoopPlan | Unanswered | None = None
    supply: SupplyPlan | Unanswered | None = None
    cable: CablePlan | None = None
    joints: Joints | None = None
    surge: Asked[SurgeGiven, SurgeResults] | Unanswered | None = None
    antifreeze: Charge | None = None
    filling: Filling | None = None
    lifting: Lifting | None = None
    layout: Layout | None = None
    indoors: Indoors | None = None
    """None outdoors."""
    restart: Restart | Unanswered | None = None
    """None where the load is not critical."""
    condensation: Sweat | Unanswered | None = None
    site: SitePlan | None = None
    arrival: Asked[ProcedureGiven, ProcedureResults] | Unanswered | None = None
    starts: tuple[Configuration, ...] | None = None
    """One a type, where there are several."""
    removal: Removal | None = None
    crew: Crew | None = None
    transport: TransportPlan | None = None
    energy: Energy | None = None
    """None where nothing is known of it."""
    cost: Cost | None = None
    trouble: Unanswered | None = None
    """The load with the heat of this loop, where that is refused."""
    swings: tuple[Words, ...] = ()
    """What each round came to, where they did not agree."""
    passed_over: tuple[tuple[Combination, Words], ...] = ()
    """Combinations before this one, and the stop that ruled each out."""

    dearer: tuple[tuple[Combination, Words], ...] = ()
    """Combinations that could be carried out and cost more in all, with what they cost."""

    @property
    def combination(self) -> Combination:
        """The machines; empty where none do."""
        return self.machines.combination

    @property
    def unanswered(self) -> list[Unanswered]:
        """Calculators that refuse what the plan asks."""
        return [u for u in self._parts() if isinstance(u, Unanswered)]

    @property
    def heard(self) -> list[Asked[Any, Any]]:
        """Answers that the plan is made of, in the order of the steps, each question once."""
        return list({id(asked): asked for asked in self._parts() if isinstance(asked, Asked)}.values())

    def _parts(self) -> list[object]:
        parts: list[object] = [self.load.asked, self.trouble, self.antifreeze and self.antifreeze.asked]
        parts += [p.candidate.asked for p in self.combination]
        parts += [self.machines.choice and self.machines.choice.asked, self.machines.refused]
        parts += self.supply.asked if isinstance(self.supply, SupplyPlan) else (self.supply,)
        parts += self.cable.asked if self.cable else ()
        parts.append(self.loop.asked if isinstance(self.loop, LoopPlan) else self.loop)
        parts += [self.fill.asked, self.surge]
        parts += self.indoors.asked if self.indoors else ()
        parts += [self.restart, self.condensation]
        parts += self.lifting.asked if self.lifting else ()
        parts.append(self.layout)
        parts += self.site.asked if self.site else ()
        parts.append(self.arrival)
        parts += self.removal.asked if self.removal else ()
        parts.append(self.transport and self.transport.asked)
        return parts

    @property
    def first_stop(self) -> Words:
        """The first stop of any step; empty where there is none."""
        for asked in self.heard:
            for found in asked.notes.findings:
                if found.severity == "stop":
                    stop = found.said.get("statement", found.statement)
                    return say("`{calculator}`: {stop}", calculator=asked.calculator, stop=stop)
        if isinstance(self.loop, LoopPlan) and self.loop.too_weak:
            return self.loop.weakness
        return next((f"`{u.calculator}`: {u.reason}" for u in self.unanswered), "")

    @property
    def pick_list(self) -> tuple[PlanPickLine, ...]:
        """What to pick, each line with the loads that carry it."""
        return loaded(self.picking.lines, self.transport)

    @property
    def obstacle(self) -> Words:
        """What keeps it from being carried out, in a line; empty where nothing does."""
        if self.swings:
            return f"the load does not settle in {self.rounds} rounds"
        fed = self.supply.primary_shortage if isinstance(self.supply, SupplyPlan) else ""
        return self.first_stop or fed or ", ".join(self.picking.missing)
