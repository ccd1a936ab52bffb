"""A worksheet: evaluations that may take their inputs from one another's results."""

from collections.abc import Iterator, Mapping, Sequence
from graphlib import TopologicalSorter
from itertools import islice
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Raw, UnsetType

from coldwright.contract import Allowed, Given, Refused, Results, Text, about
from coldwright.contract.answer import Units
from coldwright.contract.refusal import FieldError, field_error
from coldwright.contract.walk import pointer_to
from coldwright.service.exploration.asking import (
    Answer,
    Room,
    decoded,
    evaluated_or_problem,
    few_at_once,
    refuse_repeated_ids,
)
from coldwright.service.exploration.cycles import cycles
from coldwright.service.exploration.pointers import NoSuchPlace, Origin, get, led_back
from coldwright.service.http.intake import LONG
from coldwright.service.http.problems import Problem, ProblemRaised, refused_input
from coldwright.service.state import Services

MOST_ITEMS = 1000
MOST_REFERENCES = 200
MOST_ANSWERED = 64_000_000
"""Bytes of all answers of a worksheet: a thousand whole plans are three times that. A job has no such limit."""


class WorksheetItem(Given, frozen=True, kw_only=True):
    """One evaluation. Anywhere in `given`, `{"from": "other-id", "pointer": "/results/..."}` stands for a result."""

    id: Annotated[Text, about("Your name for it, unique in the worksheet.", min_length=1)]
    calculator: Annotated[Text, about("Id of the calculator: `family.name`.")]
    given: Annotated[dict[str, Any], about("Its input, as its own address takes it; references allowed.")]


class Worksheet(Given, frozen=True, kw_only=True):
    """Up to a thousand evaluations. Each succeeds or fails alone. Their answers have 64 MB together; a job has no limit."""

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


Replies = dict[str, WorksheetReply]
Reference = Mapping[str, str]


