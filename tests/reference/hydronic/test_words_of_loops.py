"""Figures in the words of findings on loops, worked out by hand: a liquid of 1000 kg/m3 and 1 mPa.s, air of 101.325 kPa.

Derived where no source is named; limits are common practice.
"""

import math
from typing import Any, NamedTuple

import pytest
from figures import same_figures
from quantity import q

pytestmark = pytest.mark.check
LOOP = "hydronic.loop"
Json = dict[str, Any]
PLAIN: Json = {
    "kind": "custom",
    "density": q(1000, "kg/m3"),
    "dynamic_viscosity": q(1, "mPa.s"),
    "specific_heat": q(4, "kJ/kg.K"),
    "vapor_pressure": q(1, "kPa"),
}
COLUMN, AIR = 9.80665, 101.325
AREA = math.pi / 4 * 0.1**2


def at(kilopascals: float) -> Json:
    return {"pressure_reference": {"gauge_pressure": q(kilopascals, "kPa")}}


def drop(name: str, kilopascals: float, **more: Any) -> Json:
    """Drops so much at 12 L/s."""
    rated = {"rated_flow": q(12, "L/s"), "rated_pressure_drop": q(kilopascals, "kPa"), "rated_fluid": PLAIN}
    return {"name": name, "type": "device", "device_kind": "other"} | rated | more


def hose(name: str, **more: Any) -> Json:
    line = {"type": "line", "line_kind": "lay_flat_hose", "inner_diameter": q(100, "mm"), "length": q(0, "m")}
    return {"name": name} | line | more


def fixed(*elements: Json, **more: Any) -> Json:
    return {"fluid": PLAIN, "elements": list(elements), "fixed_flow": q(12, "L/s")} | at(200) | more


def pumped(*elements: Json, **more: Any) -> Json:
    """One pump of 30 m at 12 L/s, of 40 m at no flow, straight between; elements of 30 m, so that the duty is there."""
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 40), (24, 20), (36, 5))]
    return {
        "fluid": PLAIN,
        "elements": list(elements) or [drop("all", 30 * COLUMN)],
        "pumps": [{"curve": curve, "interpolation": "linear"} | more],
        "pump_owner": "machine",
    } | at(200)


def needs(metres: float) -> Json:
    return {"npsh_required_curve": [{"flow": q(f, "L/s"), "npsh_required": q(metres, "m")} for f in (1, 30)]}


HAS = (200 + AIR - 1) / COLUMN


class Said(NamedTuple):
    code: str
    given: Json
    statement: tuple[float, ...]
    do: tuple[float, ...] | None = None
    why: tuple[float, ...] | None = None


two = pumped(drop("all", 60 * COLUMN))
two["pumps"] = [two["pumps"][0], two["pumps"][0] | needs(70)]
stands = pumped(drop("all", 20 * COLUMN))
stands["pumps"].append({"state": "stopped_in_line", "stopped_kv": 80.0})
high = [drop("up", 10, elevation_out=q(15, "m")), drop("down", 10, elevation_out=q(0, "m"))]
EVERY = (
    Said("device_flow_low", fixed(drop("d", 10, flow_minimum=q(16, "L/s"))), (12, 25, 16)),
    Said("device_flow_high", fixed(drop("d", 10, flow_maximum=q(10, "L/s"))), (12, 20, 10)),
    Said("device_outside_rating", fixed(drop("d", 10, rated_flow=q(7.5, "L/s"))), (1.6, 0.3, 1.5)),
    Said("flow_minimum_not_given", fixed(drop("d", 10, device_kind="evaporator")), ()),
    # suction: what stands there, what is needed, and 1.3 of it
    Said("cavitation", pumped(**needs(32)), (HAS, 32, 1.3, 1.3 * 32), (32 - HAS,)),
    Said("cavitation", two, (HAS + 30, 70, 1.3, 91), (70 - HAS - 30,)),
    Said("npsh_margin_small", pumped(**needs(25)), (HAS, HAS - 25, 25), None, (1.3, 1)),
    Said("npsh_margin_small", pumped(**needs(HAS - 0.5)), (HAS, 0.5, HAS - 0.5)),
    Said(
        "npsh_not_known",
        pumped(npsh_required_curve=[{"flow": q(f, "L/s"), "npsh_required": q(f, "m")} for f in (1, 11)]),
        (12,),
    ),
    Said("pump_flow_low", pumped(minimum_flow=q(14, "L/s")), (0, 12, 14)),
    Said("pumps_not_interlocked", two, (2,)),
    Said("stopped_pump_in_line", stands, (1, 80)),
    Said(
        "away_from_best_efficiency",
        pumped(efficiency_curve=[{"flow": q(f, "L/s"), "efficiency": e} for f, e in ((1, 0.2), (8, 0.7), (30, 0.3))]),
        (0, 1.5, 0.5, 1.2),
    ),
    # running: 200 kPa and what the others take; stopped: the column; against a shut valve: 40 m
    Said("over_working_pressure", fixed(drop("d", 300, working_pressure=q(450, "kPa"))), (500, 50, 450)),
    Said(
        "over_working_pressure",
        fixed(
            drop("up", 1, elevation_out=q(-20, "m"), working_pressure=q(350, "kPa")),
            drop("d", 1, elevation_out=q(0, "m")),
        ),
        (201 + 20 * COLUMN, 20 * COLUMN - 149, 350),
    ),
    Said(
        "over_working_pressure",
        pumped(drop("all", 30 * COLUMN, working_pressure=q(550, "kPa"))),
        (200 + 40 * COLUMN, 40 * COLUMN - 350, 550),
    ),
    Said(
        "over_working_pressure",
        pumped(drop("all", 30 * COLUMN, working_pressure=q(600, "kPa")))
        | {"pressure_reference": {"gauge_pressure": q(200, "kPa"), "gauge_pressure_maximum": q(260, "kPa")}},
        (260 + 40 * COLUMN, 40 * COLUMN - 340, 600),
    ),
    # 100 kPa at the suction less the column of 15 m, and the drop behind it
    Said("below_air_pressure", fixed(*high, **at(100)), (100 + 10 - 15 * COLUMN,), (15 * COLUMN - 110,)),
    Said("liquid_boils", fixed(*high, **at(20)), (30 - 15 * COLUMN,)),
    Said(
        "lay_flat_collapses",
        fixed(
            drop("up", 10, elevation_out=q(15, "m")), hose("flat"), drop("down", 10, elevation_out=q(0, "m")), **at(100)
        ),
        (100 - 15 * COLUMN,),
        (15 * COLUMN - 100,),
    ),
    Said(
        "pressure_reference_assumed",
        {k: v for k, v in fixed(drop("d", 10)).items() if k != "pressure_reference"},
        (150,),
    ),
    # 300 kW over 4200 kJ/K at 12 L/s
    Said(
        "flow_below_required",
        fixed(drop("d", 10), required={"load": q(300, "kW"), "temperature_difference": q(5, "delta_degC")}),
        (12, 20, 15, 5, 6.25, 1.25),
    ),
    Said("flow_below_required", fixed(drop("d", 10), required={"flow": q(16, "L/s")}), (12, 25, 16)),
)


