"""Lists of bookings against the same filters said in Python, page after page: few found or many, short hires and long."""

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import insert, select

from coldwright.store import Database
from coldwright.store.bookings import STATES, Filter, Head, Period, finding, list_bookings
from coldwright.store.bookings.keep import row_of
from coldwright.store.bookings.listing import Sort, key_of
from coldwright.store.bookings.names import LONGEST, keep_names
from coldwright.store.schema import booking_heads, booking_labels, name_endings

NAMES = ("Große Halle 7", "hall 77", "Banana banana", "100 % _odd\\", "", "日本橋ビル", "x" * 190 + "End", "Hall 7")
PARTS = ("HALL", "7", "a", "an", "STRASSE", "grosse", "%", "_o", "\\", "本橋", "x" * 60, "x" * 60 + "end", "nowhere")
NOW = datetime.now(UTC)


def heads(count: int) -> list[Head]:
    rng = random.Random(29)
    made = []
    for number in range(count):
        first = date(2026, 1, 1) + timedelta(days=rng.randrange(900))
        days = rng.choice((0, 6, 29, 30, 31, 119, 120, 121, 480, 481, 2000))
        at = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=number)
        state = rng.choice(STATES)
        made.append(
            Head(
                reference=f"B-{number:03}",
                stored_state=state,
                wished="held",
                held_until=NOW + timedelta(hours=rng.choice((-1, 1))) if state == "held" else None,
                revision=2,
                standing=rng.choice((0, 1, 2)),
                changes=2,
                etag="0" * 32,
                outcome=rng.choice(("acceptable", "conditional", "unacceptable")),
                period=Period(first.isoformat(), (first + timedelta(days=days)).isoformat()),
                site=rng.choice(NAMES),
                customer=rng.choice(NAMES),
                fleet=rng.choice(("", "yard")),
                fleet_version=1,
                severity=rng.choice((0, 0, 2, 3)),
                why="",
                created_at=at,
                updated_at=at,
            )
        )
    return made


def label(head: Head) -> str:
    return head.reference[-1]


WANTED: dict[str, tuple[dict[str, Any], Callable[[Head], bool]]] = {
    "nothing": ({}, lambda _: True),
    "from": ({"first": "2027-03-01"}, lambda h: h.period.last >= "2027-03-01"),
    "from the first day": ({"first": "0001-01-01"}, lambda _: True),
    "from and to": (
        {"first": "2027-01-01", "last": "2027-01-10"},
        lambda h: h.period.last >= "2027-01-01" and h.period.first <= "2027-01-10",
    ),
    "quotes": ({"state": "quote"}, lambda h: h.state_at(NOW) == "quote"),
    "held": ({"state": "held"}, lambda h: h.state_at(NOW) == "held"),
    "quotes from": (
        {"state": "quote", "first": "2027-06-01"},
        lambda h: h.state_at(NOW) == "quote" and h.period.last >= "2027-06-01",
    ),
    "outcome": ({"outcome": "conditional"}, lambda h: h.outcome == "conditional"),
    "proposed": ({"standing": False}, lambda h: h.standing != h.revision),
    "holds no more": ({"holds": False}, lambda h: h.severity > 0),
    "fleet": ({"fleet": "yard"}, lambda h: h.fleet == "yard"),
    "label": ({"label": ("end", "7")}, lambda h: label(h) == "7"),
    "since": (
        {"updated_since": datetime(2026, 1, 4, tzinfo=UTC)},
        lambda h: h.updated_at >= datetime(2026, 1, 4, tzinfo=UTC),
    ),
    "site and state": (
        {"site": "hall", "state": "confirmed"},
        lambda h: "hall" in h.site.casefold() and h.stored_state == "confirmed",
    ),
}


def named(part: str) -> dict[str, tuple[dict[str, Any], Callable[[Head], bool]]]:
    folded = part.casefold()
    return {
        f"site {part[:8]} {len(part)}": ({"site": part}, lambda h: folded in h.site.casefold()),
        f"customer {part[:8]} {len(part)}": ({"customer": part}, lambda h: folded in h.customer.casefold()),
    }


for part in PARTS:
    WANTED |= named(part)


def keys(sort: str) -> Callable[[Head], Any]:
    return {
        "period": lambda h: (h.period.first, h.reference),
        "updated": lambda h: (h.updated_at, h.reference),
        "reference": lambda h: h.reference,
        "worst": lambda h: (-h.severity, h.period.first, h.reference),
    }[sort]


@pytest.fixture
def kept(database: Database) -> list[Head]:
    made = heads(120)
    with database.writing() as connection:
        rows = [{"tenant": "acme", "calculator_version": ""} | row_of(head) for head in made]
        connection.execute(insert(booking_heads), rows)
        connection.execute(insert(booking_heads), [rows[0] | {"tenant": "other"}])
        for row in rows:
            keep_names(connection, "acme", row["site_folded"], row["customer_folded"])
        labels = [{"tenant": "acme", "reference": head.reference, "name": "end", "value": label(head)} for head in made]
        connection.execute(insert(booking_labels), labels)
    return made


def pages(database: Database, wanted: Filter, size: int) -> list[str]:
    after: tuple[str, ...] = ()
    references: list[str] = []
    while page := list_bookings(database, "acme", wanted, after, size):
        references += [head.reference for head in page]
        after = key_of(page[-1], wanted.sort)
    return references


def test_every_filter_finds_what_it_says(database: Database, kept: list[Head], monkeypatch: pytest.MonkeyPatch) -> None:
    every: tuple[Sort, ...] = ("period", "updated", "reference", "worst")
    for few, sorts in ((0, every[:1]), (5, every), (2000, every[:1])):
        monkeypatch.setattr(finding, "FEW", few)
        for name, (told, holds) in WANTED.items():
            for sort in sorts:
                expected = [head.reference for head in sorted(filter(holds, kept), key=keys(sort))]
                assert pages(database, Filter(**told, sort=sort), 50) == expected, (name, sort, few)


def test_a_name_is_kept_once_and_by_its_endings(database: Database, kept: list[Head]) -> None:
    with database.writing() as connection:
        keep_names(connection, "acme", "hall 77", "hall 7")
        e = name_endings.c
        found = connection.execute(select(e.ending).where(e.tenant == "acme", e.name == "hall 77")).scalars().all()
        longest = connection.execute(select(e.ending).where(e.name.startswith("xxxx"))).scalars().all()
    assert sorted(found) == [" 77", "7", "77", "all 77", "hall 77", "l 77", "ll 77"]
    assert max(map(len, longest)) == LONGEST
