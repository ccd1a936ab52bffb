"""A plan, as far as it goes: the answers that it is made of."""

from dataclasses import dataclass, field

from coldwright.contract.quantities import GaugePressure
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.capacities import Candidate, LeftOut
from coldwright_booking.plan.desk import Asked, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan, weakness
from coldwright_booking.plan.machines import Choice, Combination
from coldwright_booking.plan.site import SitePlan
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.vessels import Vessels
from coldwright_hydronic.antifreeze import AntifreezeGiven, AntifreezeResults
from coldwright_hydronic.fill import FillGiven, FillResults
from coldwright_hydronic.surge import SurgeGiven, SurgeResults
from coldwright_readiness.procedure import ProcedureGiven, ProcedureResults


@dataclass
class Plan:
    """A plan, as far as it goes."""

    heat: Heat
    liquid: Liquid
    candidates: list[Candidate]
    left_out: list[LeftOut]
    choice: Choice | None
    rounds: int
    combination: Combination = ()
    standing: GaugePressure | None = None
    loop: LoopPlan | Unanswered | None = None
    fill: Asked[FillGiven, FillResults] | Unanswered | None = None
    buffers: tuple[Vessels, ...] = ()
    """Buffer vessels; `fill` counts them."""
    surge: Asked[SurgeGiven, SurgeResults] | Unanswered | None = None
    antifreeze: Asked[AntifreezeGiven, AntifreezeResults] | None = None
    supply: SupplyPlan | Unanswered | None = None
    cable: CablePlan | None = None
    site: SitePlan | None = None
    arrival: Asked[ProcedureGiven, ProcedureResults] | Unanswered | None = None
    trouble: Unanswered | None = None
    """The load with the heat of this loop, where that is refused."""
    swings: tuple[str, ...] = ()
    """What each round came to, where they did not agree."""
    passed_over: list[tuple[Combination, str]] = field(default_factory=list)
    """Combinations before this one, and the stop that ruled each out."""

    @property
    def unanswered(self) -> list[Unanswered]:
        """Calculators that refuse what the plan asks."""
        return [u for u in self._parts() if isinstance(u, Unanswered)]

    @property
    def heard(self) -> list[Asked]:  # type: ignore[type-arg]
        """Answers that the plan is made of, in the order of the steps."""
        return [a for a in self._parts() if isinstance(a, Asked)]

    def _parts(self) -> list[object]:
        parts: list[object] = [self.heat.asked, self.trouble, self.antifreeze]
        parts += [p.candidate.asked for p in self.combination]
        parts.append(self.choice.asked if self.choice else None)
        if isinstance(self.supply, SupplyPlan):
            parts += [self.supply.service, self.supply.generator, self.supply.transformer]
        else:
            parts.append(self.supply)
        if self.cable:
            parts += [part for c in self.cable.machines for part in (c.asked, c.fault)]
        parts += [self.loop.asked if isinstance(self.loop, LoopPlan) else self.loop, self.fill, self.surge]
        if self.site:
            parts += [a for _, a in self.site.lifts] + [a for _, a in self.site.grounds]
            parts += [self.site.placement, self.site.sound, self.site.transport]
        parts.append(self.arrival)
        return parts

    def first_stop(self) -> str:
        """The first stop of any step; empty where there is none."""
        for asked in self.heard:
            for found in asked.notes.findings:
                if found.severity == "stop":
                    return f"{asked.calculator}: {found.statement}"
        if isinstance(self.loop, LoopPlan) and self.loop.too_weak:
            return weakness(self.loop)
        return next((f"{u.calculator}: {u.reason}" for u in self.unanswered), "")
