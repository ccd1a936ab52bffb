"""JSON Pointer (RFC 6901) into plain data: read, replace without touching the original, and lead errors back."""

import re
from collections.abc import Mapping
from typing import Any, NamedTuple
from urllib.parse import unquote

from msgspec.structs import replace

from coldwright.contract import FieldError
from coldwright.service.http.problems import ProblemRaised, refused_input

_BAD_ESCAPE = re.compile("~(?![01])")
_INDEX = re.compile("0|[1-9][0-9]{0,8}")


class NoSuchPlace(LookupError):  # noqa: N818
    """The pointer leads nowhere; the message says where it stopped."""


def tokens(pointer: str) -> list[str]:
    """The steps of a pointer; raises `NoSuchPlace` for one that is none."""
    if pointer == "":
        return []
    if not pointer.startswith("/"):
        raise NoSuchPlace(f"{pointer[:200]!r} does not begin with `/`, so it is no JSON pointer")
    if _BAD_ESCAPE.search(pointer):
        raise NoSuchPlace(f"{pointer[:200]!r} has a `~` that is neither `~0` nor `~1`")
    return [t.replace("~1", "/").replace("~0", "~") for t in pointer[1:].split("/")]


def get(document: Any, pointer: str) -> Any:
    """What stands at the pointer."""
    for depth, token in enumerate(steps := tokens(pointer)):
        document = _step(document, token, steps[: depth + 1])
    return document


def replaced(document: Any, pointer: str, value: Any) -> Any:
    """A copy with `value` at the pointer. The last step may name a member that is not there yet.

    A number put where a quantity stands replaces the quantity's number and keeps its unit.
    """
    return _replaced(document, tokens(pointer), value, [])


def _replaced(document: Any, steps: list[str], value: Any, done: list[str]) -> Any:
    if not steps:
        if _is_quantity(document) and isinstance(value, int | float) and not isinstance(value, bool):
            return {**document, "value": value}
        return value
    token, here = steps[0], [*done, steps[0]]
    if isinstance(document, dict):
        if token not in document and len(steps) > 1:
            raise NoSuchPlace(f"There is no {_shown(here)}")
        return {**document, token: _replaced(document.get(token), steps[1:], value, here)}
    if isinstance(document, list):
        child = _step(document, token, here)
        return [
            _replaced(child, steps[1:], value, here) if i == int(token) else item for i, item in enumerate(document)
        ]
    raise NoSuchPlace(f"There is no {_shown(here)}")


def _step(document: Any, token: str, path: list[str]) -> Any:
    if isinstance(document, dict) and token in document:
        return document[token]
    if isinstance(document, list) and _INDEX.fullmatch(token) and int(token) < len(document):
        return document[int(token)]
    raise NoSuchPlace(f"There is no {_shown(path)}")


def _shown(path: list[str]) -> str:
    return ("/" + "/".join(path))[:200]


def _is_quantity(value: Any) -> bool:
    return isinstance(value, dict) and value.keys() == {"value", "unit"}


def number_of(value: Any) -> float | None:
    """The number in a plain number or a quantity."""
    if _is_quantity(value):
        value = value["value"]
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def unit_of(value: Any) -> str:
    """The unit of a quantity; empty for anything else."""
    return str(value["unit"]) if _is_quantity(value) else ""


def unit_at(document: Any, pointer: str) -> str:
    """The unit in which a number put at the pointer is read: `/length` and `/length/value` have the same."""
    try:
        return unit_of(get(document, pointer.removesuffix("/value")))
    except NoSuchPlace:
        return ""


def overlap(one: str, other: str) -> bool:
    """Whether two pointers lead to the same place, or one into the other's."""
    return f"{one}/".startswith(f"{other}/") or f"{other}/".startswith(f"{one}/")


class Origin(NamedTuple):
    """Where in the body that was sent a part of an input came from, and what to say of it."""

    pointer: str
    remark: str = ""


def led_back(problem: ProblemRaised, given_at: str, origins: Mapping[str, Origin]) -> ProblemRaised:
    """The problem of an input that was put together, with its pointers leading into the body that was sent.

    `origins` names the places of the input that came from elsewhere; the rest of it stands at `given_at` in the body.
    """
    if not problem.errors:
        return problem
    return refused_input([_led_back(e, given_at, origins) for e in problem.errors])


def _led_back(error: FieldError, given_at: str, origins: Mapping[str, Origin]) -> FieldError:
    pointer = error.pointer.removeprefix("#")
    place = unquote(pointer)
    for at, origin in origins.items():
        if f"{place}/".startswith(f"{at}/"):
            remark = " ".join(
                filter(None, (origin.remark, f"(`{below}` of it)" if (below := place[len(at) :]) else ""))
            )
            detail = f"{error.detail} {remark}".rstrip()
            return replace(error, pointer=f"#{origin.pointer}", detail=detail)
    return replace(error, pointer=f"#{given_at}{pointer}")
