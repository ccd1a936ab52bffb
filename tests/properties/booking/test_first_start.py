"""The plan's own mixture, order of work and timers against what the start on site asks. Invented data."""

from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from orders import fleet, machine, order
from quantity import q
from startup_histories import seen

GLYCOLS = {"propylene_glycol": "MPG", "ethylene_glycol": "MEG"}
PURE = {"propylene_glycol": 1036, "ethylene_glycol": 1113}
"""kg/m3 at 20 degC, from memory of handbooks."""


def _cold(leaving: float, **more: Any) -> dict[str, Any]:
    return order(
        duty={"load": q(90, "kW"), "leaving_temperature": q(leaving, "degC"), "lowest_load_fraction": 0.4},
        fleet=fleet(machine("only", 250, 2)),
        **more,
    )


@pytest.mark.parametrize("leaving", [-6, -2, 0, 3])
@pytest.mark.parametrize("kind", list(GLYCOLS))
def test_the_mixture_of_the_plan_passes_its_own_start(answer_of: Any, leaving: float, kind: str) -> None:
    """Freezing point by CoolProp (its own fits of published data), at least 15 delta_degF below the set point; and 0.20 of
    glycol by volume at the least, measured before mixing at 20 degC, for the inhibitors (common practice).
    """
    answer = answer_of("booking.assessment", _cold(leaving, fluid={"kind": kind}))
    fluid = answer["results"]["fluid"]
    freezes = PropsSI("T_freeze", "T", 300, "P", 101325, f"INCOMP::{GLYCOLS[kind]}[{fluid['mass_fraction']}]") - 273.15
    assert freezes <= leaving - 15 / 1.8 + 0.4, "0.4 K between the two fits of the data"
    told = fluid["antifreeze"]["freezing_temperature"]["value"]
    fifth = 0.2 * PURE[kind] / (0.2 * PURE[kind] + 0.8 * 998.2)
    thin = PropsSI("T_freeze", "T", 300, "P", 101325, f"INCOMP::{GLYCOLS[kind]}[{fifth}]") - 273.15
    wanted = min(leaving - 15 / 1.8, thin)
    assert told == pytest.approx(wanted, abs=1e-3 if wanted < thin else 0.05), "no stronger than asked, in mild air"
    assert "thin_mixture" not in {f["code"] for f in answer["findings"]}
    assert answer["results"]["asked"]["procedure"]["configuration"]["freeze_margin"] == q(15, "delta_degF")


def test_a_margin_that_is_given_rules_plan_and_start(answer_of: Any) -> None:
    wide = answer_of(
        "booking.assessment", _cold(0, fluid={"kind": "propylene_glycol", "freeze_margin": q(20, "delta_degF")})
    )["results"]
    assert wide["fluid"]["antifreeze"]["freezing_temperature"]["value"] == pytest.approx(-20 / 1.8, abs=1e-3)
    margin = wide["asked"]["procedure"]["configuration"]["freeze_margin"]
    assert margin == q(pytest.approx(20 / 1.8), "delta_degC")


def test_the_order_of_work_charges_first_and_says_the_litres(answer_of: Any) -> None:
    results = answer_of("booking.assessment", _cold(-2))["results"]
    steps = {s["id"]: s for s in results["arrival_plan"]["steps"]}
    order_of_work = list(steps)
    assert order_of_work.index("charge_antifreeze") < order_of_work.index("fill_loop")
    told = results["fluid"]["antifreeze"]
    litres = (
        f"{told['concentrate_volume']['value']:.0f} L concentrate, then {told['water_volume']['value']:.0f} L water"
    )
    assert litres in steps["charge_antifreeze"]["acceptance"]
    assert steps["fill_loop"]["duration"]["value"] == pytest.approx(told["water_volume"]["value"] / 0.8 / 60)


def test_compressors_are_staged_in_the_pull_down(answer_of: Any) -> None:
    results = answer_of("booking.assessment", order(fleet=fleet(machine("only", 250, 2))))["results"]
    asked = results["asked"]["procedure"]
    assert len(asked["pull_down"]["compressors"]) == asked["configuration"]["compressors"] == 4
    together = sum(c["capacity"]["value"] for c in asked["pull_down"]["compressors"])
    assert together == pytest.approx(results["energy"]["machine_capacity"]["value"])


@pytest.mark.parametrize(("most", "said"), [(30, True), (40, False)])
def test_a_loop_too_warm_to_enter_is_said_with_the_way_out(answer_of: Any, most: float, said: bool) -> None:
    row = machine("only", 250, 2)
    row["envelope"]["entering_maximum"] = q(most, "degC")
    found = [
        f
        for f in answer_of("booking.assessment", order(fleet=fleet(row)))["findings"]
        if f["code"] == "loop_above_entering"
    ]
    assert bool(found) == said
    assert all(word in f["resolve"] for f in found for word in ("bypass", "throttle", "stage"))


def test_frost_rules_the_mixture_of_plan_and_start_alike(answer_of: Any) -> None:
    """A set point of 7 degC is content with -1 degC; air of -12 degC is not, on the order and on site: the forecast frost
    less 5 delta_degF, as the field of the start has it.
    """
    results = answer_of("booking.assessment", _cold(7, site__lowest_ambient_temperature=q(-12, "degC")))["results"]
    asked = results["asked"]["procedure"]["configuration"]
    needed = -12 - 5 / 1.8
    assert asked["required_freeze_point"]["value"] == pytest.approx(needed)
    strength = results["fluid"]["mass_fraction"]
    freezes = PropsSI("T_freeze", "T", 300, "P", 101325, f"INCOMP::MPG[{strength}]") - 273.15
    assert freezes <= needed + 0.4, "0.4 K between the two fits of the data"
    for read, status in (
        (-10, "failed"),
        (results["fluid"]["antifreeze"]["freezing_temperature"]["value"], "established"),
    ):
        clock = ("08:00", "08:10", "08:52", "09:50")
        history = [
            seen("antifreeze_charge", clock[0]),
            seen("fill", clock[1], medium="water", purpose="first_fill"),
            seen("pump_state", clock[2], pump="machine", state="on"),
            seen("pump_state", clock[3], pump="machine", state="on"),
            seen("antifreeze_reading", "09:45", freeze_point=q(read, "degC")),
            seen("set_point", "09:46", value=q(7, "degC")),
        ]  # fmt: skip
        sent = {"configuration": asked, "observations": history, "evaluated_at": "2026-05-04T09:55:00Z"}
        facts = answer_of("readiness.startup", sent)["results"]["facts"]
        assert facts["antifreeze_adequate"]["status"] == status, read
        assert facts["set_point_safe"]["status"] == "established", "a warm set point says nothing of the frost"


@pytest.mark.parametrize("changes", [{"site__lowest_ambient_temperature": q(10, "degC")}, {"site__indoors": True}, {}])
def test_without_frost_the_start_asks_nothing_of_the_weather(answer_of: Any, changes: dict[str, Any]) -> None:
    results = answer_of("booking.assessment", _cold(-2, **changes))["results"]
    assert results["fluid"]["kind"] == "propylene_glycol"
    assert "required_freeze_point" not in results["asked"]["procedure"]["configuration"]
