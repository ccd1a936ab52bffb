"""What to load on the lorry, each line compared with the stock."""

from math import ceil
from typing import Annotated, NamedTuple

from msgspec import UNSET

from coldwright.contract import Results, about
from coldwright.contract.quantities import Mass, Volume
from coldwright_basis.compare import whole_at_least
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Charge, Fill
from coldwright_booking.plan.joints import Joints
from coldwright_booking.plan.lifting import Lifting
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Machines
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.plan.vessels import Vessels
from coldwright_booking.words import both

RAMPS_A_CROSSING = 5
"""Pieces of ramp of 0.9 m across a way of 4 m, as `electrical.feeder` counts them for cable."""
JOINTS_A_SPARE = 5
"""Joints for each spare gasket, as `site.transport` counts them."""
DRUM = 200.0
"""L of antifreeze in a drum where the stock names none (common practice)."""


class PlanPickLine(Results, frozen=True, kw_only=True):
    """One line of the pick list."""

    item: Annotated[str, about("What, by its name in the stock where it has one.")]
    kind: Annotated[str, about("`machine`, or the kind of accessory.")]
    count: Annotated[int, about("How many.")]
    reason: Annotated[str, about("Why.")]
    calculator: Annotated[str, about("Which calculator asks for it.")]
    stock_short: Annotated[bool, about("Whether the stock has too few.")]
    from_stock: Annotated[bool, about("Whether the fleet document names this item.")]
    short_by: Annotated[int, about("How many are missing.")] = 0


class Picking(NamedTuple):
    """The pick list, and what it comes to."""

    lines: tuple[PlanPickLine, ...]
    missing: tuple[str, ...]
    """Items that the fleet document names and of which the stock has too few."""
    mass: Mass
    """Of machines, and of the items that give theirs."""


