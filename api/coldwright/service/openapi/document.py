"""The OpenAPI 3.1 document, made from the same declarations that make the routes."""

from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct

from coldwright import __version__
from coldwright.registry.components import Components
from coldwright.service.http.endpoint import BINARY, Endpoint, Parameter, Reply
from coldwright.service.http.problems import KINDS, MEDIA_TYPE, Problem

DESCRIPTION = """\
Calculators for temporary chilled-water plant. Every `POST` to a calculator is pure: safe to repeat and to cache by the
`digest` of its answer. A `stop` among the findings is a 200: the calculation succeeded and its answer is no.
Unknown fields of a request are refused; clients should ignore unknown fields of a response, and words that an output
enumeration gains later. Every answer carries `X-Request-Id` (yours, where you sent one) and `traceparent`; whatever takes
gzip gets long answers packed. No field is ever null: what is not known is left out.
Local codes, the site's permits and licensed practice prevail over every answer.
"""

_ALWAYS = ("refused-input", "overloaded", "internal-error")
_WITH_KEY = ("key-missing", "scope-missing", "too-many-requests")
_WITH_BODY = ("not-json", "too-slow", "too-large", "media-type-not-taken")


def build_document(
    endpoints: Sequence[Endpoint], tags: dict[str, str], public_url: str = "", extra: Iterable[type[Struct]] = ()
) -> dict[str, Any]:
    """The document of every endpoint that is documented."""
    components = Components()
    components.add(Problem, *extra)
    paths: dict[str, Any] = {}
    for endpoint in endpoints:
        if endpoint.documented:
            paths.setdefault(endpoint.path, {})[endpoint.method.lower()] = _operation(endpoint, components)
    schemas = dict(components.schemas)
    for endpoint in endpoints:  # ours first: what a stranger brings along of the contract is the same
        for name, schema in endpoint.components.items():
            schemas.setdefault(name, schema)
    used = {e.tag for e in endpoints}
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Coldwright",
            "version": __version__,
            "description": DESCRIPTION,
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        "servers": [{"url": public_url or "/"}],
        "tags": [{"name": name, "description": text} for name, text in tags.items() if name in used],
        "security": [{"bearer": []}],
        "paths": paths,
        "components": {
            "schemas": dict(sorted(schemas.items())),
            "securitySchemes": {
                "bearer": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "An API key or an identity provider's token; not needed on loopback without keys.",
                }
            },
        },
    }


def _operation(endpoint: Endpoint, components: Components) -> dict[str, Any]:
    operation: dict[str, Any] = {
        "operationId": endpoint.operation_id,
        "summary": endpoint.summary,
        "description": endpoint.description or endpoint.summary,
        "tags": [endpoint.tag],
    }
    if endpoint.deprecated:
        operation["deprecated"] = True
    if endpoint.scope == "public":
        operation["security"] = []
    else:
        operation["x-scope"] = endpoint.scope
    if endpoint.parameters:
        operation["parameters"] = [_parameter(p) for p in endpoint.parameters]
    if endpoint.body is not None or endpoint.body_media_types != ("application/json",):
        operation["requestBody"] = {"required": endpoint.body_needed, "content": _body(endpoint, components)}
        if endpoint.unlisted_media_types:
            operation["requestBody"]["x-also-takes"] = list(endpoint.unlisted_media_types)
    operation["responses"] = _responses(endpoint, components)
    return operation


def _parameter(parameter: Parameter) -> dict[str, Any]:
    return {
        "name": parameter.name,
        "in": parameter.place,
        "description": parameter.description,
        "required": parameter.required or parameter.place == "path",
        "schema": dict(parameter.schema),
    } | ({} if parameter.example is None else {"example": parameter.example})


def _body(endpoint: Endpoint, components: Components) -> dict[str, Any]:
    content: dict[str, Any] = {}
    for media_type in endpoint.body_media_types:
        if media_type == "application/json" and endpoint.body is not None:
            if isinstance(endpoint.body, str):
                content[media_type] = {"schema": {"$ref": f"#/components/schemas/{endpoint.body}"}}
            else:
                components.add(endpoint.body)
                content[media_type] = {"schema": components.reference(endpoint.body)}
            if endpoint.examples:
                content[media_type]["examples"] = {
                    e.name: {"summary": e.summary, "value": dict(e.given)} for e in endpoint.examples
                }
        elif media_type == BINARY:
            content[media_type] = {"schema": {"type": "string", "format": "binary"}}
        else:
            content[media_type] = {"schema": {"type": "string"}}
    return content


def _responses(endpoint: Endpoint, components: Components) -> dict[str, Any]:
    responses: dict[str, Any] = {
        str(status): _reply(reply, components, tagged=endpoint.tagged)
        for status, reply in sorted(endpoint.replies.items())
    }
    slugs = [*_ALWAYS, *endpoint.problems]
    if not endpoint.path.startswith("/health/"):  # which a watcher asks under any name
        slugs.append("host-not-allowed")
    if endpoint.scope != "public":
        slugs += _WITH_KEY
    if endpoint.body is not None or endpoint.body_media_types != ("application/json",):
        slugs += _WITH_BODY
    by_status: dict[int, list[str]] = {}
    for slug in dict.fromkeys(slugs):
        by_status.setdefault(KINDS[slug].status, []).append(KINDS[slug].title)
    for status, titles in sorted(by_status.items()):
        responses[str(status)] = {
            "description": "; ".join(titles) + ".",
            "content": {MEDIA_TYPE: {"schema": components.reference(Problem)}},
        }
        if status in (429, 503):
            responses[str(status)]["headers"] = {
                "Retry-After": {
                    "description": "Seconds until it is worth asking again.",
                    "schema": {"type": "integer", "minimum": 1},
                }
            }
    return responses


def _reply(reply: Reply, components: Components, *, tagged: bool) -> dict[str, Any]:
    described: dict[str, Any] = {"description": reply.description}
    if isinstance(reply.content, str):
        described["content"] = {reply.media_type: {"schema": {"$ref": f"#/components/schemas/{reply.content}"}}}
    elif reply.content is str:
        described["content"] = {reply.media_type: {"schema": {"type": "string"}}}
    elif reply.content is dict:
        described["content"] = {reply.media_type: {"schema": {"type": "object"}}}
    elif reply.content is not None:
        components.add(reply.content)
        described["content"] = {reply.media_type: {"schema": components.reference(reply.content)}}
    for media_type, struct in reply.other_types.items():
        components.add(struct)
        described.setdefault("content", {})[media_type] = {"schema": components.reference(struct)}
    for media_type in reply.other_media_types:
        described.setdefault("content", {})[media_type] = {"schema": {"type": "string"}}
    headers = dict(reply.headers)
    if tagged:
        headers["ETag"] = "Names this state and form, for `If-Match` and `If-None-Match`."
    if headers:
        described["headers"] = {
            name: {"description": text, "schema": {"type": "string", "maxLength": 2000}}
            for name, text in headers.items()
        }
    return described
