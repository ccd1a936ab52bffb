"""What a change of an order tells. Invented data."""

from typing import Any

import pytest
from hypothesis import given, settings
from orders import changed, fleet, machine, order, orders
from quantity import q

from coldwright.contract import Refused
from coldwright.registry import Registry


def differ(answer_of: Any, before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    answer: dict[str, Any] = answer_of("booking.change", {"before": before, "after": after})
    return answer


def test_the_same_order_changes_nothing(answer_of: Any) -> None:
    answer = differ(answer_of, order(), order())
    results = answer["results"]
    for name in (
        "fields_changed", "machines", "pick_list_added", "pick_list_removed", "pick_list_changed", "limits_moved",
        "findings_appeared", "findings_cleared", "questions_opened", "questions_answered",
    ):  # fmt: skip
        assert results[name] == [], name
    assert "nothing_to_load_changes" in [f["code"] for f in answer["findings"]]


def test_more_load_moves_machines_lines_and_limits(answer_of: Any) -> None:
    before = order(fleet=fleet(machine("middle", 150, 6)))
    answer = differ(answer_of, before, changed(before, duty__load=q(500, "kW")))
    results = answer["results"]
    assert results["fields_changed"] == ["/duty/load"]
    assert results["machines"] == [{"type": "middle", "before": 2, "after": 4}]
    assert {c["item"] for c in results["pick_list_changed"]} >= {"middle", "strainer"}
    assert results["design_load_after"]["value"] > results["design_load_before"]["value"]
    assert any(c["what"].startswith("capacity") for c in results["limits_moved"])
    assert "other_machines" in [f["code"] for f in answer["findings"]]


def test_glycol_comes_and_goes_with_the_cold(answer_of: Any) -> None:
    cold = changed(order(), site__lowest_ambient_temperature=q(-12, "degC"))
    there = differ(answer_of, order(), cold)["results"]
    back = differ(answer_of, cold, order())["results"]
    assert "drum" in [c["item"] for c in there["pick_list_added"]]
    assert {c["item"] for c in there["pick_list_added"]} == {c["item"] for c in back["pick_list_removed"]}
    key = ("calculator", "code", "severity")
    assert [[f.get(k) for k in key] for f in there["findings_appeared"]] == [
        [f.get(k) for k in key] for f in back["findings_cleared"]
    ]


def test_an_answered_question_is_told(answer_of: Any) -> None:
    before = changed(order(), load_side__rated_pressure_drop=None)
    results = differ(answer_of, before, order())["results"]
    assert results["questions_answered"] == ["/load_side/rated_pressure_drop"]
    assert "open_questions_decide" in [f["code"] for f in results["findings_cleared"]]


CASES = [
    ("becomes_unacceptable", order(), order(supply__available_current=q(20, "A"))),
    ("stays_unacceptable", order(duty__load=q(9000, "kW")), order(duty__load=q(8000, "kW"))),
    ("stays_unacceptable", order(duty__load=q(9000, "kW")), order(duty__load=q(9000, "kW"))),
    ("stays_conditional", order(), order(duty__load=q(190, "kW"))),
    ("stays_conditional", order(duty__load=q(9000, "kW")), order()),
]


@pytest.mark.parametrize(("code", "before", "after"), CASES)
def test_outcome_is_told(answer_of: Any, code: str, before: dict[str, Any], after: dict[str, Any]) -> None:
    answer = differ(answer_of, before, after)
    assert code in [f["code"] for f in answer["findings"]]
    assert answer["outcome"] == answer["results"]["outcome_after"]


def test_every_declared_finding_is_raised_here(registry: Registry) -> None:
    """`becomes_conditional` needs a plan without a single check: with a lorry's roll-off nothing is left to look at."""
    declared = set(registry.lookup("booking.change").findings)
    assert declared == {c[0] for c in CASES} | {"nothing_to_load_changes", "other_machines", "becomes_conditional"}


def test_a_plan_without_a_check_becomes_conditional(answer_of: Any) -> None:
    clean = order(
        access={"lift": "roll_off"},
        site__ground={"soil_class": "sand", "services_known": True},
        load_side__rated_pressure_drop=q(110, "kPa"),
    )
    first = answer_of("booking.assessment", clean)
    checks = [(f.get("calculator"), f["code"]) for f in first["findings"] if f["severity"] != "note"]
    assert checks == []
    answer = differ(answer_of, clean, changed(clean, load_side__pump="site"))
    assert "becomes_conditional" in [f["code"] for f in answer["findings"]]


@settings(max_examples=min(500, settings().max_examples // 5))
@given(document=orders())
def test_a_change_and_its_reverse_mirror_each_other(answer_of: Any, document: dict[str, Any]) -> None:
    other = changed(document, routes__crossings=4, duty__lowest_load_fraction=0.7)
    try:
        there, back = (differ(answer_of, *pair)["results"] for pair in ((document, other), (other, document)))
    except Refused:
        return
    assert there["outcome_before"] == back["outcome_after"]
    swapped = [{"type": m["type"], "before": m["after"], "after": m["before"]} for m in back["machines"]]
    assert sorted(map(str, there["machines"])) == sorted(map(str, swapped))
    assert {c["item"] for c in there["pick_list_added"]} == {c["item"] for c in back["pick_list_removed"]}
