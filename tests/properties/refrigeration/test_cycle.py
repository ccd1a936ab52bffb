"""What holds for every cycle, and what is refused."""

from typing import Any

import pytest
from hypothesis import assume
from hypothesis import given as drawn
from hypothesis import strategies as st

from coldwright.contract import Refused
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

CYCLE = "refrigeration.cycle"
TON = 12_000 * 1055.05585262 / 3600 / 1000
"""kW: 12,000 international table Btu in an hour."""
BASE: dict[str, Any] = {
    "refrigerant": "R-410A",
    "evaporating": {"temperature": {"value": 2, "unit": "degC"}},
    "condensing": {"temperature": {"value": 50, "unit": "degC"}},
}


def degrees(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "degC"}


def kelvins(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "delta_degC"}


cycles = st.fixed_dictionaries(
    {
        "refrigerant": st.sampled_from(sorted(REFRIGERANTS)),
        "evaporating": st.floats(-30, 18).map(lambda t: {"temperature": degrees(t)}),
        "condensing": st.floats(25, 58).map(lambda t: {"temperature": degrees(t)}),
        "condensing_reference": st.sampled_from(["mean", "bubble", "dew"]),
        "superheat": st.floats(0, 20).map(kelvins),
        "subcooling": st.floats(0, 6).map(kelvins),
        "isentropic_efficiency": st.floats(0.45, 1),
        "motor_efficiency": st.floats(0.5, 1),
        "capacity": st.floats(1, 2000).map(lambda q: {"value": q, "unit": "kW"}),
    }
)


@drawn(given=cycles)
def test_energy_closes_and_nothing_beats_carnot(answer_of: Any, given: dict[str, Any]) -> None:
    try:
        results = answer_of(CYCLE, given)["results"]
    except Refused as refused:
        assume(all("no trustworthy answer" not in error.detail for error in refused.errors))
        raise
    one, two, three, four = results["states"]
    h = [s["enthalpy"]["value"] for s in results["states"]]
    assert results["heat_rejected"]["value"] == pytest.approx(
        results["capacity"]["value"] + results["compressor_power"]["value"], rel=1e-9
    )
    assert h[3] == pytest.approx(h[2], abs=1e-6)
    assert results["capacity"]["value"] == pytest.approx(results["mass_flow"]["value"] * (h[0] - h[3]), rel=1e-8)
    assert results["compressor_power"]["value"] == pytest.approx(
        results["mass_flow"]["value"] * (h[1] - h[0]), rel=1e-8
    )
    assert results["electric_power"]["value"] * given["motor_efficiency"] == pytest.approx(
        results["compressor_power"]["value"], rel=1e-9
    )
    assert two["entropy"]["value"] >= one["entropy"]["value"] - 1e-6  # second law in compressor and valve
    assert four["entropy"]["value"] >= three["entropy"]["value"] - 1e-6
    assert 0 < four["quality"] < 1
    assert "quality" not in one or one["quality"] == 1
    assert results["eer"] == pytest.approx(3.412142 * results["cop"], rel=1e-9)
    assert results["kw_per_ton"] * results["cop"] == pytest.approx(TON, rel=1e-9)
    if REFRIGERANTS[given["refrigerant"]].kind == "pure":
        assert results["cop"] < results["carnot_cop"]


@drawn(given=cycles)
def test_units_change_nothing(answer_of: Any, given: dict[str, Any]) -> None:
    def fahrenheit(change: dict[str, Any]) -> dict[str, Any]:
        return {"temperature": {"value": change["temperature"]["value"] * 1.8 + 32, "unit": "degF"}}

    other = given | {
        "evaporating": fahrenheit(given["evaporating"]),
        "condensing": fahrenheit(given["condensing"]),
        "superheat": {"value": given["superheat"]["value"] * 1.8, "unit": "delta_degF"},
        "capacity": {"value": given["capacity"]["value"] / 3.5168528420667, "unit": "ton"},
    }
    first = answer_of(CYCLE, given)["results"]
    second = answer_of(CYCLE, other)["results"]
    assert second["cop"] == pytest.approx(first["cop"], rel=1e-7)
    assert second["compressor_power"]["value"] == pytest.approx(first["compressor_power"]["value"], rel=1e-7)


