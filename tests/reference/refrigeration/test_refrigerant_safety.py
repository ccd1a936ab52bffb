"""Published checks of `refrigeration.refrigerant_safety`: by hand on the table of limits."""

from typing import Any

import pytest

from coldwright_basis.coolprop import state
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

pytestmark = pytest.mark.check
SAFETY = "refrigeration.refrigerant_safety"


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def enclosed(refrigerant: str, **more: Any) -> dict[str, Any]:
    return {
        "refrigerant": refrigerant,
        "circuits": [{"charge": kg(12)}],
        "location": "enclosed_space",
        "space_volume": {"value": 40, "unit": "m3"},
        "jurisdiction": "us",
        "use": "comfort_cooling",
    } | more


# HAND: 12 kg in 40 m3 are 300 g/m3. Limits g/m3: R-22, R-134a, R-32 mechanical code Table 1103.1 (seen in
# reproductions), R-410A from memory of ASHRAE 34.
HAND = [
    ("R-410A", {"concentration": 300, "concentration_limit": 420, "fraction_of_limit": 0.714}, 28.57, set()),
    ("R-134a", {"concentration": 300, "concentration_limit": 210}, 57.14, {"concentration_over_limit"}),
    (
        "R-32",
        {"concentration": 300, "concentration_limit": 77, "fraction_of_lfl": 0.977},
        155.8,
        {"concentration_over_limit", "flammable_over_quarter_lfl"},
    ),
    ("R-22", {"concentration": 300, "concentration_limit": 210}, 57.14, {"concentration_over_limit"}),
]


@pytest.mark.parametrize(("name", "expected", "volume", "stops"), HAND)
def test_twelve_kilograms_in_forty_cubic_metres(
    answer_of: Any, name: str, expected: dict[str, float], volume: float, stops: set[str]
) -> None:
    answer = answer_of(SAFETY, enclosed(name))
    results = answer["results"]
    for key, number in expected.items():
        found = results[key]["value"] if isinstance(results[key], dict) else results[key]
        assert found == pytest.approx(number, rel=0.002), key
    assert results["minimum_space_volume"]["value"] == pytest.approx(volume, rel=0.002)
    assert {f["code"] for f in answer["findings"] if f["severity"] == "stop"} == stops


@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_addition_that_is_over_the_limit_is_the_last(answer_of: Any, count: int) -> None:
    """40 CFR 82.157 (seen): the rate is that of the addition at hand. One above what its circuit holds is named by itself."""
    additions = [{"mass": kg(20)}, {"mass": kg(1)}, {"mass": kg(1)}][3 - count :]
    additions[-1] = {"mass": kg(5), "days_since_previous": {"value": 200, "unit": "d"}}
    answer = answer_of(SAFETY, enclosed("R-410A", date="2026-06-01", additions=additions))
    fields = {f["code"]: f["field"] for f in answer["findings"]}
    assert fields["leak_rate_over_limit"] == f"/additions/{count - 1}/mass"
    assert fields.get("addition_above_charge") == ("/additions/0/mass" if count == 3 else None)


def test_leak_rate_of_40_cfr_82_157(answer_of: Any) -> None:
    """Annualising method of 82.157 (seen), by hand: 5 lb of 60 lb after 90 days, 5/60 x 365/90 = 0.338."""
    given = enclosed(
        "R-410A",
        circuits=[{"charge": {"value": 60, "unit": "lb"}}],
        location="outdoors",
        date="2026-06-01",
        additions=[{"mass": {"value": 5, "unit": "lb"}, "days_since_previous": {"value": 90, "unit": "d"}}],
    )
    del given["space_volume"]
    answer = answer_of(SAFETY, given)
    assert answer["results"]["leak_rate"] == pytest.approx(0.338, rel=0.002)
    assert answer["results"]["leak_rate_limit"] == 0.10
    assert "leak_rate_over_limit" in {f["code"] for f in answer["findings"]}
    duties = {d["code"]: d for d in answer["results"]["duties"]}
    assert duties["repair_leak"]["due"] == {"value": 30, "unit": "d"}
    assert "within 30 days of the addition" in duties["repair_leak"]["statement"]
    assert duties["verify_repair"]["due"] == {"value": 10, "unit": "d"}
    assert "within 10 days" in duties["verify_repair"]["statement"]
    (found,) = [f for f in answer["findings"] if f["code"] == "leak_rate_over_limit"]
    assert "0.338 of the charge a year, above 0.10" in found["statement"]
    assert "within 30 days" in found["resolve"]


