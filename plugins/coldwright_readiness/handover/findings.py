"""What the parties should know of a record: which lines are open or not met, and who has not signed."""

from collections.abc import Collection, Sequence
from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, load_table
from coldwright_readiness.handover.given import (
    PARTIES,
    HandoverGiven,
    HandoverItem,
    ReadingValue,
    Requirement,
    Value,
)
from coldwright_readiness.handover.results import RowResult
from coldwright_readiness.handover.values import equal

HANDOVER_ITEMS: Final = load_table("coldwright_readiness", "handover_items")
TITLES: Final[dict[str, str]] = {row[0]: row[1] for row in HANDOVER_ITEMS.rows}
WHO: Final = {"rental": "the rental company", "site": "the site"}


def report(
    given: HandoverGiven,
    results: Sequence[RowResult],
    missing: Collection[str],
    accepted: Collection[str],
    notes: Notes,
) -> None:
    """Line by line, then signatures, then exceptions."""
    unmet = set()
    for index, (item, result) in enumerate(zip(given.items, results, strict=True)):
        field, title = f"/items/{index}", title_of(item.id)
        if result == "not_done":
            resolve = "Measure or check it and record what was found; or take the line off before anybody signs."
            notes.check("item_not_done", f"{title}: not measured or checked yet.", resolve=resolve, field=field)
        elif result == "fail":
            unmet.add(item.id)
            text = f"{title}: {_found(item)}."
            if item.id in accepted:
                notes.check("item_accepted", f"{text} Both parties accept it.", field=field)
            else:
                resolve = "Put it right and measure again, or have both parties sign an exception."
                notes.stop("item_failed", text, resolve=resolve, field=field)
    for party in missing:
        resolve = "Have it signed before the machine is left to the site."
        notes.check(
            "signature_missing", f"{_capital(WHO[party])} has not signed.", resolve=resolve, field="/signatures"
        )
    for index, exception in enumerate(() if given.exceptions is UNSET else given.exceptions):
        field, title = f"/exceptions/{index}", title_of(exception.item)
        if exception.item not in unmet:
            notes.note("exception_not_needed", f"{title}: nothing to except, the line does not fail.", field=field)
        elif lacking := [WHO[party] for party in PARTIES if party not in exception.signed_by]:
            text = f"{title}: the exception is not signed by {' and '.join(lacking)}."
            resolve = "Only with both signatures does the exception count."
            notes.check("exception_not_signed", text, resolve=resolve, field=field)


def title_of(name: str) -> str:
    """A line as it is called; one of your own by its name, read as words."""
    return TITLES.get(name) or _capital(name.replace("_", " "))


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _found(item: HandoverItem) -> str:
    found = "nothing" if item.measured is UNSET else _words(item.measured)
    rounding = "" if item.resolution is UNSET else f", read to {_words(item.resolution)}"
    return f"found {found}{rounding}; required {asked_words(item.required)}"


def asked_words(asked: Requirement) -> str:
    """What is required: `40 psi to 50 psi`, `at most 65 dBA`, `correct`."""
    low, high, exactly = asked.minimum, asked.maximum, asked.equals
    if exactly is not UNSET:
        return _words(exactly)
    if low is not UNSET and high is not UNSET:
        return _words(low) if equal(low, high) else f"{_words(low)} to {_words(high)}"
    if low is not UNSET:
        return f"at least {_words(low)}"
    return "nothing" if high is UNSET else f"at most {_words(high)}"


def _words(value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, ReadingValue):
        return f"{value.value:.10g} {value.unit}"
    return value if isinstance(value, str) else f"{value:.10g}"