@drawn(given=cycles)
def test_a_found_efficiency_is_the_one_put_in(answer_of: Any, given: dict[str, Any]) -> None:
    first = answer_of(CYCLE, given)["results"]
    if "quality" in first["states"][1]:
        return  # the outlet lies on or in the dome: its temperature tells too little
    back = {k: v for k, v in given.items() if k != "isentropic_efficiency"}
    back["compressor_outlet_temperature"] = first["discharge_temperature"]
    second = answer_of(CYCLE, back)["results"]
    assert second["isentropic_efficiency"] == pytest.approx(given["isentropic_efficiency"], abs=2e-3)


def test_sizes_agree(answer_of: Any) -> None:
    """Mass flow, capacity and swept volume lead to one circuit."""
    first = answer_of(CYCLE, BASE | {"capacity": {"value": 100, "unit": "kW"}})["results"]
    for name in ("mass_flow", "swept_volume_flow"):
        second = answer_of(CYCLE, BASE | {name: first[name]})["results"]
        assert second["capacity"]["value"] == pytest.approx(100, rel=1e-9)


def test_without_a_size_the_extensive_figures_are_left_out(answer_of: Any) -> None:
    results = answer_of(CYCLE, BASE)["results"]
    assert results["cop"] > 1
    sized = {"mass_flow", "capacity", "compressor_power", "electric_power", "heat_rejected", "swept_volume_flow"}
    assert not sized & set(results)


def test_ideal_compression_into_the_dome(answer_of: Any) -> None:
    """R-1233zd(E) from saturated vapour: the ideal outlet is wet, and the lever rule holds."""
    wet = BASE | {"refrigerant": "R-1233zd(E)", "condensing": {"temperature": degrees(70)}}
    two = answer_of(CYCLE, wet)["results"]["states"][1]
    assert 0.9 < two["quality"] < 1
    assert two["temperature"]["value"] == pytest.approx(70, abs=0.002)


@pytest.mark.parametrize("name", sorted(REFRIGERANTS))
def test_both_ends_of_the_range_are_answered(answer_of: Any, name: str) -> None:
    top = REFRIGERANTS[name].maximum_temperature_degC
    for low, high in ((-45, 0), (20, top), (-30, 30)):
        given = {
            "refrigerant": name,
            "evaporating": {"temperature": degrees(low)},
            "condensing": {"temperature": degrees(high)},
            "condensing_reference": "bubble",
            "subcooling": kelvins(5),
        }
        assert answer_of(CYCLE, given)["results"]["cop"] > 0


# --- findings -----------------------------------------------------------------------------------------------------
FINDINGS = [
    (
        "discharge_too_hot",
        "check",
        BASE | {"refrigerant": "R-32", "superheat": kelvins(6), "isentropic_efficiency": 0.7},
    ),
    (
        "discharge_too_hot",
        "stop",
        BASE | {"refrigerant": "R-32", "superheat": kelvins(6), "isentropic_efficiency": 0.5},
    ),
    ("pressure_ratio_high", "check", BASE | {"evaporating": {"temperature": degrees(-25)}}),
    ("near_critical", "stop", BASE | {"refrigerant": "R-404A", "condensing": {"temperature": degrees(69.9)}}),
    ("efficiency_unusual", "check", BASE | {"compressor_outlet_temperature": degrees(190)}),
    ("glide_reference", "note", BASE | {"refrigerant": "R-407C"}),
]


@pytest.mark.parametrize(("code", "severity", "given"), FINDINGS)
def test_findings(to_the_word: Any, code: str, severity: str, given: dict[str, Any]) -> None:
    findings = {f["code"]: f["severity"] for f in to_the_word(CYCLE, given)["findings"]}
    assert findings.get(code) == severity


