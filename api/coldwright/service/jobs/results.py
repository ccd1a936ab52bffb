"""`GET /v1/jobs/{id}/results`: in pages, or all of it as lines of JSON or as a table."""

import csv
import io
from collections.abc import AsyncIterator, Callable
from typing import Annotated, Any

import msgspec
from litestar import Response
from litestar.response import Stream
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.facts import facts_in
from coldwright.bulk.keeping import Keep, PlanChange, keep_of
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.negotiation import JSON, preferred
from coldwright.service.http.paging import foreign_token, page_number, page_size, page_start, token_after
from coldwright.service.http.problems import Problem, ProblemRaised, refused_input
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.state import Services
from coldwright.store.jobs import Item, Job, list_items, list_worst

NDJSON, CSV = "application/x-ndjson", "text/csv"
PIECE = 100
"""Items that are read at a time where all are sent."""
Key = tuple[int, int] | None

_change = msgspec.json.Decoder(PlanChange)


class JobResult(Struct, frozen=True, kw_only=True):
    """What came of an item."""

    id: Annotated[str, Meta(description="Your name for it, or the reference of the order.")]
    status: Annotated[int, Meta(ge=200, le=599, description="HTTP status that it would have had alone.")]
    outcome: Annotated[str, Meta(description="Outcome of the answer, where it was not kept whole.")] | UnsetType = UNSET
    answer: Annotated[Any, Meta(description="The answer, where there is one.")] = UNSET
    kept: Annotated[
        Any, Meta(description="What stood at each pointer of `keep`; one that led nowhere is left out.")
    ] = UNSET
    change: (
        Annotated[PlanChange, Meta(description="With `keep: changes`: what is not as in the kept plan.")] | UnsetType
    ) = UNSET
    problem: Annotated[Any, Meta(description="The problem, where there is no answer.")] = UNSET


class JobResults(Struct, frozen=True, kw_only=True):
    """A page of the items that are done."""

    results: Annotated[
        tuple[JobResult, ...], Meta(description="In the order of the request; with `keep: changes` the worst first.")
    ]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def results(asked: Asked, job: Job) -> Response[Any]:
    """What came of the items that are done, in the form that `Accept` asks for."""
    form = preferred(asked.header("accept"), (JSON, NDJSON, CSV))
    keep = keep_of(job.keep)
    if form != JSON:
        rows = _lines if form == NDJSON else _table
        media_type = f"{form}; charset=utf-8" if form == CSV else form
        return Stream(
            rows(asked.services, asked.caller.tenant, job, keep), media_type=media_type, headers={"Vary": "Accept"}
        )
    size = page_size(asked)
    after = _worst_after(page_start(asked)) if keep == "changes" else (0, page_number(asked) - 1)
    items = await _items(asked.services, asked.caller.tenant, job, keep, after, size + 1)
    shown = tuple(result_of(item, keep, asked.services.settings.public_url) for item in items[:size])
    token: Any = UNSET
    if len(items) > size:
        last = items[size - 1]
        token = token_after(f"{last.severity}\n{last.number}" if keep == "changes" else str(last.number + 1))
    return json_reply(encode(JobResults(results=shown, next_page_token=token)))


def _worst_after(start: str) -> Key:
    severity, _, number = start.partition("\n")
    if not start:
        return None
    if not (severity.isascii() and severity.isdigit() and number.isascii() and number.isdigit() and len(start) < 16):
        raise foreign_token(start)
    return int(severity), int(number)


async def _items(services: Services, tenant: str, job: Job, keep: Keep, after: Key, size: int) -> list[Item]:
    if keep == "changes":
        return await services.stored(list_worst, services.database, tenant, job.id, after, size)
    first = 0 if after is None else after[1] + 1
    return await services.stored(list_items, services.database, tenant, job.id, first, size)


def result_of(item: Item, keep: Keep, public_url: str) -> JobResult:
    """What came of an item, as it is sent."""
    if item.status != 200:
        return JobResult(id=item.name, status=item.status, problem=_problem(item, public_url))
    if keep == "answers":
        return JobResult(id=item.name, status=200, answer=msgspec.Raw(item.body))
    if keep == "changes":
        return JobResult(id=item.name, status=200, outcome=item.outcome, change=_change.decode(item.body))
    return JobResult(id=item.name, status=200, outcome=item.outcome, kept=msgspec.Raw(item.body))


def _problem(item: Item, public_url: str) -> Problem:
    facts = facts_in(item.body)
    raised = refused_input(facts.errors) if facts.errors else ProblemRaised(facts.slug, facts.detail)
    return raised.problem(public_url=public_url)


async def _all(services: Services, tenant: str, job: Job, keep: Keep) -> AsyncIterator[Item]:
    after: Key = None
    while items := await _items(services, tenant, job, keep, after, PIECE):
        for item in items:
            yield item
        after = (items[-1].severity, items[-1].number)


async def _lines(services: Services, tenant: str, job: Job, keep: Keep) -> AsyncIterator[bytes]:
    async for item in _all(services, tenant, job, keep):
        yield encode(result_of(item, keep, services.settings.public_url)) + b"\n"


async def _table(services: Services, tenant: str, job: Job, keep: Keep) -> AsyncIterator[bytes]:
    pointers = keep if isinstance(keep, tuple) else ()
    more = ("outcome_before", "machines_before", "machines", "findings", "do") if keep == "changes" else pointers
    yield _row(["id", "status", "outcome", *more, "problem"])
    async for item in _all(services, tenant, job, keep):
        result = result_of(item, keep, services.settings.public_url)
        yield _row([item.name, item.status, item.outcome, *_cells(keep, item, result), _words(result)])


def _cells(keep: Keep, item: Item, result: JobResult) -> list[Any]:
    if keep == "answers":
        return []
    if isinstance(keep, tuple):
        kept = msgspec.json.decode(item.body) if item.status == 200 else {}
        return [_cell(kept[pointer]) if pointer in kept else "" for pointer in keep]
    change = result.change
    if change is UNSET:
        return [""] * 5
    counted: Callable[[dict[str, int]], str] = lambda machines: "; ".join(f"{n} x {t}" for t, n in machines.items())  # noqa: E731
    findings, do = (" ".join(getattr(f, name) for f in change.new_findings) for name in ("statement", "do"))
    return [change.before.outcome, counted(change.before.machines), counted(change.after.machines), findings, do]


def _cell(value: Any) -> Any:
    """A quantity as its number and unit, what has members as JSON."""
    if isinstance(value, dict) and value.keys() == {"value", "unit"}:
        return f"{value['value']} {value['unit']}"
    return msgspec.json.encode(value).decode() if isinstance(value, dict | list) else value


def _words(result: JobResult) -> str:
    problem = result.problem
    if not isinstance(problem, Problem):
        return ""
    return "; ".join(f"{e.pointer}: {e.detail}" for e in problem.errors) or problem.detail


def _row(cells: list[Any]) -> bytes:
    """A line of RFC 4180; text that a spreadsheet would take for a formula begins with a quotation mark of its own."""
    out = io.StringIO()
    safe = [f"'{c}" if isinstance(c, str) and c.startswith(("=", "+", "-", "@", "\t", "\r")) else c for c in cells]
    csv.writer(out, lineterminator="\r\n").writerow(safe)
    return out.getvalue().encode()
