"""Whose lock it was, and at which end leads were swapped: another person's, and the other end's, decide nothing.

The rules of locks and of connectors, common practice. All data is invented.
"""

from typing import Any

import pytest
from startup_histories import ask, base, connected_by_the_book, seen

CONNECTED: dict[str, Any] = {
    "state": "connected",
    "order": ["ground", "line_1", "line_2", "line_3"],
    "fully_mated": True,
    "covers_on": True,
}


def rules(answer_of: Any, *rows: dict[str, Any]) -> set[str]:
    answer = answer_of("readiness.startup", ask([*base(), *rows]))
    return {block["rule"] for block in answer["results"]["blocks"]}


@pytest.mark.parametrize(("first", "second", "another"), [("ann", "bo", False), ("bo", "ann", True)])
def test_a_lock_that_its_owner_took_off_is_nobodys(answer_of: Any, first: str, second: str, another: bool) -> None:
    """What another writes down once the owner has it off is no hand at a lock; before that it is."""
    said = rules(
        answer_of,
        seen("lock", "08:40", "on", lock_id="L2", state="applied", extra={"by": "ann"}),
        seen("lock", "08:45", "first", lock_id="L2", state="removed", extra={"by": first}),
        seen("lock", "08:50", "second", lock_id="L2", state="removed", extra={"by": second}),
    )
    assert ("I16" in said) == another


@pytest.mark.parametrize(("looked_at", "asked"), [("machine", False), ("source", True)])
def test_connectors_are_looked_at_again_where_leads_were_swapped(answer_of: Any, looked_at: str, asked: bool) -> None:
    said = rules(
        answer_of,
        *connected_by_the_book(),
        seen("leads_swapped", "08:02", "swap", where="machine"),
        seen("line_connection", "08:04", "again", end=looked_at, **CONNECTED),
    )
    assert ("R23" in said) == asked
