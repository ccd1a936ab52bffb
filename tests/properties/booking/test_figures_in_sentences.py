"""Figures in the words of a plan are figures of its numbers: read from the text as a person reads it, not from its values.

Findings of the plan itself; those of a part are compared with that part's own numbers wherever it is checked.
"""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from orders import orders

from coldwright.contract import Refused
from coldwright.contract.quantities import every_kind, kind_of_unit

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
UNITS = sorted({u for kind in every_kind() for u in kind.units}, key=len, reverse=True)
FIGURE = re.compile(rf"(?<![\w.,/-])(-?\d[\d,]*(?:\.\d+)?) ({'|'.join(map(re.escape, UNITS))})(?![\w/²³])")
OF_WHAT_IS_NOT_TAKEN = {"first_choice_passed_over", "every_plan_stops", "relief_would_lift", "not_in_fleet"}
"""Findings that speak of another plan, of a cure, or of what the stock lacks: their figures are not those of this plan."""
Pool = dict[str, list[float]]


def gathered(value: Any, pool: Pool) -> Pool:
    if isinstance(value, dict) and {"value", "unit"} <= set(value) and isinstance(value["value"], int | float):
        kind = kind_of_unit(value["unit"])
        if kind is not None:
            figure = kind(float(value["value"]), value["unit"])
            pool.setdefault(figure.si_unit, []).append(figure.si)
    elif isinstance(value, dict | list):
        for member in value.values() if isinstance(value, dict) else value:
            gathered(member, pool)
    return pool


def strangers(answer: dict[str, Any], order: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Figures of findings that are neither among the numbers of plan and order, nor the sum or difference of two."""
    pool = gathered([order, answer["results"], answer["assumptions"], answer["working"]], {})
    found = []
    for finding in answer["findings"]:
        if "calculator" in finding or finding["code"] in OF_WHAT_IS_NOT_TAKEN:
            continue
        texts = " ".join(finding.get(member) or "" for member in ("statement", "why", "do"))
        said = [(n.replace(",", ""), u) for n, u in FIGURE.findall(texts)]
        beside: Pool = {}
        for number, unit in said:
            kind = kind_of_unit(unit)
            assert kind is not None
            beside.setdefault(kind(0, unit).si_unit, []).append(kind(float(number), unit).si)
        for number, unit in said:
            if not holds(number, unit, pool, beside):
                found.append((finding["code"], f"{number} {unit}", finding["statement"]))
    return found


def holds(number: str, unit: str, pool: Pool, beside: Pool) -> bool:
    kind = kind_of_unit(unit)
    assert kind is not None
    figure = kind(float(number), unit)
    shown = abs(kind(float(number) + 0.51 * 10 ** -len(number.partition(".")[2]), unit).si - figure.si) + 1e-9
    there = pool.get(figure.si_unit, [])
    if any(abs(abs(n) - abs(figure.si)) <= shown for n in there):  # over a limit by so much: the room left is below 0
        return True
    # the excess of one figure of the sentence over another, or over a number of the plan; as rounded as these
    own = beside.get(figure.si_unit, [])
    close = max(shown, *(2e-5 * abs(n) for n in own))
    return any(abs(abs(a - b) - abs(figure.si)) <= 2 * close for a in own for b in (*own, *there) if a != figure.si)


def demos() -> list[str]:
    return sorted(path.name for path in DEMO.glob("order-*.json"))


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", demos())
def test_of_the_orders_of_the_demonstration(answer_of: Any, name: str, units: str) -> None:
    """Those of findings, and of the lines and questions that a plan is made of, in either system of units."""
    order = json.loads((DEMO / name).read_text())
    order.pop("fleet_id", None)
    order["fleet"] = json.loads((DEMO / "fleet.json").read_text())
    answer = answer_of("booking.assessment", order, units=units)
    assert strangers(answer, order) == []
    pool = gathered([order, answer["results"], answer["assumptions"], answer["working"]], {})
    for text in spoken(answer["results"]):
        for number, unit in FIGURE.findall(NO_FIGURE.sub("", text)):
            assert holds(number.replace(",", ""), unit, pool, {}), text


NO_FIGURE = re.compile(r"\d+ in parallel|\d+ mm2|[A-Z]{3} [\d.]+ in all")
"""Runs side by side, conductors by the name of their size, money."""


def spoken(results: dict[str, Any]) -> list[str]:
    """What stands beside lines, questions, machines and what was not taken."""
    return [
        *(line["reason"] for line in results["pick_list"]),
        *(question["effect"] for question in results["open_questions"]),
        *(text for machine in results["machines"] for text in machine.get("limits", [])),
        *(other["why_not_first"] for other in results["alternatives"]),
        *(left["reason"] for left in results["types_left_out"]),
    ]


@settings(max_examples=10)
@given(order=orders())
def test_of_any_order(answer_of: Any, order: dict[str, Any]) -> None:
    try:
        answer = answer_of("booking.assessment", order)
    except Refused:
        assume(False)
    assert strangers(answer, order) == []
