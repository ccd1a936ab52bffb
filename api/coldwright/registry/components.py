"""Schemas of structs, made by msgspec from the very types that read and write them.

A component's name depends on its struct alone (`registry.component_name`), so installing a plugin renames nothing.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract.walk import all_structs
from coldwright.registry.names import component_name

REF = "#/components/schemas/"
WIDEST = 1e15
LARGEST_INTEGER = 2**53 - 1
LONGEST_TEXT = 20_000
LONGEST_LIST = 100_000


class Components:
    """Collects the schemas of every struct that the document names."""

    def __init__(self) -> None:
        self.schemas: dict[str, Any] = {}
        self._owner: dict[str, type[Struct]] = {}

    def add(self, *roots: Any) -> None:
        """Add every struct reachable from the roots."""
        reachable = all_structs(*roots)
        new = [s for s in reachable if component_name(s) not in self.schemas]
        for struct in reachable:
            name = component_name(struct)
            if self._owner.setdefault(name, struct) is not struct:
                raise ValueError(f"two structs are called {name}")
        if not new:
            return
        refs, bodies = msgspec.json.schema_components(new, ref_template=REF + "{name}")
        names = _names(all_structs(*new))
        words = {REF + name: body["enum"] for name, body in bodies.items() if "enum" in body}
        for struct, ref in zip(new, refs, strict=True):
            body = bodies[ref["$ref"].removeprefix(REF)]
            name = component_name(struct)
            self.schemas[name] = _finished(_spelt_out(body, words), names) | {"title": name}

    def reference(self, struct: type[Struct]) -> dict[str, str]:
        """A `$ref` to a struct that was added."""
        return {"$ref": REF + component_name(struct)}

    def put(self, name: str, schema: dict[str, Any]) -> dict[str, str]:
        """Add a component that is no struct."""
        if self.schemas.setdefault(name, schema) != schema:
            raise ValueError(f"component {name} is taken")
        return {"$ref": REF + name}


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


def _names(structs: list[type[Struct]]) -> dict[str, str]:
    """From the reference that msgspec writes to the one that we publish."""
    refs, _ = msgspec.json.schema_components(structs, ref_template=REF + "{name}")
    return {r["$ref"]: REF + component_name(s) for r, s in zip(refs, structs, strict=True)}


def _spelt_out(node: Any, words: dict[str, list[str]]) -> Any:
    """The words of an enumeration where they are asked for, as those of a literal: only structs are components."""
    if isinstance(node, list | tuple):
        return [_spelt_out(item, words) for item in node]
    if not isinstance(node, dict):
        return node
    spelt = {key: _spelt_out(value, words) for key, value in node.items() if key != "$ref" or value not in words}
    return spelt | {"enum": words[node["$ref"]]} if node.get("$ref") in words else spelt


def _finished(node: Any, names: dict[str, str]) -> Any:
    if isinstance(node, list | tuple):
        return [_finished(item, names) for item in node]
    if not isinstance(node, dict):
        return names.get(node, node) if isinstance(node, str) else node
    done = {key: _finished(value, names) for key, value in node.items()}
    kind = done.get("type")
    if kind == "number":
        _bound(done, -WIDEST, WIDEST)
        done.setdefault("format", "double")  # else a decimal type in C# and Java
    elif kind == "integer":
        _bound(done, -LARGEST_INTEGER, LARGEST_INTEGER)
        done.setdefault("format", "int64")
    elif kind == "string" and "enum" not in done and "const" not in done:
        done.setdefault("maxLength", LONGEST_TEXT)
    elif kind == "array":
        done.setdefault("maxItems", LONGEST_LIST)
    elif kind == "object" and "properties" not in done:
        done.setdefault("additionalProperties", True)  # a map: its values are described where it stands
    elif "enum" in done and kind is None and all(isinstance(word, str) for word in done["enum"]):
        done["type"] = "string"
    return done


def _bound(schema: dict[str, Any], low: float, high: float) -> None:
    if "minimum" not in schema and "exclusiveMinimum" not in schema:
        schema["minimum"] = low
    if "maximum" not in schema and "exclusiveMaximum" not in schema:
        schema["maximum"] = high
