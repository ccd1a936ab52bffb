"""The loop with the chosen machines in parallel, hose size and runs."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import joined
from coldwright.contract.quantities import GaugePressure, Length, VolumeFlow
from coldwright.contract.sentences import Sentence
from coldwright_basis.compare import above
from coldwright_booking.fleet.given import Strainer
from coldwright_booking.fleet.plate import pump_on_supply
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.hoses import MOST_RUNS, HoseKind, hose_kinds
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Gains, Heat, PumpWork
from coldwright_booking.plan.machines import Machines, Picked, target_flow
from coldwright_booking.plan.own_pumps import OwnPump, efficiency_of, own_pump, weakness
from coldwright_booking.plan.pipework import (
    Element,
    MachineHose,
    Pipework,
    along_the_runs,
    at_machine,
    machine_hoses,
    pipework,
)
from coldwright_booking.plan.vessel_pressure import vessel_maximum
from coldwright_hydronic.loop import loop
from coldwright_hydronic.loop.given import (
    BranchesGiven,
    DeviceGiven,
    FittingsGiven,
    LineGiven,
    LoopGiven,
    PressureReferenceGiven,
    PumpGiven,
    RequiredGiven,
    ValveGiven,
)
from coldwright_hydronic.loop.results import HoseChoice, LoopResults

TRIED = 4
"""Hoses tried with the pumps, from the narrowest that is acceptable, before the best of them is taken."""
THROTTLED = (1, 2, 4)
"""What the Kv of the first valve is divided by, until the pump is back on its curve: it takes about 1, 4 or 16 bar at the
flow wanted."""
LEAST_KV, GREATEST_KV = 0.1, 5000.0
RATING_ALONE = ("working_pressure",)
"""What a hose fails whose pressure rating alone is too low."""
BALANCING = "balancing valve"
GROUND = Length(0, "m")
NO_PIPEWORK = Pipework(0, 0, (), 0)


@dataclass(frozen=True)
class LoopPlan:
    """The loop of the plan."""

    asked: Asked[LoopGiven, LoopResults]
    hose: HoseKind
    runs: int
    wanted: VolumeFlow
    """Flow that was aimed at."""
    balancing_kv: float | None
    own_pumps: bool
    mixed: bool
    site_pump: bool
    """The order names the site's pump."""
    pipework: Pipework
    heads: tuple[OwnPump, ...] = ()
    """Of unlike machines that run their own pumps; without those that have none."""

    @property
    def too_weak(self) -> tuple[OwnPump, ...]:
        """Own pumps of unlike machines that do not give the head wanted."""
        return tuple(h for h in self.heads if h.too_weak)

    @property
    def throttled(self) -> tuple[OwnPump, ...]:
        """Own pumps of unlike machines of whose head valves take much."""
        return tuple(h for h in self.heads if h.throttled)

    @property
    def weakness(self) -> Sentence:
        """What each own pump of unlike machines that is too weak would have to give, and gives."""
        return joined([weakness(h) for h in self.too_weak])

    def runs_own(self, picked: Picked) -> bool:
        """Whether a machine runs the pump aboard of it."""
        return self.own_pumps or (self.mixed and not self.site_pump and picked.machine.pump is not UNSET)

    def gains(self) -> Gains | None:
        """What this loop adds to the load of the next round."""
        results, pumps = self.asked.results, self.asked.given.pumps
        if results.duty_flow is UNSET or results.pump_head is UNSET:
            return None
        work: tuple[PumpWork, ...]
        if self.heads and not self.site_pump:
            # each own pump makes the head of its own curve at its share: what the loop leaves over is throttled to heat
            work = tuple(
                PumpWork(
                    VolumeFlow.from_si(h.share.si * h.count, "L/s"),
                    h.gives if h.gives.si > 0 else h.wanted,
                    h.efficiency,
                )
                for h in self.heads
            )
        else:
            work = (PumpWork(results.duty_flow, results.pump_head, efficiency_of(pumps[0]) if pumps else None),)
        return Gains(self.hose.bore, self.runs, work)


