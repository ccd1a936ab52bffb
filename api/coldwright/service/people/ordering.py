"""Orders by people: a new one from a form made of its schema, and the open questions of a plan answered in a form."""

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

import msgspec
from litestar import Response
from msgspec import Struct

from coldwright.contract import Malformed, Refused, refuse
from coldwright.contract.people import prose, words
from coldwright.contract.reading import read
from coldwright.registry import Registry, Served
from coldwright.service.bookings.edit import keep_order, state_problems
from coldwright.service.bookings.order import order_of
from coldwright.service.bookings.read import head_asked
from coldwright.service.bookings.replies import Shown, revision_shown
from coldwright.service.calculators.resource import describe
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter
from coldwright.service.http.preconditions import precondition_problems
from coldwright.service.http.problems import ProblemRaised, as_problem
from coldwright.service.http.sessions import read_form
from coldwright.service.people.addresses import form_at, page_at
from coldwright.service.people.entered import at_pointer, value_of
from coldwright.service.people.fields import MISSING, Field, field_of, form_of, kind_of, need_nothing, schema_at
from coldwright.service.people.shell import see, shown
from coldwright.service.people.wrong import not_at_a_field, wrong_fields
from coldwright.store.conditions import Condition
from coldwright.store.fleets import list_fleets

REFERENCE = Parameter("reference", "path", "The order number.", NAME)
EXAMPLE = Parameter("example", "query", "Number of the example to start from.", {"type": "string", "maxLength": 4})
NOT_ASKED = ("fleet",)
"""Members of an order that nobody puts in by hand: the fleet is kept by its id."""
OURSELVES = "our own office"
FAILED = (Refused, Malformed, ProblemRaised)


@lru_cache(maxsize=4)
def _about(served: Served) -> tuple[dict[str, Any], tuple[Any, ...]]:
    """The schema of an order, and its examples."""
    described = describe(served, ())
    schema: dict[str, Any] = described.given_schema
    return schema, described.examples


async def _new(asked: Asked, served: Served) -> Response[bytes]:
    schema, examples = await asked.services.apart(_about, served)
    number = asked.query("example") or "0"
    given: dict[str, Any] = {}
    if number.isdecimal() and 0 < int(number) <= len(examples):
        given = {k: v for k, v in examples[int(number) - 1].given.items() if k not in NOT_ASKED}
    fleets = await asked.services.stored(list_fleets, asked.services.database, asked.caller.tenant, "", 1)
    if fleets:
        given["fleet_id"] = fleets[0][0]
    return await _form(asked, schema, examples, given, {})


async def _form(
    asked: Asked, schema: dict[str, Any], examples: tuple[Any, ...], given: Any, wrong: dict[str, list[str]]
) -> Response[bytes]:
    fields = await asked.services.apart(form_of, schema, given, wrong)
    kept = [f for f in fields if f.pointer.removeprefix("/") not in NOT_ASKED]
    return await shown(
        asked,
        "order.html",
        status=422 if wrong else 200,
        fields=kept,
        examples=examples,
        wrong=not_at_a_field(wrong, kept),
    )


async def _book(asked: Asked, served: Served, expected: type[Struct]) -> Response[bytes]:
    schema, examples = await asked.services.apart(_about, served)
    given = await asked.services.apart(value_of, schema, await read_form(asked))
    try:
        reference = _reference(given)
        await _keep(asked, served, expected, given, reference, Condition(only_new=True))
    except FAILED as error:
        return await _form(asked, schema, examples, given, _said(error))
    return see(f"/v1/bookings/{reference}")


def _reference(given: Any) -> str:
    """The order's number, as its address will name it; raises `Refused` where none can."""
    reference = str(given.get("reference", "")) if isinstance(given, Mapping) else ""
    if reference and not re.fullmatch(NAME["pattern"], reference):
        text = (
            "An order number is of letters, digits, dots, dashes and underscores, and begins with a letter or a digit."
        )
        raise refuse("/reference", text, value=reference[:100], why="It stands in the address of the order.")
    return reference


async def _keep(
    asked: Asked, served: Served, expected: type[Struct], given: Any, reference: str, condition: Condition
) -> None:
    """Assess and keep it, as a program's PUT would."""
    body = msgspec.json.encode(given)
    order = await asked.services.apart(lambda: order_of(read(expected, body), reference))
    await asked.services.kept.refuse_more(asked.caller.tenant)
    with precondition_problems(), state_problems():
        await keep_order(asked, served, order, body, condition)


def _said(error: Exception) -> dict[str, list[str]]:
    problem = as_problem(error)
    return wrong_fields(problem) if problem is not None else {"": [str(error)]}


async def _questions(asked: Asked, served: Served) -> Response[bytes]:
    return await _answers_page(asked, served, {}, {})


