"""What holds for every condenser's air, every finding, and what is refused."""

from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from coldwright.contract import Refused
from coldwright_refrigeration.air_side import air_side

AIR = "refrigeration.air_side"
BASE: dict[str, Any] = {
    "heat_rejected": {"value": 447, "unit": "kW"},
    "airflow": {"value": 45, "unit": "m3/s"},
    "ambient_temperature": {"value": 35, "unit": "degC"},
    "altitude": {"value": 0, "unit": "m"},
}
GAP = {
    "airflow_through": {"value": 20, "unit": "m3/s"},
    "length": {"value": 5, "unit": "m"},
    "distance": {"value": 1.5, "unit": "m"},
}


def metres(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "m"}


def degc(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "degC"}


def without(given: dict[str, Any], *names: str) -> dict[str, Any]:
    return {k: v for k, v in given.items() if k not in names}


cases = st.fixed_dictionaries(
    {
        "heat_rejected": st.floats(1, 2000).map(lambda q: {"value": q, "unit": "kW"}),
        "air_temperature_rise": st.floats(2, 30).map(lambda d: {"value": d, "unit": "delta_degC"}),
        "ambient_temperature": st.floats(-40, 60).map(degc),
        "relative_humidity": st.floats(0, 1),
        "altitude": st.floats(-100, 4000).map(metres),
        "recirculated_fraction": st.floats(0, 0.59),
        "rated_altitude": st.floats(-100, 4000).map(metres),
        "condenser_ntu": st.floats(0.2, 5),
    }
)


def codes(answer: dict[str, Any]) -> dict[str, str]:
    return {f["code"]: f["severity"] for f in answer["findings"]}


@drawn(given=cases)
def test_energy_closes(answer_of: Any, given: dict[str, Any]) -> None:
    results = answer_of(AIR, given)["results"]
    heat = results["airflow_mass"]["value"] * 1.006 * results["air_temperature_rise"]["value"]
    assert heat == pytest.approx(given["heat_rejected"]["value"], rel=1e-9)
    assert results["airflow_mass"]["value"] == pytest.approx(
        results["air_density"]["value"] * results["airflow"]["value"], rel=1e-9
    )
    rise, fraction = results["recirculation_temperature_rise"]["value"], results["recirculated_fraction"]
    assert rise == pytest.approx(fraction * (rise + results["air_temperature_rise"]["value"]), rel=1e-6, abs=1e-9)
    assert results["inlet_temperature"]["value"] - given["ambient_temperature"]["value"] == pytest.approx(
        rise, abs=1e-8
    )
    effective = results["effective_ambient_temperature"]["value"]
    if "capacity_effect" in results:
        expected = -0.007 * 1.8 * (effective - given["ambient_temperature"]["value"])
        assert results["capacity_effect"] == pytest.approx(expected, abs=1e-8)
        assert results["capacity_effect"] >= -0.5


@drawn(given=cases)
def test_units_change_nothing(answer_of: Any, given: dict[str, Any]) -> None:
    other = given | {
        "heat_rejected": {"value": given["heat_rejected"]["value"] / 3.5168528420667, "unit": "ton"},
        "air_temperature_rise": {"value": given["air_temperature_rise"]["value"] * 1.8, "unit": "delta_degF"},
        "ambient_temperature": {"value": given["ambient_temperature"]["value"] * 1.8 + 32, "unit": "degF"},
        "altitude": {"value": given["altitude"]["value"] / 0.3048, "unit": "ft"},
    }
    first, second = answer_of(AIR, given)["results"], answer_of(AIR, other)["results"]
    for name in ("airflow", "air_density", "effective_ambient_temperature"):
        assert second[name]["value"] == pytest.approx(first[name]["value"], rel=1e-8, abs=1e-7)


@drawn(given=cases)
def test_airflow_and_rise_and_fraction_lead_back(answer_of: Any, given: dict[str, Any]) -> None:
    first = answer_of(AIR, given)["results"]
    back = without(given, "air_temperature_rise", "recirculated_fraction") | {
        "airflow": first["airflow"],
        "measured_inlet_temperature": first["inlet_temperature"],
    }
    if first["inlet_temperature"]["value"] > 119:
        return
    second = answer_of(AIR, back)["results"]
    assert second["air_temperature_rise"]["value"] == pytest.approx(first["air_temperature_rise"]["value"], rel=1e-8)
    assert second["recirculated_fraction"] == pytest.approx(first["recirculated_fraction"], abs=1e-7)


def test_thinner_air_costs_more(answer_of: Any) -> None:
    effects = [
        answer_of(AIR, BASE | {"altitude": metres(z)})["results"]["capacity_effect"] for z in (0, 500, 1500, 3000)
    ]
    assert effects[0] == 0
    assert effects == sorted(effects, reverse=True)
    assert answer_of(AIR, BASE | {"altitude": metres(1500), "rated_altitude": metres(1500)})["results"][
        "capacity_effect"
    ] == pytest.approx(0, abs=1e-12)


def test_nothing_lost_is_nought_without_a_sign(answer_of: Any) -> None:
    assert str(answer_of(AIR, BASE)["results"]["capacity_effect"]) == "0.0"


def test_moist_air_is_lighter(answer_of: Any) -> None:
    dry, damp = (answer_of(AIR, BASE | {"relative_humidity": h})["results"] for h in (0, 0.8))
    assert damp["air_density"]["value"] < dry["air_density"]["value"]
    assert damp["air_temperature_rise"]["value"] > dry["air_temperature_rise"]["value"]


