"""Plugins of strangers that join a plan: a limit on machines, a line from stock, a part that needs another part."""

HEAD = """
from typing import Annotated

from coldwright.contract import (
    Example, Given, Notes, PartLine, PartQuestion, Plugin, Reference, Results, Taken, about, calculator, finding,
)
from coldwright.contract.quantities import Power
from msgspec import UNSET, UnsetType

STATED = Reference(id="FAMILY_stated", title="As stated", provenance="derived")


class Machine(Taken, frozen=True, kw_only=True):
    'A machine of the plan.'

    type: Annotated[str, about("Its type.", max_length=200)]
    count: Annotated[int, about("How many.", low=0, high=1000)]


class Order(Taken, frozen=True, kw_only=True):
    'The order.'

    customer: Annotated[str, about("Who hires.", max_length=200)] = ""


ONE = {"type": "m", "count": 2}
"""
LIMIT = (
    HEAD
    + """
class LimitGiven(Given, frozen=True, kw_only=True):
    'Machines and who hires them.'

    machines: Annotated[tuple[Machine, ...], about("The machines.", max_length=100)]
    order: Annotated[Order, about("The order.")] = Order()


class LimitResults(Results, frozen=True, kw_only=True):
    'How many there are.'

    machine_count: Annotated[int, about("All of them.")]


@calculator(
    "FAMILY.limit", version="1.0.0", title="What this customer takes", references=(STATED,), joins="booking",
    findings=(finding("unwanted", "stop", "Not this type."),),
    examples=(Example("two", "Two.", {"machines": [ONE]}), Example("none", "None.", {"machines": []})),
)
def limit(given: LimitGiven, notes: Notes) -> LimitResults:
    'The customer names the type that is not wanted, or `none`: no machine at all.'
    for machine in given.machines:
        if machine.type == given.order.customer or given.order.customer == "none":
            notes.stop("unwanted", f"{machine.type} is not wanted here.", field="/order/customer")
    return LimitResults(machine_count=sum(m.count for m in given.machines))


plugin = Plugin(name="FAMILY", title="FAMILY", contract=">=1.3,<2", calculators=(limit,))
"""
)
STOCK = (
    HEAD
    + """
class StockGiven(Given, frozen=True, kw_only=True):
    'Who hires.'

    order: Annotated[Order, about("The order.")] = Order()


class StockResults(Results, frozen=True, kw_only=True):
    'Lines.'

    pick_list: Annotated[tuple[PartLine, ...], about("Lines.")]
    open_questions: Annotated[tuple[PartQuestion, ...], about("Questions.")] = ()


@calculator(
    "FAMILY.lines", version="1.0.0", title="Lines from stock", references=(STATED,), joins="booking",
    examples=(Example("two", "Two.", {"order": {"customer": "mat=2"}}), Example("none", "None.", {})),
)
def lines(given: StockGiven, notes: Notes) -> StockResults:
    'The customer is written `item=count;item=count`.'
    wanted = [p.split("=") for p in given.order.customer.split(";") if "=" in p]
    return StockResults(pick_list=tuple(PartLine(item=i, kind="mat", count=int(n), reason="Wanted.") for i, n in wanted))


plugin = Plugin(name="FAMILY", title="FAMILY", contract=">=1.3,<2", calculators=(lines,))
"""
)
NEEDING = (
    HEAD
    + """
class Block(Taken, frozen=True, kw_only=True):
    'The block of another part.'

    machine_count: Annotated[int, about("All of them.", low=0, high=1000)]


class NeedingGiven(Given, frozen=True, kw_only=True):
    'A block of another part.'

    counted: Annotated[Block, about("How many.", block_of="OTHER")]


class NeedingResults(Results, frozen=True, kw_only=True):
    'Twice as many.'

    machine_count: Annotated[int, about("Twice as many.")]


@calculator(
    "FAMILY.twice", version="1.0.0", title="Twice", references=(STATED,), joins="booking",
    examples=(Example("two", "Two.", {"counted": {"machine_count": 2}}), Example("no", "0.", {"counted": {"machine_count": 0}})),
)
def twice(given: NeedingGiven, notes: Notes) -> NeedingResults:
    'Twice the count of the other block.'
    return NeedingResults(machine_count=2 * given.counted.machine_count)


plugin = Plugin(name="FAMILY", title="FAMILY", contract=">=1.3,<2", calculators=(twice,))
"""
)
PACKAGES = {
    "zlimit": LIMIT.replace("FAMILY", "zlimit"),
    "stock": STOCK.replace("FAMILY", "stock"),
    "after": NEEDING.replace("FAMILY", "after").replace("OTHER", "zlimit.limit"),
    "again": NEEDING.replace("FAMILY", "again").replace("OTHER", "after.twice"),
    "chicken": NEEDING.replace("FAMILY", "chicken").replace("OTHER", "egg.twice"),
    "egg": NEEDING.replace("FAMILY", "egg").replace("OTHER", "chicken.twice"),
    "lonely": NEEDING.replace("FAMILY", "lonely").replace("OTHER", "nobody.here"),
}
