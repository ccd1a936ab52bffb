"""The pick list: what every part of the plan needs, summed, with spares."""

import math
from collections.abc import Iterable
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import Length, Volume
from coldwright_basis.compare import above, at_least, negligible, whole_at_most
from coldwright_site.transport.given import PickLine, SpareRules, StockedLength

SPILL_KIT_FROM = Volume(55.0, "gal")


class Pick(NamedTuple):
    """One row of the list; `piece` is the length (m) of one piece where the row counts stocked pieces."""

    item: str
    size: str
    end_type: str
    quantity: float
    unit: str
    purposes: tuple[str, ...]
    piece: float | None = None


def pick(lines: tuple[PickLine, ...], rules: SpareRules | None) -> list[Pick]:
    """Sum by item, size, kind of end and unit, in the order of first mention; lengths become stocked pieces."""
    spares = [] if rules is None else list(_spares(rules))
    sums: dict[tuple[str, str, str, str], tuple[float, dict[str, None]]] = {}
    for line in (*lines, *spares):
        stocked = _stocked(line.item, line.size, rules)
        quantity, unit = line.quantity, line.unit
        if stocked and unit in Length.units:
            quantity, unit = Length.of(quantity, unit).si, "m"
        key = (line.item, line.size, line.end_type, unit)
        total, purposes = sums.setdefault(key, (0.0, {}))
        purposes |= dict.fromkeys([line.purpose] if line.purpose else [])
        sums[key] = (total + quantity, purposes)
    picks = []
    for (item, size, end_type, unit), (total, purposes) in sums.items():
        row = Pick(item, size, end_type, total, unit, tuple(purposes))
        stocked = _stocked(item, size, rules)
        picks += list(_pieces(row, stocked)) if stocked and unit == "m" else [row]
    return picks


def _stocked(item: str, size: str, rules: SpareRules | None) -> list[float]:
    known: tuple[StockedLength, ...] = () if rules is None else rules.stocked_lengths
    return sorted({s.length.si for s in known if s.item == item and s.size in ("", size)})


def _pieces(row: Pick, stocked: list[float]) -> Iterable[Pick]:
    """As many of the longest as go in, and the shortest one that covers the rest."""
    longest = stocked[-1]
    whole = whole_at_most(row.quantity / longest)
    rest = row.quantity - whole * longest
    counts = {longest: whole}
    if rest > 0.0 and not negligible(rest, longest):
        last = next(length for length in stocked if at_least(length, rest))
        counts[last] = counts.get(last, 0) + 1
    for length, count in counts.items():
        if count:
            yield row._replace(quantity=count, unit="each", piece=length)


def _spares(rules: SpareRules) -> Iterable[PickLine]:
    spill = rules.engines
    if rules.liquid_volume is not UNSET and above(rules.liquid_volume.si, SPILL_KIT_FROM.si):
        spill += 1
    for item, count, purpose in (
        ("gasket", rules.joints + math.ceil(rules.joints / 5), "joints, and one spare for every five"),
        ("blanking_cap", 2 * rules.hoses, "both ends of each hose"),
        ("ramp", rules.crossings, "crossings"),
        ("spill_kit", spill, "engines and liquids"),
        ("mat", rules.outriggers * rules.mats_per_outrigger, "outriggers"),
        ("lock_and_tag", rules.workers, "workers"),
    ):
        if count:
            yield PickLine(item=item, quantity=count, unit="each", purpose=purpose)