def test_a_wider_gap_frees_what_the_finding_says(answer_of: Any) -> None:
    tight = BASE | {"gap": GAP | {"distance": metres(0.6)}}
    found = next(f for f in answer_of(AIR, tight)["findings"] if f["code"] == "gap_pressure_high")
    distance = float(found["resolve"].split()[3])
    assert "gap_pressure_high" not in codes(answer_of(AIR, BASE | {"gap": GAP | {"distance": metres(distance + 0.01)}}))


def test_without_a_gap_its_figures_are_left_out(answer_of: Any) -> None:
    assert not {"gap_velocity", "gap_pressure_drop", "airflow_ratio"} & set(answer_of(AIR, BASE)["results"])


def test_assumptions_are_named(answer_of: Any) -> None:
    answer = answer_of(AIR, without(BASE, "airflow", "altitude"))
    assert {"usual_air_rise", "sea_level"} <= {a["code"] for a in answer["assumptions"]}
    assert answer["results"]["air_temperature_rise"]["value"] == 10


FINDINGS = [
    ("roof_over_discharge", "stop", BASE | {"clearances": [{"side": "top", "distance": metres(3)}]}),
    ("clearance_short", "check", BASE | {"clearances": [{"side": "coil", "distance": metres(1.1)}]}),
    ("clearance_short", "check", BASE | {"clearances": [{"side": "control", "distance": metres(1.1)}]}),
    ("clearance_short", "check", BASE | {"clearances": [{"side": "facing_coil", "distance": metres(2.9)}]}),
    (
        "clearance_short",
        "check",
        BASE | {"clearances": [{"side": "coil", "distance": metres(1.5), "required": metres(1.8)}]},
    ),
    (
        "clearance_short",
        "check",
        BASE | {"clearances": [{"side": "top", "distance": metres(3), "ducted": True, "required": metres(4)}]},
    ),
    ("recirculation_high", "check", BASE | {"recirculated_fraction": 0.2}),
    ("gap_pressure_high", "check", BASE | {"gap": GAP | {"distance": metres(0.8)}}),
    (
        "loss_beyond_estimate",
        "check",
        BASE | {"recirculated_fraction": 0.59, "airflow": {"value": 10, "unit": "m3/s"}},
    ),
    ("air_rise_unusual", "note", BASE | {"airflow": {"value": 20, "unit": "m3/s"}}),
    ("inlet_below_ambient", "note", BASE | {"measured_inlet_temperature": degc(34.5)}),
    ("hot_air_upwind", "note", BASE),
    ("warmer_than_weather_station", "note", BASE),
]


@pytest.mark.parametrize(("code", "severity", "given"), FINDINGS)
def test_findings(to_the_word: Any, code: str, severity: str, given: dict[str, Any]) -> None:
    assert codes(to_the_word(AIR, given)).get(code) == severity


def test_every_finding_is_raised_above() -> None:
    assert set(air_side.findings) == {code for code, _, _ in FINDINGS}


def test_enough_room_has_no_finding_but_the_two_reminders(answer_of: Any) -> None:
    room = [
        {"side": "coil", "distance": metres(1.2)},
        {"side": "control", "distance": metres(1.2)},
        {"side": "facing_coil", "distance": metres(3)},
        {"side": "top", "distance": metres(2), "ducted": True},
    ]
    answer = answer_of(AIR, BASE | {"clearances": room, "gap": GAP})
    assert set(codes(answer)) == {"hot_air_upwind", "warmer_than_weather_station"}
    assert answer["outcome"] == "acceptable"


REFUSED = [
    (BASE | {"airflow": {"value": 0, "unit": "m3/s"}}, "#/airflow"),
    (BASE | {"airflow": {"value": 1, "unit": "m3/s"}}, "#/airflow"),
    (BASE | {"recirculated_fraction": 0.6}, "#/recirculated_fraction"),
    (BASE | {"measured_inlet_temperature": degc(33.9)}, "#/measured_inlet_temperature"),
    (BASE | {"measured_inlet_temperature": degc(60)}, "#/measured_inlet_temperature"),
    (
        BASE | {"measured_inlet_temperature": degc(36), "recirculated_fraction": 0.1},
        "#/measured_inlet_temperature",
    ),
    (BASE | {"air_temperature_rise": {"value": 10, "unit": "delta_degC"}}, "#/air_temperature_rise"),
    (BASE | {"altitude": metres(5000)}, "#/altitude"),
    (BASE | {"barometric_pressure": {"value": 90, "unit": "kPa"}}, "#/barometric_pressure"),
    (BASE | {"capacity": {"value": 350, "unit": "kW"}}, "#/capacity"),
    (without(BASE, "heat_rejected"), "#/heat_rejected"),
    (without(BASE, "heat_rejected") | {"capacity": {"value": 350, "unit": "kW"}}, "#/power"),
    (without(BASE, "heat_rejected") | {"power": {"value": 100, "unit": "kW"}}, "#/capacity"),
    (BASE | {"gap": GAP | {"distance": metres(0.3)}}, "#/gap/distance"),
]


@pytest.mark.parametrize(("given", "pointer"), REFUSED)
def test_refusals(answer_of: Any, given: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(AIR, given)
    assert pointer in [e.pointer for e in refusal.value.errors]


def test_the_refused_gap_tells_the_least_distance(answer_of: Any) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(AIR, BASE | {"gap": GAP | {"distance": metres(0.3)}})
    assert refusal.value.errors[0].allowed
    least = refusal.value.errors[0].allowed.minimum
    assert least
    assert answer_of(AIR, BASE | {"gap": GAP | {"distance": metres(least * 1.0001)}})["results"][
        "airflow_ratio"
    ] == pytest.approx(0.2, abs=1e-3)
