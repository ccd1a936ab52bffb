"""Which vehicle each line of the pick list travels on."""

from collections.abc import Iterator

from msgspec.structs import replace

from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.pick_list import CarriedOn, PlanPickLine
from coldwright_booking.plan.sizes import mass_of
from coldwright_booking.plan.transport import SMALL_GEAR, Pieces, TransportPlan

Room = list[list[int]]
"""Loads with how many pieces each still has for a line."""


def loaded(lines: tuple[PlanPickLine, ...], transport: TransportPlan | None) -> tuple[PlanPickLine, ...]:
    """The lines with the loads that carry them, in the order of both. Fuel comes with its tanker and is on none."""
    if transport is None or not isinstance(transport.asked, Asked):
        return lines
    rooms: dict[str, Room] = {}
    pallets: list[int] = []
    for number, load in enumerate(transport.asked.results.loads, 1):
        for item in load.items:
            if item.item == SMALL_GEAR:
                pallets += [number] * item.quantity
            else:
                name, each = transport.packed.get(item.item, Pieces(item.item, 1))
                rooms.setdefault(name, []).append([number, each * item.quantity])
    # by the line itself: two of one item may say the same, such as the ramps over the cable of two types
    carried = {id(line): on for line, on in _on_pallets(transport, rooms, pallets)} if pallets else {}
    return tuple(replace(line, carried_on=carried.get(id(line)) or tuple(_taken(line, rooms))) for line in lines)


def _taken(line: PlanPickLine, rooms: dict[str, Room]) -> Iterator[CarriedOn]:
    """Pieces of a line on the loads that have room for them, whole and rest of its pallets together."""
    left, counts = line.count, dict[int, int]()
    for room in rooms.get(line.item, ()):
        count = min(left, room[1])
        if count:
            room[1] -= count
            left -= count
            counts[room[0]] = counts.get(room[0], 0) + count
    return (CarriedOn(load=load, count=count) for load, count in counts.items())


def _on_pallets(
    transport: TransportPlan, rooms: dict[str, Room], pallets: list[int]
) -> Iterator[tuple[PlanPickLine, tuple[CarriedOn, ...]]]:
    """Small gear fills one pallet after the other, in the order of the list and by mass."""
    small = [
        (load.line, mass_of(load.row).si * load.line.count) for load in transport.loads if load.line.item not in rooms
    ]
    each, so_far = sum(mass for _, mass in small) / len(pallets), 0.0
    for line, mass in small:
        yield line, (CarriedOn(load=pallets[min(int(so_far // each), len(pallets) - 1)], count=line.count),)
        so_far += mass
