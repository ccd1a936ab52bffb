"""Pumps of unlike machines: their heat by their own curves, their dead head by the rule of like ones. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q
from scipy import interpolate

UNLIKE = {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1))}


def _codes(answer: dict[str, Any]) -> set[str]:
    return {f["code"] for f in answer["findings"] if f["severity"] == "stop"}


@pytest.mark.parametrize(("large", "load"), [(1, 200), (2, 330)])
def test_pump_heat_of_unlike_machines_is_that_of_their_own_curves_at_their_shares(
    answer_of: Any, large: int, load: float
) -> None:
    """Hydraulic power over efficiency, rho g Q H / eta, of each pump at the head that its curve gives, not the loop's."""
    rows = fleet(machine("a", 150, large), machine("b", 90, 1))
    results = answer_of(
        "booking.assessment", order(fleet=rows, duty__load=q(load, "kW"), load_side__rated_flow=q(load / 22, "L/s"))
    )["results"]
    assert [m["count"] for m in results["machines"]] == [large, 1]
    given = {e["what"]: e["limit"] for e in results["limits_nearest"] if "head of its own pump" in e["what"]}
    heat = 0.0
    for picked, flow in zip(results["machines"], results["loop"]["branch_flows"], strict=True):
        head = given[f"{picked['type']}: head of its own pump"]
        heat += 999.7 * 9.80665 * flow["value"] / 1000 * head / 0.65 / 1000
    # 0.65 is the efficiency of the curves; half a percent is where rounds stop
    assert results["load"]["pump_heat"]["value"] == pytest.approx(heat, rel=0.01)
    loop_alone = 999.7 * 9.80665 * results["loop"]["duty_flow"]["value"] / 1000 * results["loop"]["pump_head"]["value"]
    assert results["load"]["pump_heat"]["value"] > 1.1 * loop_alone / 0.65 / 1000, (
        "what is throttled heats the liquid too"
    )


@pytest.mark.parametrize("like", [True, False])
@pytest.mark.parametrize(("rating", "stops"), [(640, True), (790, False)])
def test_dead_head_stands_on_the_greatest_pressure_of_the_vessel_for_like_and_unlike(
    answer_of: Any, like: bool, rating: float, stops: bool
) -> None:
    """By hand: 276 kPa standing, 151 kPa that the vessel may add, 30 m of shut-off head on 999.7 kg/m3 (294 kPa): 721 kPa."""
    weak = [
        changed(machine(name, size, 1), evaporator__working_pressure=q(rating, "kPa"))
        for name, size in (("a", 150), ("b", 150 if like else 90))
    ]
    rows = fleet(changed(weak[0], count=2)) if like else fleet(*weak)
    document = order(fleet=rows, routes__highest_point=q(3, "m"))
    assert ("over_working_pressure" in _codes(answer_of("booking.assessment", document))) == stops


def test_the_sites_own_pump_has_no_dead_head_that_anybody_knows(answer_of: Any) -> None:
    asked = answer_of("booking.assessment", order(**UNLIKE, load_side__pump="site"))["results"]["asked"]["loop"]
    assert "shut_off_head" not in asked


@pytest.mark.parametrize("drop", [5, 120])
def test_head_that_valves_take_from_unlike_pumps_is_said_with_its_cure(answer_of: Any, drop: float) -> None:
    """As of like ones: from 0.4 of the head on. At the frequency named each pump gives the head of the loop at its share:
    its curve through three points, drawn anew with another library, at n of its speed: n^2 H(Q / n).
    """
    answer = answer_of("booking.assessment", order(**UNLIKE, load_side__rated_pressure_drop=q(drop, "kPa")))
    results = answer["results"]
    loop, given = results["loop"]["pump_head"]["value"], {}
    for entry in results["limits_nearest"]:
        if "head of its own pump" in entry["what"]:
            given[entry["what"].split(":")[0]] = entry["limit"]
    much = {name: 1 - loop / head >= 0.4 for name, head in given.items()}
    found = [f for f in answer["findings"] if f["code"] == "head_throttled"]
    assert much == {"a": drop == 5, "b": drop == 5}, "the trap is there"
    assert len(found) == (drop == 5)
    for finding in found:
        said = finding["said"]["statement"]["values"]
        assert finding["severity"] == "check"
        assert "smaller pumps" in finding["do"]
        assert "by their own drives" in finding["do"]
        slower = {}
        for place, name in enumerate(("a", "b")):
            assert said[f"part{place}_head"]["value"] == pytest.approx(given[name])
            assert said[f"part{place}_taken"]["value"] == pytest.approx(given[name] - loop)
            slower[name] = finding["said"]["do"]["values"][f"speed_each_part{place}_f"]["value"] / 60
        flows = [f["value"] for f in results["loop"]["branch_flows"]]
        for row, flow in zip(UNLIKE["fleet"]["machines"], flows, strict=True):
            points = [(p["flow"]["value"], p["head"]["value"]) for p in row["pump"]["curve"]]
            head = interpolate.PchipInterpolator(*zip(*points, strict=True))
            n = slower[row["type"]]
            assert n**2 * head(flow / n) == pytest.approx(loop, rel=1e-4)
