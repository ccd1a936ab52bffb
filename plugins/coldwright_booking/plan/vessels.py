"""Vessels out of the stock: as little as there may be above the volume that is needed."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil

from coldwright.contract.quantities import Volume
from coldwright_basis.compare import at_least, whole_at_least
from coldwright_booking.fleet.given import BufferVessel, ExpansionVessel
from coldwright_booking.words import both

STEPS = 2000
"""Parts of the needed volume by which sums of vessels are distinguished; of sums within one part the fewest vessels stay."""
VesselRow = BufferVessel | ExpansionVessel


@dataclass(frozen=True)
class Vessels:
    """Vessels of one kind that are taken."""

    item: str
    each: Volume
    count: int

    @property
    def volume(self) -> Volume:
        """Of all of them."""
        return Volume.of(self.each.to("L") * self.count, "L")


def choose_vessels(rows: Iterable[VesselRow], needed: Volume, word: str) -> tuple[Vessels, ...]:
    """The fewest litres that are enough, then the fewest vessels.

    Where all of the stock is not enough, as many of its largest as it takes: the pick list is then short of them. Where
    the stock has none, one vessel of the next whole litre.
    """
    ordered = sorted(rows, key=lambda row: (-row.volume.si, row.item))
    if not ordered:
        size = Volume(float(whole_at_least(needed.to("L"))), "L")
        return (Vessels(f"{word} of {both(size)}", size, 1),)
    counts = _fewest_litres(ordered, needed.si)
    if counts is None:
        counts = {0: whole_at_least(needed.si / ordered[0].volume.si)}
    return tuple(Vessels(ordered[i].item, ordered[i].volume, n) for i, n in sorted(counts.items()))


def _fewest_litres(rows: list[VesselRow], needed: float) -> dict[int, int] | None:
    """How many of each row; None where all together are not enough. Sums that are enough are not added to."""
    reached: dict[int, tuple[float, int, dict[int, int]]] = {0: (0.0, 0, {})}
    best: tuple[float, int, dict[int, int]] | None = None
    for index, row in enumerate(rows):
        for count in _portions(row.count, needed, row.volume.si):
            for total, pieces, counts in list(reached.values()):
                more = (
                    total + count * row.volume.si,
                    pieces + count,
                    counts | {index: counts.get(index, 0) + count},
                )
                if at_least(more[0], needed):
                    if best is None or (round(more[0], 9), more[1]) < (round(best[0], 9), best[1]):
                        best = more
                    continue
                place = int(STEPS * more[0] / needed)
                known = reached.get(place)
                if known is None or more[1] < known[1]:
                    reached[place] = more
    return None if best is None else best[2]


def _portions(count: int, needed: float, each: float) -> Iterator[int]:
    """1, 2, 4 ... and the rest: every number up to the count is a sum of some of them."""
    left, portion = min(count, ceil(needed / each)), 1
    while left > 0:
        yield min(portion, left)
        left -= portion
        portion *= 2
