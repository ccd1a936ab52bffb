"""Where the machines stand: in the site's free area, or on the least rectangle that they need."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Refused
from coldwright.contract.quantities import Length, Power, Voltage
from coldwright_booking.fleet.given import Generator, MachineType
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.given import SiteArea
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.machines import Combination, Machines, Picked
from coldwright_booking.plan.sizes import size_of
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_site.placement import placement
from coldwright_site.placement.given import Face, FreeArea, MakerClearances, PlacedMachine, PlacementGiven
from coldwright_site.placement.results import PlacementResults

USUAL_INTAKES: tuple[Face, ...] = ("left", "right")
USUAL_SERVICE: tuple[Face, ...] = ("front",)
"""Air at both long sides, the panel at one end (common practice)."""
SET_INTAKES: tuple[Face, ...] = ("front",)
SET_SERVICE: tuple[Face, ...] = ("left", "right")
"""Of a generating set: air at one end, doors at the long sides (common practice)."""
OPEN_RETURN, WALLED_RETURN = 0.05, 0.10
"""Share of hot air that is drawn again in the open, and between walls (common practice)."""

OF_THE_AREA = ("#/area", "#/obstacles", "#/load_point", "#/supply_point")

Layout = Asked[PlacementGiven, PlacementResults] | Unanswered


class LayoutNeeds(NamedTuple):
    """What the layout takes of the plan."""

    facts: Facts
    machines: Machines
    supply: SupplyPlan | Unanswered | None


def decide(needs: LayoutNeeds, desk: Desk) -> Layout:
    """Ask for places of machines and generating set, their distances, their air and the routes.

    Refuses an order whose area contradicts itself.
    """
    asked = desk.try_ask(placement, _placement(needs.facts, needs.machines.combination, needs.supply))
    if isinstance(asked, Unanswered):
        own = [e for e in asked.refused.errors if e.pointer.startswith(OF_THE_AREA)]
        if own:
            raise Refused([replace(e, pointer=_in_the_order(e.pointer)) for e in own])
    return asked


def _in_the_order(pointer: str) -> str:
    """Where a field of `site.placement` stands in the order."""
    return f"#/site/area{pointer.removeprefix('#').removeprefix('/area')}"


LAYOUT = Block("layout", LayoutNeeds, (placement,), decide)


def in_full(layout: Layout | None, desk: Desk) -> Layout | None:
    """The same with the metres that the area lacks, where it is too small: only the plan that is shown needs them."""
    if isinstance(layout, Asked) and any(f.code == "area_too_small" for f in layout.notes.findings):
        return desk.try_ask(placement, replace(layout.given, work_out_missing=True))
    return layout


def _placement(facts: Facts, combination: Combination, supply: SupplyPlan | Unanswered | None) -> PlacementGiven:
    row = supply.generator_row if isinstance(supply, SupplyPlan) else None
    machines = tuple(_placed(p, number) for p in combination for number in range(p.count))
    asked = PlacementGiven(
        machines=machines if row is None else (*machines, _set(row)),
        arrange=True,
        work_out_missing=False,
        clearances=_clearances(combination),
        ambient=facts.order.site.design_ambient_temperature,
    )
    area = facts.order.site.area
    return asked if area is UNSET else _in_area(facts, area, asked)


def _in_area(facts: Facts, area: SiteArea, asked: PlacementGiven) -> PlacementGiven:
    routes = facts.order.routes
    return replace(
        asked,
        area=FreeArea(polygon=area.polygon, length=area.length, width=area.width, edges=area.edges),
        obstacles=area.obstacles,
        load_point=area.load_point,
        supply_point=area.supply_point,
        hose_run=routes.hose_length,
        cable_run=routes.cable_length,
        recirculation_fraction=recirculation(area),
    )


def recirculation(area: SiteArea) -> float:
    """Share of hot air that is drawn again: as given, else the usual share of an open or a walled place."""
    if area.recirculation_fraction is not UNSET:
        return area.recirculation_fraction
    walled = area.edges == "walls" or any(o.kind in ("wall", "combustible_wall") for o in area.obstacles)
    return WALLED_RETURN if walled else OPEN_RETURN


def _placed(picked: Picked, number: int) -> PlacedMachine:
    machine = picked.machine
    body = machine.body
    return PlacedMachine(
        id=_numbered(machine, number),
        length=body.length,
        width=body.width,
        height=body.height,
        intake_faces=USUAL_INTAKES if body.intake_faces is UNSET else body.intake_faces,
        service_faces=USUAL_SERVICE if body.service_faces is UNSET else body.service_faces,
        air_flow=machine.condenser_airflow,
        heat_rejected=Power.from_si(picked.capacity.si + picked.power.si, "kW"),
        voltage_to_ground=Voltage.of(machine.electrical.voltage.si / 3**0.5, "V"),
        ambient_limit=machine.envelope.ambient_maximum,
    )


def _numbered(machine: MachineType, number: int) -> str:
    return f"{machine.type} {number + 1}"[:100]


def _set(row: Generator) -> PlacedMachine:
    size = size_of(row)
    return PlacedMachine(
        id=f"{row.item}, generating set"[:100],
        length=size.length,
        width=size.width,
        height=size.height,
        intake_faces=SET_INTAKES,
        service_faces=SET_SERVICE,
        engine=True,
    )


def _clearances(combination: Combination) -> MakerClearances | UnsetType:
    """The greatest of each distance that the makers of the chosen machines ask for."""
    stated = [p.machine.body.clearances for p in combination]
    asked: dict[str, Length] = {}
    for clearances in stated:
        if clearances is UNSET:
            continue
        for name in MakerClearances.__struct_fields__:
            value = getattr(clearances, name)
            if value is not UNSET and (name not in asked or value.si > asked[name].si):
                asked[name] = value
    return MakerClearances(**asked) if asked else UNSET
