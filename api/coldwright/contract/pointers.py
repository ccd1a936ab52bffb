"""JSON Pointer (RFC 6901) into plain data."""

import re
from typing import Any

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
        document = step(document, token, steps[: depth + 1])
    return document


def step(document: Any, token: str, path: list[str]) -> Any:
    """What one step leads to; `path` is the way so far, this step included, for the words of `NoSuchPlace`."""
    if isinstance(document, dict) and token in document:
        return document[token]
    if isinstance(document, list) and _INDEX.fullmatch(token) and int(token) < len(document):
        return document[int(token)]
    raise NoSuchPlace(f"There is no {shown(path)}")


def shown(path: list[str]) -> str:
    """A way in the form of a pointer, cut short."""
    return ("/" + "/".join(path))[:200]
