"""Forms for recording a start, drawn from what the calculator says of its own observations.

What an action asks for says which thing is to be looked at, and how it should be found. Only the first is filled in: a good
state that stands in a form already is recorded by one touch, and nobody looked.
"""

import secrets
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec

from coldwright.contract.language import Say
from coldwright.contract.language import marked as _
from coldwright.contract.people import UNIT_SIGNS, plain_text, prose
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.languages import language_of
from coldwright.service.http.replies import wanted_units
from coldwright.service.people.entered import number_in
from coldwright.service.people.fields import MISSING, Field, Kind, range_text
from coldwright.service.startups.asking import ask
from coldwright.service.startups.verdict import configuration_of
from coldwright.store.startups import Startup

Described = Mapping[str, Any]
KINDS: dict[str, Kind] = {"yes_no": "yes_no", "choice": "choice", "number": "number", "count": "number", "text": "text"}
KINDS |= {"stamp": "text", "quantity": "quantity", "list": "list"}
MOST_RECORDS = 20
WHICH = frozenset(("end", "item", "point", "pump", "valve", "whole_source"))
"""Names of fields that say of which thing a record is, where it is chosen from a list or by yes and no."""
STATES = frozenset(("on", "off"))
"""Words that say how a thing is, whatever the field is called: the pump of a pressure is on or off."""
ARTICLES = ("a ", "an ", "the ", "un ", "una ", "el ", "la ")


async def described(asked: Asked, startup: Startup) -> Described:
    """The calculator's description of every kind of record, for this start."""
    words = b'{"language":"' + language_of(asked).encode() + b'","configuration":'
    body = words + configuration_of(startup.document) + b"}"
    evaluated = await ask(asked.services, "start_forms", body, wanted_units(asked))
    results: Described = msgspec.json.decode(evaluated.body)["results"]
    return results


def record_of(place: int, kind: Described, template: Mapping[str, Any], us: bool, say: Say = str) -> dict[str, Any]:
    """One record to be filled in: its fields, with which thing it is of; how that is found is left to whoever looks."""
    data = _which(kind, template.get("data", {}))
    fields = [_field(f"{place}/data/{f['name']}", f, data.get(f["name"], MISSING), us, say) for f in kind["fields"]]
    return {
        "place": place,
        "kind": kind["kind"],
        "label": kind["label"],
        "help": _help(kind),
        "id": f"page-{secrets.token_hex(8)}",
        "fields": fields,
        "role": template.get("role", ""),
        "by": template.get("by", ""),
        "otherwise": bool(template.get("otherwise")),
    }


def _which(kind: Described, data: Mapping[str, Any]) -> dict[str, Any]:
    """Of what an action asks for: the thing, and never a state or a reading of it."""
    known = {f["name"]: f for f in kind["fields"]}
    return {name: value for name, value in data.items() if name in known and not _to_be_seen(known[name])}


def _to_be_seen(facts: Described) -> bool:
    words = {c["value"] for c in facts["choices"]}
    match facts["type"]:
        case "yes_no":
            return facts["name"] not in WHICH
        case "choice":
            return bool(words & STATES) or (bool(facts["required"]) and facts["name"] not in WHICH)
        case "list":
            return bool(words)
    return bool(facts["type"] == "quantity")


def _field(pointer: str, facts: Described, value: Any, us: bool, say: Say) -> Field:
    made = Field(
        pointer,
        plain_text(facts["label"]),
        KINDS.get(facts["type"], "text"),
        required=facts["required"],
        help=_help(facts),
        choices=tuple((c["value"], c["label"]) for c in facts["choices"]),
        given=value is not MISSING,
    )
    match made.kind:
        case "quantity":
            ranges = [facts[system] for system in (("us", "metric") if us else ("metric", "us"))]
            made.units = tuple(dict.fromkeys((r["unit"], UNIT_SIGNS.get(r["unit"], r["unit"])) for r in ranges))
            known = value if isinstance(value, Mapping) else {}
            made.value, made.unit = _text(known.get("value", MISSING)), str(known.get("unit", ranges[0]["unit"]))
            made.range = range_text({"x-range": _as_range(ranges[0])}, say)
        case "yes_no":
            made.choices = (("true", say(_("Yes"))), ("false", say(_("No"))))
            made.value = _text(value)
        case "list":
            items = list(value) if isinstance(value, list) else []
            made.children = list(_items(made, items))
        case _:
            made.value = _text(value)
            made.range = range_text({"minimum": facts.get("least"), "maximum": facts.get("most")}, say)
    return made


