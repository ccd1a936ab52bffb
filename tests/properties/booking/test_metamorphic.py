"""What must hold between two plans of which one is a little harder than the other. Derived; invented data.

The checks hold with the choice held: the same machines, hose or cable in both plans.
"""

from typing import Any

import hypothesis
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from orders import changed, fleet, machine, order, orders, stock
from quantity import q

from coldwright.contract import Refused

MANY = settings(max_examples=20 if settings().max_examples <= 50 else 500)
"""Each example is two whole plans: few in the ordinary run, many every night."""
NO_MACHINES = {"no_machine_suits", "no_combination"}


def planned(answer_of: Any, document: dict[str, Any], units: str = "metric") -> dict[str, Any]:
    """The answer; an order that is refused proves nothing here."""
    try:
        answer: dict[str, Any] = answer_of("booking.assessment", document, units)
    except Refused:
        hypothesis.assume(False)
        raise
    return answer


def codes(answer: dict[str, Any], severity: str = "stop") -> set[str]:
    return {f["code"] for f in answer["findings"] if f["severity"] == severity}


def longer(length: dict[str, Any], factor: float) -> dict[str, Any]:
    return length | {"value": length["value"] * factor}


@MANY
@given(document=orders(), kelvin=st.floats(0.5, 8))
def test_a_hotter_day_never_gives_more_capacity(answer_of: Any, document: dict[str, Any], kelvin: float) -> None:
    hot = document["site"]["design_ambient_temperature"]
    first = planned(answer_of, document)
    second = planned(
        answer_of, changed(document, site__design_ambient_temperature=hot | {"value": hot["value"] + kelvin})
    )
    before = {m["type"]: m["capacity_each"]["value"] for m in first["results"]["machines"]}
    after = {m["type"]: m["capacity_each"]["value"] for m in second["results"]["machines"]}
    for name in before.keys() & after.keys():
        assert after[name] <= before[name] * (1 + 1e-9)


@MANY
@given(document=orders(), factor=st.floats(1.02, 2))
def test_a_longer_hose_never_gives_more_flow(answer_of: Any, document: dict[str, Any], factor: float) -> None:
    first = planned(answer_of, document)["results"]
    hose = longer(document["routes"]["hose_length"], factor)
    second = planned(answer_of, changed(document, routes__hose_length=hose))["results"]
    if "loop" not in first or "loop" not in second:
        return
    held = ("hose_inner_diameter", "hose_runs")
    same = all(first["loop"][k] == second["loop"][k] for k in held)
    machines = [[(m["type"], m["count"]) for m in r["machines"]] for r in (first, second)]
    if same and machines[0] == machines[1]:
        assert second["loop"]["duty_flow"]["value"] <= first["loop"]["duty_flow"]["value"] * (1 + 1e-6)


@MANY
@given(document=orders(), factor=st.floats(1.02, 2))
def test_a_longer_cable_never_drops_less(answer_of: Any, document: dict[str, Any], factor: float) -> None:
    first = planned(answer_of, document)["results"]
    cable = longer(document["routes"]["cable_length"], factor)
    second = planned(answer_of, changed(document, routes__cable_length=cable))["results"]
    after = {c["type"]: c["feeder"] for c in second.get("cable", {"machines": []})["machines"]}
    for row in first.get("cable", {"machines": []})["machines"]:
        held, then = row["feeder"], after.get(row["type"])
        if then and (then["conductor_size"], then["sets"]) == (held["conductor_size"], held["sets"]):
            assert then["drop_running"]["value"] >= held["drop_running"]["value"] * (1 - 1e-9)


@MANY
@given(document=orders(), size=st.sampled_from([30, 90, 160, 280, 600]), count=st.integers(1, 3))
def test_a_machine_more_never_makes_a_feasible_order_infeasible(
    answer_of: Any, document: dict[str, Any], size: int, count: int
) -> None:
    first = planned(answer_of, document)
    if NO_MACHINES & codes(first):
        return
    hertz = 60 if document["practice"] == "nec" else 50
    more = changed(document)
    more["fleet"]["machines"].append(machine("one more", size, count, frequency=hertz))
    second = planned(answer_of, more)
    assert not NO_MACHINES & codes(second)
    if first["outcome"] != "unacceptable":
        assert second["outcome"] != "unacceptable", codes(second)