class PickingNeeds(NamedTuple):
    """What the pick list takes of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    machines: Machines
    loop: LoopPlan | Unanswered | None
    supply: SupplyPlan | Unanswered | None
    cable: CablePlan | None
    joints: Joints | None
    fill: Fill
    antifreeze: Charge | None
    lifting: Lifting | None


class _List:
    """Lines, with the stock that is left after each."""

    def __init__(self, facts: Facts) -> None:
        self.lines: list[PlanPickLine] = []
        self._rows = facts.fleet.accessories
        self._left = {row.item: row.count for row in self._rows}

    def rows(self, kind: type[stock.Accessory]) -> list[stock.AnyAccessory]:
        """Rows of a kind, the fullest first."""
        return sorted((r for r in self._rows if isinstance(r, kind)), key=lambda r: -r.count)

    def named(self, words: str) -> str:
        """Item of the stock whose own name says these words; empty where there is none."""
        return next((r.item for r in self._rows if words in r.item.casefold() and r.count > 0), "")

    def bought(self, item: str, count: int, reason: str, calculator: str) -> None:
        """A line of what is bought, or hired elsewhere, and not held in stock."""
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


def decide(needs: PickingNeeds, _: Desk) -> Picking:
    """All lines."""
    made = _List(needs.facts)
    machines = [
        PlanPickLine(
            item=p.machine.type,
            kind="machine",
            count=p.count,
            reason=f"They carry {needs.load.design}.",
            calculator="refrigeration.selection",
            stock_short=False,
            from_stock=True,
        )
        for p in needs.machines.combination
    ]
    if isinstance(needs.loop, LoopPlan) and needs.joints is not None:
        _hose(made, needs, needs.loop, needs.joints)
    if isinstance(needs.supply, SupplyPlan):
        _power(made, needs, needs.supply)
    _liquid(made, needs)
    _mats(made, needs)
    lines = (*machines, *made.lines)
    return Picking(lines, tuple(_missing(lines)), _mass(needs, lines))


PICKING = Block("picking", PickingNeeds, (), decide)


def _missing(lines: tuple[PlanPickLine, ...]) -> list[str]:
    return [f"{line.item} ({line.short_by} of {line.count})" for line in lines if line.stock_short and line.from_stock]


def _mass(needs: PickingNeeds, lines: tuple[PlanPickLine, ...]) -> Mass:
    each = {a.item: a.mass.si for a in needs.facts.fleet.accessories if a.mass is not UNSET}
    machines = sum(p.machine.body.mass_operating.si * p.count for p in needs.machines.combination)
    return Mass.of(
        machines + sum(each.get(line.item, 0.0) * line.count for line in lines if line.kind != "machine"), "kg"
    )


def _hose(made: _List, needs: PickingNeeds, loop: LoopPlan, joints: Joints) -> None:
    facts, hose, runs = needs.facts, loop.hose, loop.runs
    units = needs.machines.combination.units
    sections = hose.pieces_for(facts.order.routes.hose_length, runs)
    ends_joined = sections + 2 * runs + 2 * units
    by = "hydronic.loop"
    made.add(
        hose.item,
        "hose",
        sections,
        f"Supply and return of {both(facts.order.routes.hose_length)}, {runs} in parallel, in sections of {both(hose.section)}.",
        by,
    )
    ends = 2 * units + 2 * runs + (2 * runs if joints.near else 0)
    made.any_of(
        stock.Coupling,
        "coupling",
        ends,
        f"Ends at the machines and at the load side{', and of each run at the headers' if joints.near else ''}.",
        by,
    )
    if joints.header_item:
        joined = f"Join {units} machines and {runs} runs, supply and return apart."
        made.add(joints.header_item, "other", joints.near + joints.far, joined, by)
    for unlike in joints.unlike:
        if unlike.item:
            made.add(
                unlike.item, unlike.kind, unlike.count, f"Hose, {unlike.hose}, to {unlike.where}, {unlike.other}.", by
            )
    made.any_of(
        stock.Reducer,
        "reducer",
        joints.reducers,
        f"From the hose of {hose.bore.to('mm'):.4g} mm to connections of another bore.",
        by,
    )
    if loop.balancing_kv is not None:
        made.any_of(
            stock.StockValve, "valve", 1, f"Balancing valve, set to Kv {loop.balancing_kv:.3g} at the discharge.", by
        )
    if units > 1 or runs > 1:
        made.any_of(stock.StockValve, "valve", 2 * units, "To shut each machine off from the others.", by)
    made.any_of(stock.WhipCheck, "whip_check", ends_joined, "One at every hose joint.", by)
    made.any_of(stock.Strainer, "strainer", units, "Before every evaporator.", "readiness.procedure")
    made.any_of(
        stock.Ramp,
        "ramp",
        facts.order.routes.crossings * RAMPS_A_CROSSING * 2 * runs,
        "Over the hose where traffic crosses.",
        by,
    )
    made.add(
        "spare gasket", "other", ceil(ends_joined / JOINTS_A_SPARE), "One for every five joints.", "site.transport"
    )


def _power(made: _List, needs: PickingNeeds, supply: SupplyPlan) -> None:
    facts, by = needs.facts, "electrical.feeder"
    for cable in needs.cable.machines if needs.cable else ():
        if not isinstance(cable.asked, Asked):
            continue
        results, count = cable.asked.results, cable.picked.count
        each = cable.pieces
        size = f"{results.sets} x {results.conductor_size}"
        item = cable.row.item if cable.row else f"cable {results.conductor_size}"
        kind = "cable_set" if isinstance(cable.row, stock.CableSet) else "cable"
        made.add(item, kind, each * count, f"{size} for {count} x {cable.picked.machine.type}, {each} each.", by)
        made.any_of(stock.Ramp, "ramp", results.pick_list.ramps * count, "Over the cable where traffic crosses.", by)
    if wanted := supply.panel:
        panel = supply.panel_row
        item = panel.item if panel else f"panel of {wanted.current:g} A with {wanted.outlets} outlets"
        reason = f"A device of its own for each of {wanted.outlets} machines, {wanted.current:g} A together."
        made.add(item, "panel", 1, reason, "electrical.service")
    if facts.order.supply.source == "generator" and isinstance(supply.generator, Asked):
        chosen = supply.generator.given.generator
        rating = "" if chosen is UNSET else f" of {chosen.rated_active_power}"
        item = supply.generator_row.item if supply.generator_row else f"generating set{rating}"
        made.add(item, "generator", 1, f"Set{rating} for {facts.days} days.", "electrical.generator")
        if supply.set is not None and (bank := supply.set.load_bank) is not None:
            reason, by_set = f"Adds {bank} while the load is low.", "electrical.generator"
            if item := made.named("load bank"):
                made.add(item, "other", 1, reason, by_set)
            else:
                made.bought(f"load bank of {bank}", 1, reason, by_set)
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


def _liquid(made: _List, needs: PickingNeeds) -> None:
    fill = needs.fill
    if isinstance(fill.asked, Asked):
        filled = fill.asked.results
        together = Volume.of(sum(b.volume.to("L") for b in fill.buffers), "L")
        _vessel(made, "buffer_vessel", fill.buffers, f"Adds what the control lacks: {together} together.")
        _vessel(made, "expansion_vessel", fill.expansion, f"Takes up the growth: {filled.vessel_volume}.")
        word = filled.proposed_backflow_preventer.replace("_", " ")
        if filled.proposed_backflow_preventer != "none":
            made.add(f"backflow preventer, {word}", "other", 1, "Between the tap and the loop.", "hydronic.fill")
    engines = 1 if needs.facts.order.supply.source == "generator" else 0
    charge = needs.antifreeze
    if charge is not None:
        concentrate = charge.asked.results.concentrate_volume
        row, fluid = charge.row, needs.liquid.fluid
        each = row.volume.to("L") if row else DRUM
        item = row.item if row else f"{fluid.kind.replace('_', ' ')}, drum of {DRUM:g} L"
        made.add(
            item,
            "antifreeze",
            whole_at_least(concentrate.to("L") / each),
            f"{concentrate} of concentrate, for {fluid.mass_fraction:.3f} by mass in the loop.",
            "hydronic.antifreeze",
        )
    spill = engines + (1 if charge is not None else 0)
    made.any_of(stock.SpillKit, "spill_kit", spill, "Fuel or antifreeze is on site.", "site.transport")


def _mats(made: _List, needs: PickingNeeds) -> None:
    outriggers = needs.lifting.outriggers if needs.lifting else None
    if outriggers is None or not isinstance(outriggers.asked, Asked):
        return
    results = outriggers.asked.results
    item = outriggers.row.item if outriggers.row else f"mat, {results.required_square_side} square or more"
    reason = (
        f"Below the crane's outriggers: {results.quick_reaction} on one, which takes {results.required_area} of ground."
    )
    made.add(item, "mat", outriggers.mats, reason, "site.ground")


def _vessel(made: _List, word: str, vessels: tuple[Vessels, ...], reason: str) -> None:
    for vessel in vessels:
        made.add(vessel.item, word, vessel.count, reason, "hydronic.fill")
