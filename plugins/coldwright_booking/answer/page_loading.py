"""What to load: by vehicle where the plan has put it on one, the rest by trade, with boxes; fuel as fuel to order."""

from collections.abc import Iterator, Sequence

from msgspec import UNSET, UnsetType

from coldwright.contract.page import Block, Column, Section, Table, facts, section, under
from coldwright.contract.people import about, plain_text, prose, quantity, rounded, words
from coldwright_booking.answer.crew_page import numbers_of
from coldwright_booking.answer.page_facts import refuel_every
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.plan.pick_list import PlanPickLine

BOX = "\u25a1"
TRADES = {
    "electrical": "Power",
    "hydronic": "Water",
    "site": "Lifting, ground and routes",
    "readiness": "Tools of the crew",
}
REST = "More"
FUEL = "fuel"


def loading(results: AssessmentResults, everything: bool, serials: Sequence[tuple[str, str]] = ()) -> Section | None:
    """Load by load, then what travels on none, trade by trade; with why where everything is asked for."""
    lines = [line for line in results.pick_list if not line.item.startswith(FUEL)]
    blocks: list[Block | None] = []
    for number, title in enumerate(_loads(results), 1):
        on_it = [(line, c.count) for line in lines for c in line.carried_on if c.load == number]
        blocks += under(f"Load {number}: {title}", _table(on_it, everything, serials))
    by_trade: dict[str, list[tuple[PlanPickLine, int]]] = {}
    for line in lines:
        if (left := line.count - sum(c.count for c in line.carried_on)) > 0:
            by_trade.setdefault(TRADES.get(line.calculator.partition(".")[0], REST), []).append((line, left))
    for trade in sorted(by_trade, key=[*TRADES.values(), REST].index):
        blocks += under(
            f"{trade}: on no vehicle yet" if blocks else trade, _table(by_trade[trade], everything, serials)
        )
    return section("What to load", *blocks, facts(*_fuel(results)))


def _loads(results: AssessmentResults) -> Iterator[str]:
    """Each lorry and what is on it in all."""
    site = results.site
    if not isinstance(site, UnsetType) and not isinstance(site.transport, UnsetType):
        for load in site.transport.loads:
            yield f"{words(load.vehicle)}, {quantity(load.mass)}"


def _fuel(results: AssessmentResults) -> Iterator[tuple[str, str]]:
    supply = results.supply
    if isinstance(supply, UnsetType) or isinstance(supply.generator, UnsetType):
        return
    stated, used = supply.generator, results.energy_used
    ordered = UNSET if isinstance(used, UnsetType) else used.fuel_volume
    if isinstance(ordered, UnsetType):
        ordered = stated.fuel_total
    if not isinstance(ordered, UnsetType):
        refuel = (
            ""
            if isinstance(stated.refuel_interval, UnsetType)
            else f", refill every {refuel_every(stated.refuel_interval)}"
        )
        yield "Fuel to order for the whole period", f"{about(ordered)}{refuel}"


def _table(
    lines: Sequence[tuple[PlanPickLine, int]], everything: bool, serials: Sequence[tuple[str, str]]
) -> Table | None:
    rows = tuple(
        (BOX, f"{count:,} x", _named(line, serials), _short(line), prose(rounded(line.reason)) if everything else "")
        for line, count in lines
    )
    columns = (
        Column("", 4),
        Column("Count", 8, number=True),
        Column("Item", 46),
        Column("Stock", 14),
        Column("Why", 40),
    )
    used = [n for n in range(len(columns)) if any(row[n] for row in rows)]
    return Table(tuple(columns[n] for n in used), tuple(tuple(row[n] for n in used) for row in rows)) if rows else None


def _named(line: PlanPickLine, serials: Sequence[tuple[str, str]]) -> str:
    """With what tells one line from another: length, ends, purpose."""
    if line.kind == "machine":
        return plain_text(line.item) + numbers_of(line.item, serials)
    length = f", {plain_text(rounded(line.size))}" if line.size else ""
    ends = f", {plain_text(line.end_type)}" if line.end_type else ""
    return plain_text(line.item) + length + ends + (f": {plain_text(line.purpose)}" if line.purpose else "")


def _short(line: PlanPickLine) -> str:
    """What is wrong with its stock; nothing where all of it is there, so that what is missing stands out."""
    if not line.from_stock:
        return "not listed"
    return f"SHORT {line.short_by:,}" if line.stock_short else ""