@MANY
@given(document=orders())
def test_units_change_no_number_of_the_plan(answer_of: Any, document: dict[str, Any]) -> None:
    metric, us = planned(answer_of, document), planned(answer_of, document, "us")
    assert metric["digest"] == us["digest"]
    assert [f["code"] for f in metric["findings"]] == [f["code"] for f in us["findings"]]
    for name, members in (
        ("pick_list", ("item", "kind", "count", "short_by")),
        ("limits_nearest", ("what", "headroom_fraction", "calculator")),
        ("open_questions", ("field", "who", "decides")),
        ("types_left_out", ("type",)),
    ):
        listed = [[[entry.get(m) for m in members] for entry in a["results"][name]] for a in (metric, us)]
        assert listed[0] == listed[1], name
    for name in ("failed_combinations", "rounds"):
        assert metric["results"][name] == us["results"][name], name
    assert [(m["type"], m["count"]) for m in metric["results"]["machines"]] == [
        (m["type"], m["count"]) for m in us["results"]["machines"]
    ]
    load = us["results"]["design_load"]
    assert load["unit"] == "ton"
    assert load["value"] * 3.51685284207 == pytest.approx(metric["results"]["design_load"]["value"], rel=1e-9)


@MANY
@given(document=orders())
def test_more_stock_never_makes_a_plan_worse(answer_of: Any, document: dict[str, Any]) -> None:
    scarce = changed(document)
    scarce["fleet"]["accessories"] = stock(6)
    plenty = changed(document)
    plenty["fleet"]["accessories"] = stock(900)
    if planned(answer_of, scarce)["outcome"] != "unacceptable":
        assert planned(answer_of, plenty)["outcome"] != "unacceptable"


def nearness(entry: dict[str, Any]) -> float:
    """Share of the limit that is left; of 10 K or 10 dB where a share means nothing."""
    return float(entry["headroom"]["value"] / 10 if "headroom" in entry else entry["headroom_fraction"])


@MANY
@given(document=orders())
def test_limits_are_sorted_and_the_outcome_follows_from_the_findings(answer_of: Any, document: dict[str, Any]) -> None:
    answer = planned(answer_of, document)
    headroom = [nearness(entry) for entry in answer["results"]["limits_nearest"]]
    assert headroom == sorted(headroom)
    severities = {f["severity"] for f in answer["findings"]}
    expected = "unacceptable" if "stop" in severities else "conditional" if "check" in severities else "acceptable"
    assert answer["outcome"] == expected
    questions = answer["results"]["open_questions"]
    assert len({entry["field"] for entry in questions}) == len(questions)


def test_an_order_that_only_a_mixed_choice_carries_is_still_carried(answer_of: Any) -> None:
    answer = answer_of(
        "booking.assessment",
        order(duty__load=q(230, "kW"), fleet=fleet(machine("large", 210, 1), machine("small", 60, 1))),
    )
    assert [m["type"] for m in answer["results"]["machines"]] == ["large", "small"]
    assert "mixed_machines" in codes(answer, "check")


@pytest.mark.parametrize(
    ("size", "why"),
    [(90, "`hydronic.surge`"), (280, "the load does not settle")],
    ids=["water hammer", "heat of the pump"],
)
def test_one_large_machine_does_not_hide_two_small_ones(answer_of: Any, size: int, why: str) -> None:
    sound = order(
        duty={"load": q(18, "kW"), "leaving_temperature": q(5, "degC")},
        site__design_ambient_temperature=q(16, "degC"),
        routes={"hose_length": q(5, "m"), "cable_length": q(5, "m")},
        load_side={"fast_valve_closing_time": q(0, "s")},
        fleet=fleet(machine("small", 18, 2, circuits=1), machine("large", size, 1)),
    )
    answer = answer_of("booking.assessment", sound)
    assert [(m["type"], m["count"]) for m in answer["results"]["machines"]] == [("small", 2)]
    assert codes(answer) == set()
    (ruled_out,) = [f["statement"] for f in answer["findings"] if f["code"] == "first_choice_passed_over"]
    assert f"1 x large: {why}" in ruled_out


def test_a_small_machine_beside_large_ones_does_not_hide_them(answer_of: Any) -> None:
    sound = order(
        duty={"load": q(1490, "kW"), "leaving_temperature": q(6, "degC"), "margin_fraction": 0.06},
        site={"design_ambient_temperature": q(16, "degC")},
        supply={"source": "site"},
        routes={"hose_length": q(16, "m"), "cable_length": q(5, "m")},
        load_side={"rated_flow": q(18, "L/s")},
        access={},
        redundancy="spare_circuit",
        fleet=fleet(machine("large", 520, 4), machine("little", 90, 1)),
    )
    answer = answer_of("booking.assessment", sound)
    assert [(m["type"], m["count"]) for m in answer["results"]["machines"]] == [("large", 4)]
    assert codes(answer) == set()
    assert "first_choice_passed_over" in codes(answer, "note")
