"""Items, vehicles and places that contradict one another."""

from collections import Counter

from coldwright.contract import Allowed, Refused, field_error
from coldwright_basis.compare import below
from coldwright_site.shared.fields import repeated_ids
from coldwright_site.transport.given import TransportGiven
from coldwright_site.transport.loads import MOST_PIECES


def refuse_contradictions(given: TransportGiven) -> None:
    """Refuse unknown names, places off the deck, too many pieces and axle groups without a span."""
    errors = repeated_ids(given.items, "/items") + repeated_ids(given.vehicles, "/vehicles")
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
        if group.axles > 1 and below(group.span.si, 0.1):
            text = "A group of several axles has a span."
            errors.append(
                field_error(
                    f"/axle_groups/{index}/span", text, value=group.span, allowed=Allowed(minimum=0.1, unit="m")
                )
            )
    if errors:
        raise Refused(errors)