def _help(described: Described) -> str:
    """What the label does not say already: `A compressor.` says nothing beside `Compressor`."""
    text = prose(described["help"])
    bare = text.rstrip(".").casefold()
    return (
        "" if bare.removeprefix(next(filter(bare.startswith, ARTICLES), "")) == described["label"].casefold() else text
    )


def _items(made: Field, items: Sequence[Any]) -> Iterator[Field]:
    """A list as one field for each place: of the choices, or of texts where there are none."""
    for n in range(max(len(items), len(made.choices), 1)):
        value = _text(items[n]) if n < len(items) else ""
        kind: Kind = "choice" if made.choices else "text"
        yield Field(f"{made.pointer}/{n}", f"{made.label} {n + 1}", kind, choices=made.choices, value=value)


def _as_range(known: Described) -> dict[str, Any]:
    names = {"low": "minimum", "above": "exclusiveMinimum", "high": "maximum", "unit": "unit"}
    return {names[name]: value for name, value in known.items() if name in names}


def _text(value: Any) -> str:
    if value is MISSING:
        return ""
    return value if isinstance(value, str) else msgspec.json.encode(value).decode()


def observations_in(kinds: Mapping[str, Described], sent: Mapping[str, str], now: datetime) -> list[dict[str, Any]]:
    """The records that a form gives; one of which nothing was filled in is left out."""
    found = []
    for place in range(MOST_RECORDS):
        kind = kinds.get(sent.get(f"{place}/kind", ""))
        if kind is None:
            continue
        data = {
            f["name"]: v for f in kind["fields"] if (v := _value(f"{place}/data/{f['name']}", f, sent)) is not MISSING
        }
        needed = [f["name"] for f in kind["fields"] if f["required"]]
        if needed and not any(name in data for name in needed):
            continue
        record: dict[str, Any] = {"id": sent.get(f"{place}/id", ""), "kind": kind["kind"], "at": _when(sent, now)}
        record |= {name: text for name in ("by", "role") if (text := sent.get(f"{place}/{name}") or sent.get(name, ""))}
        record["data"] = data
        found.append(record)
    return found


def _value(pointer: str, facts: Described, sent: Mapping[str, str]) -> Any:
    text = sent.get(pointer, "").strip()
    match facts["type"]:
        case "quantity":
            amount = sent.get(f"{pointer}/value", "").strip()
            return {"value": number_in(amount), "unit": sent.get(f"{pointer}/unit", "")} if amount else MISSING
        case "list":
            items = [sent[n].strip() for n in sent if n.startswith(f"{pointer}/")]
            return [item for item in items if item] or MISSING
        case "yes_no":
            return {"true": True, "false": False}.get(text, text) if text else MISSING
        case "number" | "count":
            return number_in(text) if text else MISSING
    return text or MISSING


def _when(sent: Mapping[str, str], now: datetime) -> str:
    """When it was seen: now, unless a time was put in, which is of the zone that stood beside it."""
    text = sent.get("at", "").strip()
    if not text:
        return now.isoformat().replace("+00:00", "Z")
    try:
        at = datetime.fromisoformat(text)
        return at.replace(tzinfo=zone_of(sent.get("zone", ""))).isoformat() if at.tzinfo is None else text
    except ValueError:
        return text


def zone_of(name: str | None) -> ZoneInfo:
    """The zone of that IANA name; UTC for one that is not known here."""
    try:
        return ZoneInfo(name or "UTC")
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")