async def _answers_page(
    asked: Asked, served: Served, sent: dict[str, str], wrong: dict[str, list[str]]
) -> Response[bytes]:
    head = await head_asked(asked)
    booking_shown = await revision_shown(asked, served, head, head.shown)
    schema, _ = await asked.services.apart(_about, served)
    order, open_questions = await asked.services.apart(_order_and_questions, booking_shown)
    asks = [ask for q in open_questions if (ask := _ask(schema, order, q, wrong)) is not None]
    others = [q for q in open_questions if not any(ask["question"] is q for ask in asks)]
    for ask in asks:
        _entered(ask["field"], sent)
    return await shown(
        asked,
        "answers.html",
        status=422 if wrong else 200,
        reference=head.reference,
        revision=head.revision,
        asks=asks,
        others=[prose(f"{words(q['field'].strip('/').replace('/', ', '))}: {q['effect']}") for q in others],
        wrong=not_at_a_field(wrong, [ask["field"] for ask in asks]),
        done="",
    )


def _order_and_questions(of: Shown) -> tuple[Any, list[dict[str, Any]]]:
    """The order as it was sent, and what its plan leaves open."""
    results = msgspec.json.decode(of.assessment)["results"]
    return msgspec.json.decode(of.booking.sent), results.get("open_questions", [])


def _ask(
    schema: dict[str, Any], order: Any, question: dict[str, Any], wrong: dict[str, list[str]]
) -> dict[str, Any] | None:
    """A question with its field; nothing for one that the order itself cannot answer."""
    pointer = str(question["field"]).removeprefix("#")
    known = schema_at(schema, order, pointer)
    if known is None or pointer.split("/")[1:2] in [[name] for name in NOT_ASKED]:
        return None
    one_to_fill = [{}] if kind_of(known) == "list" else MISSING
    field = field_of(pointer, known, one_to_fill, schema, required=False, wrong=wrong, deep=0)
    need_nothing(field)
    field.given = field.given or field.kind == "group"  # what is asked is in sight
    return {
        "question": question,
        "field": field,
        "assumed": prose(question["assumed"]),
        "effect": prose(question["effect"]),
        "who": OURSELVES if question["who"] == "hire_company" else words(question["who"]),
        "decides": question["decides"],
    }


def _entered(field: Field, sent: dict[str, str]) -> None:
    """What was put in, where the form is shown again."""
    if field.kind == "quantity":
        field.value, field.unit = sent.get(f"{field.pointer}/value", ""), sent.get(f"{field.pointer}/unit", field.unit)
    elif field.kind not in ("group", "list"):
        field.value = sent.get(field.pointer, "")
    for child in field.children:
        _entered(child, sent)


async def _answer(asked: Asked, served: Served, expected: type[Struct]) -> Response[bytes]:
    head = await head_asked(asked)
    sent = await read_form(asked)
    if dict(sent).get("revision") != str(head.revision):
        text = "Somebody changed this order meanwhile: what is shown now is the newest. Look at it, and send again."
        return await _answers_page(asked, served, dict(sent), {"": [text]})
    booking = (await revision_shown(asked, served, head, head.shown)).booking
    schema, _ = await asked.services.apart(_about, served)
    order = msgspec.json.decode(booking.sent)
    changed = await asked.services.apart(_with_answers, schema, order, sent)
    if changed == order:
        return await _answers_page(asked, served, dict(sent), {"": ["Nothing was filled in."]})
    try:
        await _keep(asked, served, expected, changed, head.reference, Condition(if_match=(head.etag,)))
    except FAILED as error:
        return await _answers_page(asked, served, dict(sent), _said(error))
    return see(f"/v1/bookings/{head.reference}")


def _with_answers(schema: dict[str, Any], order: Any, sent: list[tuple[str, str]]) -> Any:
    """The order with every answer in its place."""
    named = {name.removesuffix("/value").removesuffix("/unit") for name, text in sent if name.startswith("/") and text}
    for pointer in sorted({_of_new_list(order, name) for name in named}):
        known = schema_at(schema, order, pointer)
        if known is not None:
            order = at_pointer(order, pointer, known, dict(sent), schema)
    return order


def _of_new_list(order: Any, pointer: str) -> str:
    """The list that a place is in, where the order has none yet: it is read whole. Else the place itself."""
    here = order
    steps = pointer.split("/")[1:]
    for number, step in enumerate(steps):
        if step.isdecimal() and not isinstance(here, list):
            return "/".join(["", *steps[:number]])
        if isinstance(here, list):
            here = here[int(step)] if step.isdecimal() and int(step) < len(here) else MISSING
        else:
            here = here.get(step, MISSING) if isinstance(here, Mapping) else MISSING
    return pointer


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses; none where nobody assesses orders."""
    served = registry.role("booking")
    if served is None:
        return []
    expected = served.local.given

    def with_served(handler: Callable[..., Any], *more: Any) -> Callable[[Asked], Any]:
        async def handle(asked: Asked) -> Response[bytes]:
            response: Response[bytes] = await handler(asked, served, *more)
            return response

        return handle

    answers = "/v1/bookings/{reference}/answers"
    return [
        page_at("/orders/new", "NewOrder", "book", with_served(_new), EXAMPLE),
        form_at("/orders/new", "NewOrder", "book", with_served(_book, expected)),
        page_at(answers, "Questions", "book", with_served(_questions), REFERENCE),
        form_at(answers, "Answers", "book", with_served(_answer, expected), REFERENCE),
    ]
