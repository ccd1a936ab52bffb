"""A loop at the limits of its parts: a hose whose rating a shut valve passes, and liquid that comes back too warm.

Derived: cylinders of hose, an energy balance with CoolProp's water, Pascal's law. The orders are invented.
"""

import math
import re
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from plans_anew import Json, Plan, close, si
from quantity import q

pytestmark = pytest.mark.check


def planned(answer_of: Any, document: Json) -> Plan:
    return Plan(document, answer_of("booking.assessment", document))


@pytest.mark.parametrize("head", [20, 45])
def test_a_wider_hose_bears_no_more(answer_of: Any, head: float) -> None:
    """A shut valve has fill and pump stand in every hose alike: a plan that its rating stops has the hose of one that it does
    not, with its liquid and its machines.
    """

    def with_rating(kilopascals: float) -> Plan:
        accessories = [
            r | ({"working_pressure": q(kilopascals, "kPa")} if r["kind"] == "hose" else {}) for r in stock()
        ]
        rows = fleet(machine("middle", 150, 3), accessories=accessories)
        return planned(answer_of, order(fleet=rows, routes__highest_point=q(head, "m"), duty__load=q(180, "kW")))

    low, high = with_rating(500), with_rating(3000)
    assert "over_working_pressure" in low.codes
    assert "over_working_pressure" not in {f["code"] for f in high.findings if "hose" in f["statement"]}
    assert (low.loop["hose_item"], low.runs, low.units) == (high.loop["hose_item"], high.runs, high.units)
    assert si(low.loop["duty_flow"]) / low.runs / (math.pi / 4 * low.bore**2) >= 1.0, "m/s: no slower than need be"


@pytest.mark.parametrize(
    ("most", "greatest"), [(23.4, 1.7), (22.6, 1.7), (18, 1.7), (18, 1.05), (12, 1.7), (11, 1.7), (math.inf, 1.7)]
)
def test_liquid_that_comes_back_too_warm(answer_of: Any, most: float, greatest: float) -> None:
    """By hand: load, hoses and pumps over the flow of the plan warm water from 12 degC to what comes back; the flow that
    keeps it below the limit carries the same heat over fewer kelvins.
    """
    from CoolProp.CoolProp import PropsSI

    row = machine("process", 330, 2)
    row["evaporator"]["flow_maximum"] = q(greatest * 330 / 23, "L/s")
    if math.isfinite(most):
        row["envelope"]["entering_maximum"] = q(most, "degC")
    duty = {"load": q(300, "kW"), "leaving_temperature": q(12, "degC"), "temperature_difference": q(10.5, "delta_degC")}
    plan = planned(answer_of, order(fleet=fleet(row), duty=duty | {"lowest_load_fraction": 0.5}))

    def carried(kelvins: float) -> float:
        at = 285.15 + kelvins / 2
        return float(PropsSI("D", "T", at, "P", 3e5, "Water") * PropsSI("C", "T", at, "P", 3e5, "Water") * kelvins)

    flow, kelvins = si(plan.loop["duty_flow"]), 10.0
    for _ in range(9):
        kelvins *= plan.gross / (flow * carried(kelvins))
    said = [f for f in plan.findings if f["code"] == "return_above_entering"]
    assert len(said) == (12 + kelvins > most)
    assert "entering_above_maximum" not in plan.codes, "it speaks of the order's own difference, and of the first start"
    for found in said:
        assert float(re.findall(r"back at ([\d.]+)", found["statement"])[0]) == close(12 + kelvins, 1e-3)
        wanted = plan.gross / carried(most - 12) * 1000 if most > 12 else math.inf
        told = [float(figure) for figure in re.findall(r"Move ([\d.]+) L/s or more", found["do"])]
        assert told == ([] if wanted > plan.units * greatest * 330 / 23 else [close(wanted, 1e-3)])


@pytest.mark.parametrize(
    ("limits", "named"),
    [
        ({"big": 27, "middle": 27, "small": 27}, "big, middle and small take liquid up to 27 degC."),
        (
            {"big": 27, "middle": 29, "small": 27},
            "big and small take liquid up to 27 degC, middle takes liquid up to 29 degC.",
        ),
        ({"big": 27, "middle": 36, "small": 36}, "big takes liquid up to 27 degC."),
    ],
)
def test_one_bypass_is_one_check(answer_of: Any, limits: dict[str, float], named: str) -> None:
    """Air of 35 degC round a loop that stands, and three machines that share it."""
    sizes = {"big": 280, "middle": 140, "small": 80}
    rows = [
        changed(machine(name, sizes[name], 1), envelope__entering_maximum=q(most, "degC"))
        for name, most in limits.items()
    ]
    answer = answer_of("booking.assessment", order(fleet=fleet(*rows), duty__load=q(410, "kW")))
    (warm,) = [f for f in answer["findings"] if f["code"] == "loop_above_entering"]
    assert warm["statement"] == f"The loop stands at 35 degC before the first start, and {named}"


def test_what_comes_back_too_warm_to_several_is_one_check(answer_of: Any) -> None:
    """Of several limits the lowest says how much must flow."""
    rows = [
        changed(machine(name, size, 1), envelope__entering_maximum=q(most, "degC"))
        for name, size, most in (("big", 280, 12.2), ("small", 200, 11.8))
    ]
    answer = answer_of("booking.assessment", order(fleet=fleet(*rows), duty__load=q(380, "kW")))
    (found,) = [f for f in answer["findings"] if f["code"] == "return_above_entering"]
    assert "small takes liquid up to 11.8 degC, big takes liquid up to 12.2 degC." in found["statement"]
    (needed,) = re.findall(r"Move ([\d.]+) L/s", found["do"])
    heat = si(answer["results"]["load"]["gross"])
    assert float(needed) == pytest.approx(heat / (4.2e6 * (11.8 - 7)) * 1000, rel=0.005)
