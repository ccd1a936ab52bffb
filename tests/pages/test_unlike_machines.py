"""What is printed of an order with machines of three sizes: valves, checks that are said once.

Invented data.
"""

import json
import re
from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

from coldwright.contract.page import Occasion, Sheet
from coldwright.contract.people import quantity
from coldwright.contract.quantities import PressureDifference
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.sheets import lay_out, render, sources_of
from coldwright.sheets.text import as_text

SIZES = {"big": 280, "middle": 140, "small": 80}


@pytest.fixture(scope="module")
def plan(answer_of: Any) -> dict[str, Any]:
    """All three are needed, and the air is warmer than what they take."""
    rows = [changed(machine(name, size, 1), envelope__entering_maximum=q(27, "degC")) for name, size in SIZES.items()]
    answer: dict[str, Any] = answer_of("booking.assessment", order(fleet=fleet(*rows), duty__load=q(410, "kW")))
    assert {m["type"] for m in answer["results"]["machines"]} == set(SIZES)
    return answer


@pytest.fixture(scope="module")
def sheet_of(registry: Registry, plan: dict[str, Any]) -> Any:
    """`sheet_of(...)`: a page of the plan, for an occasion."""

    def made(**occasion: Any) -> Sheet:
        served = registry.served["booking.assessment"].local
        page = page_of(served, json.dumps(plan).encode(), Occasion(revision=1, **occasion))
        assert page is not None
        return lay_out(page, plan, sources_of(registry))

    return made


def test_each_machine_has_its_balancing_valve_in_the_table_with_the_drop_to_throttle_to(
    plan: dict[str, Any], sheet_of: Any
) -> None:
    """The pick list has one for each; the crew sets it by the gauge at its own evaporator."""
    valves = [x for x in plan["results"]["pick_list"] if x["kind"] == "valve" and "balancing" in x["purpose"]]
    assert [x["count"] for x in valves] == [3]
    (branches,) = [e["branches"] for e in plan["results"]["loop"]["elements"] if "branches" in e]
    drops = {
        e["name"].removeprefix("evaporator "): PressureDifference(e["pressure_drop"]["value"], "kPa")
        for path in branches
        for e in path
        if e["name"].startswith("evaporator")
    }
    assert set(drops) == set(SIZES)
    sheet = sheet_of(sheet="crew")
    text = re.sub(r"\s+", " ", as_text(sheet))
    assert re.search(r" B Balancing, at each machine THROTTLED, see below", text)
    for name, drop in drops.items():
        assert f"B, {name}: Pump on: throttle to {quantity(drop)} drop over evaporator" in text
    started = plan["results"]["asked"]["start_configurations"]
    for machine_, one in zip(plan["results"]["machines"], started, strict=True):
        ends = (
            PressureDifference(one[f"evaporator_pressure_drop_{e}"]["value"], "kPa") for e in ("minimum", "maximum")
        )
        low, high = (quantity(end).removesuffix(" kPa") for end in ends)
        assert (
            f"drop, evaporator {machine_['type']} (about {quantity(drops[machine_['type']])}, {low} to {high} kPa)"
            in text
        )
    alone = re.sub(r"\s+", " ", as_text(sheet_of(sheet="crew", language="es")))
    assert "Equilibrado, en cada máquina" in alone
    assert b"Balancing, at each machine" in render(sheet, "text/html")


def test_what_three_machines_share_is_one_check(plan: dict[str, Any]) -> None:
    (warm,) = [f for f in plan["findings"] if f["code"] == "loop_above_entering"]
    assert warm["statement"].endswith("big, middle and small take liquid up to 27 degC.")


def test_machines_with_limits_of_their_own_are_named_with_them(answer_of: Any) -> None:
    limits = {"big": 27, "middle": 29, "small": 27}
    rows = [
        changed(machine(name, SIZES[name], 1), envelope__entering_maximum=q(most, "degC"))
        for name, most in limits.items()
    ]
    answer = answer_of("booking.assessment", order(fleet=fleet(*rows), duty__load=q(410, "kW")))
    (warm,) = [f for f in answer["findings"] if f["code"] == "loop_above_entering"]
    assert "big and small take liquid up to 27 degC, middle takes liquid up to 29 degC." in warm["statement"]
