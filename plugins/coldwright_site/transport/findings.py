"""What a person should know of the transport."""

from msgspec import UNSET

from coldwright.contract import Notes, finding
from coldwright_site.transport.given import TransportGiven

FINDINGS = (
    finding("item_fits_no_vehicle", "stop", "An item is too long or too heavy for every vehicle."),
    finding("not_enough_vehicles", "stop", "There are too few vehicles for the pieces."),
    finding("number_not_proved_least", "note", "The number of loads was found without trying every way."),
    finding("may_tilt", "note", "A tall piece would tilt before it slides."),
    finding("wider_than_deck", "check", "An item is wider than the deck it stands on."),
    finding("permit", "note", "A load exceeds usual limits of size or mass."),
    finding("kingpin_lifted", "stop", "The load lifts the trailer's front."),
    finding("axle_group_over_limit", "stop", "A group of axles carries more than its limit."),
    finding("no_unloading_means", "stop", "The site cannot unload an item the way it must come off."),
)
"""What `site.transport` may have to say."""


def judge_unloading(given: TransportGiven, notes: Notes) -> None:
    """Whether the site can unload each item the way it must come off."""
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