def test_co2_equivalent(answer_of: Any) -> None:
    """By hand, GWP 2088 of AR4 (seen): 40 kg are 83.5 t; from 50 t every 6 months (Regulation 2024/573, memory)."""
    given = enclosed("R-410A", circuits=[{"charge": kg(20)}, {"charge": kg(20)}], jurisdiction="eu")
    results = answer_of(SAFETY, given)["results"]
    assert results["co2_equivalent"] == {"value": pytest.approx(83.52, rel=0.002), "unit": "t"}
    assert results["leak_check_interval"] == 6
    assert results["largest_charge"] == kg(20)
    assert results["concentration"]["value"] == pytest.approx(500, rel=0.002)


@pytest.mark.parametrize(("name", "least"), [("R-32", 0.99), ("R-134a", 0.97), ("R-22", 0.98), ("R-410A", 0.97)])
def test_ppm_against_grams(name: str, least: float) -> None:
    """RCL g/m3 = ppm x 4.096e-5 x M at 25 degC (HAND; R-32: 36,000 ppm, 76.7 g/m3, 4.79 lb/1000 ft3)."""
    row = LIMITS[name]
    grams = row.limit_ppm * 4.096e-5 * row.molar_mass_g_mol  # type: ignore[operator]
    assert least < grams / row.limit_g_m3 < 1.03  # type: ignore[operator]
    if name == "R-32":
        assert grams == pytest.approx(76.7, rel=0.002)
        assert grams / 16.018 == pytest.approx(4.79, rel=0.002)
    assert row.limit_g_m3 / 16.018 == pytest.approx(row.limit_lb_1000ft3, rel=0.03)  # type: ignore[operator]


def test_molar_masses_against_the_library() -> None:
    """CoolProp 8.0.0 (library)."""
    for name, row in LIMITS.items():
        if isinstance(row.molar_mass_g_mol, float):
            molar_mass = state("HEOS", REFRIGERANTS[name].fluid).molar_mass() * 1000
            assert row.molar_mass_g_mol == pytest.approx(molar_mass, rel=0.003), name


# 40 CFR 82.156, Table 1 (read in public reproductions), recovery equipment made since 15 November 1993.
RECOVERY = [
    ("R-22", 100, "atmospheric pressure"),
    ("R-22", 250, "10 inches"),
    ("R-410A", 100, "atmospheric pressure"),
    ("R-410A", 250, "10 inches"),
    ("R-134a", 100, "10 inches"),
    ("R-134a", 250, "15 inches"),
    ("R-123", 100, "28.9 inches"),
    # from 200 lb on; R-32, above 355 psia at 104 degF, is of very high pressure
    ("R-22", 199, "atmospheric pressure"),
    ("R-22", 201, "10 inches"),
    ("R-134a", 199, "10 inches"),
    ("R-134a", 201, "15 inches"),
    ("R-32", 100, "atmospheric pressure"),
    ("R-32", 250, "atmospheric pressure"),
]


@pytest.mark.parametrize(("name", "pounds", "words"), RECOVERY)
def test_recovery_levels(answer_of: Any, name: str, pounds: float, words: str) -> None:
    given = enclosed(name, circuits=[{"charge": {"value": pounds, "unit": "lb"}}])
    duties = {d["code"]: d["statement"] for d in answer_of(SAFETY, given)["results"]["duties"]}
    assert words in duties["recover_before_opening"]
