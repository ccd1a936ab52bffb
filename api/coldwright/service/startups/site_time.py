"""Times in the sentences of a verdict, as a watch at the site shows them. What a program reads stays as it is."""

from collections.abc import Mapping
from typing import Any, Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec
from msgspec import Raw

from coldwright.contract import refuse
from coldwright.contract.people import instant_only, timed

FOR_A_PHONE: Final = ("short", "lines")
"""Texts for a small screen: never with a whole stamp in them."""
_NO_SENTENCE: Final = frozenset(
    {"id", "ids", "because", "by", "by_record", "record", "given", "timeline", "said", "digest", "carries", "shares"}
)


def refuse_unknown_zone(zone: str) -> None:
    """Raise `Refused` for a zone that is not known here; nothing where none was named."""
    try:
        if zone:
            ZoneInfo(zone)
    except (ValueError, OSError, ZoneInfoNotFoundError):
        text = "There is no time zone of that name."
        raise refuse("/query/tz", text, value=zone, why="IANA names, such as `America/Denver`, are known.") from None


def in_site_time(body: bytes, zone: str, beside: str) -> bytes:
    """JSON of a verdict with the times of its sentences in a zone."""
    return msgspec.json.encode(_timed(msgspec.json.decode(body), zone, beside, every=True))


def for_a_phone(body: bytes, results: Mapping[str, Raw], beside: str) -> bytes:
    """JSON of a verdict with the times of what a small screen shows in UTC; the rest, thousands of records, is not read."""
    for name in ("next_action", "lines"):
        part = bytes(results.get(name, b""))
        shown = msgspec.json.encode(small_screen({name: msgspec.json.decode(part)}, "", beside)[name]) if part else part
        if shown != part:
            body = body.replace(part, shown, 1)
    return body


def results_for(results: Mapping[str, Raw], zone: str, beside: str) -> dict[str, Raw]:
    """The results of a verdict, part by part: of a zone all that have sentences, else those for a small screen."""
    wanted = set(results) - _NO_SENTENCE if zone else {"next_action", "lines"} & set(results)
    read = small_screen({name: msgspec.json.decode(results[name]) for name in wanted}, zone, beside)
    return {name: Raw(msgspec.json.encode(read[name])) if name in read else part for name, part in results.items()}


def small_screen(parts: dict[str, Any], zone: str, beside: str) -> dict[str, Any]:
    """The same of parts of a verdict that are read already; with a zone all their sentences."""
    shown: dict[str, Any] = _timed(parts, zone, beside, every=bool(zone))
    return shown


def _timed(value: Any, zone: str, beside: str, *, every: bool) -> Any:
    if isinstance(value, str):
        return timed(value, zone, beside) if every and not instant_only(value) else value
    if isinstance(value, list):
        return [_timed(v, zone, beside, every=every) for v in value]
    if isinstance(value, dict):
        return {
            name: v if name in _NO_SENTENCE else _timed(v, zone, beside, every=every or name in FOR_A_PHONE)
            for name, v in value.items()
        }
    return value
