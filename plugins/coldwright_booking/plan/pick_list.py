"""The pick list: lines, each compared with what is left of the stock."""

from typing import Annotated

from msgspec import UNSET

from coldwright.contract import Results, Said, about, say, spoken
from coldwright.contract.sentences import Words
from coldwright_booking.fleet import given as stock
from coldwright_booking.order.facts import Facts


class CarriedOn(Results, frozen=True, kw_only=True):
    """Pieces of a line on one load."""

    load: Annotated[int, about("Number of the load, from 1, in the order of `site.transport.loads`.")]
    count: Annotated[int, about("How many of the line.")]


class PlanPickLine(Results, frozen=True, kw_only=True):
    """One line of the pick list."""

    item: Annotated[str, about("Item, by its name in the stock where it has one.")]
    kind: Annotated[str, about("`machine`, or the kind of accessory.")]
    count: Annotated[int, about("How many.")]
    reason: Annotated[str, about("Why it is needed.")]
    calculator: Annotated[str, about("Id of the calculator that asks for it.")]
    stock_short: Annotated[bool, about("Whether the stock has too few.")]
    from_stock: Annotated[bool, about("Whether the fleet document names this item.")]
    short_by: Annotated[int, about("How many are missing.")] = 0
    carried_on: Annotated[
        tuple[CarriedOn, ...], about("Which loads it travels on; none for fuel, and where no vehicles were planned.")
    ] = ()
    size: Annotated[str, about("Length of one piece of hose or cable.")] = ""
    end_type: Annotated[str, about("Couplings or plugs at its ends, where they are given.")] = ""
    purpose: Annotated[str, about("What for, in a word or two.")] = ""
    said: Said = UNSET


class PickList:
    """Lines, with the stock that is left after each."""

    def __init__(self, facts: Facts) -> None:
        self.lines: list[PlanPickLine] = []
        self._rows = facts.fleet.accessories
        self._by_item = {row.item: row for row in self._rows}
        self._left = {row.item: row.count for row in self._rows}
        self._names = [(row.item.casefold(), row) for row in self._rows if row.count > 0]

    def rows(self, kind: type[stock.Accessory]) -> list[stock.AnyAccessory]:
        """Rows of a kind, the fullest first."""
        return sorted((r for r in self._rows if isinstance(r, kind)), key=lambda r: -r.count)

    def named(self, words: str, kind: type[stock.Accessory] = stock.Accessory) -> str:
        """Item of the stock, of a kind, whose own name says these words; empty where there is none."""
        return next((row.item for name, row in self._names if words in name and isinstance(row, kind)), "")

    def gear(self, words: str, item: str, count: int, reason: Words, calculator: str, purpose: Words = "") -> None:
        """Small gear that any yard has: the item of the stock that says these words, else a line of what is bought.

        Antifreeze is no gear, whatever its row is called: a tote that it comes in is not empty.
        """
        if count <= 0:
            return
        named = (row.item for name, row in self._names if words in name and not isinstance(row, stock.Antifreeze))
        if known := next(named, ""):
            self.add(known, "other", count, reason, calculator, purpose)
        else:
            self.bought(item, count, reason, calculator, purpose)

    def bought(
        self, item: str, count: int, reason: Words, calculator: str, purpose: Words = "", kind: str = "other"
    ) -> None:
        """A line of what is bought, or hired elsewhere, and not held in stock."""
        self.lines.append(
            PlanPickLine(
                item=item,
                kind=kind,
                count=count,
                calculator=calculator,
                stock_short=False,
                from_stock=False,
                **spoken(reason=reason, purpose=purpose),
            )
        )

    def add(self, item: str, kind: str, count: int, reason: Words, calculator: str, purpose: Words = "") -> None:
        """A line; nothing where nothing is needed."""
        if count <= 0:
            return
        row = self._by_item.get(item)
        known, left = item in self._left, self._left.get(item, 0)
        missing = max(0, count - left)
        if known:
            self._left[item] = left - min(left, count)
        self.lines.append(
            PlanPickLine(
                item=item,
                kind=kind,
                count=count,
                calculator=calculator,
                stock_short=missing > 0,
                from_stock=known,
                short_by=missing,
                end_type=_ends(row),
                **spoken(reason=reason, size=_size(row), purpose=purpose),
            )
        )

    def any_of(
        self,
        kind: type[stock.Accessory],
        word: str,
        count: int,
        reason: Words,
        calculator: str,
        purpose: str = "",
        plain: str = "",
    ) -> None:
        """The fullest row of a kind, else the plain word: that of the kind, unless another is said on site."""
        rows = self.rows(kind)
        self.add(rows[0].item if rows else plain or word.replace("_", " "), word, count, reason, calculator, purpose)


def _size(row: stock.AnyAccessory | None) -> Words:
    if not isinstance(row, stock.Hose | stock.CableFields):
        return ""
    return say("{length}", length=row.section_length)


def _ends(row: stock.AnyAccessory | None) -> str:
    if isinstance(row, stock.Hose | stock.Coupling):
        return row.coupling
    return row.ends.replace("_", " ") if isinstance(row, stock.CableFields) else ""
