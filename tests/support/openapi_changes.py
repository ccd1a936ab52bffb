"""What changed between two OpenAPI documents so that a client built on the older one would break.

Removed: an operation, a response field, a word that a request may hold. New: a required input. Narrowed: the range of an
input. A word that stays taken without being published is not gone. Widened is fine for a request and, for a response,
means only that clients must pass over what they do not know.
"""

from collections.abc import Iterator
from typing import Any

from coldwright.contract.quantities import UNLISTED

Document = dict[str, Any]


def breaking_changes(old: Document, new: Document) -> Iterator[str]:
    """Every breaking change, in words."""
    for path, item in old["paths"].items():
        for method, before in item.items():
            after = new["paths"].get(path, {}).get(method)
            name = f"{method.upper()} {path}"
            if after is None:
                yield f"{name}: removed"
            else:
                yield from _operation(name, old, before, new, after)


def _operation(name: str, old: Document, before: Any, new: Document, after: Any) -> Iterator[str]:
    if before["operationId"] != after["operationId"]:
        yield f"{name}: operationId was {before['operationId']}, is {after['operationId']}"
    known = {(p["name"], p["in"]): p for p in before.get("parameters", ())}
    for parameter in after.get("parameters", ()):
        key = (parameter["name"], parameter["in"])
        if parameter["required"] and not known.get(key, {}).get("required"):
            yield f"{name}: parameter {parameter['name']} is required now"
    for key in known.keys() - {(p["name"], p["in"]) for p in after.get("parameters", ())}:
        yield f"{name}: parameter {key[0]} removed"
    for media, content in before.get("requestBody", {}).get("content", {}).items():
        body = after.get("requestBody", {})
        now = body.get("content", {}).get(media)
        if now is None and media in body.get("x-also-takes", ()):
            continue  # taken as before, and listed so that makers of clients pass over it
        if now is None:
            yield f"{name}: {media} is no longer taken"
        else:
            yield from _schema(f"{name} body", old, content["schema"], new, now["schema"], request=True, seen=set())
    for status, reply in before["responses"].items():
        for media, content in reply.get("content", {}).items() if status.startswith("2") else ():
            now = after["responses"].get(status, {}).get("content", {}).get(media)
            if now is None:
                yield f"{name}: {status} {media} is no longer answered"
            else:
                yield from _schema(
                    f"{name} {status}", old, content["schema"], new, now["schema"], request=False, seen=set()
                )


def _schema(
    at: str, old: Document, before: Any, new: Document, after: Any, *, request: bool, seen: set[tuple[str, str]]
) -> Iterator[str]:
    if "$ref" in before or "$ref" in after:
        names = (str(before.get("$ref")), str(after.get("$ref")))
        if "$ref" in before and "$ref" in after and names[0] != names[1]:
            yield f"{at}: component was {names[0]}, is {names[1]}"
            return
        if names in seen:
            return
        seen = seen | {names}
        before, after = _resolved(old, before), _resolved(new, after)
    if "type" not in before and all(isinstance(word, int) for word in before.get("enum", "?")):
        before = before | {"type": "integer"}  # it says of its words what they were
    if before.get("type") != after.get("type"):
        yield f"{at}: type was {before.get('type')}, is {after.get('type')}"
        return
    yield from _words(at, before, after, request=request)
    if request:
        yield from _bounds(at, before, after)
    yield from _members(at, old, before, new, after, request=request, seen=seen)


def _members(
    at: str, old: Document, before: Any, new: Document, after: Any, *, request: bool, seen: set[tuple[str, str]]
) -> Iterator[str]:
    fields, now = before.get("properties", {}), after.get("properties", {})
    for name, schema in fields.items():
        if name not in now:
            yield f"{at}/{name}: removed"
        else:
            yield from _schema(f"{at}/{name}", old, schema, new, now[name], request=request, seen=seen)
    newly = set(after.get("required", ())) - set(before.get("required", ()))
    if request and newly:
        yield f"{at}: {', '.join(sorted(newly))} required now"
    gone = set(before.get("required", ())) - set(after.get("required", ()))
    if not request and gone & now.keys():
        yield f"{at}: {', '.join(sorted(gone))} may be absent now"
    if "items" in before and isinstance(before["items"], dict) and isinstance(after.get("items"), dict):
        yield from _schema(f"{at}[]", old, before["items"], new, after["items"], request=request, seen=seen)
    for key in ("anyOf", "oneOf"):
        lost = {_label(s) for s in before.get(key, ())} - {_label(s) for s in after.get(key, ())}
        if request and lost:
            yield f"{at}: {', '.join(sorted(lost))} is no longer taken"
        by_label = {_label(s): s for s in after.get(key, ())}
        for schema in before.get(key, ()):
            if _label(schema) in by_label:
                yield from _schema(at, old, schema, new, by_label[_label(schema)], request=request, seen=seen)


def _label(schema: Any) -> str:
    return str(schema.get("$ref") or schema.get("type") or schema.get("enum"))


def _words(at: str, before: Any, after: Any, *, request: bool) -> Iterator[str]:
    lost = set(map(str, before.get("enum", ()))) - set(map(str, after.get("enum", ()))) - UNLISTED
    if request and "enum" in after and lost:
        yield f"{at}: {', '.join(sorted(lost))} is no longer taken"


def _bounds(at: str, before: Any, after: Any) -> Iterator[str]:
    lower = ("minimum", "exclusiveMinimum", "minLength", "minItems")
    upper = ("maximum", "exclusiveMaximum", "maxLength", "maxItems")
    ranges = [(before, after), (before.get("x-range", {}), after.get("x-range", {}))]
    for one, two in ranges:
        for key in lower:
            if two.get(key, float("-inf")) > one.get(key, float("-inf")):
                yield f"{at}: {key} was {one.get(key)}, is {two[key]}"
        for key in upper:
            if two.get(key, float("inf")) < one.get(key, float("inf")):
                yield f"{at}: {key} was {one.get(key)}, is {two[key]}"


def _resolved(document: Document, schema: Any) -> Any:
    """The schema behind a reference, with what stands beside the reference."""
    while "$ref" in schema:
        beside = {k: v for k, v in schema.items() if k != "$ref"}
        schema = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]] | beside
    return schema