def test_a_plain_cycle_has_no_finding(answer_of: Any) -> None:
    answer = answer_of(CYCLE, BASE | {"isentropic_efficiency": 0.75})
    assert answer["findings"] == []
    assert answer["outcome"] == "acceptable"


# --- refusals -----------------------------------------------------------------------------------------------------
REFUSED = [
    (BASE | {"refrigerant": "R-515B"}, "#/refrigerant"),
    (BASE | {"refrigerant": "R410A"}, "#/refrigerant"),
    (BASE | {"evaporating": {}}, "#/evaporating"),
    (BASE | {"condensing": BASE["condensing"] | {"pressure": {"value": 30, "unit": "bar"}}}, "#/condensing"),
    (BASE | {"condensing": {"temperature": degrees(1)}}, "#/condensing"),
    (BASE | {"condensing": {"temperature": degrees(80)}}, "#/condensing/temperature"),
    (BASE | {"condensing": {"pressure": {"value": 50, "unit": "bar"}}}, "#/condensing/pressure"),
    (BASE | {"evaporating": {"temperature": degrees(-60)}}, "#/evaporating/temperature"),
    (BASE | {"evaporating": {"pressure": {"value": 5, "unit": "kPa"}}}, "#/evaporating/pressure"),
    (BASE | {"superheat": kelvins(5), "compressor_inlet_temperature": degrees(9)}, "#/compressor_inlet_temperature"),
    (BASE | {"subcooling": kelvins(5), "condenser_outlet_temperature": degrees(9)}, "#/condenser_outlet_temperature"),
    (
        BASE | {"isentropic_efficiency": 0.7, "compressor_outlet_temperature": degrees(80)},
        "#/compressor_outlet_temperature",
    ),
    (BASE | {"compressor_inlet_temperature": degrees(-5)}, "#/compressor_inlet_temperature"),
    (BASE | {"compressor_outlet_temperature": degrees(55)}, "#/compressor_outlet_temperature"),
    (BASE | {"condenser_outlet_temperature": degrees(51)}, "#/condenser_outlet_temperature"),
    (BASE | {"condenser_outlet_temperature": degrees(1)}, "#/condenser_outlet_temperature"),
    (BASE | {"subcooling": kelvins(60)}, "#/subcooling"),
    (BASE | {"condenser_outlet_pressure": {"value": 40, "unit": "bar"}}, "#/condenser_outlet_pressure"),
    (BASE | {"isentropic_efficiency": 0.2}, "#/isentropic_efficiency"),
    (
        BASE | {"mass_flow": {"value": 1, "unit": "kg/s"}, "capacity": {"value": 1, "unit": "kW"}},
        "#/capacity",
    ),
]
REFUSED_STATES = [
    # The outlet would be hotter than the equation of R-1234yf reaches (410 K).
    ("R-1234yf", -30, 60, {"isentropic_efficiency": 0.3, "superheat": kelvins(30)}, "trustworthy"),
    # Liquid at 90 degC holds more heat than vapour at -45 degC.
    ("R-1234yf", -45, 90, {}, "does not cool"),
]


@pytest.mark.parametrize(("name", "low", "high", "more", "words"), REFUSED_STATES)
def test_cycles_that_no_state_can_close(
    answer_of: Any, name: str, low: float, high: float, more: dict[str, Any], words: str
) -> None:
    given = more | {
        "refrigerant": name,
        "evaporating": {"temperature": degrees(low)},
        "condensing": {"temperature": degrees(high)},
    }
    with pytest.raises(Refused, match=words):
        answer_of(CYCLE, given)


@pytest.mark.parametrize(("given", "pointer"), REFUSED)
def test_refusals(answer_of: Any, given: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(CYCLE, given)
    assert pointer in [e.pointer for e in refusal.value.errors]
