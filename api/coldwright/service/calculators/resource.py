"""`/v1/calculators`: the list, the description of each, and the evaluation of each as an operation of its own."""

import time
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from email.utils import format_datetime
from functools import cache
from typing import Annotated, Any, cast

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Reference
from coldwright.contract.calculator import Calculator
from coldwright.registry import Registry, Reported, Served, component_name, stem
from coldwright.registry.answers import answer_type
from coldwright.registry.components import Components, standing_alone
from coldwright.registry.reporting import ranges_of
from coldwright.service.calculators.recording import keep_record
from coldwright.service.http.body import raw_body
from coldwright.service.http.endpoint import HAS_IT, UNITS, Asked, Endpoint, Handler, Method, Parameter, Reply
from coldwright.service.http.paging import PAGE_PARAMETERS, page_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import cached_reply, json_reply, wanted_units

AnyCalculator = Calculator[Any, Any] | Reported


class CalculatorEntry(Struct, frozen=True, kw_only=True):
    """A calculator in the list."""

    id: Annotated[str, Meta(description="Id: `family.name`.")]
    family: Annotated[str, Meta(description="Family.")]
    name: Annotated[str, Meta(description="Name within the family.")]
    version: Annotated[str, Meta(description="Version.")]
    title: Annotated[str, Meta(description="What it answers.")]
    plugin: Annotated[str, Meta(description="Distribution that it came from.")]
    href: Annotated[str, Meta(description="Address that describes and evaluates it.")]


