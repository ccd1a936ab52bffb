"""Results of a job as a table of text, CSV (RFC 4180): a row for each item."""

import csv
import io
from collections.abc import AsyncIterator, Callable
from typing import Any

import msgspec
from msgspec import UNSET

from coldwright.bulk.keeping import Keep
from coldwright.service.http.problems import Problem
from coldwright.service.jobs.result import JobResult
from coldwright.store.jobs import Item

OF_CHANGES = ("outcome_before", "machines_before", "machines", "findings", "do")


async def table(rows: AsyncIterator[tuple[Item, JobResult]], keep: Keep) -> AsyncIterator[bytes]:
    """The names of the columns, then the rows."""
    pointers = keep if isinstance(keep, tuple) else ()
    more = OF_CHANGES if keep == "changes" else pointers
    yield _row(["id", "status", "outcome", *more, "problem"])
    async for item, result in rows:
        yield _row([item.name, item.status, item.outcome, *_cells(keep, item, result), words_of(result)])


def _cells(keep: Keep, item: Item, result: JobResult) -> list[Any]:
    if keep == "answers":
        return []
    if isinstance(keep, tuple):
        kept = msgspec.json.decode(item.body) if item.status == 200 else {}
        return [_cell(kept[pointer]) if pointer in kept else "" for pointer in keep]
    return change_in_words(result)


def change_in_words(result: JobResult) -> list[str]:
    """How a plan is not what it was, in the columns of changes; empty where it has no answer."""
    change = result.change
    if change is UNSET:
        return [""] * len(OF_CHANGES)
    counted: Callable[[dict[str, int]], str] = lambda machines: "; ".join(f"{n} x {t}" for t, n in machines.items())  # noqa: E731
    findings, do = (" ".join(getattr(f, name) for f in change.new_findings) for name in ("statement", "do"))
    return [change.before.outcome, counted(change.before.machines), counted(change.after.machines), findings, do]


def _cell(value: Any) -> Any:
    """A quantity as its number and unit, what has members as JSON."""
    if is_quantity(value):
        return f"{value['value']} {value['unit']}"
    return msgspec.json.encode(value).decode() if isinstance(value, dict | list) else value


def is_quantity(value: Any) -> bool:
    """Whether it is a number with its unit."""
    return isinstance(value, dict) and value.keys() == {"value", "unit"}


def words_of(result: JobResult) -> str:
    """Why an item has no answer, in a line."""
    problem = result.problem
    if not isinstance(problem, Problem):
        return ""
    return "; ".join(f"{e.pointer}: {e.detail}" for e in problem.errors) or problem.detail


def _row(cells: list[Any]) -> bytes:
    """A line; text that a spreadsheet would take for a formula begins with a quotation mark of its own."""
    out = io.StringIO()
    safe = [f"'{c}" if isinstance(c, str) and c.startswith(("=", "+", "-", "@", "\t", "\r")) else c for c in cells]
    csv.writer(out, lineterminator="\r\n").writerow(safe)
    return out.getvalue().encode()
