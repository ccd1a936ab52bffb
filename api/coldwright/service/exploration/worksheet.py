"""A worksheet: evaluations that may take their inputs from one another's results."""

import asyncio
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from typing import Annotated, Any

from msgspec import UNSET, Meta, UnsetType
from msgspec.structs import replace

from coldwright.contract import Given, Refused, Results, Text, about
from coldwright.contract.answer import Units
from coldwright.contract.refusal import FieldError, field_error
from coldwright.service.exploration.asking import Answer, answer_to
from coldwright.service.exploration.pointers import NoSuchPlace, get
from coldwright.service.problems import Problem, ProblemRaised, as_problem
from coldwright.service.state import Services

MOST_ITEMS = 1000
AT_ONCE = 4


class WorksheetItem(Given, frozen=True, kw_only=True):
    """One evaluation. Anywhere in `given`, `{"from": "other-id", "pointer": "/results/..."}` stands for a result."""

    id: Annotated[Text, about("Your name for it, unique in the worksheet.", min_length=1)]
    calculator: Annotated[Text, about("Id of the calculator: `family.name`.")]
    given: Annotated[dict[str, Any], about("Its input, as its own address takes it; references allowed.")]


class Worksheet(Given, frozen=True, kw_only=True):
    """Up to a thousand evaluations. Each succeeds or fails alone."""

    items: Annotated[tuple[WorksheetItem, ...], about("The evaluations.", min_length=1, max_length=MOST_ITEMS)]


class WorksheetReply(Results, frozen=True, kw_only=True):
    """What came of one item."""

    id: Annotated[str, Meta(description="Your name for it.")]
    status: Annotated[int, Meta(ge=200, le=599, description="HTTP status that it would have had alone.")]
    answer: Annotated[Any, Meta(description="The answer, where there is one.")] = UNSET
    problem: Annotated[Problem, Meta(description="The problem, where there is no answer.")] | UnsetType = UNSET


class WorksheetAnswer(Results, frozen=True, kw_only=True):
    """Every item, in the order of the request."""

    items: Annotated[
        tuple[WorksheetReply, ...], Meta(max_length=MOST_ITEMS, description="In the order of the request.")
    ]


def references_in(value: Any, pointer: str = "") -> Iterator[tuple[str, dict[str, str]]]:
    """Every reference inside an input, with where it stands."""
    if is_reference(value):
        yield pointer, value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from references_in(item, f"{pointer}/{key.replace('~', '~0').replace('/', '~1')}")
    elif isinstance(value, list | tuple):
        for index, item in enumerate(value):
            yield from references_in(item, f"{pointer}/{index}")


def is_reference(value: Any) -> bool:
    """Whether this object stands for another item's result."""
    return (
        isinstance(value, dict)
        and value.keys() == {"from", "pointer"}
        and all(isinstance(v, str) for v in value.values())
    )


async def answer_worksheet(services: Services, worksheet: Worksheet, units: Units) -> WorksheetAnswer:
    """Answer every item, those that others wait for first."""
    _refuse_repeated_ids(worksheet)
    by_id = {item.id: (number, item) for number, item in enumerate(worksheet.items)}
    waits_for = {
        item.id: {r["from"] for _, r in references_in(item.given) if r["from"] in by_id} for item in worksheet.items
    }
    replies: dict[str, WorksheetReply] = _cyclic(waits_for, by_id)
    sorter = TopologicalSorter({i: w for i, w in waits_for.items() if i not in replies})
    sorter.prepare()
    gate = asyncio.Semaphore(AT_ONCE)
    while sorter.is_active():
        ready = sorter.get_ready()
        wanted = [i for i in ready if i not in replies]
        done = await asyncio.gather(*(_answer_item(services, *by_id[i], replies, units, gate) for i in wanted))
        replies.update({r.id: r for r in done})
        sorter.done(*ready)
    return WorksheetAnswer(items=tuple(replies[item.id] for item in worksheet.items))