class CalculatorList(Struct, frozen=True, kw_only=True):
    """A page of the list of calculators."""

    calculators: Annotated[tuple[CalculatorEntry, ...], Meta(description="Sorted by id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class FindingEntry(Struct, frozen=True):
    """A finding that a calculator may raise."""

    code: Annotated[str, Meta(description="Stable word.")]
    severities: Annotated[tuple[str, ...], Meta(description="Severities that it can have.")]
    meaning: Annotated[str, Meta(description="What it means.")]


class ExampleEntry(Struct, frozen=True):
    """An invented example."""

    name: Annotated[str, Meta(description="Name.")]
    summary: Annotated[str, Meta(description="What it shows.")]
    given: Annotated[Any, Meta(description="A body to send. Its data are invented.")]


class RangeEntry(Struct, frozen=True):
    """The range in which a field is taken."""

    field: Annotated[str, Meta(description="Component and field.")]
    range: Annotated[Any, Meta(description="Bounds, unit and reason.")]


class MajorEntry(Struct, frozen=True):
    """A major version that is served."""

    version: Annotated[str, Meta(description="Version.")]
    href: Annotated[str, Meta(description="Address at which this major version answers for as long as it is served.")]


class Deprecation(Struct, frozen=True):
    """A calculator on its way out: it still answers."""

    since: Annotated[str, Meta(description="Day on which it was said.")]
    until: Annotated[str, Meta(description="Day before which it is not taken away.")]
    instead: Annotated[str, Meta(description="What to use.")]


class CalculatorDescription(Struct, frozen=True, kw_only=True):
    """Everything about one calculator."""

    id: Annotated[str, Meta(description="Id: `family.name`.")]
    version: Annotated[str, Meta(description="Version.")]
    title: Annotated[str, Meta(description="What it answers.")]
    summary: Annotated[str, Meta(description="Purpose, method, validity.")]
    plugin: Annotated[str, Meta(description="Distribution that it came from.")]
    plugin_version: Annotated[str, Meta(description="Version of the distribution.")]
    load: Annotated[str, Meta(description="`light`: answered in line; `heavy`: in a worker process.")]
    majors: Annotated[tuple[MajorEntry, ...], Meta(description="Major versions that are served, the newest first.")]
    deprecated: Annotated[Deprecation, Meta(description="Absent while it is here to stay.")] | UnsetType = UNSET
    uses: Annotated[tuple[str, ...], Meta(description="Calculators that it asks.")]
    hazards: Annotated[tuple[str, ...], Meta(description="Hazards of the work that it speaks of.")]
    findings: Annotated[tuple[FindingEntry, ...], Meta(description="Findings that it may raise.")]
    references: Annotated[tuple[Reference, ...], Meta(description="Sources, with how well each is known.")]
    tables: Annotated[tuple[str, ...], Meta(description="Ids of the data tables it reads: see `GET /v1/tables`.")]
    examples: Annotated[tuple[ExampleEntry, ...], Meta(description="Invented examples that run.")]
    ranges: Annotated[tuple[RangeEntry, ...], Meta(description="Ranges in which the inputs are taken.")]
    given_schema: Annotated[Any, Meta(description="JSON Schema of the input.")]
    results_schema: Annotated[Any, Meta(description="JSON Schema of the results.")]


def _address(served: Served) -> str:
    calculator = served.calculator
    return f"/v1/calculators/{calculator.family}/{calculator.name}"


def _pinned_address(served: Served) -> str:
    return f"{_address(served)}/majors/{served.calculator.major}"


def describe(served: Served, majors: Iterable[Served]) -> CalculatorDescription:
    """The description, from the calculator itself."""
    calculator = served.calculator
    leaving = calculator.deprecated
    ranges = calculator.ranges if isinstance(calculator, Reported) else ranges_of(calculator)
    return CalculatorDescription(
        id=calculator.id,
        version=calculator.version,
        title=calculator.title,
        summary=calculator.summary,
        plugin=served.distribution,
        plugin_version=served.distribution_version,
        load=calculator.load.value,
        majors=tuple(MajorEntry(m.calculator.version, _pinned_address(m)) for m in majors),
        deprecated=Deprecation(*leaving) if leaving else UNSET,
        uses=calculator.uses,
        hazards=calculator.hazards,
        findings=tuple(FindingEntry(f.code, f.severities, f.meaning) for f in calculator.findings.values()),
        references=calculator.references,
        tables=tuple(t.id for t in calculator.tables),
        examples=tuple(ExampleEntry(e.name, e.summary, e.given) for e in calculator.examples),
        ranges=tuple(RangeEntry(r.field, r.range) for r in ranges),
        given_schema=_schema(calculator, calculator.given),
        results_schema=_schema(calculator, calculator.results),
    )


def _schema(calculator: AnyCalculator, part: type[Struct] | str) -> dict[str, Any]:
    """A JSON Schema of its input or results that stands alone."""
    if isinstance(calculator, Reported):
        return standing_alone(str(part), calculator.components)
    components = Components()
    components.add(part)
    return standing_alone(component_name(cast(type[Struct], part)), components.schemas)


def _entry(served: Served) -> CalculatorEntry:
    c = served.calculator
    return CalculatorEntry(
        id=c.id,
        family=c.family,
        name=c.name,
        version=c.version,
        title=c.title,
        plugin=served.distribution,
        href=_address(served),
    )


async def _list(asked: Asked) -> Response[bytes]:
    entries = [_entry(s) for _, s in sorted(asked.services.registry.served.items())]
    page, token = page_of(asked, entries)
    return cached_reply(asked, msgspec.json.encode(CalculatorList(calculators=tuple(page), next_page_token=token)))


async def _unknown(asked: Asked) -> Response[bytes]:
    name = f"{asked.path('family')}.{asked.path('name')}"
    majors = [s.calculator.version for s in asked.services.registry.majors(name)]
    if majors:
        raise ProblemRaised("not-found", f"{name} is served here as {', '.join(majors)}, not as that major version.")
    raise ProblemRaised("not-found", f"There is no calculator {name[:120]}: see GET /v1/calculators.")


def leaving_headers(calculator: AnyCalculator) -> dict[str, str]:
    """`Deprecation` (RFC 9745) and `Sunset` (RFC 8594) of a calculator on its way out."""
    if calculator.deprecated is None:
        return {}
    since, until = (datetime.fromisoformat(day).replace(tzinfo=UTC) for day in calculator.deprecated[:2])
    return {"Deprecation": f"@{int(since.timestamp())}", "Sunset": format_datetime(until, usegmt=True)}


def _describing(served: Served, majors: Iterable[Served]) -> Endpoint:
    calculator = served.calculator
    beside = tuple(majors)

    @cache
    def body() -> bytes:
        """Made when it is first asked for: the schemas of all calculators would hold up the start."""
        return msgspec.json.encode(describe(served, beside))

    async def handler(asked: Asked) -> Response[bytes]:
        return cached_reply(asked, body())

    return Endpoint(
        method="GET",
        path=_address(served) if served.newest else _pinned_address(served),
        operation_id=f"describe{stem(calculator, newest=served.newest)}",
        summary=f"Describe: {calculator.title}",
        description=f"Schemas, examples, findings, references and ranges of `{calculator.id}`.",
        tag=calculator.family,
        scope="calculate",
        handler=handler,
        replies={200: Reply("The description.", CalculatorDescription), 304: HAS_IT},
    )


def _evaluating(served: Served) -> Endpoint:
    calculator = served.calculator
    leaving = leaving_headers(calculator)

    async def handler(asked: Asked) -> Response[bytes]:
        units = wanted_units(asked)
        body = await raw_body(asked)
        began = time.perf_counter()
        evaluated = await asked.services.engine.evaluate(served, body, units)
        seconds = time.perf_counter() - began
        asked.services.metrics.count_answer(calculator.id, evaluated.outcome, seconds)
        if asked.query("record") == "true":
            kept = evaluated if units == "metric" else await asked.services.engine.evaluate(served, body, "metric")
            await keep_record(asked, calculator.id, calculator.version, kept)
        return json_reply(evaluated.body, headers=leaving)

    name = stem(calculator, newest=served.newest)
    reported = calculator if isinstance(calculator, Reported) else None
    answer = reported.answer if reported else answer_type(served.local, newest=served.newest)
    return Endpoint(
        method="POST",
        path=_address(served) if served.newest else _pinned_address(served),
        operation_id=name[:1].lower() + name[1:],
        summary=calculator.title,
        description=_operation_text(served),
        deprecated=calculator.deprecated is not None or not served.newest,
        tag=calculator.family,
        scope="calculate",
        handler=handler,
        replies={200: Reply("The answer; a `stop` finding is an answer too.", answer)},
        parameters=(UNITS, RECORD),
        body=calculator.given,
        components=reported.components if reported else {},
        examples=calculator.examples,
        problems=(
            "conflict",
            "calculator-defect",
            "calculator-died",
            "calculator-resting",
            "calculator-too-slow",
            "store-unavailable",
            "store-full",
            "storage-used",
        ),
    )


def _operation_text(served: Served) -> str:
    calculator = served.calculator
    text = f"{calculator.summary}\n\nVersion {calculator.version}, of `{served.distribution}`. Safe to repeat."
    if not served.newest:
        text += f"\n\nAn older major version: the newest answers at `{_address(served)}`."
    if leaving := calculator.deprecated:
        text += f"\n\nOn its way out since {leaving.since}, here until {leaving.until} at least. {leaving.instead}"
    return text


RECORD = Parameter(
    "record",
    "query",
    "Keep the answer under its digest: see `GET /v1/records/{digest}`.",
    {"type": "string", "enum": ["true", "false"]},
)


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource."""
    listing = Endpoint(
        method="GET",
        path="/v1/calculators",
        operation_id="listCalculators",
        summary="List the calculators",
        tag="catalogue",
        scope="calculate",
        handler=_list,
        replies={200: Reply("A page of the list.", CalculatorList), 304: HAS_IT},
        parameters=PAGE_PARAMETERS,
        problems=("refused-input",),
    )
    found = [listing]
    for id_ in sorted(registry.served):
        majors = registry.majors(id_)
        for served in majors:
            found += [_describing(served, majors), _evaluating(served)]
    newest = {(e.method, e.path): e for e in found}
    address = "/v1/calculators/{family}/{name}"
    return found + [
        Endpoint(
            method=method,
            path=path,
            operation_id=f"{method.lower()}UnlistedCalculator",
            summary="A calculator that is not there, or the newest by its major version",
            tag="catalogue",
            scope="calculate",
            handler=handler,
            replies={},
            parameters=(UNITS, RECORD) if method == "POST" else (),
            documented=False,
        )
        for method in METHODS
        for path, handler in ((address, _unknown), (f"{address}/majors/{{major}}", _pinning(newest)))
    ]


METHODS: tuple[Method, ...] = ("GET", "POST")


def _pinning(endpoints: Mapping[tuple[Method, str], Endpoint]) -> Handler:
    """The newest at the address of its own major version: for callers who pin it before a newer one comes."""

    async def handler(asked: Asked) -> Response[bytes]:
        served = asked.services.registry.find(f"{asked.path('family')}.{asked.path('name')}@{asked.path('major')}")
        if served is None or not served.newest:
            return await _unknown(asked)
        return await endpoints[asked.endpoint.method, _address(served)].handler(asked)

    return handler
