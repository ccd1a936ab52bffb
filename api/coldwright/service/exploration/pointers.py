"""JSON Pointer (RFC 6901) into plain data: read, replace without touching the original, and lead errors back."""

from collections.abc import Mapping
from typing import Any, NamedTuple
from urllib.parse import unquote

from msgspec.structs import replace

from coldwright.contract import FieldError
from coldwright.contract.pointers import NoSuchPlace, get, shown, step, tokens
from coldwright.service.http.problems import ProblemRaised, refused_input

__all__ = [
    "NoSuchPlace",
    "Origin",
    "get",
    "led_back",
    "number_of",
    "overlap",
    "replaced",
    "tokens",
    "unit_at",
    "unit_of",
]


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
            raise NoSuchPlace(f"There is no {shown(here)}")
        return {**document, token: _replaced(document.get(token), steps[1:], value, here)}
    if isinstance(document, list):
        changed = list(document)
        changed[int(token)] = _replaced(step(document, token, here), steps[1:], value, here)
        return changed
    raise NoSuchPlace(f"There is no {shown(here)}")


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
