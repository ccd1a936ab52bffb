"""Types of machines over the days: who has how many, and what is free. Works on what availability answers."""

import datetime
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from coldwright.service.fleets.availability import Holder, ItemAvailability


class Cell(NamedTuple):
    """Days side by side that are alike."""

    days: int
    text: str = ""
    href: str = ""
    look: str = ""
    """How it is drawn: `bar`, `fails`, `quote`, `out`; empty for nothing there."""


class Row(NamedTuple):
    """One type, in as many lines as its bookings need, and what is free."""

    item: str
    in_fleet: int
    free_today: int | None
    lines: list[list[Cell]]
    free: list[Cell]


class Week(NamedTuple):
    """A heading over some days."""

    days: int
    text: str


def weeks(first: datetime.date, days: int) -> list[Week]:
    """Headings, one a week."""
    return [Week(min(7, days - n), f"{first + datetime.timedelta(days=n):%d %b}") for n in range(0, days, 7)]


def rows(items: Sequence[ItemAvailability], first: datetime.date, today: str, looks: Mapping[str, str]) -> list[Row]:
    """Every type; `looks` says how the bar of a booking is drawn."""
    return [_row(item, first, today, looks) for item in items]


def _row(item: ItemAvailability, first: datetime.date, today: str, looks: Mapping[str, str]) -> Row:
    free = [(d.day, d.free) for d in item.days]
    length = len(free)
    lines: list[list[Holder]] = []
    for holder in sorted(item.holders, key=lambda h: (h.first, h.last)):
        line = next((line for line in lines if line[-1].last < holder.first), None)
        if line is None:
            lines.append([holder])
        else:
            line.append(holder)
    return Row(
        item.item,
        item.count,
        next((n for day, n in free if day == today), None),
        [_line(line, first, length, looks) for line in lines],
        _runs([n for _, n in free]),
    )


def _line(holders: Sequence[Holder], first: datetime.date, length: int, looks: Mapping[str, str]) -> list[Cell]:
    cells, at = [], 0
    for holder in holders:
        start = max(at, (datetime.date.fromisoformat(holder.first) - first).days)
        end = min(length, (datetime.date.fromisoformat(holder.last) - first).days + 1)
        if end <= start:
            continue
        if start > at:
            cells.append(Cell(start - at))
        cells.append(_bar(holder, end - start, looks))
        at = end
    return [*cells, Cell(length - at)] if at < length else cells


def _bar(holder: Holder, days: int, looks: Mapping[str, str]) -> Cell:
    if isinstance(holder.reference, str):
        many = f"{holder.count} x " if holder.count > 1 else ""
        look = looks.get(holder.reference, "bar")
        warning = "! " if look == "fails" else ""
        return Cell(days, f"{warning}{many}{holder.reference}", f"/v1/bookings/{holder.reference}", look)
    return Cell(days, f"{holder.serial} out of service", "", "out")


def _runs(counts: Sequence[int]) -> list[Cell]:
    cells: list[Cell] = []
    for n in counts:
        text = str(n)
        if cells and cells[-1].text == text:
            cells[-1] = cells[-1]._replace(days=cells[-1].days + 1)
        else:
            cells.append(Cell(1, text, "", "none" if n == 0 else ""))
    return cells
