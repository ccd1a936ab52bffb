"""Puts the blocks of the answer together."""

from typing import Any

from msgspec import UNSET, Struct, UnsetType

from coldwright.contract import say, spoken, tidy
from coldwright.contract.people import count_of, listed
from coldwright.contract.quantities import Power
from coldwright.contract.sentences import Words
from coldwright_booking.answer.in_use import indoors_block
from coldwright_booking.answer.limits import nearest
from coldwright_booking.answer.people_blocks import crew_block, removal_block
from coldwright_booking.answer.questions import open_questions
from coldwright_booking.answer.results import (
    Alternative,
    AskedOfCalculators,
    AssessmentResults,
    CableBlock,
    EnergyClosure,
    FailedCombination,
    LoadBreakdown,
    LoopBlock,
    MachineCount,
    MachineFeeder,
    MachineHoses,
    NearLimit,
    PanelFeeder,
    PipeworkBlock,
    PlannedFluid,
    PlannedMachine,
    SiteBlock,
    SupplyBlock,
    TypeGround,
    TypeLeftOut,
    TypeLift,
)
from coldwright_booking.plan.cable import PanelFeed
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Picked
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.words import quantity_of

SHOWN = 2
THIN = 0.10
"""Headroom below which a limit is shown beside its machine."""
ALIKE = 0.01
"""Part by which power or ground may differ and still count as the same to a reader."""
OURS = "footprint_available"
"""A limit that no order has: where the selection was held to it, that only served to find the least ground."""


def results_of(asked: object) -> Any:
    """What a calculator said; left out where it was not asked, or refused."""
    return asked.results if isinstance(asked, Asked) else UNSET


def given_of(asked: object) -> Any:
    """What a calculator was asked."""
    return asked.given if isinstance(asked, Asked) else UNSET


def results_of_plan(plan: Plan) -> AssessmentResults:
    """The whole answer."""
    limits = nearest(plan)
    return AssessmentResults(
        design_load=plan.load.design,
        load=load_block(plan),
        machines=machine_blocks(plan, limits),
        margin_fraction=tidy(plan.combination.capacity / plan.load.gross - 1) if plan.combination else UNSET,
        redundancy=plan.facts.redundancy,
        redundancy_met=bool(plan.combination),
        fluid=fluid_block(plan),
        energy=energy_block(plan),
        supply=supply_block(plan),
        cable=cable_block(plan),
        loop=loop_block(plan),
        pipework=pipework_block(plan),
        fill=results_of(plan.fill.asked),
        fill_pressure=UNSET if plan.standing is None else plan.standing,
        surge=results_of(plan.surge),
        indoors=indoors_block(plan),
        restart=results_of(plan.restart),
        condensation=results_of(plan.condensation),
        site=site_block(plan),
        arrival_plan=results_of(plan.arrival),
        cold_water_after=plan.arrival.results.time_to_cold_water if isinstance(plan.arrival, Asked) else UNSET,
        removal=removal_block(plan),
        crew=crew_block(plan),
        pick_list=plan.pick_list,
        pick_mass=plan.picking.mass if plan.combination else UNSET,
        open_questions=open_questions(plan),
        alternatives=alternatives(plan),
        failed_combinations=failed(plan),
        types_left_out=left_out(plan),
        limits_nearest=limits,
        rounds=plan.rounds,
        energy_used=results_of(plan.cost and plan.cost.energy),
        cost=UNSET if plan.cost is None or plan.cost.block is None else plan.cost.block,
        asked=asked_block(plan),
    )


def load_block(plan: Plan) -> LoadBreakdown:
    """The load by what makes it."""
    facts, heat = plan.facts, plan.load
    return LoadBreakdown(
        net=Power.from_si(heat.net, "kW"),
        hose_heat=Power.from_si(heat.hose_heat, "kW"),
        pump_heat=Power.from_si(heat.pump_heat, "kW"),
        gross=Power.from_si(heat.gross, "kW"),
        lowest=Power.from_si(facts.lowest_load * heat.gross, "kW"),
        margin_fraction=facts.order.duty.margin_fraction,
    )


