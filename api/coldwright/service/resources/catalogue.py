"""`/v1/references`, `/v1/tables`, `/v1/plugins`, `/problems`: where everything comes from and what it means."""

from typing import Annotated

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import CONTRACT_VERSION, Reference, Table
from coldwright.contract.reference import PROVENANCE_MEANING
from coldwright.registry import Found, Registry
from coldwright.service.http.endpoint import HAS_IT, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.paging import PAGE_PARAMETERS, page_of
from coldwright.service.http.problems import KINDS, ProblemKind, ProblemRaised
from coldwright.service.http.replies import cached_reply, json_reply


class CitedReference(Struct, frozen=True, kw_only=True):
    """A source with who cites it."""

    reference: Annotated[Reference, Meta(description="The source.")]
    meaning: Annotated[str, Meta(description="What its provenance means.")]
    used_by: Annotated[tuple[str, ...], Meta(description="Ids of the calculators that cite it.")]


class ReferenceList(Struct, frozen=True, kw_only=True):
    """A page of the sources."""

    references: Annotated[tuple[CitedReference, ...], Meta(description="Sorted by id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class TableEntry(Struct, frozen=True, kw_only=True):
    """A data table in the list."""

    id: Annotated[str, Meta(description="Id.")]
    title: Annotated[str, Meta(description="What it holds.")]
    provenance: Annotated[str, Meta(description="How well it is known.")]
    used_by: Annotated[tuple[str, ...], Meta(description="Ids of the calculators that read it.")]
    href: Annotated[str, Meta(description="Address of the table.")]


class TableList(Struct, frozen=True, kw_only=True):
    """A page of the data tables."""

    tables: Annotated[tuple[TableEntry, ...], Meta(description="Sorted by id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class PluginList(Struct, frozen=True, kw_only=True):
    """Every plugin that was found."""

    contract: Annotated[str, Meta(description="Version of the contract that is served.")]
    plugins: Annotated[tuple[Found, ...], Meta(description="Loaded and set aside.")]


class ProblemList(Struct, frozen=True):
    """The catalogue of problems."""

    problems: Annotated[tuple[ProblemKind, ...], Meta(description="Every type of problem.")]


def cited(registry: Registry) -> list[CitedReference]:
    """Every source, with the calculators that cite it. Two plugins may give one id to two sources: both are listed."""
    users: dict[tuple[str, Reference], list[str]] = {}
    for name, plugin in registry.plugins.items():
        for reference in plugin.references:
            users.setdefault((reference.id, reference), []).append(name)
    for id_, served in sorted(registry.served.items()):
        for reference in served.calculator.references:
            users.setdefault((reference.id, reference), []).append(id_)
    return [
        CitedReference(reference=r, meaning=PROVENANCE_MEANING[r.provenance], used_by=tuple(who))
        for (_, r), who in sorted(users.items(), key=lambda entry: entry[0][0])
    ]


def tables(registry: Registry) -> dict[str, tuple[Table, list[str]]]:
    """Every data table, with the calculators that read it."""
    found: dict[str, tuple[Table, list[str]]] = {}
    for id_, served in sorted(registry.served.items()):
        for table in served.calculator.tables:
            found.setdefault(table.id, (table, []))[1].append(id_)
    return dict(sorted(found.items()))


async def _references(asked: Asked) -> Response[bytes]:
    page, token = page_of(asked, cited(asked.services.registry))
    return cached_reply(asked, msgspec.json.encode(ReferenceList(references=tuple(page), next_page_token=token)))


async def _tables(asked: Asked) -> Response[bytes]:
    entries = [
        TableEntry(id=i, title=t.title, provenance=t.reference.provenance, used_by=tuple(users), href=f"/v1/tables/{i}")
        for i, (t, users) in tables(asked.services.registry).items()
    ]
    page, token = page_of(asked, entries)
    return cached_reply(asked, msgspec.json.encode(TableList(tables=tuple(page), next_page_token=token)))


async def _table(asked: Asked) -> Response[bytes]:
    found = tables(asked.services.registry).get(asked.path("id"))
    if found is None:
        raise ProblemRaised("not-found", "There is no such table: see GET /v1/tables.")
    return cached_reply(asked, msgspec.json.encode(found[0]))


async def _plugins(asked: Asked) -> Response[bytes]:
    return json_reply(PluginList(contract=CONTRACT_VERSION, plugins=tuple(asked.services.registry.found)))


async def _problem(asked: Asked) -> Response[bytes]:
    kind = KINDS.get(asked.path("slug"))
    if kind is None:
        raise ProblemRaised("not-found", "There is no problem of that name: see GET /problems.")
    return cached_reply(asked, msgspec.json.encode(kind))


async def _problems(asked: Asked) -> Response[bytes]:
    return cached_reply(asked, msgspec.json.encode(ProblemList(tuple(KINDS.values()))))


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    text = {"type": "string", "maxLength": 120}
    return [
        Endpoint(
            "GET",
            "/v1/references",
            "listReferences",
            "List the sources",
            "catalogue",
            "calculate",
            _references,
            {200: Reply("A page of the sources.", ReferenceList), 304: HAS_IT},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input",),
            description="Every standard, handbook, page and library that answers rest on, and how well each is known.",
        ),
        Endpoint(
            "GET",
            "/v1/tables",
            "listTables",
            "List the data tables",
            "catalogue",
            "calculate",
            _tables,
            {200: Reply("A page of the tables.", TableList), 304: HAS_IT},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input",),
        ),
        Endpoint(
            "GET",
            "/v1/tables/{id}",
            "getTable",
            "Read a data table",
            "catalogue",
            "calculate",
            _table,
            {200: Reply("The table with its citation.", Table), 304: HAS_IT},
            parameters=(Parameter("id", "path", "Id of the table.", text),),
            problems=("not-found",),
        ),
        Endpoint(
            "GET",
            "/v1/plugins",
            "listPlugins",
            "List the plugins",
            "catalogue",
            "calculate",
            _plugins,
            {200: Reply("What is loaded and what was set aside, and why.", PluginList)},
        ),
        Endpoint(
            "GET",
            "/problems",
            "listProblems",
            "List the types of problem",
            "catalogue",
            "public",
            _problems,
            {200: Reply("The catalogue.", ProblemList), 304: HAS_IT},
        ),
        Endpoint(
            "GET",
            "/problems/{slug}",
            "getProblem",
            "What a type of problem means",
            "catalogue",
            "public",
            _problem,
            {200: Reply("The entry of the catalogue.", ProblemKind), 304: HAS_IT},
            parameters=(
                Parameter("slug", "path", "Last part of the `type` of a problem.", text, example="refused-input"),
            ),
            problems=("not-found",),
        ),
    ]