@pytest.mark.parametrize("said", EVERY, ids=[f"{i}-{said.code}" for i, said in enumerate(EVERY)])
def test_a_finding_on_a_loop_says_what_the_hand_gives(answer_of: Any, said: Said) -> None:
    found = [f for f in answer_of(LOOP, said.given)["findings"] if f["code"] == said.code]
    same_figures(found[-1]["statement"], said.statement)
    if said.do is not None:
        same_figures(found[-1]["do"], said.do)
    if said.why is not None:
        same_figures(found[-1]["why"], said.why)


def test_a_doubtful_drop_is_said_with_its_reynolds_number(answer_of: Any) -> None:
    """By hand: Re of 1 mm2/s in 600 mm at 5 mm/s is 3000; the drop is that of the answer."""
    pipe = {"type": "line", "line_kind": "steel", "inner_diameter": q(600, "mm")}
    flow = 5e-3 * math.pi / 4 * 0.36 * 1e3
    case = fixed(*({"name": n, "length": q(m, "m")} | pipe for n, m in (("short", 10), ("long", 30))))
    answer = answer_of(LOOP, case | {"fixed_flow": q(flow, "L/s")})
    (found,) = [f for f in answer["findings"] if f["code"] == "transition"]
    drops = [e["pressure_drop"]["value"] for e in answer["results"]["elements"]]
    assert drops[1] == pytest.approx(3 * drops[0])
    same_figures(found["statement"], (3000, drops[1], 30))
    assert found["field"] == "/elements/1"


@pytest.mark.parametrize(("count", "enough"), [(3, 1), (1, None)])
def test_a_throttled_head_is_said_with_what_does_without(answer_of: Any, count: int, enough: int | None) -> None:
    """By hand: at 12 L/s three pumps of 36.67 m, of which a valve takes all but 10 m; one pump alone makes 30 m."""
    head = 40 - 12 / count / 24 * 20
    valve = {"name": "valve", "type": "valve", "flow_coefficient_kv": 12 * 3.6 / math.sqrt((head - 10) * COLUMN / 100)}
    answer = answer_of(LOOP, pumped(drop("all", 10 * COLUMN), valve, parallel_count=count))
    (found,) = [f for f in answer["findings"] if f["code"] == "head_throttled"]
    same_figures(found["statement"], (head, head - 10))
    speed = (
        20 / 24 * 12 / count + math.sqrt((20 / 24 * 12 / count) ** 2 + 4 * 40 * 10)
    ) / 80  # 40 s^2 - 20/24 Q s = 10
    assert answer["results"]["frequency_without_valves"]["value"] == pytest.approx(60 * speed, rel=1e-6)
    same_figures(found["do"], ((enough, count) if enough else ()) + (60 * speed,))


def test_a_top_that_boils_at_rest_says_what_it_stands_at(answer_of: Any) -> None:
    """By hand: the column of 15 m alone, without the 10 kPa that the running pump keeps before the way down."""
    answer = answer_of(LOOP, fixed(*high, **at(20)))
    rest = next(f for f in answer["findings"] if f["code"] == "liquid_boils")
    same_figures(rest["statement"], (20 - 15 * COLUMN,))


def test_the_lift_of_an_open_loop_is_shown(answer_of: Any) -> None:
    """By hand: a return 3 m above the surface, and 12 kPa before the pump."""
    source = {"surface_elevation": q(2, "m"), "suction_pressure_drop": q(12, "kPa")}
    case = pumped(drop("up", 100, elevation_out=q(5, "m"))) | {"open_source": source}
    del case["pressure_reference"]
    answer = answer_of(LOOP, case)
    (line,) = [x for x in answer["working"] if x["symbol"] == "L"]
    assert (line["value"], line["unit"]) == (pytest.approx(3 * COLUMN + 12), "kPa")
    flow = answer["results"]["duty_flow"]["value"]
    assert answer["results"]["pump_pressure_rise"]["value"] == pytest.approx(3 * COLUMN + 12 + 100 * (flow / 12) ** 2)