def machine_blocks(plan: Plan, limits: tuple[NearLimit, ...]) -> tuple[PlannedMachine, ...]:
    """One entry a type."""
    return tuple(
        PlannedMachine(
            type=p.machine.type,
            count=p.count,
            capacity_each=p.capacity,
            capacity_total=Power.from_si(p.capacity.si * p.count, "kW"),
            power_each=p.power,
            source=p.candidate.asked.results.source,
            **spoken(limits=_near(p, limits)),
        )
        for p in plan.combination
    )


def _near(picked: Picked, limits: tuple[NearLimit, ...]) -> tuple[Words, ...]:
    return tuple(
        say(
            "{what}: {value:.4g} of {limit:.4g}",
            what=entry.what,
            value=quantity_of(entry.value, entry.unit),
            limit=quantity_of(entry.limit, entry.unit),
        )
        for entry in limits
        if entry.what.startswith(f"{picked.machine.type}: ") and entry.nearness < THIN
    )


def fluid_block(plan: Plan) -> PlannedFluid:
    """The liquid."""
    fluid = plan.liquid.fluid
    return PlannedFluid(
        kind=fluid.kind,  # type: ignore[arg-type]
        mass_fraction=fluid.mass_fraction,
        leaving_temperature=plan.facts.order.duty.leaving_temperature.as_unit("degC"),
        lowest_temperature=UNSET if plan.liquid.is_water else plan.liquid.lowest,
        antifreeze=results_of(plan.antifreeze and plan.antifreeze.asked),
    )


def energy_block(plan: Plan) -> EnergyClosure | UnsetType:
    """Heat and flow at the load without margin."""
    if not isinstance(plan.loop, LoopPlan):
        return UNSET
    flow = plan.loop.asked.results.duty_flow
    if flow is UNSET or flow.si <= 0:
        return UNSET
    heat = plan.load
    capacity, power = plan.combination.capacity, plan.combination.power
    return EnergyClosure(
        load=Power.from_si(heat.net + heat.hose_heat, "kW"),
        pump_heat=Power.from_si(heat.pump_heat, "kW"),
        heat_removed=Power.from_si(heat.gross, "kW"),
        flow=flow,
        temperature_difference=heat.over(flow),
        machine_power=Power.from_si(power, "kW"),
        machine_capacity=Power.from_si(capacity, "kW"),
        heat_rejected=Power.from_si(capacity + power, "kW"),
    )


def supply_block(plan: Plan) -> SupplyBlock | UnsetType:
    """The electric supply."""
    supply = plan.supply
    if not isinstance(supply, SupplyPlan):
        return UNSET
    return SupplyBlock(
        source=plan.facts.order.supply.source,
        voltage=supply.voltage,
        service=supply.service.results,
        generator=results_of(supply.generator),
        generator_item=UNSET if supply.generator_row is None else supply.generator_row.item,
        transformer=results_of(supply.transformer),
        transformer_item=UNSET if supply.transformer_row is None else supply.transformer_row.item,
    )


def cable_block(plan: Plan) -> CableBlock | UnsetType:
    """The cable."""
    if plan.cable is None:
        return UNSET
    return CableBlock(
        machines=tuple(
            MachineFeeder(
                type=c.picked.machine.type,
                count=c.picked.count,
                item=UNSET if c.row is None else c.row.item,
                feeder=c.asked.results,
                fault=results_of(c.fault),
            )
            for c in plan.cable.machines
            if isinstance(c.asked, Asked)
        ),
        group=results_of(plan.cable.group),
        panel_feed=_feed(plan.cable.feed),
        transformer_feed=_feed(plan.cable.before_transformer),
        load_bank_feed=_feed(plan.cable.to_bank),
    )


def _feed(feed: PanelFeed | None) -> PanelFeeder | UnsetType:
    if feed is None or not isinstance(feed.asked, Asked):
        return UNSET
    return PanelFeeder(item=UNSET if feed.row is None else feed.row.item, pieces=feed.pieces, feeder=feed.asked.results)


