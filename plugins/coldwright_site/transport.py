"""Loads of lorries: what goes on which, tie-downs, axle loads, permits, and the pick list."""

from collections import Counter
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    Load,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
)
from coldwright.contract.quantities import Length, Mass
from coldwright_site import cautions, tabulated
from coldwright_site import transport_packing as packing
from coldwright_site import transport_rules as rules
from coldwright_site.references import FMCSA_393, PRACTICE, STATICS
from coldwright_site.shapes import refuse_repeated_ids
from coldwright_site.transport_given import UNLOAD_ORDER, SpareRules, TransportGiven, Unload, VehicleType
from coldwright_site.transport_picking import pick

PermitHint = Literal["over_width", "over_height", "over_length", "over_mass"]
MOST_PIECES = 500


class LoadedItem(Results, frozen=True, kw_only=True):
    """Pieces of an item on one vehicle."""

    item: Annotated[str, about("Item.")]
    quantity: Annotated[int, about("Pieces.")]


class AxleLoads(Results, frozen=True, kw_only=True):
    """Masses that the load and the empty trailer put on the road and the tractor."""

    rear: Annotated[Mass, about("On the rear axles.")]
    kingpin: Annotated[Mass, about("On the kingpin; below 0 the tractor is lifted.")]


class TieDowns(Results, frozen=True, kw_only=True):
    """Tie-downs of one piece."""

    item: Annotated[str, about("Item.")]
    minimum_number: Annotated[int, about("Least number.")]
    aggregate_rated_load: Annotated[Mass, about("Sum of their rated loads, at least.")]


class VehicleLoad(Results, frozen=True, kw_only=True):
    """One loaded vehicle."""

    vehicle: Annotated[str, about("Kind of vehicle.")]
    items: Annotated[tuple[LoadedItem, ...], about("What is on it.")]
    length_used: Annotated[Length, about("Of the deck.")]
    mass: Annotated[Mass, about("Of what is on it.")]
    axle_loads: Annotated[AxleLoads, about("Of a trailer whose own data were given.")] | UnsetType = UNSET
    permit_hints: Annotated[tuple[PermitHint, ...], about("Usual limits that it exceeds.")]
    tie_downs: Annotated[tuple[TieDowns, ...], about("Of one piece of each item.")]


class AxleGroupLimit(Results, frozen=True, kw_only=True):
    """A group of axles held against its limit."""

    limit: Annotated[Mass, about("By the bridge formula and the fixed limits.")]
    tandem_exception_limit: Annotated[Mass, about("For two tandems 36 ft or more apart.")] | UnsetType = UNSET
    ok: Annotated[bool, about("Whether the group keeps the larger of the two.")]


class UnloadStep(Results, frozen=True, kw_only=True):
    """Pieces that come off together."""

    load: Annotated[int, about("Number of the load, from 1.")]
    item: Annotated[str, about("Item.")]
    quantity: Annotated[int, about("Pieces.")]
    unload: Annotated[Unload, about("How.")]


class PickedRow(Results, frozen=True, kw_only=True):
    """One row of the pick list."""

    item: Annotated[str, about("What.")]
    size: Annotated[str, about("Size.")]
    end_type: Annotated[str, about("Kind of coupling or plug.")]
    quantity: Annotated[float, about("How much.")]
    unit: Annotated[str, about("Of the quantity.")]
    piece_length: Annotated[Length, about("Length of one stocked piece.")] | UnsetType = UNSET
    purposes: Annotated[tuple[str, ...], about("What for.")]


class TransportResults(Results, frozen=True, kw_only=True):
    """Loads, limits, the order of unloading and the pick list."""

    loads: Annotated[tuple[VehicleLoad, ...], about("One entry a vehicle.")] = ()
    axle_group_limits: Annotated[tuple[AxleGroupLimit, ...], about("In the order of `axle_groups`.")] = ()
    number_of_loads: Annotated[int, about("Vehicles needed.")]
    unload_plan: Annotated[tuple[UnloadStep, ...], about("Load by load, by way of unloading.")] = ()
    pick_list: Annotated[tuple[PickedRow, ...], about("Summed, with spares.")] = ()