def _refuse_repeated_ids(worksheet: Worksheet) -> None:
    seen: set[str] = set()
    errors = []
    for number, item in enumerate(worksheet.items):
        if item.id in seen:
            errors.append(
                field_error(f"/items/{number}/id", "Another item has this id already.", code="repeated", value=item.id)
            )
        seen.add(item.id)
    if errors:
        raise Refused(errors[:50])


def _cyclic(waits_for: dict[str, set[str]], by_id: dict[str, tuple[int, WorksheetItem]]) -> dict[str, WorksheetReply]:
    """Replies for every item that stands on a cycle: they can't be answered, the others can."""
    replies: dict[str, WorksheetReply] = {}
    while True:
        open_items = {i: w - replies.keys() for i, w in waits_for.items() if i not in replies}
        try:
            TopologicalSorter(open_items).prepare()
        except CycleError as error:
            cycle = list(error.args[1])
            for id_ in dict.fromkeys(cycle):
                number, item = by_id[id_]
                at = next(p for p, r in references_in(item.given) if r["from"] in cycle)
                text = f"The items wait for each other: {' -> '.join(cycle)[:500]}."
                replies[id_] = _failed(id_, _refusal(number, at, "cycle", text))
        else:
            return replies


async def _answer_item(
    services: Services,
    number: int,
    item: WorksheetItem,
    replies: dict[str, WorksheetReply],
    units: Units,
    gate: asyncio.Semaphore,
) -> WorksheetReply:
    errors: list[FieldError] = []
    given = _resolved(item.given, "", number, replies, errors)
    if errors:
        return _failed(item.id, Refused(errors))
    async with gate:
        try:
            answer = await answer_to(services, item.calculator, given, units)
        except Exception as error:
            if as_problem(error) is None:
                raise
            return _failed(item.id, _under_item(error, number))
    return WorksheetReply(id=item.id, status=200, answer=answer)


def _resolved(
    value: Any, pointer: str, number: int, replies: dict[str, WorksheetReply], errors: list[FieldError]
) -> Any:
    if is_reference(value):
        try:
            return _value_of(value, replies)
        except NoSuchPlace as error:
            errors.append(_error(number, pointer, "no_such_result", f"{str(error).capitalize()}."))
            return None
    if isinstance(value, dict):
        return {
            k: _resolved(v, f"{pointer}/{k.replace('~', '~0').replace('/', '~1')}", number, replies, errors)
            for k, v in value.items()
        }
    if isinstance(value, list | tuple):
        return [_resolved(v, f"{pointer}/{i}", number, replies, errors) for i, v in enumerate(value)]
    return value


def _value_of(reference: dict[str, str], replies: dict[str, WorksheetReply]) -> Any:
    reply = replies.get(reference["from"])
    if reply is None:
        raise NoSuchPlace(f"there is no item {reference['from'][:100]!r}")
    if reply.answer is UNSET:
        raise NoSuchPlace(f"the item {reference['from'][:100]!r} has no answer (status {reply.status})")
    answer: Answer = reply.answer
    return get(answer, reference["pointer"])


def _error(number: int, pointer: str, code: str, text: str) -> FieldError:
    return field_error(f"/items/{number}/given{pointer}", text, code=code)


def _refusal(number: int, pointer: str, code: str, text: str) -> Refused:
    return Refused([_error(number, pointer, code, text)])


def _under_item(error: Exception, number: int) -> Exception:
    """Pointers of a refusal, from the item's input to the body that was sent."""
    if not isinstance(error, Refused):
        return error
    return Refused([replace(e, pointer=f"#/items/{number}/given{e.pointer.removeprefix('#')}") for e in error.errors])


def _failed(id_: str, error: Exception) -> WorksheetReply:
    problem = as_problem(error)
    if problem is None:
        problem = ProblemRaised("internal-error")
    return WorksheetReply(id=id_, status=problem.kind.status, problem=problem.problem())
