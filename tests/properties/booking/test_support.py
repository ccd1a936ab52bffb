"""What of a machine presses on the ground. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q


def _pressed(answer_of: Any, **body: Any) -> tuple[float, dict[str, Any]]:
    row = changed(machine("only", 330, 1), **{f"body__{name}": value for name, value in body.items()})
    answer = answer_of("booking.assessment", order(fleet=fleet(row)))
    (entry,) = answer["results"]["site"]["ground"]
    return entry["ground"]["bearing_pressure_maximum"]["value"], answer


def test_a_skid_presses_by_its_runners_and_is_asked_for(answer_of: Any) -> None:
    pressure, answer = _pressed(answer_of)
    mass, length = 250 + 14 * 330, 1.5 + 330 / 90
    assert pressure == pytest.approx(mass * 9.80665 / (length * 0.3) / 1000, rel=1e-6), (
        "weight over two runners of 150 mm"
    )
    (asked,) = [x for x in answer["results"]["open_questions"] if x["field"].endswith("/body/support")]
    assert "150 mm" in asked["assumed"]


def test_feet_press_by_their_own_areas(answer_of: Any) -> None:
    feet = [
        {"id": f"{x}{y}", "x": q(x, "m"), "y": q(y, "m"), "area": q(0.04, "m2")} for x in (-2, 2) for y in (-0.8, 0.8)
    ]
    pressure, answer = _pressed(answer_of, support={"kind": "feet", "feet": feet})
    assert pressure >= (250 + 14 * 330) * 9.80665 / 0.16 / 1000 * (1 - 1e-9), "no less than an even share on each"
    assert not [x for x in answer["results"]["open_questions"] if x["field"].endswith("/body/support")]
