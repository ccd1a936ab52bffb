"""Schemas of structs, made by msgspec from the very types that read and write them.

A component's name depends on its struct alone (`registry.component_name`), so installing a plugin renames nothing.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract.quantities import UNLISTED, Quantity
from coldwright.contract.walk import all_structs
from coldwright.registry.names import component_name

REF = "#/components/schemas/"
WIDEST = 1e15
LARGEST_INTEGER = 2**53 - 1
LONGEST_TEXT = 20_000
TIMES = ("date", "date-time")
LONGEST_LIST = 100_000


class Components:
    """Collects the schemas of every struct that the document names: all are made in one go, when they are first read."""

    def __init__(self) -> None:
        self._owner: dict[str, type[Struct]] = {}
        self._made: dict[str, Any] = {}

    def add(self, *roots: Any) -> None:
        """Add every struct reachable from the roots."""
        for struct in all_structs(*roots):
            name = component_name(struct)
            if self._owner.setdefault(name, struct) is not struct:
                raise ValueError(f"two structs are called {name}")

    def reference(self, struct: type[Struct]) -> dict[str, str]:
        """A `$ref` to a struct that was added."""
        return {"$ref": REF + component_name(struct)}

    @property
    def schemas(self) -> dict[str, Any]:
        """The schemas by name."""
        if len(self._made) < len(self._owner):
            structs = list(self._owner.values())
            refs, bodies = msgspec.json.schema_components(structs, ref_template=REF + "{name}")
            names = {r["$ref"]: REF + component_name(s) for r, s in zip(refs, structs, strict=True)}
            words = {REF + name: body["enum"] for name, body in bodies.items() if "enum" in body}
            self._made = {
                name: _struct_schema(
                    struct, name, _finished(_spelt_out(bodies[ref["$ref"].removeprefix(REF)], words), names)
                )
                for (name, struct), ref in zip(self._owner.items(), refs, strict=True)
            }
        return self._made


def _struct_schema(struct: type[Struct], name: str, body: dict[str, Any]) -> dict[str, Any]:
    """The schema with its name, and with what the tag of a variant is for."""
    config = struct.__struct_config__
    if issubclass(struct, Quantity) and (own := struct.declared) is not None:
        bounds = {
            k: v for k, v in (("minimum", own.low), ("maximum", own.high), ("why", own.why)) if v not in (None, "")
        }
        body["x-units"] = {"base": own.base, "factors": dict(own.factors), "us": struct.us_unit}
        if bounds:
            body["x-range"] = bounds | {"unit": own.base}
    if config.tag_field:
        body["properties"][config.tag_field]["description"] = f"Says which variant this is: `{config.tag}`."
    return body | {"title": name}


def standing_alone(name: str, schemas: Mapping[str, Any]) -> dict[str, Any]:
    """A JSON Schema of one component, with all that it refers to."""
    reached, waiting = {name}, [name]
    while waiting:
        for other in _referred(schemas[waiting.pop()]):
            if other not in reached:
                reached.add(other)
                waiting.append(other)
    text = msgspec.json.encode(
        {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "$ref": f"#/$defs/{name}",
            "$defs": {n: schemas[n] for n in schemas if n in reached},
        }
    )
    decoded: dict[str, Any] = msgspec.json.decode(text.replace(REF.encode(), b"#/$defs/"))
    return decoded


def _referred(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for value in node.values():
            yield from _referred(value)
    elif isinstance(node, list | tuple):
        for item in node:
            yield from _referred(item)
    elif isinstance(node, str) and node.startswith(REF):
        yield node.removeprefix(REF)


_NO_SCHEMAS = ("const", "default", "enum", "examples", "x-file", "x-range", "x-table", "x-units")


def _member(key: str, value: Any, names: dict[str, str]) -> Any:
    if key in ("properties", "$defs"):  # here the keys are names of fields, whatever they are
        return {name: _finished(schema, names) for name, schema in value.items()}
    return value if key in _NO_SCHEMAS else _finished(value, names)


def _spelt_out(node: Any, words: dict[str, list[str]]) -> Any:
    """The words of an enumeration where they are asked for, as those of a literal: only structs are components."""
    if isinstance(node, list | tuple):
        return [_spelt_out(item, words) for item in node]
    if not isinstance(node, dict):
        return node
    spelt = {key: _spelt_out(value, words) for key, value in node.items() if key != "$ref" or value not in words}
    return spelt | {"enum": words[node["$ref"]]} if node.get("$ref") in words else spelt


def _finished(node: Any, names: dict[str, str]) -> Any:
    """As we publish it: bounded, closed, and without what trips the generators of clients."""
    if isinstance(node, list | tuple):
        return [_finished(item, names) for item in node]
    if not isinstance(node, dict):
        return names.get(node, node) if isinstance(node, str) else node
    done = _without_list_in_union({key: _member(key, value, names) for key, value in node.items()})
    if str(done.get("pattern", "")).endswith("\\Z"):
        done["pattern"] = done["pattern"].removesuffix("\\Z") + "$"
    if isinstance(done.get("default"), dict) and _holds_list(done["default"]):
        del done["default"]  # no generator for Java writes it so that it compiles; the description of the type has them
    if "enum" in done:
        done["enum"] = _listed(done["enum"])
        if "x-table" in done:
            done.pop("pattern", None)  # it says the same once more
        done.setdefault("type", "string" if isinstance(done["enum"][0], str) else "integer")
        return done
    kind = done.get("type")
    if kind == "number":
        _bound(done, -WIDEST, WIDEST)
        done.setdefault("format", "double")  # else a decimal type in C# and Java
    elif kind == "integer":
        _bound(done, -LARGEST_INTEGER, LARGEST_INTEGER)
        done.setdefault("format", "int64")
    elif kind == "string" and done.get("format") in TIMES:
        done.pop("maxLength", None)  # generators make a type of its own of it, and warn of what that type does not take
        if "pattern" in done:
            done["x-pattern"] = done.pop("pattern")
    elif kind == "string" and "const" not in done:
        done.setdefault("maxLength", LONGEST_TEXT)
    elif kind == "array":
        done.setdefault("maxItems", LONGEST_LIST)
        _give_items(done)
    elif kind == "object" and "properties" not in done:
        done.setdefault("additionalProperties", True)  # a map: its values are described where it stands
    return done


def _without_list_in_union(schema: dict[str, Any]) -> dict[str, Any]:
    """A union with a list among its members, for which generators of Java write what does not compile.

    Words or a list of texts are published as that list, which is read as the word where it is the only one; any other
    such union as whatever it may be, for its description to say.
    """
    members = schema.get("anyOf", ())
    lists = [m for m in members if m.get("type") == "array"]
    if not lists:
        return schema
    rest = {key: value for key, value in schema.items() if key != "anyOf"}
    return lists[0] | rest if all(m.get("type") in ("array", "string") for m in members) else rest


def _listed(words: list[Any]) -> list[Any]:
    """The words without those that are taken and not published."""
    return [word for word in words if word not in UNLISTED]


def _give_items(schema: dict[str, Any]) -> None:
    """One schema for all items of a list: several generators stop at `prefixItems`, or at none."""
    places = schema.pop("prefixItems", ())
    kinds = [kind for number, kind in enumerate(places) if kind not in places[:number]]
    if kinds:
        schema["items"] = kinds[0] if len(kinds) == 1 else {"anyOf": kinds}
    schema.setdefault("items", {})


def _holds_list(value: Any) -> bool:
    if isinstance(value, dict):
        return any(map(_holds_list, value.values()))
    return isinstance(value, list | tuple)


def _bound(schema: dict[str, Any], low: float, high: float) -> None:
    if "minimum" not in schema and "exclusiveMinimum" not in schema:
        schema["minimum"] = low
    if "maximum" not in schema and "exclusiveMaximum" not in schema:
        schema["maximum"] = high
