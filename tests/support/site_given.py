"""Short ways to write requests of the site family."""

from collections.abc import Callable, Mapping
from typing import Any

from quantity import q

from coldwright.contract import Refused


def at(unit: str = "m", **coordinates: float) -> dict[str, Any]:
    """A point: `at(x=1, y=2)`."""
    return {name: q(value, unit) for name, value in coordinates.items()}


def codes(answer: Mapping[str, Any], severity: str = "") -> set[str]:
    """Codes of the findings, of one severity if it is named."""
    return {f["code"] for f in answer["findings"] if severity in ("", f["severity"])}


def cautioned(answer: Mapping[str, Any]) -> bool:
    """Whether the answer says that the competent person, the crane's chart, the permit and local rules prevail."""
    last = answer["cautions"][-1]["statement"]
    return all(words in last for words in ("competent person", "chart", "permits", "local codes", "prevail"))


def attempt(answer_of: Callable[..., dict[str, Any]], calculator: str, given: dict[str, Any]) -> dict[str, Any] | None:
    """The answer, or None when the request is refused with pointers: nothing else may come of a request."""
    try:
        return answer_of(calculator, given)
    except Refused as refused:
        if all(e.pointer.startswith("#/") and e.detail for e in refused.errors):
            return None
        raise
