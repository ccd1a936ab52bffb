"""The bench: any calculator, a third party's too, tried from a form that is made of its own description."""

import shlex
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

import msgspec
from litestar import Response
from markupsafe import Markup, escape

from coldwright.contract.answer import Units
from coldwright.contract.people import is_quantity, label, plain_text
from coldwright.contract.series import sign_of
from coldwright.registry import Registry, Served
from coldwright.service.calculators.resource import CalculatorDescription, describe
from coldwright.service.exploration.asking import answer_or_problem
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter
from coldwright.service.http.negotiation import sources
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import wanted_units
from coldwright.service.http.sessions import read_form
from coldwright.service.people import swept
from coldwright.service.people.addresses import form_at, page_at
from coldwright.service.people.entered import value_of
from coldwright.service.people.fields import form_of, pretty
from coldwright.service.people.shell import see, shown
from coldwright.service.people.wrong import not_at_a_field, wrong_fields
from coldwright.sheets import record_sheet
from coldwright.sheets.outline import without_templates
from coldwright.sheets.text import MARKS

MOST_STEPS = 32
"""Of the pointer of a list: no form is so deep."""
LONGEST_LINK = 6_000
"""Characters of an address that every browser and proxy takes."""
MOST_OUTPUTS = 60
CLOSED = ("Cautions", "Assumptions", "What was assumed", "Worth knowing")
SIGNS = {"acceptable": "ready", "conditional": "check", "unacceptable": "stop"}
_ANY = {"type": "string", "maxLength": 100_000}
GIVEN = Parameter("given", "query", "The input, as JSON.", _ANY)
EXAMPLE = Parameter(
    "example", "query", "Number of the example to start from; 0: of none.", {"type": "string", "maxLength": 4}
)
SWEEP = tuple(Parameter(name, "query", "Of the sweep.", {"type": "string", "maxLength": 500}) for name in swept.NAMES)


@lru_cache(maxsize=512)
def _described(served: Served) -> CalculatorDescription:
    return describe(served, ())


def _served(asked: Asked) -> Served:
    name = f"{asked.path('family')}.{asked.path('name')}"
    served = asked.services.registry.find(name)
    if served is None:
        raise ProblemRaised("not-found", f"There is no calculator {name[:120]}: see the bench.")
    return served


async def _list(asked: Asked) -> Response[bytes]:
    families: dict[str, list[dict[str, str]]] = {}
    for id_, served in sorted(asked.services.registry.served.items()):
        calculator = served.calculator
        entry = {"name": calculator.name, "family": calculator.family, "title": calculator.title}
        entry |= {"version": calculator.version, "plugin": served.distribution, "summary": ""}
        families.setdefault(id_.partition(".")[0], []).append(entry)
    return await shown(
        asked, "bench_list.html", count=sum(map(len, families.values())), families=sorted(families.items())
    )


async def _get(asked: Asked) -> Response[bytes]:
    served = _served(asked)
    about = await asked.services.apart(_described, served)
    text = asked.query("given")
    if text is None:
        number = asked.query("example") or "1"
        chosen = int(number) if number.isdecimal() and int(number) <= len(about.examples) else 1
        given = msgspec.to_builtins(about.examples[chosen - 1].given) if chosen and about.examples else {}
        note = f"Filled in with an example. {about.examples[chosen - 1].summary}" if given else ""
        return await _page(asked, served, about, given, note=note)
    try:
        given = msgspec.json.decode(text)
    except msgspec.DecodeError:
        raise ProblemRaised("not-json", "The link is not whole: its input cannot be read.") from None
    return await _page(asked, served, about, given, ask=True)


async def _post(asked: Asked) -> Response[bytes]:
    served = _served(asked)
    about = await asked.services.apart(_described, served)
    sent = await read_form(asked)
    given = await asked.services.apart(value_of, about.given_schema, sent)
    pressed = dict(sent)
    if "add" in pressed or "take_away" in pressed:
        changed = _with_more(given, pressed["add"]) if "add" in pressed else _without(given, pressed["take_away"])
        return await _page(asked, served, about, changed, note="Not answered yet: the form was changed.")
    units = "us" if pressed.get("units") == "us" else "metric"
    link = _link(asked, given, units)
    if link:
        return see(f"{link}#answer")
    return await _page(asked, served, about, given, ask=True, units=units)


def _link(asked: Asked, given: Any, units: str) -> str:
    """The address that restores everything; empty where it would be too long."""
    query = urlencode({"given": msgspec.json.encode(given).decode(), "units": units})
    address = f"{asked.scope['path']}?{query}"
    return address if len(address) <= LONGEST_LINK else ""


def _with_more(given: Any, pointer: str) -> Any:
    """The input with one more item in the list at the pointer."""
    return _changed(given, _steps(pointer), lambda items: [*items, {}] if isinstance(items, list) else [{}])


def _without(given: Any, pointer: str) -> Any:
    *steps, last = _steps(pointer) or [""]
    place = int(last) if last.isdecimal() else -1
    return _changed(
        given, steps, lambda items: [v for n, v in enumerate(items) if n != place] if isinstance(items, list) else items
    )