class LoopNeeds(NamedTuple):
    """What the loop takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    standing: GaugePressure
    vessels: int
    """Buffer vessels in the loop, as the round before came to them."""


def decide(needs: LoopNeeds, desk: Desk) -> LoopPlan | Unanswered | None:
    """Choose hose and runs, then throttle what the pumps do too much; None without machines."""
    if not needs.machines.combination:
        return None
    work = _Work(needs, desk)
    choices = work.hoses()
    if isinstance(choices, Unanswered):
        return choices
    best: LoopPlan | Unanswered | None = None
    for hose, runs in islice(choices, TRIED):
        plan = work.with_hose(hose, runs)
        if isinstance(plan, LoopPlan) and _reaches(plan):
            return plan
        if best is None or (isinstance(plan, LoopPlan) and _worth(plan) > _worth(best)):
            best = plan
    assert best is not None  # noqa: S101 - there is always a hose to try
    return best


LOOP = Block("loop", LoopNeeds, (loop,), decide)


def _flow(plan: LoopPlan | Unanswered) -> float:
    if isinstance(plan, Unanswered) or plan.asked.results.duty_flow is UNSET:
        return -1.0
    return plan.asked.results.duty_flow.si


def _worth(plan: LoopPlan | Unanswered) -> tuple[float, float]:
    """Flow first, then the least that a pump lacks in head."""
    lacking = [h.wanted.si - h.gives.si for h in plan.too_weak] if isinstance(plan, LoopPlan) else []
    return _flow(plan), -max(lacking, default=0.0)


def _reaches(plan: LoopPlan) -> bool:
    return _flow(plan) >= plan.wanted.si * (1 - 1e-4) and not plan.too_weak


class _Work:
    """The questions about one combination of machines."""

    def __init__(self, needs: LoopNeeds, desk: Desk) -> None:
        facts, liquid, heat, standing = needs.facts, needs.liquid, needs.load, needs.standing
        combination = needs.machines.combination
        self._vessels = needs.vessels
        self._machine_hoses: dict[str, tuple[MachineHose, ...]] = {}
        self._facts, self._desk, self._combination = facts, desk, combination
        self._fluid = liquid.at(facts.order.duty.leaving_temperature)
        self._standing = standing
        self.wanted = target_flow(combination, heat.flow)
        self.mixed = len(combination) > 1
        pump = combination[0].machine.pump
        self.own = facts.pump == "machine" and not self.mixed and pump is not UNSET and len(pump.curve) > 0

    def hoses(self) -> Iterator[tuple[HoseKind, int]] | Unanswered:
        """Acceptable hoses, the least bore times runs first; those of which there is enough before the others. Then those
        that only their rating rules out, in the same order, for a wider one bears no more; then the rest by their drop.
        """
        kinds = hose_kinds(self._facts.fleet)
        one_way = self._facts.order.routes.hose_length
        given = self._given((), 0, None, fixed=True)
        options = tuple(k.option for k in kinds)
        length = Length.of(2 * one_way.to("m"), "m")
        asked = self._desk.try_ask(loop, replace(given, hose_options=options, run_length=length, max_runs=MOST_RUNS))
        if isinstance(asked, Unanswered):
            return asked
        choices = [(kinds[i // MOST_RUNS], choice) for i, choice in enumerate(asked.results.hose_selection)]
        return self._in_order(choices)

    def _in_order(self, choices: list[tuple[HoseKind, HoseChoice]]) -> Iterator[tuple[HoseKind, int]]:
        by_rank: dict[int, list[tuple[HoseKind, HoseChoice]]] = {0: [], 1: [], 2: []}
        for entry in choices:
            by_rank[0 if entry[1].acceptable else 1 if entry[1].fails == RATING_ALONE else 2].append(entry)
        for rank, fit in by_rank.items():  # mostly nobody asks for the others
            fit.sort(
                key=lambda entry: (
                    entry[0].pieces < self._pieces(entry[0], entry[1].runs),
                    entry[1].pressure_drop.si if rank == 2 else entry[1].inner_diameter.si * entry[1].runs,
                    entry[1].runs,
                )
            )
            yield from ((kind, choice.runs) for kind, choice in fit)

    def _pieces(self, hose: HoseKind, runs: int) -> int:
        """Sections of this hose that the loop takes, from headers to machines too."""
        made = self._pipework(hose, runs)
        main = hose.pieces_for(self._facts.order.routes.hose_length, runs) + made.vessel_hoses(runs)
        return main + made.pieces_of(hose.item)

    def _pipework(self, hose: HoseKind, runs: int) -> Pipework:
        if hose.item not in self._machine_hoses:
            self._machine_hoses[hose.item] = machine_hoses(self._facts.fleet, self._combination, hose)
        return pipework(self._combination, self._machine_hoses[hose.item], runs, self._vessels)

    def with_hose(self, hose: HoseKind, runs: int) -> LoopPlan | Unanswered:
        """The loop with this hose; a balancing valve takes what the pumps do too much."""
        asked = self._desk.try_ask(loop, self._given((hose,), runs, None, fixed=not self.own))
        kv: float | None = None
        if self.own:
            for share in THROTTLED:
                if isinstance(asked, Asked) and not _beyond_curve(asked):
                    break
                kv = self.wanted.to("m3/h") / share
                asked = self._desk.try_ask(loop, self._given((hose,), runs, kv, fixed=False))
            if isinstance(asked, Asked) and _too_much(asked, self.wanted):
                kv = _in_series(kv, asked.results.throttling_kv)
                asked = self._desk.try_ask(loop, self._given((hose,), runs, kv, fixed=False))
        if isinstance(asked, Unanswered):
            return asked
        site = self._facts.pump == "site"
        heads = () if site or not self.mixed else self._heads(asked.results)
        if isinstance(heads, Unanswered):
            return heads
        made = self._pipework(hose, runs)
        return LoopPlan(asked, hose, runs, self.wanted, kv, self.own, self.mixed, site, made, heads)

    def _heads(self, results: LoopResults) -> tuple[OwnPump, ...] | Unanswered:
        """Each own pump of unlike machines: the head of the loop, and what it gives at its machine's share."""
        if results.pump_head is UNSET or len(results.branch_flows) != len(self._combination):
            return ()
        heads = []
        for picked, flow in zip(self._combination, results.branch_flows, strict=True):
            aboard = picked.machine.pump
            if aboard is UNSET:
                continue
            pump = pump_on_supply(picked.machine, aboard, self._facts.frequency)
            faulty = self._faulty(picked, pump)
            if faulty is not None:
                return faulty
            share = VolumeFlow.from_si(flow.si / picked.count, "L/s")
            heads.append(own_pump(picked, pump, share, results.pump_head))
        return tuple(heads)

    def _faulty(self, picked: Picked, pump: PumpGiven) -> Unanswered | None:
        """What `hydronic.loop` refuses of the pump itself; where its curve meets that of the evaporator is no matter."""
        alone = LoopGiven(fluid=self._fluid, elements=(self._evaporator(picked),), pumps=(pump,), pump_owner="machine")
        asked = self._desk.try_ask(loop, alone)
        if isinstance(asked, Asked) or not any(e.pointer.startswith("#/pumps/") for e in asked.refused.errors):
            return None
        return asked

    def _given(self, hoses: tuple[HoseKind, ...], runs: int, kv: float | None, *, fixed: bool) -> LoopGiven:
        valve = () if kv is None else (ValveGiven(name=BALANCING, flow_coefficient_kv=kv),)
        made = self._pipework(hoses[0], runs) if hoses else NO_PIPEWORK
        elements: tuple[Element, ...] = (
            *valve,
            *self._evaporators(made),
            *self._strainers(),
            self._fittings(hoses, runs),
            *(along_the_runs(made, hoses[0], runs) if hoses else ()),
            *self._hose("supply hose", hoses, runs, self._facts.highest_point),
            self._load_side(),
            *self._hose("return hose", hoses, runs, GROUND),
        )
        if not hoses:
            elements = tuple(replace(e, elevation_out=UNSET) for e in elements)
        return LoopGiven(
            fluid=self._fluid,
            elements=elements,
            pumps=() if fixed else (self._pump(),),
            pump_owner=UNSET if fixed else "machine",
            fixed_flow=self.wanted if fixed else UNSET,
            shut_off_head=self._shut_off_head() if fixed else UNSET,
            pressure_reference=PressureReferenceGiven(
                gauge_pressure=self._standing, gauge_pressure_maximum=vessel_maximum(self._standing)
            ),
            site_elevation=self._facts.elevation,
            required=RequiredGiven(flow=self.wanted),
        )

    def _shut_off_head(self) -> Length | UnsetType:
        """Greatest head of the own pumps against a shut valve, where these run on a flow that is held; unset where the
        site's pump does, of which no curve is known.
        """
        if self._facts.pump == "site":
            return UNSET
        heads = []
        for machine in (p.machine for p in self._combination):
            if machine.pump is not UNSET and machine.pump.curve:
                pump = pump_on_supply(machine, machine.pump, self._facts.frequency)
                heads.append(max(p.head.si for p in pump.curve) * pump.speed_ratio**2)
        return Length.of(max(heads), "m") if heads and max(heads) > 0 else UNSET

    def _pump(self) -> PumpGiven:
        picked = self._combination[0]
        pump = picked.machine.pump
        assert pump is not UNSET  # noqa: S101 - `own` says so
        running = pump_on_supply(picked.machine, pump, self._facts.frequency)
        return replace(running, parallel_count=pump.parallel_count * picked.count)

    def _evaporators(self, made: Pipework) -> tuple[Element, ...]:
        paths = [at_machine(made, p, self._evaporator(p)) for p in self._combination]
        return paths[0] if len(paths) == 1 else (BranchesGiven(name="evaporators", branches=tuple(paths)),)

    @staticmethod
    def _evaporator(picked: Picked) -> DeviceGiven:
        evaporator = picked.machine.evaporator
        return DeviceGiven(
            name=f"evaporator {picked.machine.type}",
            device_kind="evaporator",
            rated_flow=evaporator.rated_flow,
            rated_pressure_drop=evaporator.rated_pressure_drop,
            exponent=evaporator.exponent,
            parallel_count=picked.count,
            flow_minimum=evaporator.flow_minimum,
            flow_maximum=evaporator.flow_maximum,
            working_pressure=evaporator.working_pressure,
        )

    def _strainers(self) -> tuple[Element, ...]:
        row = next((a for a in self._facts.fleet.accessories if isinstance(a, Strainer)), None)
        if row is None or row.rated_flow is UNSET or row.rated_pressure_drop is UNSET:
            return ()
        return (
            DeviceGiven(
                name="strainers",
                device_kind="strainer",
                rated_flow=row.rated_flow,
                rated_pressure_drop=row.rated_pressure_drop,
                parallel_count=sum(p.count for p in self._combination),
            ),
        )

    def _fittings(self, hoses: tuple[HoseKind, ...], runs: int) -> Element:
        connection = self._combination[0].machine.connection
        if hoses:
            bore, parallel = hoses[0].bore, runs
        elif connection is not UNSET:
            bore, parallel = connection.inner_diameter, sum(p.count for p in self._combination)
        else:
            bore, parallel = hose_kinds(self._facts.fleet)[-1].bore, 1
        return FittingsGiven(
            name="bends and couplings",
            inner_diameter=bore,
            k_factor=self._facts.fittings,
            parallel_runs=min(parallel, 12),
        )

    def _hose(self, name: str, hoses: tuple[HoseKind, ...], runs: int, elevation_out: Length) -> tuple[Element, ...]:
        return tuple(
            LineGiven(
                name=name,
                line_kind="rubber_hose",
                inner_diameter=hose.bore,
                length=self._facts.order.routes.hose_length,
                roughness=hose.roughness,
                parallel_runs=runs,
                elevation_out=elevation_out,
                working_pressure=hose.working_pressure,
            )
            for hose in hoses
        )

    def _load_side(self) -> Element:
        rated = self._facts.order.load_side.rated_flow
        return DeviceGiven(
            name="load side",
            device_kind="other",
            rated_flow=self.wanted if rated is UNSET else rated,
            rated_pressure_drop=self._facts.load_side_drop,
        )


def _beyond_curve(asked: Asked[LoopGiven, LoopResults]) -> bool:
    return any(f.code == "beyond_curve" for f in asked.notes.findings)


def _too_much(asked: Asked[LoopGiven, LoopResults], wanted: VolumeFlow) -> bool:
    flow, kv = asked.results.duty_flow, asked.results.throttling_kv
    return flow is not UNSET and kv is not UNSET and above(flow.si, wanted.si)


def _in_series(first: float | None, second: object) -> float:
    """Kv of two valves one after the other, inside what a valve may have."""
    assert isinstance(second, float | int)  # noqa: S101 - `_too_much` says so
    both = float(second) if first is None else (first**-2 + float(second) ** -2) ** -0.5
    return min(max(both, LEAST_KV), GREATEST_KV)