def references_in(value: Any, pointer: str = "") -> Iterator[tuple[str, Reference]]:
    """Every reference inside an input, with where it stands."""
    if is_reference(value):
        yield pointer, value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from references_in(item, pointer_to(pointer, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from references_in(item, f"{pointer}/{index}")


def is_reference(value: Any) -> bool:
    """Whether this object stands for another item's result."""
    return (
        isinstance(value, dict)
        and value.keys() == {"from", "pointer"}
        and all(isinstance(v, str) for v in value.values())
    )


async def answer_worksheet(
    services: Services, worksheet: Worksheet, units: Units, *, long: bool = False
) -> WorksheetAnswer:
    """Answer every item, those that others wait for first. `long`: its inputs are too long for the event loop."""
    refuse_repeated_ids(item.id for item in worksheet.items)
    items = await services.apart(_items, worksheet, services.settings.public_url, long, long=long)
    waits_for = {
        id_: list(dict.fromkeys(r["from"] for r in item.references.values() if r["from"] in items))
        for id_, item in items.items()
    }
    replies: Replies = {id_: items[id_].on_cycle(cycle) for cycle in cycles(waits_for) for id_ in cycle}
    sorter = TopologicalSorter({id_: others for id_, others in waits_for.items() if id_ not in replies})
    sorter.prepare()
    text = (
        f"The answers of a worksheet have at most {MOST_ANSWERED} bytes together. Send the rest by itself, or as a job."
    )
    room = Room(MOST_ANSWERED, text)
    while sorter.is_active():
        ready = sorter.get_ready()
        wanted = [id_ for id_ in ready if id_ not in replies]
        done = await few_at_once(items[id_].answered(services, replies, units, room) for id_ in wanted)
        replies.update({r.id: r for r in done})
        sorter.done(*ready)
    return WorksheetAnswer(items=tuple(replies[id_] for id_ in items))


class _Item:
    """An item with its place in the worksheet."""

    def __init__(self, number: int, item: WorksheetItem, public_url: str, long: bool) -> None:
        self.id, self.calculator, self.given = item.id, item.calculator, item.given
        self.at, self._public_url, self._long = f"/items/{number}/given", public_url, long
        self.references = dict(islice(references_in(item.given), MOST_REFERENCES + 1))
        if len(self.references) > MOST_REFERENCES:
            text = f"This item refers to others more than {MOST_REFERENCES} times."
            error = field_error(self.at, text, code="out_of_range", allowed=Allowed(maximum=MOST_REFERENCES))
            raise Refused([error])

    def on_cycle(self, cycle: Sequence[str]) -> WorksheetReply:
        """The reply to an item that can't be answered because it waits for itself."""
        names = ", ".join(cycle)[:500]
        text = f"These items wait for each other: {names}." if len(cycle) > 1 else "The item waits for itself."
        members = set(cycle)
        return self._refused(
            [self._error(p, "cycle", text) for p, r in self.references.items() if r["from"] in members]
        )

    async def answered(self, services: Services, replies: Replies, units: Units, room: Room) -> WorksheetReply:
        """The reply, once every item that it refers to has its own, as long as there is room for answers."""
        try:
            room.take(0)
            reply = await self._evaluated(services, replies, units)
            room.take(0 if reply.answer is UNSET else len(memoryview(reply.answer)))
        except ProblemRaised as full:
            return self._failed(full)
        return reply

    async def _evaluated(self, services: Services, replies: Replies, units: Units) -> WorksheetReply:
        named = {r["from"] for r in self.references.values() if r["from"] in replies}
        kept = {name: bytes(replies[name].answer) for name in named if replies[name].answer is not UNSET}
        answers = {name: await decoded(services, answer) for name, answer in kept.items()}
        long = self._long or len(self.references) * max(map(len, kept.values()), default=0) > LONG
        try:
            body = (
                await services.apart(self._body, replies, answers, long=True) if long else self._body(replies, answers)
            )
        except Refused as refused:
            return self._refused(list(refused.errors))
        answer = await evaluated_or_problem(services, self.calculator, body, units)
        if isinstance(answer, ProblemRaised):
            origins = {
                p: Origin(f"{self.at}{p}", f"It came from the item {r['from'][:100]!r}, `{r['pointer'][:200]}`.")
                for p, r in self.references.items()
            }
            return self._failed(led_back(answer, self.at, origins))
        return WorksheetReply(id=self.id, status=200, answer=Raw(answer.body))

    def _body(self, replies: Replies, answers: Mapping[str, Answer]) -> bytes:
        """The input with results in place of references, as JSON; raises a refusal of those that lead nowhere."""
        if not self.references:
            return msgspec.json.encode(self.given)
        errors: list[FieldError] = []
        given = self._resolved(self.given, "", replies, answers, errors)
        if errors:
            raise Refused(errors)
        return msgspec.json.encode(given)

    def _resolved(
        self, value: Any, pointer: str, replies: Replies, answers: Mapping[str, Answer], errors: list[FieldError]
    ) -> Any:
        """The input with results in place of references; writes down those that lead nowhere."""
        if is_reference(value):
            try:
                return _value_of(value, replies, answers)
            except NoSuchPlace as error:
                errors.append(self._error(pointer, "no_such_result", f"{error}."))
                return None
        if isinstance(value, dict):
            return {k: self._resolved(v, pointer_to(pointer, k), replies, answers, errors) for k, v in value.items()}
        if isinstance(value, list):
            return [self._resolved(v, f"{pointer}/{i}", replies, answers, errors) for i, v in enumerate(value)]
        return value

    def _error(self, pointer: str, code: str, text: str) -> FieldError:
        return field_error(f"{self.at}{pointer}", text, code=code)

    def _refused(self, errors: list[FieldError]) -> WorksheetReply:
        return self._failed(refused_input(errors))

    def _failed(self, problem: ProblemRaised) -> WorksheetReply:
        return WorksheetReply(
            id=self.id, status=problem.kind.status, problem=problem.problem(public_url=self._public_url)
        )


def _items(worksheet: Worksheet, public_url: str, long: bool) -> "dict[str, _Item]":
    return {item.id: _Item(number, item, public_url, long) for number, item in enumerate(worksheet.items)}


def _value_of(reference: Reference, replies: Replies, answers: Mapping[str, Answer]) -> Any:
    name = repr(reference["from"][:100])
    reply = replies.get(reference["from"])
    if reply is None:
        raise NoSuchPlace(f"There is no item {name}")
    if reference["from"] not in answers:
        raise NoSuchPlace(f"The item {name} has no answer (status {reply.status})")
    try:
        return get(answers[reference["from"]], reference["pointer"])
    except NoSuchPlace as error:
        raise NoSuchPlace(f"{error} in the answer of the item {name}") from None
