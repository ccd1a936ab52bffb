"""JSON Pointer (RFC 6901) into plain data: read, and replace without touching the original."""

from typing import Any


class NoSuchPlace(LookupError):  # noqa: N818
    """The pointer leads nowhere; the message says where it stopped."""


def tokens(pointer: str) -> list[str]:
    """The steps of a pointer; raises `NoSuchPlace` for one that is none."""
    if pointer == "":
        return []
    if not pointer.startswith("/"):
        raise NoSuchPlace(f"{pointer[:200]!r} is not a JSON pointer: it begins with `/`")
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
            raise NoSuchPlace(f"there is no {_shown(here)}")
        return {**document, token: _replaced(document.get(token), steps[1:], value, here)}
    if isinstance(document, list):
        child = _step(document, token, here)
        return [
            _replaced(child, steps[1:], value, here) if i == int(token) else item for i, item in enumerate(document)
        ]
    raise NoSuchPlace(f"there is no {_shown(here)}")


def _step(document: Any, token: str, path: list[str]) -> Any:
    if isinstance(document, dict) and token in document:
        return document[token]
    if (
        isinstance(document, list)
        and token.isascii()
        and token.isdigit()
        and len(token) < 9
        and int(token) < len(document)
    ):
        return document[int(token)]
    raise NoSuchPlace(f"there is no {_shown(path)}")


def _shown(path: list[str]) -> str:
    return ("/" + "/".join(path))[:200]


def _is_quantity(value: Any) -> bool:
    return isinstance(value, dict) and value.keys() == {"value", "unit"}


def number_of(value: Any) -> float | None:
    """The number in a plain number or a quantity."""
    if _is_quantity(value):
        value = value["value"]
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
