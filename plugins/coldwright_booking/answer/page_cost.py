"""The price of a plan on its page."""

from msgspec import UnsetType

from coldwright.contract.page import Column, Lines, Section, Table, facts, section
from coldwright.contract.people import about, listed, number, plain_text, prose, quantity, value_text, words
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import word
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.plan.cost import KINDS, CostBlock


def fact(results: AssessmentResults) -> str:
    """What it costs in all, in one line."""
    block, used = results.cost, results.energy_used
    said = []
    if not isinstance(block, UnsetType):
        said.append(f"{amount(block, block.total)}{'' if block.complete else ', not everything has a price'}")
    if not isinstance(used, UnsetType) and not isinstance(used.carbon_dioxide_mass, UnsetType):
        said.append(f"carbon dioxide {about(used.carbon_dioxide_mass)}")
    return "; ".join(said)


def cost(results: AssessmentResults, practice: Practice) -> Section | None:
    """Subtotals, lines, what has no price, and the energy."""
    block, used = results.cost, results.energy_used
    energy = None
    if not isinstance(used, UnsetType):
        energy = facts(
            ("Electric energy", quantity(used.energy)),
            ("Average power", value_text(used.average_power)),
            ("Fuel", value_text(used.fuel_volume)),
            ("Carbon dioxide", value_text(used.carbon_dioxide_mass)),
        )
    if isinstance(block, UnsetType):
        return section("Energy of the whole period", energy)
    named = {"hire": word("hire", practice)}
    parts = ((named.get(kind, words(kind)).capitalize(), getattr(block, kind)) for kind in KINDS)
    sums = facts(
        *((name, amount(block, text)) for name, text in parts if not isinstance(text, UnsetType)),
        ("In all", amount(block, block.total)),
    )
    rows = tuple(
        (
            plain_text(line.item),
            number(line.count, 6),
            prose(line.unit),
            plain_text(line.rate),
            plain_text(line.amount),
            prose(line.reason),
        )
        for line in block.lines
    )
    columns = (
        Column("What", 28),
        Column("Count", 9, number=True),
        Column("Unit", 12),
        Column(f"Each, {block.currency}", 13, number=True),
        Column(f"Amount, {block.currency}", 13, number=True),
        Column("How", 25),
    )
    without = tuple(dict.fromkeys(lack.item for lack in block.not_priced))
    lacking = Lines((f"Without a price, and not in the sum: {listed(without)}.",)) if without else None
    return section("Cost", sums, Table(columns, rows) if rows else None, lacking, energy)


def amount(block: CostBlock, text: str) -> str:
    """`USD 12,345.60`."""
    whole, _, places = text.partition(".")
    return plain_text(f"{block.currency} {int(whole):,}" + (f".{places}" if places else ""))
