"""hydronic.drain_down: what must hold whatever is asked."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coldwright.contract import Refused

WATER = {"kind": "water", "temperature": {"value": 10, "unit": "degC"}}
PROPYLENE = {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": {"value": 10, "unit": "degC"}}


def _q(value, unit):
    return {"value": value, "unit": unit}


def _m(value):
    return _q(value, "m")


def _tank(shape="upright", diameter=1.2, start=1.0, end=0.0, name="tank"):
    vessel = {
        "name": name,
        "shape": shape,
        "diameter": _m(diameter),
        "initial_level": _m(start),
        "final_level": _m(end),
    }
    if shape == "horizontal_cylinder":
        vessel["length"] = _m(3)
    return vessel


def _given(**more):
    return {"fluid": WATER, "vessels": [_tank()], "drain_orifice_diameter": _q(40, "mm"), **more}


def _codes(answer):
    return {(f["severity"], f["code"]) for f in answer["findings"]}


def _results(answer_of, **more):
    return answer_of("hydronic.drain_down", _given(**more))["results"]


SHAPES = st.sampled_from(["upright", "horizontal_cylinder", "sphere"])


@given(
    shape=SHAPES,
    diameter=st.floats(0.2, 10),
    full=st.floats(0, 1),
    left=st.floats(0, 1),
    fall=st.floats(0, 20),
    residual=st.floats(0, 100),
)
def test_no_liquid_is_made_or_lost(answer_of, shape, diameter, full, left, fall, residual):
    start, end = full * diameter, full * left * diameter
    results = _results(
        answer_of,
        vessels=[_tank(shape, diameter, start, end)],
        head_below_vessel=_m(fall),
        lines=[{"inner_diameter": _q(100, "mm"), "length": _m(60), "parallel_runs": 2}],
        residual_volumes=[{"name": "evaporator", "volume": _q(residual, "L")}],
    )
    stays = _results(answer_of, vessels=[_tank(shape, diameter, end)], head_below_vessel=_m(fall))["total_volume"][
        "value"
    ]
    total, drained, held = (results[k]["value"] for k in ("total_volume", "drained_volume", "residual_volume"))
    assert drained + held + stays == pytest.approx(total, rel=1e-9, abs=1e-6)
    assert min(drained, held, results["drain_time"]["value"]) >= 0


@given(
    shape=SHAPES, levels=st.lists(st.floats(0, 1), min_size=3, max_size=3), fall=st.sampled_from([0, 0.001, 0.5, 10])
)
def test_times_add_up(answer_of, shape, levels, fall):
    """From full to low takes as long as from full to half and from half to low."""
    low, half, full = sorted(levels)

    def time(start, end):
        return _results(answer_of, vessels=[_tank(shape, 1, start, end)], head_below_vessel=_m(fall))["drain_time"][
            "value"
        ]

    assert time(full, half) + time(half, low) == pytest.approx(time(full, low), rel=1e-6, abs=1e-4)


@given(shape=SHAPES, level=st.floats(0.05, 1), bore=st.floats(5, 100), fall=st.floats(0, 10))
def test_wider_or_lower_drains_no_later(answer_of, shape, level, bore, fall):
    def time(mm, metres):
        more = {"drain_orifice_diameter": _q(mm, "mm"), "head_below_vessel": _m(metres)}
        return _results(answer_of, vessels=[_tank(shape, 1, level)], **more)["drain_time"]["value"]

    assert time(2 * bore, fall) == pytest.approx(time(bore, fall) / 4, rel=1e-6)
    assert time(bore, fall + 1) < time(bore, fall)


@given(shape=SHAPES, level=st.floats(0.1, 1))
def test_mean_flow_is_below_the_first(answer_of, shape, level):
    results = _results(answer_of, vessels=[_tank(shape, 1, level)])
    assert results["drained_volume"]["value"] / results["drain_time"]["value"] < results["initial_flow"]["value"]


def test_vessels_drain_one_after_the_other(answer_of):
    first, second = _tank(name="a"), _tank("sphere", 1, 1, name="b")
    both = _results(answer_of, vessels=[first, second])
    assert [t["name"] for t in both["vessel_times"]] == ["a", "b"]
    times = [t["drain_time"]["value"] for t in both["vessel_times"]]
    assert both["drain_time"]["value"] == pytest.approx(sum(times), rel=1e-9)
    assert times[1] == pytest.approx(_results(answer_of, vessels=[second])["drain_time"]["value"])
    assert both["initial_flow"] == _results(answer_of, vessels=[first])["initial_flow"]


@given(inches=st.floats(0.5, 4), feet=st.floats(1, 12))
@settings(max_examples=25)
def test_units_change_nothing(answer_of, inches, feet):
    assume(inches * 0.0254 <= 0.5 * 1.2)
    us = {"vessels": [_tank() | {"initial_level": _q(feet, "ft")}], "drain_orifice_diameter": _q(inches, "in")}
    metric = {"vessels": [_tank(start=feet * 0.3048)], "drain_orifice_diameter": _q(inches * 25.4, "mm")}
    first, second = _results(answer_of, **us), _results(answer_of, **metric)
    assert first["drain_time"]["value"] == pytest.approx(second["drain_time"]["value"], rel=1e-9)
    shown = answer_of("hydronic.drain_down", _given(**us), units="us")["results"]["total_volume"]
    assert shown["unit"] == "gal"
    assert shown["value"] == pytest.approx(first["total_volume"]["value"] / 3.785411784, rel=1e-9)


@given(x_t=st.floats(0.05, 0.5), x_c=st.floats(0.55, 1), litres=st.floats(0.1, 500))
def test_antifreeze_makes_the_strength(answer_of, x_t, x_c, litres):
    results = _results(
        answer_of,
        residual_volumes=[{"name": "evaporator", "volume": _q(litres, "L")}],
        lay_up={"kind": "propylene_glycol", "target_volume_fraction": x_t, "concentrate_volume_fraction": x_c},
    )
    poured = results["antifreeze_volume"]["value"]
    assert poured * x_c / (poured + litres) == pytest.approx(x_t, rel=1e-9)


def test_glycol_that_stays_counts_for_the_lay_up(answer_of):
    more = {
        "residual_volumes": [{"name": "evaporator", "volume": _q(40, "L")}],
        "lay_up": {"kind": "propylene_glycol", "lowest_temperature": _q(-25, "degC"), "concentrate_volume_fraction": 1},
    }
    water, glycol = (_results(answer_of, fluid=f, **more)["antifreeze_volume"]["value"] for f in (WATER, PROPYLENE))
    assert 0 < glycol < water
    strong = PROPYLENE | {"mass_fraction": 0.55}
    assert _results(answer_of, fluid=strong, **more)["antifreeze_volume"]["value"] == 0


def test_lines_alone_give_volume_and_no_time(answer_of):
    results = answer_of(
        "hydronic.drain_down",
        {
            "fluid": WATER,
            "lines": [
                {"inner_diameter": _q(100, "mm"), "length": _m(100), "drains_by_gravity": sloped}
                for sloped in (True, False)
            ],
        },
    )["results"]
    assert results["vessel_times"] == []
    assert not {"drain_time", "initial_flow"} & set(results)
    assert results["residual_volume"]["value"] == pytest.approx(0.06 * results["total_volume"]["value"])


# --- findings ----------------------------------------------------------------------------------------------------

EVAPORATOR = [{"name": "evaporator", "volume": _q(40, "L")}]
COLD = {"residual_volumes": EVAPORATOR, "lowest_temperature": _q(-15, "degC")}
LAY_UP = {"kind": "propylene_glycol", "concentrate_volume_fraction": 1}


@pytest.mark.parametrize(
    ("more", "severity", "code"),
    [
        ({"fluid": PROPYLENE, "discharge_to": "storm"}, "stop", "discharge_forbidden"),
        ({"fluid": PROPYLENE, "discharge_to": "ground"}, "stop", "discharge_forbidden"),
        ({"treated": True, "discharge_to": "storm"}, "stop", "discharge_forbidden"),
        ({"fluid": {"kind": "custom"}, "discharge_to": "storm"}, "stop", "discharge_forbidden"),
        ({"fluid": PROPYLENE, "discharge_to": "sanitary"}, "check", "consent_needed"),
        (COLD, "stop", "residual_unprotected"),
        (COLD | {"fluid": {"kind": "custom"}}, "stop", "residual_unprotected"),
        (COLD | {"lay_up": LAY_UP | {"target_volume_fraction": 0.2}}, "stop", "residual_unprotected"),
        ({"lay_up": LAY_UP | {"kind": "ethylene_glycol", "target_volume_fraction": 0.4}, "fluid": PROPYLENE}, "check",
         "glycols_would_mix"),
        ({"vented": False}, "check", "not_vented"),
        ({"receiver_flow_limit": _q(1, "L/s")}, "check", "flow_over_limit"),
        ({"residual_volumes": [{"name": "coil", "volume": _q(300, "L")}]}, "check", "residual_large"),
        ({"head_below_vessel": _m(12)}, "note", "tall_outlet"),
        ({}, "note", "drain_plugs"),
        ({}, "note", "blowing_out"),
    ],
)  # fmt: skip
def test_finding(answer_of, more, severity, code):
    assert (severity, code) in _codes(answer_of("hydronic.drain_down", _given(**more)))


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"discharge_to": "storm"}, "discharge_forbidden"),
        ({"fluid": PROPYLENE, "discharge_to": "sanitary", "discharge_consent": True}, "consent_needed"),
        ({"fluid": PROPYLENE, "discharge_to": "tanker"}, "discharge_forbidden"),
        (COLD | {"lay_up": LAY_UP | {"lowest_temperature": _q(-15, "degC")}}, "residual_unprotected"),
        (
            COLD | {"lay_up": LAY_UP | {"lowest_temperature": _q(-15, "degC"), "protection": "burst"}},
            "residual_unprotected",
        ),
        ({"lowest_temperature": _q(2, "degC"), "residual_volumes": EVAPORATOR}, "residual_unprotected"),
        ({"lowest_temperature": _q(-15, "degC")}, "residual_unprotected"),
        ({"receiver_flow_limit": _q(50, "L/s")}, "flow_over_limit"),
    ],
)
def test_no_finding(answer_of, more, code):
    assert code not in {c for _, c in _codes(answer_of("hydronic.drain_down", _given(**more)))}


def test_flow_within_limit(answer_of):
    flow = _results(answer_of)["initial_flow"]
    assert _results(answer_of, receiver_flow_limit=flow)["flow_within_limit"] is True
    assert _results(answer_of, receiver_flow_limit=_q(flow["value"] * 0.99, "L/s"))["flow_within_limit"] is False
    assert "flow_within_limit" not in _results(answer_of)


# --- refusals ----------------------------------------------------------------------------------------------------


def _table(*rows):
    return {
        "name": "t",
        "shape": "table",
        "volume_by_level": [{"level": _m(h), "volume": _q(v, "L")} for h, v in rows],
    }


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"vessels": []}, "#/vessels"),
        ({"vessels": [_tank(start=-0.1)]}, "#/vessels/0/initial_level"),
        ({"vessels": [_tank("sphere", 1, 1.1)]}, "#/vessels/0/initial_level"),
        ({"vessels": [_tank("horizontal_cylinder", 1, 1.1)]}, "#/vessels/0/initial_level"),
        ({"vessels": [_tank() | {"height": _m(0.9)}]}, "#/vessels/0/initial_level"),
        ({"vessels": [_tank(start=0.5, end=0.6)]}, "#/vessels/0/final_level"),
        ({"vessels": [{"name": "t", "shape": "upright", "diameter": _m(1)}]}, "#/vessels/0/initial_level"),
        ({"vessels": [_tank(diameter=0.07)]}, "#/drain_orifice_diameter"),
        ({"vessels": [_table((0, 0), (1, 1))]}, "#/drain_orifice_diameter"),
        ({"vessels": [_table((0, 0), (1, 500), (0.9, 600))]}, "#/vessels/0/volume_by_level/2"),
        ({"vessels": [_table((0, 0), (1, 500), (1.2, 400))]}, "#/vessels/0/volume_by_level/2"),
        ({"vessels": [_table((0.2, 0), (1, 500))]}, "#/vessels/0/final_level"),
        ({"vessels": [_tank() | {"shape": "cone"}]}, "#/vessels/0"),
        ({"discharge_coefficient": 0.2}, "#/discharge_coefficient"),
        ({"discharge_coefficient": 1.01}, "#/discharge_coefficient"),
        ({"lay_up": LAY_UP}, "#/lay_up"),
        ({"lay_up": LAY_UP | {"target_volume_fraction": 0.3, "lowest_temperature": _q(-10, "degC")}}, "#/lay_up"),
        (
            {"lay_up": LAY_UP | {"target_volume_fraction": 0.4, "concentrate_volume_fraction": 0.4}},
            "#/lay_up/concentrate_volume_fraction",
        ),
        ({"lay_up": LAY_UP | {"lowest_temperature": _q(-55, "degC")}}, "#/lay_up/lowest_temperature"),
        (
            {"lay_up": LAY_UP | {"kind": "ethylene_glycol", "target_volume_fraction": 0.6}},
            "#/lay_up/target_volume_fraction",
        ),
        ({"fluid": {"kind": "water"}}, "#/fluid/temperature"),
    ],
)
def test_refusal(answer_of, more, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.drain_down", _given(**more))
    assert refused.value.errors[0].pointer.startswith(pointer)


def test_vessels_need_an_orifice(answer_of):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.drain_down", {"fluid": WATER, "vessels": [_tank()]})
    assert refused.value.errors[0].pointer == "#/drain_orifice_diameter"