def _q(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


ONE_ORDER = Example(
    "one_order",
    "Two machines, a pump and hose racks on flat trailers. Invented.",
    {
        "items": [
            {
                "id": "machine",
                "length": _q(5.8, "m"),
                "width": _q(2.3, "m"),
                "height": _q(2.5, "m"),
                "mass": _q(5200, "kg"),
                "quantity": 2,
                "unload": "crane",
            },
            {
                "id": "pump",
                "length": _q(1.8, "m"),
                "width": _q(1.1, "m"),
                "height": _q(1.6, "m"),
                "mass": _q(900, "kg"),
                "unload": "fork_truck",
            },
            {
                "id": "hose rack",
                "length": _q(1.2, "m"),
                "width": _q(1.0, "m"),
                "height": _q(1.2, "m"),
                "mass": _q(420, "kg"),
                "quantity": 4,
                "stackable": True,
                "blocked_forward": True,
                "unload": "fork_truck",
            },
        ],
        "vehicles": [
            {
                "id": "flat trailer",
                "deck_length": _q(12.2, "m"),
                "deck_width": _q(2.5, "m"),
                "deck_height": _q(1.4, "m"),
                "payload": _q(20, "t"),
                "tare": _q(6400, "kg"),
                "tare_centre": _q(7, "m"),
                "kingpin_to_axles": _q(9.8, "m"),
            },
            {
                "id": "rigid lorry",
                "deck_length": _q(7.2, "m"),
                "deck_width": _q(2.5, "m"),
                "deck_height": _q(1.2, "m"),
                "payload": _q(9, "t"),
            },
        ],
        "site_unloading": ["crane", "fork_truck"],
    },
)
YARD = Example(
    "yard",
    "A pick list with spares, and two groups of axles. Invented.",
    {
        "axle_groups": [
            {"span": _q(1.3, "m"), "axles": 2, "mass": _q(14.5, "t")},
            {"span": _q(15.5, "m"), "axles": 5, "mass": _q(35, "t")},
        ],
        "pick_lines": [
            {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44, "unit": "m", "for": "supply"},
            {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44, "unit": "m", "for": "return"},
            {"item": "cable", "size": "120 mm2", "quantity": 5, "unit": "each", "for": "machine 1"},
        ],
        "spare_rules": {
            "stocked_lengths": [
                {"item": "hose", "length": _q(10, "m")},
                {"item": "hose", "length": _q(3, "m")},
            ],
            "joints": 11,
            "hoses": 9,
            "crossings": 1,
            "workers": 2,
        },
    },
)


@calculator(
    "site.transport",
    version="1.0.0",
    title="Loads of lorries, tie-downs, axle groups and the pick list",
    references=(FMCSA_393, STATICS, PRACTICE),
    tables=(tabulated.AXLE_LIMITS, tabulated.ROAD_SIZE_LIMITS),
    hazards=("lifting", "general"),
    findings=(
        finding("item_fits_no_vehicle", "stop", "an item is too long or too heavy for every vehicle"),
        finding("not_enough_vehicles", "stop", "there are too few vehicles for the pieces"),
        finding("number_not_proved_least", "note", "the number of loads was found without trying every way"),
        finding("wider_than_deck", "check", "an item is wider than the deck it stands on"),
        finding("permit", "note", "a load exceeds usual limits of size or mass"),
        finding("kingpin_lifted", "stop", "the load lifts the trailer's front"),
        finding("axle_group_over_limit", "stop", "a group of axles carries more than its limit"),
        finding("no_unloading_means", "stop", "the site cannot unload an item the way it must come off"),
    ),
    examples=(ONE_ORDER, YARD),
    load=Load.HEAVY,
)
def transport(given: TransportGiven, notes: Notes) -> TransportResults:
    """The least number of loads, what stands on each, its tie-downs and axle loads, and what the yard picks.

    Pieces stand along the deck, two side by side where their widths and 0.1 m fit, stackable ones two high. Up to ten
    pieces every way of loading is weighed; beyond that the longest go first to where they fit. Axle groups are held
    against the US federal bridge formula; a group never gets more than 20,000 lb for each of its axles. Tie-downs by
    49 CFR 393: number by length, sum of rated loads at least half the mass. State and local limits are not covered.
    """
    notes.caution(*cautions.TRANSPORT)
    notes.assume(
        "federal_limits_even_deck",
        "Limits are those of the US federal rules, without state and local ones; the deck is even and the load at "
        "rest.",
        basis="standard",
        references=("fhwa_bridge_formula", "us_road_size_limits"),
    )
    _refuse_contradictions(given)
    loads, total = _loads(given, notes)
    _judge_unloading(given, notes)
    spare_rules: SpareRules | None = None if given.spare_rules is UNSET else given.spare_rules
    return TransportResults(
        loads=tuple(load for load, _ in loads),
        axle_group_limits=_groups(given, notes),
        number_of_loads=total,
        unload_plan=tuple(step for _, steps in loads for step in steps),
        pick_list=tuple(
            PickedRow(
                item=p.item,
                size=p.size,
                end_type=p.end_type,
                quantity=p.quantity,
                unit=p.unit,
                piece_length=UNSET if p.piece is None else Length.from_si(p.piece, "m"),
                purposes=p.purposes,
            )
            for p in pick(given.pick_lines, spare_rules)
        ),
    )


def _refuse_contradictions(given: TransportGiven) -> None:
    errors = refuse_repeated_ids(given.items, "/items") + refuse_repeated_ids(given.vehicles, "/vehicles")
    items = {i.id: i for i in given.items}
    vehicles = {v.id: v for v in given.vehicles}
    placed = Counter(p.item for p in given.placements)
    for index, place in enumerate(given.placements):
        at = f"/placements/{index}"
        if place.item not in items:
            errors.append(field_error(f"{at}/item", "There is no such item.", value=place.item))
        elif placed[place.item] > items[place.item].quantity:
            errors.append(field_error(f"{at}/item", "More places than pieces of this item.", value=place.item))
        if place.vehicle not in vehicles:
            errors.append(field_error(f"{at}/vehicle", "There is no such vehicle.", value=place.vehicle))
        elif place.item in items:
            half, deck = items[place.item].length.si / 2, vehicles[place.vehicle].deck_length.si
            if not half - 1e-6 <= place.x.si <= deck - half + 1e-6:
                errors.append(
                    field_error(
                        f"{at}/x",
                        "The piece would stand over an end of the deck.",
                        value=place.x,
                        allowed=Allowed(minimum=half, maximum=deck - half, unit="m"),
                    )
                )
    pieces = sum(i.quantity for i in given.items)
    if pieces > MOST_PIECES:
        text = f"{pieces} pieces are more than {MOST_PIECES}."
        errors.append(field_error("/items", text, value=pieces, allowed=Allowed(maximum=MOST_PIECES)))
    for index, group in enumerate(given.axle_groups):
        if group.axles > 1 and group.span.si < 0.1:
            text = "A group of several axles has a span."
            errors.append(
                field_error(
                    f"/axle_groups/{index}/span", text, value=group.span, allowed=Allowed(minimum=0.1, unit="m")
                )
            )
    if errors:
        raise Refused(errors)


def _pieces(given: TransportGiven) -> list[packing.Piece]:
    kinds = {v.id: index for index, v in enumerate(given.vehicles)}
    pieces = []
    for number, item in enumerate(given.items):
        places = [p for p in given.placements if p.item == item.id]
        for index in range(item.quantity):
            place = places[index] if index < len(places) else None
            pieces.append(
                packing.Piece(
                    number,
                    item.length.si,
                    item.width.si,
                    item.height.si,
                    item.mass.si,
                    item.stackable and place is None,
                    None if place is None else kinds[place.vehicle],
                    None if place is None else place.x.si,
                )
            )
    return pieces


def _loads(given: TransportGiven, notes: Notes) -> tuple[list[tuple[VehicleLoad, tuple[UnloadStep, ...]]], int]:
    highest = Length.of(tabulated.ROAD_SIZE_LIMITS.rows["height_inch"], "in").si
    decks = [
        packing.Deck(
            v.deck_length.si,
            v.deck_width.si,
            highest - v.deck_height.si,
            v.payload.si,
            None if v.count is UNSET else v.count,
        )
        for v in given.vehicles
    ]
    pieces = []
    hopeless: set[int] = set()
    for piece in _pieces(given):
        if any(packing.fits(piece, index, deck) for index, deck in enumerate(decks)):
            pieces.append(piece)
        elif piece.item not in hopeless:
            hopeless.add(piece.item)
            item = given.items[piece.item]
            notes.stop(
                "item_fits_no_vehicle",
                f"{item.id}, {item.length.si:.2f} m long and {item.mass.si:.0f} kg, fits no vehicle given.",
                resolve=f"A deck of at least {item.length.si:.2f} m that carries {item.mass.si:.0f} kg.",
                field=f"/items/{piece.item}",
            )
    loads, left, proved = packing.pack(pieces, decks)
    if left:
        names = ", ".join(sorted({given.items[pieces[i].item].id for i in left}))
        notes.stop(
            "not_enough_vehicles",
            f"{len(left)} of {len(pieces)} pieces find no vehicle: {names}.",
            resolve="More vehicles, or larger ones.",
            field="/vehicles",
        )
    elif not proved:
        notes.note(
            "number_not_proved_least",
            f"{len(pieces)} pieces were loaded longest first; fewer than {len(loads)} loads may do.",
        )
    return [_describe(given, pieces, load, number, notes) for number, load in enumerate(loads, 1)], len(loads)


def _describe(
    given: TransportGiven, pieces: list[packing.Piece], load: packing.Load, number: int, notes: Notes
) -> tuple[VehicleLoad, tuple[UnloadStep, ...]]:
    vehicle = given.vehicles[load.deck]
    aboard = [i for row in load.rows for lane in row.lanes for i in lane]
    counts = Counter(pieces[i].item for i in aboard)
    items = sorted(counts)
    mass = sum(pieces[i].mass for i in aboard)
    hints = _hints(vehicle, pieces, load, mass)
    if hints:
        notes.note(
            "permit",
            f"Load {number} on {vehicle.id} exceeds usual limits: {', '.join(h.replace('_', ' ') for h in hints)}.",
            resolve="Ask for the permits, or a lower or other vehicle.",
            references=("us_road_size_limits", "fhwa_bridge_formula"),
        )
    for item in items:
        if given.items[item].width.si > vehicle.deck_width.si + 1e-9:
            notes.check(
                "wider_than_deck",
                f"{given.items[item].id} is wider than the deck of {vehicle.id}.",
                resolve="A wider deck, or outriggers of the trailer with planks.",
                field=f"/items/{item}/width",
            )
    tie_downs = []
    for item in items:
        cargo = given.items[item]
        least = rules.tie_downs(cargo)
        feet, blocked = cargo.length.to("ft"), "blocked" if cargo.blocked_forward else "not blocked"
        notes.show(f"n_{cargo.id}", "least number of tie-downs", f"{feet:.4g} ft long, {blocked} forward", least)
        half = Mass.of(cargo.mass.value / 2, cargo.mass.unit)
        tie_downs.append(TieDowns(item=cargo.id, minimum_number=least, aggregate_rated_load=half.as_unit("kg")))
    described = VehicleLoad(
        vehicle=vehicle.id,
        items=tuple(LoadedItem(item=given.items[i].id, quantity=counts[i]) for i in items),
        length_used=Length.from_si(sum(row.length for row in load.rows), "m"),
        mass=Mass.from_si(mass, "kg"),
        axle_loads=_axle_loads(given, vehicle, pieces, load, number, notes),
        permit_hints=hints,
        tie_downs=tuple(tie_downs),
    )
    by_way = sorted(items, key=lambda i: (UNLOAD_ORDER.index(given.items[i].unload), i))
    steps = (
        UnloadStep(load=number, item=given.items[i].id, quantity=counts[i], unload=given.items[i].unload)
        for i in by_way
    )
    return described, tuple(steps)


def _hints(
    vehicle: VehicleType, pieces: list[packing.Piece], load: packing.Load, mass: float
) -> tuple[PermitHint, ...]:
    limits = tabulated.ROAD_SIZE_LIMITS.rows
    width = max(
        sum(max(pieces[i].width for i in lane) for lane in row.lanes) + packing.BETWEEN * (len(row.lanes) - 1)
        for row in load.rows
    )
    height = max(sum(pieces[i].height for i in lane) for row in load.rows for lane in row.lanes)
    gross = mass + (0.0 if vehicle.tare is UNSET else vehicle.tare.si)
    exceeded: dict[PermitHint, bool] = {
        "over_width": width > Length.of(limits["width_inch"], "in").si + 1e-9,
        "over_height": height + vehicle.deck_height.si > Length.of(limits["height_inch"], "in").si + 1e-9,
        "over_length": sum(r.length for r in load.rows) > Length.of(limits["length_feet"], "ft").si + 1e-9,
        "over_mass": gross > tabulated.AXLE_LIMITS.rows["gross"] * rules.POUND + 1e-6,
    }
    return tuple(hint for hint, over in exceeded.items() if over)


def _axle_loads(
    given: TransportGiven,
    vehicle: VehicleType,
    pieces: list[packing.Piece],
    load: packing.Load,
    number: int,
    notes: Notes,
) -> AxleLoads | UnsetType:
    if vehicle.tare is UNSET or vehicle.tare_centre is UNSET or vehicle.kingpin_to_axles is UNSET:
        return UNSET
    rows = sorted(load.rows, key=lambda r: (min(_rank(given, pieces, lane) for lane in r.lanes), -r.length))
    moment, mass, front = vehicle.tare.si * vehicle.tare_centre.si, vehicle.tare.si, 0.0
    for row in rows:
        for lane in row.lanes:
            for index in lane:
                piece = pieces[index]
                centre = front + piece.length / 2 if piece.x is None else piece.x
                moment += piece.mass * centre
                mass += piece.mass
        front += row.length
    rear = moment / vehicle.kingpin_to_axles.si
    notes.show(
        f"R_rear_{number}",
        f"rear axles of load {number}, deck front at the kingpin",
        f"sum m x / {vehicle.kingpin_to_axles.si:.4g} m = {moment:.6g} kg.m / {vehicle.kingpin_to_axles.si:.4g} m",
        rear,
        "kg",
    )
    notes.show(f"R_kingpin_{number}", f"kingpin of load {number}", f"{mass:.6g} - {rear:.6g} kg", mass - rear, "kg")
    if mass - rear < 0:
        notes.stop(
            "kingpin_lifted",
            f"Load {number} on {vehicle.id} lifts the kingpin by {rear - mass:.0f} kg.",
            why="The tractor loses steering and drive.",
            resolve="Move the load forward: `placements`.",
            references=("site_statics",),
        )
    return AxleLoads(rear=Mass.from_si(rear, "kg"), kingpin=Mass.from_si(mass - rear, "kg"))


def _rank(given: TransportGiven, pieces: list[packing.Piece], lane: tuple[int, ...]) -> int:
    return min(UNLOAD_ORDER.index(given.items[pieces[i].item].unload) for i in lane)


def _groups(given: TransportGiven, notes: Notes) -> tuple[AxleGroupLimit, ...]:
    limits = []
    for index, group in enumerate(given.axle_groups):
        feet = group.span.to("ft")
        limit, text = rules.group_limit(feet, group.axles)
        exception = rules.tandem_exception(feet, group.axles)
        notes.show(f"W_{index + 1}", f"limit of group {index + 1}", text, limit, "lb")
        most = max(limit, exception or 0.0)
        ok = group.mass.to("lb") <= most * (1 + 1e-9)
        if not ok:
            notes.stop(
                "axle_group_over_limit",
                f"Group {index + 1} carries {group.mass.to('lb'):,.0f} lb; its limit is {most:,.0f} lb.",
                resolve="Move or split the load, or a vehicle with more axles farther apart.",
                field=f"/axle_groups/{index}/mass",
                references=("fhwa_bridge_formula",),
            )
        limits.append(
            AxleGroupLimit(
                limit=Mass.of(limit, "lb").as_unit("kg"),
                tandem_exception_limit=UNSET if exception is None else Mass.of(exception, "lb").as_unit("kg"),
                ok=ok,
            )
        )
    return tuple(limits)


def _judge_unloading(given: TransportGiven, notes: Notes) -> None:
    if given.site_unloading is UNSET:
        return
    means = ", ".join(m.replace("_", " ") for m in given.site_unloading) or "nothing"
    for index, item in enumerate(given.items):
        if item.unload not in given.site_unloading:
            notes.stop(
                "no_unloading_means",
                f"{item.id} comes off by {item.unload.replace('_', ' ')}; the site has {means}.",
                resolve="Bring the means, or another way off the vehicle that the item's maker allows.",
                field=f"/items/{index}/unload",
                references=("site_practice",),
            )