def _steps(pointer: str) -> list[str]:
    """Of a pointer that a button of the form sent; a deeper one than any form has is none of its own."""
    if pointer.count("/") > MOST_STEPS:
        raise ProblemRaised("not-json", f"A list at more than {MOST_STEPS} steps is in no form.")
    return pointer.split("/")[1:]


def _changed(value: Any, steps: list[str], change: Any) -> Any:
    if not steps:
        return change(value)
    step, *rest = steps
    if isinstance(value, list):
        return [_changed(v, rest, change) if str(n) == step else v for n, v in enumerate(value)]
    known = dict(value) if isinstance(value, Mapping) else {}
    return known | {step: _changed(known.get(step), rest, change)}


async def _page(
    asked: Asked,
    served: Served,
    about: CalculatorDescription,
    given: Any,
    *,
    ask: bool = False,
    note: str = "",
    units: str = "",
) -> Response[bytes]:
    system: Units = "us" if (units or wanted_units(asked)) == "us" else "metric"
    calculator = served.calculator
    data: dict[str, Any] = {
        "sheet": None,
        "sign": "",
        "sweep": {},
        "programs": (),
        "numbers": (),
        "outputs": (),
        "link": "",
    }
    wrong: dict[str, list[str]] = {}
    if ask:
        answer = await answer_or_problem(asked.services, calculator.id, msgspec.json.encode(given), system)
        if isinstance(answer, ProblemRaised):
            wrong = wrong_fields(answer)
        else:
            sheet = record_sheet(answer, sources(asked.services.registry), title=calculator.title)
            data |= {"sheet": sheet, "sign": SIGNS[answer["outcome"]]}
            data |= {"numbers": tuple(_numbers(given, "")), "outputs": tuple(_numbers(answer["results"], "/results"))}
            data["sweep"] = await swept.swept(asked, calculator.id, given, system, data["numbers"], data["outputs"])
        data |= {"programs": tuple(_programs(asked, calculator, given, system)), "link": _link(asked, given, system)}
    fields = await asked.services.apart(form_of, about.given_schema, given, wrong)
    return await shown(
        asked,
        "bench.html",
        status=422 if wrong else 200,
        id=calculator.id,
        version=calculator.version,
        plugin=served.distribution,
        title=calculator.title,
        summary=plain_text(calculator.summary),
        examples=about.examples,
        here=f"/bench/{calculator.family}/{calculator.name}",
        fields=fields,
        wrong=not_at_a_field(wrong, fields),
        note=note,
        units=system,
        given=msgspec.json.encode(given).decode(),
        marks=MARKS,
        closed=CLOSED,
        lines=lambda text: Markup("\n").join(escape(line) for line in text.splitlines()),
        **data,
    )


def _numbers(value: Any, pointer: str, named: str = "") -> Iterator[tuple[str, str]]:
    """Every number below, with its pointer and its name."""
    for place, (at, text) in enumerate(_walk(value, pointer, named)):
        if place == MOST_OUTPUTS:
            return
        yield at, text


def _walk(value: Any, pointer: str, named: str) -> Iterator[tuple[str, str]]:
    value = without_templates(value)
    if is_quantity(value) or (isinstance(value, int | float) and not isinstance(value, bool)):
        yield (
            pointer,
            f"{named or 'Value'}{', ' + sign_of(value['unit']) if isinstance(value, Mapping) and value['unit'] != '1' else ''}",
        )
    elif isinstance(value, Mapping):
        for name, member in value.items():
            yield from _walk(member, f"{pointer}/{name}", f"{named}: {label(name).lower()}" if named else label(name))
    elif isinstance(value, list):
        for n, item in enumerate(value):
            yield from _walk(item, f"{pointer}/{n}", f"{named} {n + 1}")


def _programs(asked: Asked, calculator: Any, given: Any, units: str) -> Iterator[tuple[str, str]]:
    """The same question as something to copy."""
    settings = asked.services.settings
    base = settings.public_url or f"http://{asked.header('host') or 'localhost'}"
    address = f"{base}/v1/calculators/{calculator.family}/{calculator.name}" + ("?units=us" if units == "us" else "")
    body = msgspec.json.encode(given).decode()
    key = " --header 'Authorization: Bearer YOUR-KEY'" if asked.caller.means != "local" else ""
    yield (
        "curl",
        f"curl --header 'Content-Type: application/json'{key} \\\n  --data {shlex.quote(body)} \\\n  {shlex.quote(address)}",
    )
    headers = ', headers={"Authorization": "Bearer YOUR-KEY"}' if key else ""
    yield (
        "Python",
        f"import httpx\n\ngiven = {_python(given)}\nreply = httpx.post({address!r}, json=given{headers})\nprint(reply.json())",
    )
    yield "JSON", pretty(given)


def _python(value: Any) -> str:
    from pprint import pformat

    return pformat(value, width=88, sort_dicts=False)


def endpoints(registry: Registry) -> list[Endpoint]:  # noqa: ARG001 - the bench has whatever is served
    """The addresses of this resource."""
    return [
        page_at("/bench", "Bench", "calculate", _list),
        page_at("/bench/{family}/{name}", "BenchOf", "calculate", _get, GIVEN, EXAMPLE, UNITS, *SWEEP),
        form_at("/bench/{family}/{name}", "BenchOf", "calculate", _post),
    ]
