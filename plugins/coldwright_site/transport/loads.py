"""The loads: what stands on each vehicle, its axle loads, tie-downs and permits."""

from collections import Counter

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length, Mass
from coldwright_basis.compare import above
from coldwright_site.transport import lashing, packing, road_rules
from coldwright_site.transport.given import UNLOAD_ORDER, CargoItem, TransportGiven, VehicleType
from coldwright_site.transport.results import AxleLoads, LoadedItem, PermitHint, TieDowns, UnloadStep, VehicleLoad
from coldwright_site.transport.road_limits import road_limits

MOST_PIECES = 500


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


def load_vehicles(given: TransportGiven, notes: Notes) -> tuple[list[tuple[VehicleLoad, tuple[UnloadStep, ...]]], int]:
    """Each load with its steps of unloading, and how many loads there are."""
    highest = road_limits(given.rules).height
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
                say(
                    "{id}, {length:.2f} long and {mass:.0f}, fits no vehicle given.",
                    id=item.id,
                    length=item.length.as_unit("m"),
                    mass=item.mass.as_unit("kg"),
                ),
                resolve=say(
                    "A deck of at least {length:.2f} that carries {mass:.0f}.",
                    length=item.length.as_unit("m"),
                    mass=item.mass.as_unit("kg"),
                ),
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
    hints = _hints(given, vehicle, pieces, load, mass)
    if hints:
        notes.note(
            "permit",
            f"Load {number} on {vehicle.id} exceeds usual limits: {', '.join(h.replace('_', ' ') for h in hints)}.",
            resolve="Ask for the permits, or a lower or other vehicle.",
            references=("us_road_size_limits", "fhwa_bridge_formula")
            if given.rules == "us"
            else ("directive_96_53_ec",),
        )
    for item in items:
        if above(given.items[item].width.si, vehicle.deck_width.si):
            notes.check(
                "wider_than_deck",
                f"{given.items[item].id} is wider than the deck of {vehicle.id}.",
                resolve="A wider deck, or outriggers of the trailer with planks.",
                field=f"/items/{item}/width",
            )
    tie_downs = [
        _over_top(given, item, notes) if given.rules == "europe" else _tied_down(given.items[item], notes)
        for item in items
    ]
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


def _tied_down(cargo: CargoItem, notes: Notes) -> TieDowns:
    least = road_rules.tie_downs(cargo)
    feet, blocked = cargo.length.to("ft"), "blocked" if cargo.blocked_forward else "not blocked"
    notes.show(f"n_{cargo.id}", "Least number of tie-downs", f"{feet:.4g} ft long, {blocked} forward", least)
    half = Mass.of(cargo.mass.value / 2, cargo.mass.unit)
    return TieDowns(item=cargo.id, minimum_number=least, aggregate_rated_load=half.as_unit("kg"))


def _over_top(given: TransportGiven, item: int, notes: Notes) -> TieDowns:
    cargo = given.items[item]
    made = lashing.over_top(cargo, given.lashing)
    notes.show(f"n_{cargo.id}", f"Straps over the top, {made.direction}", made.sum, made.number)
    if ways := lashing.tilts(cargo):
        notes.note(
            "may_tilt",
            f"{cargo.id} is tall for its base: it would tilt {' and '.join(ways)} before it slides.",
            resolve="Lash it high, or stand it against the front wall, and have that worked out by EN 12195-1.",
            field=f"/items/{item}/height",
            references=("en_12195_1",),
        )
    return TieDowns(
        item=cargo.id,
        minimum_number=made.number,
        aggregate_rated_load=Mass(0.0, "kg"),
        tension=given.lashing.tension,
        against=made.direction,
    )


def _hints(
    given: TransportGiven, vehicle: VehicleType, pieces: list[packing.Piece], load: packing.Load, mass: float
) -> tuple[PermitHint, ...]:
    limits = road_limits(given.rules)
    width = max(
        sum(max(pieces[i].width for i in lane) for lane in row.lanes) + packing.BETWEEN * (len(row.lanes) - 1)
        for row in load.rows
    )
    height = max(sum(pieces[i].height for i in lane) for row in load.rows for lane in row.lanes)
    gross = mass + (0.0 if vehicle.tare is UNSET else vehicle.tare.si)
    exceeded: dict[PermitHint, bool] = {
        "over_width": above(width, limits.width),
        "over_height": above(height + vehicle.deck_height.si, limits.height),
        "over_length": above(sum(r.length for r in load.rows), limits.length),
        "over_mass": above(gross, limits.gross),
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
        f"Rear axles of load {number}, deck front at the kingpin",
        f"sum m x / {vehicle.kingpin_to_axles.si:.4g} m = {moment:.6g} kg.m / {vehicle.kingpin_to_axles.si:.4g} m",
        rear,
        "kg",
    )
    notes.show(f"R_kingpin_{number}", f"Kingpin of load {number}", f"{mass:.6g} - {rear:.6g} kg", mass - rear, "kg")
    if mass - rear < 0:
        notes.stop(
            "kingpin_lifted",
            say(
                "Load {number} on {id} lifts the kingpin by {excess:.0f}.",
                number=number,
                id=vehicle.id,
                excess=Mass.of(rear - mass, "kg"),
            ),
            why="The tractor loses steering and drive.",
            resolve="Move the load forward: `placements`.",
            references=("site_statics",),
        )
    return AxleLoads(rear=Mass.from_si(rear, "kg"), kingpin=Mass.from_si(mass - rear, "kg"))


def _rank(given: TransportGiven, pieces: list[packing.Piece], lane: tuple[int, ...]) -> int:
    return min(UNLOAD_ORDER.index(given.items[pieces[i].item].unload) for i in lane)
