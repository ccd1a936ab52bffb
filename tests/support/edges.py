"""Where a finding begins: just before the limit that its source names it is absent, just behind it it is there."""

import copy
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

import pytest

from coldwright.registry import Registry

Json = dict[str, Any]
REGISTRY = Registry()


class Edge(NamedTuple):
    """A finding, what makes it begin, and the limit that the source names.

    `given` makes the input for a value of what is limited; the finding stands above the limit, or below it. `step` is
    how near to the limit it is asked on either side: a hundredth of it unless told otherwise. `says` is what the finding
    says from there on.
    """

    calculator: str
    code: str
    limit: float
    given: Callable[[float], Json]
    below: bool = False
    step: float | None = None
    severity: str | None = None
    says: str = ""


def example(calculator: str, number: int = 0, **changes: Any) -> Json:
    """An example of a calculator, changed: `a__0__b` is the place `a/0/b`; `None` takes a member away."""
    given = copy.deepcopy(dict(REGISTRY.lookup(calculator).examples[number].given))
    for place, value in changes.items():
        *way, last = [int(step) if step.isdigit() else step for step in place.split("__")]
        inside: Any = given
        for step in way:
            inside = inside[step] if isinstance(step, int) else inside.setdefault(step, {})
        if value is None:
            inside.pop(last, None)
        else:
            inside[last] = value
    return given


def edges(found: Iterable[Edge]) -> pytest.MarkDecorator:
    """A test for each edge."""
    every = list(found)
    return pytest.mark.parametrize(
        "edge", every, ids=[f"{e.code}-{e.limit:g}" + (" says" if e.says else "") for e in every]
    )


def hold_to(edge: Edge, answer_of: Callable[..., Json]) -> None:
    """Absent on the near side of the limit, there on the far side."""
    step = abs(edge.limit) * 0.01 if edge.step is None else edge.step
    far, near = (edge.limit - step, edge.limit + step) if edge.below else (edge.limit + step, edge.limit - step)
    assert _is_there(edge, answer_of(edge.calculator, edge.given(far))), f"absent at {far:g}"
    assert not _is_there(edge, answer_of(edge.calculator, edge.given(near))), f"there at {near:g}"


def _is_there(edge: Edge, answer: Json) -> bool:
    return any(
        f["code"] == edge.code and edge.severity in (None, f["severity"]) and edge.says in f["statement"]
        for f in answer["findings"]
    )
