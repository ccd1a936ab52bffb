"""Step 9: what to load on the lorry, each line against the stock."""

from math import ceil

from msgspec import UNSET

from coldwright.contract.quantities import Volume
from coldwright_booking.answer.results import PlanPickLine
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.questions import both
from coldwright_booking.plan.cable import pieces_of
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.joints import header_item, headers, other_bore, unlike_couplings
from coldwright_booking.plan.liquid import concentrate_of
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.panels import panel_of, panel_wanted
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.vessels import Vessels, choose_vessels

RAMPS_A_CROSSING = 5
"""Pieces of ramp of 0.9 m across a way of 4 m, as `electrical.feeder` counts them for cable."""
JOINTS_A_SPARE = 5
"""Joints for each spare gasket, as `site.transport` counts them."""
DRUM = 200.0
"""L of antifreeze in a drum where the stock names none (common practice)."""


class _List:
    """Lines, with the stock that is left after each."""

    def __init__(self, facts: Facts) -> None:
        self.lines: list[PlanPickLine] = []
        self._rows = facts.fleet.accessories
        self._left = {row.item: row.count for row in self._rows}

    def rows(self, kind: type[stock.Accessory]) -> list[stock.AnyAccessory]:
        """Rows of a kind, the fullest first."""
        return sorted((r for r in self._rows if isinstance(r, kind)), key=lambda r: -r.count)

    def bought(self, item: str, count: int, reason: str, calculator: str) -> None:
        """A line of what is bought, not held in stock."""
        self.lines.append(
            PlanPickLine(
                item=item,
                kind="other",
                count=count,
                reason=reason,
                calculator=calculator,
                stock_short=False,
                from_stock=False,
            )
        )

    def add(self, item: str, kind: str, count: int, reason: str, calculator: str) -> None:
        """A line; nothing where nothing is needed."""
        if count <= 0:
            return
        known, left = item in self._left, self._left.get(item, 0)
        missing = max(0, count - left)
        if known:
            self._left[item] = left - min(left, count)
        self.lines.append(
            PlanPickLine(
                item=item,
                kind=kind,
                count=count,
                reason=reason,
                calculator=calculator,
                stock_short=missing > 0,
                from_stock=known,
                short_by=missing,
            )
        )

    def any_of(self, kind: type[stock.Accessory], word: str, count: int, reason: str, calculator: str) -> None:
        """The fullest row of a kind, else the plain word."""
        rows = self.rows(kind)
        self.add(rows[0].item if rows else word.replace("_", " "), word, count, reason, calculator)


def pick_list(facts: Facts, plan: Plan) -> tuple[PlanPickLine, ...]:
    """All lines."""
    made = _List(facts)
    machines = [
        PlanPickLine(
            item=p.machine.type,
            kind="machine",
            count=p.count,
            reason=f"They carry {plan.heat.design}.",
            calculator="refrigeration.selection",
            stock_short=False,
            from_stock=True,
        )
        for p in plan.combination
    ]
    if isinstance(plan.loop, LoopPlan):
        _hose(made, facts, plan, plan.loop)
    if isinstance(plan.supply, SupplyPlan):
        _power(made, facts, plan, plan.supply)
    _liquid(made, facts, plan)
    return (*machines, *made.lines)


def shortage(facts: Facts, plan: Plan) -> str:
    """What the stock has too few of; empty where there is enough."""
    return ", ".join(missing(pick_list(facts, plan)))


def missing(lines: tuple[PlanPickLine, ...]) -> list[str]:
    """Items that the fleet document names and of which the stock has too few."""
    return [f"{line.item} ({line.short_by} of {line.count})" for line in lines if line.stock_short and line.from_stock]


def _hose(made: _List, facts: Facts, plan: Plan, loop: LoopPlan) -> None:
    hose, runs = loop.hose, loop.runs
    units = sum(p.count for p in plan.combination)
    sections = hose.pieces_for(facts.order.routes.hose_length, runs)
    joints = sections + 2 * runs + 2 * units
    by = "hydronic.loop"
    made.add(
        hose.item,
        "hose",
        sections,
        f"Supply and return of {both(facts.order.routes.hose_length)}, {runs} in parallel, in sections of {both(hose.section)}.",
        by,
    )
    near, far = headers(plan.combination, loop)
    ends = 2 * units + 2 * runs + (2 * runs if near else 0)
    made.any_of(
        stock.Coupling,
        "coupling",
        ends,
        f"Ends at the machines and at the load side{', and of each run at the headers' if near else ''}.",
        by,
    )
    header = header_item(facts)
    if header:
        made.add(header, "other", near + far, f"Join {units} machines and {runs} runs, supply and return apart.", by)
    for unlike in unlike_couplings(facts, plan.combination, loop):
        if unlike.item:
            made.add(
                unlike.item, unlike.kind, unlike.count, f"Hose, {unlike.hose}, to {unlike.where}, {unlike.other}.", by
            )
    odd = [p for p in plan.combination if other_bore(p.machine.connection, hose.bore.si)]
    far_end = 2 * runs if other_bore(facts.order.load_side.connection, hose.bore.si) else 0
    made.any_of(
        stock.Reducer,
        "reducer",
        2 * sum(p.count for p in odd) + far_end,
        f"From the hose of {hose.bore.to('mm'):.4g} mm to connections of another bore.",
        by,
    )
    if loop.balancing_kv is not None:
        made.any_of(
            stock.StockValve, "valve", 1, f"Balancing valve, set to Kv {loop.balancing_kv:.3g} at the discharge.", by
        )
    if units > 1 or runs > 1:
        made.any_of(stock.StockValve, "valve", 2 * units, "To shut each machine off from the others.", by)
    made.any_of(stock.WhipCheck, "whip_check", joints, "One at every hose joint.", by)
    made.any_of(stock.Strainer, "strainer", units, "Before every evaporator.", "readiness.procedure")
    made.any_of(
        stock.Ramp,
        "ramp",
        facts.order.routes.crossings * RAMPS_A_CROSSING * 2 * runs,
        "Over the hose where traffic crosses.",
        by,
    )
    made.add("spare gasket", "other", ceil(joints / JOINTS_A_SPARE), "One for every five joints.", "site.transport")


