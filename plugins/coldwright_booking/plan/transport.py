"""Lorries for everything on the pick list, and what takes each piece off.

Sizes of pallets and vehicles, and how many pieces go on a pallet, are common practice, no source.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import floor
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Length, Mass, Volume
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.cable import CablePlan
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.fill import Charge, Fill
from coldwright_booking.plan.laying import USUAL_SECTION
from coldwright_booking.plan.lifting import Lifting
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.pick_list import PlanPickLine
from coldwright_booking.plan.picking import Picking, mat_side
from coldwright_booking.plan.picking_filling import DRUM, PREMIX_TANK, TOTE
from coldwright_booking.plan.sizes import Size, mass_of, size_of, stands_alone, travelling_mass
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_site.transport import transport
from coldwright_site.transport.given import CargoItem, TransportGiven, Unload, VehicleType
from coldwright_site.transport.results import TransportResults

FLAT_TRAILER = VehicleType(
    id="flat trailer",
    deck_length=Length(14.6, "m"),
    deck_width=Length(2.55, "m"),
    deck_height=Length(1.5, "m"),
    payload=Mass(20, "t"),
)
"""A usual long flat trailer."""
FLATBED = VehicleType(
    id="flatbed",
    deck_length=Length(6.5, "m"),
    deck_width=Length(2.45, "m"),
    deck_height=Length(1.1, "m"),
    payload=Mass(7, "t"),
)
"""A usual two-axle flatbed."""
SEMI_TRAILER = VehicleType(
    id="flat semi-trailer",
    deck_length=Length(13.6, "m"),
    deck_width=Length(2.48, "m"),
    deck_height=Length(1.2, "m"),
    payload=Mass(24, "t"),
)
"""A usual one of Europe."""
RIGID = VehicleType(
    id="rigid flatbed",
    deck_length=Length(7.2, "m"),
    deck_width=Length(2.48, "m"),
    deck_height=Length(1.1, "m"),
    payload=Mass(9, "t"),
)
"""A usual one of Europe, with two axles."""
VEHICLES = {"us": (FLAT_TRAILER, FLATBED), "europe": (SEMI_TRAILER, RIGID)}
PALLET = (Length(1.2, "m"), Length(1.0, "m"), Length(1.2, "m"))
"""With its load."""
MOST_ON_PALLET = Mass(1000, "kg")
WIDE_HOSE = Length(110, "mm")
HOSES, WIDE_HOSES, CABLES, DRUMS = 12, 6, 24, 4
"""Pieces on a pallet: hoses, hoses of more than `WIDE_HOSE`, cables, drums."""
STACK_HEIGHT, STACK_MASS = 1.6, 2000.0
"""m and kg of mats on one another that a fork truck or crane takes off in one go (common practice)."""
EMPTY_TOTE, TOTE_SIZE = Mass(60, "kg"), stock.PieceSize(length=PALLET[0], width=PALLET[1], height=PALLET[2])
"""Of an empty container of 1000 L, which stands on a pallet of its own; a premix tank is one too."""
SMALL_GEAR = "small gear"
FUEL = "fuel, litres"
"""Comes with the tanker that fills the set."""


class Load(NamedTuple):
    """A line of the pick list as it is carried."""

    line: PlanPickLine
    row: stock.AnyAccessory
    """Of the stock, or what stands for it where the fleet does not list it."""
    place: int | None
    """In the fleet document."""


class Pieces(NamedTuple):
    """So many of an item on a pallet, or one by itself."""

    item: str
    each: int


@dataclass(frozen=True)
class TransportPlan:
    """What the vehicles carry."""

    asked: Asked[TransportGiven, TransportResults] | Unanswered
    loads: tuple[Load, ...]
    """Beside the machines."""
    packed: Mapping[str, Pieces]
    """What is in a piece of cargo, by its id; the machines and the pallets of small gear are none of them."""


class TransportNeeds(NamedTuple):
    """What transport needs of the plan."""

    facts: Facts
    machines: Machines
    loop: LoopPlan | Unanswered | None
    supply: SupplyPlan | Unanswered | None
    cable: CablePlan | None
    fill: Fill
    antifreeze: Charge | None
    lifting: Lifting | None
    picking: Picking


def decide(needs: TransportNeeds, desk: Desk) -> TransportPlan:
    """Ask for machines, single pieces and pallets together."""
    facts = needs.facts
    loads = tuple(_loads(needs))
    pieces = tuple(_pieces(facts, loads))
    items = (*_machines(facts, needs.machines.combination), *(cargo for cargo, _ in pieces))
    asked = desk.try_ask(
        transport,
        TransportGiven(
            items=items,
            vehicles=VEHICLES[facts.rules],
            rules=facts.rules,
            site_unloading=_means(facts),
        ),
    )
    return TransportPlan(asked, loads, {cargo.id: inside for cargo, inside in pieces if inside is not None})


TRANSPORT = Block("transport", TransportNeeds, (transport,), decide)


def _loads(needs: TransportNeeds) -> Iterator[Load]:
    rows = {row.item: (place, row) for place, row in enumerate(needs.facts.fleet.accessories)}
    for line in needs.picking.lines:
        if line.kind == "machine" or line.item == FUEL:
            continue
        place, row = rows.get(line.item, (None, None))
        yield Load(line, _stand_in(line, needs) if row is None else row, place)


def _stand_in(line: PlanPickLine, needs: TransportNeeds) -> stock.AnyAccessory:
    """What is hired or bought elsewhere, by what is known of it."""
    supply = needs.supply
    if line.kind == "generator" and isinstance(supply, SupplyPlan) and isinstance(supply.generator, Asked):
        chosen = supply.generator.given.generator
        if chosen is not UNSET:
            return stock.Generator(
                item=line.item,
                count=0,
                rated_active_power=chosen.rated_active_power,
                rated_apparent_power=chosen.rated_apparent_power,
            )
    if line.kind == "transformer" and isinstance(supply, SupplyPlan) and isinstance(supply.transformer, Asked):
        asked = supply.transformer
        return stock.StockTransformer(
            item=line.item,
            count=0,
            rated_apparent_power=asked.results.rated_apparent_power,
            primary_voltage=asked.given.primary_voltage,
            secondary_voltage=asked.given.secondary_voltage,
        )
    if line.kind == "hose" and isinstance(needs.loop, LoopPlan):
        laid = (needs.loop.hose, *(h.hose for h in needs.loop.pipework.hoses))
        hose = next(kind for kind in laid if kind.item == line.item)
        return stock.Hose(item=line.item, count=0, inner_diameter=hose.bore, section_length=hose.section)
    if line.kind == "cable" and needs.cable is not None:
        size = dict(needs.cable.items)[line.item]
        return stock.Cable(item=line.item, count=0, conductor_size=size, section_length=Length(USUAL_SECTION, "m"))
    if line.kind == "buffer_vessel":
        for vessel in needs.fill.buffers:
            if vessel.item == line.item:
                return stock.BufferVessel(item=line.item, count=0, volume=vessel.each)
    if line.kind == "panel":
        return stock.Panel(item=line.item, count=0)
    if line.kind == "load_bank" and isinstance(supply, SupplyPlan) and supply.set is not None:
        bank = supply.set.load_bank
        if bank is not None:
            return stock.LoadBank(item=line.item, count=0, rated_active_power=bank)
    return _gear(line, needs)


def _gear(line: PlanPickLine, needs: TransportNeeds) -> stock.AnyAccessory:
    """Of what fills the loop and lies below a crane."""
    if line.kind == "antifreeze" and needs.antifreeze is not None:
        glycol = needs.antifreeze.asked.given.kind
        return stock.Antifreeze(item=line.item, count=0, fluid=glycol, volume=Volume(DRUM, "L"))
    if line.item in (TOTE, PREMIX_TANK):
        return stock.OtherItem(item=line.item, count=0, mass=EMPTY_TOTE, size=TOTE_SIZE)
    outriggers = None if needs.lifting is None else needs.lifting.outriggers
    if line.kind == "mat" and outriggers is not None and isinstance(outriggers.asked, Asked):
        side = mat_side(outriggers.asked.results)
        return stock.Mat(item=line.item, count=0, length=side, width=side)
    return stock.OtherItem(item=line.item, count=0)


def _machines(facts: Facts, combination: Combination) -> Iterator[CargoItem]:
    for p in combination:
        body = p.machine.body
        yield CargoItem(
            id=p.machine.type,
            length=body.length,
            width=body.width,
            height=body.height,
            mass=travelling_mass(body),
            quantity=p.count,
            unload=facts.lift,
        )


def _pieces(facts: Facts, loads: Iterable[Load]) -> Iterator[tuple[CargoItem, Pieces | None]]:
    """Single pieces, pallets of one kind, then pallets of all the small gear together; each with what is in it."""
    counts: dict[str, int] = {}
    rows: dict[str, stock.AnyAccessory] = {}
    for load in loads:
        counts[load.line.item] = counts.get(load.line.item, 0) + load.line.count
        rows[load.line.item] = load.row
    off, small = _unload(facts), 0.0
    for item, count in counts.items():
        row, each = rows[item], mass_of(rows[item])
        if isinstance(row, stock.Mat):
            yield from _stacks(item, count, each.si, size_of(row), off)
        elif stands_alone(row):
            length, width, height = size_of(row)
            alone = CargoItem(id=item, length=length, width=width, height=height, mass=each, quantity=count, unload=off)
            yield alone, Pieces(item, 1)
        elif (most := _on_pallet(row)) is not None:
            yield from _pallets(item, count, each.si, min(most, max(1, floor(MOST_ON_PALLET.si / each.si))), off)
        else:
            small += each.si * count
    if small > 0:
        pallets = -int(-small // MOST_ON_PALLET.si)
        yield _pallet(SMALL_GEAR, small / pallets, pallets, off), None


def _stacks(item: str, count: int, each: float, size: Size, off: Unload) -> Iterator[tuple[CargoItem, Pieces]]:
    """Mats lie on one another: as many stacks alike as carry them all, and one with the rest."""
    high = max(1, min(floor(STACK_HEIGHT / size.height.si), floor(STACK_MASS / each)))
    full, rest = divmod(count, high)
    for pieces, quantity in ((high, full), (rest, 1)):
        if pieces and quantity:
            stack = CargoItem(
                id=(item if pieces == 1 else f"{item}, stack of {pieces}")[:100],
                length=size.length,
                width=size.width,
                height=Length.of(pieces * size.height.si, "m"),
                mass=Mass.of(pieces * each, "kg"),
                quantity=quantity,
                unload=off,
            )
            yield stack, Pieces(item, pieces)


def _on_pallet(row: stock.AnyAccessory) -> int | None:
    """Pieces of one kind on a pallet; None where it goes with the small gear."""
    if isinstance(row, stock.Hose):
        return WIDE_HOSES if row.inner_diameter.si > WIDE_HOSE.si else HOSES
    if isinstance(row, stock.Cable | stock.CableSet):
        return CABLES
    return DRUMS if isinstance(row, stock.Antifreeze) else None


def _pallets(item: str, count: int, each: float, most: int, off: Unload) -> Iterator[tuple[CargoItem, Pieces]]:
    full, rest = divmod(count, most)
    if full:
        yield _pallet(f"{item}, pallet of {most}", each * most, full, off), Pieces(item, most)
    if rest:
        yield _pallet(f"{item}, pallet of {rest}", each * rest, 1, off), Pieces(item, rest)


def _pallet(name: str, kilograms: float, quantity: int, off: Unload) -> CargoItem:
    length, width, height = PALLET
    return CargoItem(
        id=name[:100],
        length=length,
        width=width,
        height=height,
        mass=Mass.of(kilograms, "kg"),
        quantity=quantity,
        unload=off,
    )


def _means(facts: Facts) -> tuple[Unload, ...] | UnsetType:
    """What the site has for pallets and pieces, and what lifts the machines; absent where the order does not say."""
    stated = facts.order.access.unloading
    if not stated:
        return UNSET
    return stated if facts.lift in stated else (*stated, facts.lift)


def _unload(facts: Facts) -> Unload:
    """What takes pallets and pieces off: of what the site has a fork truck, then a crane; else as the machines."""
    stated = facts.order.access.unloading
    for means in ("fork_truck", "crane"):
        if means in stated:
            return means
    return "fork_truck" if stated or facts.lift == "roll_off" else facts.lift
