"""From what somebody put into a form back to a value: typed by the schema, and nothing guessed.

What cannot be read as a number or as JSON goes on as the text that it is: whoever checks the value says what is wrong with it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from coldwright.service.people.fields import (
    MISSING,
    MOST_DEEP,
    Schema,
    kind_of,
    resolved,
    variant,
)

Members = Mapping[str, str]
MOST_ITEMS = 500


def value_of(root: Schema, sent: Sequence[tuple[str, str]]) -> Any:
    """The input that a form gives; what was left empty is left out."""
    found = _read(resolved(root, root), "", dict(sent), root, 0)
    return {} if found is MISSING else found


def at_pointer(value: Any, pointer: str, schema: Schema, sent: Members, root: Schema) -> Any:
    """The value with what the form gives for one place put there; as it was where the form gives nothing."""
    found = _read(schema, pointer, sent, root, 0)
    return value if found is MISSING else _put(value, pointer.split("/")[1:], found)


def _put(value: Any, steps: list[str], found: Any) -> Any:
    if not steps:
        return found
    step, *rest = steps
    if isinstance(value, list):
        return [_put(v, rest, found) if str(n) == step else v for n, v in enumerate(value)]
    known = dict(value) if isinstance(value, Mapping) else {}
    return known | {step: _put(known.get(step), rest, found)}


def _read(schema: Schema, pointer: str, sent: Members, root: Schema, deep: int) -> Any:
    if deep > MOST_DEEP + 1:
        return MISSING
    if pointer in sent and kind_of(variant(schema, {}, root)) in ("group", "list", "data"):
        return _data(sent[pointer])
    tag = schema.get("discriminator", {}).get("propertyName")
    shown = variant(schema, {tag: sent.get(f"{pointer}/{tag}")} if tag else {}, root)
    match kind_of(shown):
        case "quantity":
            text = sent.get(f"{pointer}/value", "").strip()
            return {"value": number_in(text), "unit": sent.get(f"{pointer}/unit", "")} if text else MISSING
        case "group":
            return _group(shown, pointer, sent, root, deep)
        case "list":
            places = sorted({_place(name, pointer) for name in sent} - {-1})[:MOST_ITEMS]
            items = resolved(shown["items"], root)
            read = [_read(items, f"{pointer}/{n}", sent, root, deep + 1) for n in places]
            kept = [item for item in read if item is not MISSING]
            return kept if kept else MISSING
        case "data":
            return _data(sent.get(pointer, ""))
        case "yes_no":
            text = sent.get(pointer, "")
            return {"true": True, "false": False}.get(text, text) if text else MISSING
        case "number":
            text = sent.get(pointer, "").strip()
            return number_in(text) if text else MISSING
        case "choice":
            return _word(shown, sent.get(pointer, ""))
    text = sent.get(pointer, "")
    return text if text else MISSING


def _group(schema: Schema, pointer: str, sent: Members, root: Schema, deep: int) -> Any:
    found: dict[str, Any] = {}
    tag = schema.get("x-tag")
    for name, member in schema.get("properties", {}).items():
        if name == tag:
            continue
        at = f"{pointer}/{name.replace('~', '~0').replace('/', '~1')}"
        value = _read(resolved(member, root), at, sent, root, deep + 1)
        if value is not MISSING:
            found[name] = value
    if tag and (found or f"{pointer}/{tag}" in sent):
        found = {tag: sent.get(f"{pointer}/{tag}") or schema["x-tags"][0]} | found
    return found if found or not pointer else MISSING


def _place(name: str, pointer: str) -> int:
    if not name.startswith(f"{pointer}/"):
        return -1
    step = name[len(pointer) + 1 :].partition("/")[0]
    return int(step) if step.isdecimal() and len(step) < 6 else -1


def _word(schema: Schema, text: str) -> Any:
    if not text:
        return MISSING
    return next((w for w in schema.get("enum", (schema.get("const"),)) if str(w) == text), text)


def _data(text: str) -> Any:
    if not text.strip():
        return MISSING
    try:
        return msgspec.json.decode(text)
    except msgspec.DecodeError:
        return text


def number_in(text: str) -> Any:
    """The number, whole where it is written so; the text where it is none, or not written as numbers are in JSON."""
    if not text.isascii() or "_" in text:  # which Python takes
        return text
    try:
        return int(text)
    except ValueError:
        pass
    try:
        found = float(text)
    except ValueError:
        return text
    return found if abs(found) < float("inf") else text