def _power(made: _List, facts: Facts, plan: Plan, supply: SupplyPlan) -> None:
    by = "electrical.feeder"
    for cable in plan.cable.machines if plan.cable else ():
        if not isinstance(cable.asked, Asked):
            continue
        results, count = cable.asked.results, cable.picked.count
        each = pieces_of(results, cable.row)
        size = f"{results.sets} x {results.conductor_size}"
        item = cable.row.item if cable.row else f"cable {results.conductor_size}"
        kind = "cable_set" if isinstance(cable.row, stock.CableSet) else "cable"
        made.add(item, kind, each * count, f"{size} for {count} x {cable.picked.machine.type}, {each} each.", by)
        made.any_of(stock.Ramp, "ramp", results.pick_list.ramps * count, "Over the cable where traffic crosses.", by)
    if wanted := panel_wanted(plan):
        panel = panel_of(facts, wanted)
        item = panel.item if panel else f"panel of {wanted.current:g} A with {wanted.outlets} outlets"
        reason = f"A device of its own for each of {wanted.outlets} machines, {wanted.current:g} A together."
        made.add(item, "panel", 1, reason, "electrical.service")
    if facts.order.supply.source == "generator" and isinstance(supply.generator, Asked):
        chosen = supply.generator.given.generator
        rating = "" if chosen is UNSET else f" of {chosen.rated_active_power}"
        item = supply.generator_row.item if supply.generator_row else f"generating set{rating}"
        made.add(item, "generator", 1, f"Set{rating} for {facts.days} days.", "electrical.generator")
        fuel = supply.generator.results.fuel_total
        if fuel is not UNSET:
            made.bought(
                "fuel, litres", ceil(fuel.to("L")), "For the whole period at full load.", "electrical.generator"
            )
    if isinstance(supply.transformer, Asked):
        rating = str(supply.transformer.results.rated_apparent_power)
        row = supply.transformer_row
        made.add(
            row.item if row else f"transformer of {rating}", "transformer", 1,
            f"From {facts.order.supply.voltage} to {supply.voltage}.", "electrical.transformer",
        )  # fmt: skip


def _liquid(made: _List, facts: Facts, plan: Plan) -> None:
    if isinstance(plan.fill, Asked):
        filled = plan.fill.results
        together = Volume.of(sum(b.volume.to("L") for b in plan.buffers), "L")
        _vessel(made, "buffer_vessel", plan.buffers, f"Adds what the control lacks: {together} together.")
        if filled.vessel_volume is not UNSET and filled.vessel_volume.si > 0:
            rows = [r for r in made.rows(stock.ExpansionVessel) if isinstance(r, stock.ExpansionVessel)]
            vessels = choose_vessels(rows, filled.vessel_volume, "expansion vessel")
            _vessel(made, "expansion_vessel", vessels, f"Takes up the growth: {filled.vessel_volume}.")
        word = filled.proposed_backflow_preventer.replace("_", " ")
        if filled.proposed_backflow_preventer != "none":
            made.add(f"backflow preventer, {word}", "other", 1, "Between the tap and the loop.", "hydronic.fill")
    engines = 1 if facts.order.supply.source == "generator" else 0
    if plan.antifreeze is not None:
        concentrate = plan.antifreeze.results.concentrate_volume
        row, fluid = concentrate_of(facts, plan.liquid), plan.liquid.fluid
        each = row.volume.to("L") if row else DRUM
        item = row.item if row else f"{fluid.kind.replace('_', ' ')}, drum of {DRUM:g} L"
        made.add(
            item,
            "antifreeze",
            ceil(concentrate.to("L") / each - 1e-9),
            f"{concentrate} of concentrate, for {fluid.mass_fraction:.3f} by mass in the loop.",
            "hydronic.antifreeze",
        )
    spill = engines + (1 if plan.antifreeze is not None else 0)
    made.any_of(stock.SpillKit, "spill_kit", spill, "Fuel or antifreeze is on site.", "site.transport")


def _vessel(made: _List, word: str, vessels: tuple[Vessels, ...], reason: str) -> None:
    for vessel in vessels:
        made.add(vessel.item, word, vessel.count, reason, "hydronic.fill")