def pipework_block(plan: Plan) -> PipeworkBlock | UnsetType:
    """Headers, hoses to the machines, joints."""
    loop, joints = plan.loop, plan.joints
    if not isinstance(loop, LoopPlan) or joints is None:
        return UNSET
    made = joints.pipework
    return PipeworkBlock(
        headers_at_machines=made.near,
        headers_at_load=made.far,
        machine_hoses=tuple(
            MachineHoses(
                type=h.picked.machine.type,
                item=h.hose.item,
                inner_diameter=h.hose.bore.as_unit("mm"),
                length=h.hose.section,
                pieces=h.pieces,
            )
            for h in made.hoses
        ),
        buffer_joints=2 * made.vessel_hoses(loop.runs),
        adaptors=sum(u.count for u in joints.unlike),
        reducers=joints.reducers,
    )


def loop_block(plan: Plan) -> LoopBlock | UnsetType:
    """The loop with its hose."""
    loop = plan.loop
    if not isinstance(loop, LoopPlan):
        return UNSET
    return LoopBlock(
        **_fields(loop.asked.results),
        hose_item=loop.hose.item,
        hose_inner_diameter=loop.hose.bore.as_unit("mm"),
        hose_runs=loop.runs,
        wanted_flow=loop.wanted,
        balancing_kv=UNSET if loop.balancing_kv is None else tidy(loop.balancing_kv),
        pump_owner="machine" if loop.own_pumps or (loop.mixed and not loop.site_pump) else "site",
    )


def _fields(struct: Struct) -> dict[str, Any]:
    return {name: getattr(struct, name) for name in struct.__struct_fields__}


def site_block(plan: Plan) -> SiteBlock | UnsetType:
    """Lift, ground, place, sound and vehicles."""
    site = plan.site
    if site is None:
        return UNSET
    lifting = plan.lifting
    return SiteBlock(
        lift=tuple(TypeLift(type=m.type, lift=a.results) for m, a in lifting.lifts if isinstance(a, Asked))
        if lifting
        else (),
        lift_wind_limit=lifting.wind_limit if lifting else UNSET,
        outriggers=results_of(lifting and lifting.outriggers and lifting.outriggers.asked),
        ground=tuple(TypeGround(type=m.type, ground=a.results) for m, a in site.grounds if isinstance(a, Asked)),
        placement=results_of(plan.layout),
        sound=results_of(site.sound),
        transport=results_of(plan.transport and plan.transport.asked),
    )


def counted(combination: Combination) -> tuple[MachineCount, ...]:
    """Types and counts."""
    return tuple(MachineCount(type=p.machine.type, count=p.count) for p in combination)


def alternatives(plan: Plan) -> tuple[Alternative, ...]:
    """The next two, with why each is not the plan."""
    choice = plan.machines.choice
    if choice is None or not plan.combination:
        return ()
    ruled: dict[tuple[MachineCount, ...], Words] = {counted(c): why for c, why in (*plan.passed_over, *plan.dearer)}
    out = [(r.counts, r.why) for r in plan.facts.order.ruled_out]
    ruled |= {counted(c): why for c in choice.combinations for counts, why in out if c.counts == counts}
    own = counted(plan.combination)
    others = [c for c in choice.combinations if counted(c) != own]
    return tuple(
        Alternative(
            machines=counted(c),
            capacity=Power.from_si(c.capacity, "kW"),
            power=Power.from_si(c.power, "kW"),
            **spoken(
                why_not_first=ruled.get(counted(c)) or _compared(plan.facts.order.preferences, plan.combination, c)
            ),
        )
        for c in others[:SHOWN]
    )


def _compared(preferences: str, first: Combination, other: Combination) -> str:
    """`Same power, but 2 machines instead of 1.`"""
    same: list[str] = []
    more: list[str] = []
    less: list[str] = []
    if other.units != first.units:
        (more if other.units > first.units else less).append(
            f"{count_of(other.units, 'machine')} instead of {first.units}"
        )
    for what, ours, theirs in (("power", first.power, other.power), ("ground", first.ground, other.ground)):
        if abs(theirs - ours) < ALIKE * ours:
            same.append(f"same {what}")
        else:
            (more if theirs > ours else less).append(
                f"{abs(theirs / ours - 1):.0%} {'more' if theirs > ours else 'less'} {what}"
            )
    text = ", ".join(same)
    if more:
        text += (", but " if text else "") + listed(more)
    if less:
        text += ("; " if text else "") + listed(less)
    if not more:
        text += f"; no better by {preferences.replace('_', ' ')}"
    return f"{text[:1].upper()}{text[1:]}."


