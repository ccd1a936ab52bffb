"""The range that a refusal names is the one in which the same request is taken: tried at both of its ends."""

import copy
from typing import Any

import pytest
from quantity import q
from site_given import at

from coldwright.contract import Refused

Json = dict[str, Any]
PIECE = {
    "id": "a",
    "length": q(2, "m"),
    "width": q(2, "m"),
    "height": q(1, "m"),
    "mass": q(600, "kg"),
    "unload": "crane",
}
DECK = {
    "id": "v",
    "deck_length": q(7, "m"),
    "deck_width": q(2.5, "m"),
    "deck_height": q(1.2, "m"),
    "payload": q(9, "t"),
}
PLACED = {"items": [PIECE], "vehicles": [DECK], "placements": [{"item": "a", "vehicle": "v", "x": q(20, "m")}]}
PIT = {
    "machines": [
        {"id": "M", "length": q(6, "m"), "width": q(2, "m"), "height": q(2.5, "m"), "air_flow": q(30, "m3/s")}
    ],
    "pit": {"area": q(18, "m2"), "depth": q(3, "m")},
    "discharge_area": q(40, "m2"),
}
FALLING = {
    "machine": {
        "mass": q(6, "t"), "base_width": q(2.2, "m"), "height": q(2.6, "m"), "length": q(9, "m"), "cg_offset": q(4, "m"),
    },
    "gust_speed": q(20, "m/s"),
}  # fmt: skip
LOW_HOOK = {
    "method": "crane",
    "load_mass": q(6, "t"),
    "load_mass_basis": "weighed",
    "pick_points": [{"id": "a", **at(x=-2, y=0, z=0.4)}, {"id": "b", **at(x=2, y=0, z=1)}],
    "centre_of_gravity": at(x=0, y=0, z=-1),
    "hook_z": q(0.5, "m"),
}
SHORT = {"axle_groups": [{"span": q(0, "m"), "axles": 2, "mass": q(1, "t")}]}
CASES: tuple[tuple[str, Json, str, dict[str, float]], ...] = (
    ("site.transport", PLACED, "placements/0/x", {"minimum": 1.0, "maximum": 6.0}),
    ("site.transport", SHORT, "axle_groups/0/span", {"minimum": 0.1}),
    ("site.placement", PIT, "discharge_area", {"below": 18.0}),
    ("site.weather", FALLING, "machine/cg_offset", {"below": 1.1}),
    ("site.lift", LOW_HOOK, "hook_z", {"above": 1.0}),
)  # fmt: skip


@pytest.mark.parametrize(("calculator", "asked", "place", "limits"), CASES)
def test_the_range_of_a_refusal(
    answer_of: Any, calculator: str, asked: Json, place: str, limits: dict[str, float]
) -> None:
    """Half a deck, a group's least span, the area of a pit, the edge of a base, the highest pick: by hand."""
    with pytest.raises(Refused) as refused:
        answer_of(calculator, asked)
    (error,) = refused.value.errors
    assert error.pointer == f"#/{place}"
    named: Any = error.allowed
    found = {
        name: getattr(named, name)
        for name in ("minimum", "maximum", "above", "below")
        if isinstance(getattr(named, name), int | float)
    }
    assert found == pytest.approx(limits)
    for name, limit in limits.items():
        inside = limit * (1.001 if name in ("minimum", "above") else 0.999)
        changed = copy.deepcopy(asked)
        *way, last = [int(step) if step.isdigit() else step for step in place.split("/")]
        at_: Any = changed
        for step in way:
            at_ = at_[step]
        at_[last] = at_[last] | {"value": inside}
        assert answer_of(calculator, changed)["results"]


def test_more_pieces_than_are_taken(answer_of: Any) -> None:
    asked = {"items": [PIECE | {"quantity": 300}, PIECE | {"id": "b", "quantity": 201}], "vehicles": [DECK]}
    with pytest.raises(Refused) as refused:
        answer_of("site.transport", asked)
    (error,) = refused.value.errors
    named: Any = error.allowed
    assert (error.pointer, named.maximum) == ("#/items", 500)