def failed(plan: Plan) -> tuple[FailedCombination, ...]:
    """Combinations that the selection rejects."""
    choice = plan.machines.choice
    if choice is None:
        return ()
    stated = ((r, tuple(rule for rule in r.failed if rule != OURS)) for r in choice.asked.results.rejected)
    return tuple(
        FailedCombination(
            machines=tuple(MachineCount(type=name, count=count) for name, count in r.units.items()), failed=failed
        )
        for r, failed in stated
        if failed
    )


def left_out(plan: Plan) -> tuple[TypeLeftOut, ...]:
    """Types that cannot be used, and those behind a transformer where others do without."""
    out = [TypeLeftOut(type=o.machine.type, **spoken(reason=o.reason)) for o in plan.machines.left_out]
    if plan.machines.choice is not None:
        asked = {row.type for row in plan.machines.choice.asked.given.fleet}
        out += [
            TypeLeftOut(
                type=c.machine.type,
                reason=f"Runs on {c.machine.electrical.voltage}; this job is {plan.machines.choice.voltage:g} V.",
            )
            for c in plan.machines.candidates
            if c.machine.type not in asked
        ]
    return tuple(out)


def asked_block(plan: Plan) -> AskedOfCalculators:
    """The inputs of the calculators."""
    supply = plan.supply if isinstance(plan.supply, SupplyPlan) else None
    cables = plan.cable.machines if plan.cable else ()
    site, lifting = plan.site, plan.lifting
    return AskedOfCalculators(
        load=plan.load.asked.given,
        antifreeze=given_of(plan.antifreeze and plan.antifreeze.asked),
        capacities=tuple(p.candidate.asked.given for p in plan.combination),
        selection=plan.machines.choice.asked.given if plan.machines.choice else UNSET,
        service=supply.service.given if supply else UNSET,
        generator=given_of(supply.generator) if supply else UNSET,
        transformer=given_of(supply.transformer) if supply else UNSET,
        feeders=tuple(c.asked.given for c in cables if isinstance(c.asked, Asked)),
        group_feeder=given_of(plan.cable.group) if plan.cable else UNSET,
        panel_feed=given_of(plan.cable.feed and plan.cable.feed.asked) if plan.cable else UNSET,
        transformer_feed=given_of(plan.cable.before_transformer and plan.cable.before_transformer.asked)
        if plan.cable
        else UNSET,
        load_bank_feed=given_of(plan.cable.to_bank and plan.cable.to_bank.asked) if plan.cable else UNSET,
        faults=tuple(c.fault.given for c in cables if isinstance(c.fault, Asked)),
        loop=plan.loop.asked.given if isinstance(plan.loop, LoopPlan) else UNSET,
        fill=given_of(plan.fill.asked),
        surge=given_of(plan.surge),
        room_heat=given_of(plan.indoors.heat) if plan.indoors else UNSET,
        refrigerant_safety=tuple(a.given for _, a in plan.indoors.safety if isinstance(a, Asked))
        if plan.indoors
        else (),
        restart=given_of(plan.restart),
        condensation=given_of(plan.condensation),
        lifts=tuple(a.given for _, a in lifting.lifts if isinstance(a, Asked)) if lifting else (),
        outriggers=given_of(lifting and lifting.outriggers and lifting.outriggers.asked),
        grounds=tuple(a.given for _, a in site.grounds if isinstance(a, Asked)) if site else (),
        placement=given_of(plan.layout),
        sound=given_of(site.sound) if site else UNSET,
        transport=given_of(plan.transport and plan.transport.asked),
        drain_down=given_of(plan.removal and plan.removal.drained),
        shutdown=given_of(plan.removal and plan.removal.stop),
        frost_shutdown=given_of(plan.removal and plan.removal.frost),
        procedure=given_of(plan.arrival),
        start_configurations=plan.starts or (),
        energy_cost=given_of(plan.cost and plan.cost.energy),
    )
