"""What holds for every charge and space, every finding, and what is refused."""

from typing import Any, get_args

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from coldwright.contract import Refused
from coldwright_refrigeration.refrigerant_safety import refrigerant_safety
from coldwright_refrigeration.refrigerant_safety.given import LimitedRefrigerant
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

SAFETY = "refrigeration.refrigerant_safety"


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def days(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "d"}


def m3(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "m3"}


BASE: dict[str, Any] = {
    "refrigerant": "R-410A",
    "circuits": [{"charge": kg(20)}, {"charge": kg(12)}],
    "location": "enclosed_space",
    "space_volume": m3(200),
    "jurisdiction": "us",
    "use": "comfort_cooling",
}
OUTDOORS = {k: v for k, v in BASE.items() if k != "space_volume"} | {"location": "outdoors"}

cases = st.fixed_dictionaries(
    {
        "refrigerant": st.sampled_from(get_args(LimitedRefrigerant)),
        "circuits": st.lists(st.floats(0.001, 10_000).map(lambda m: {"charge": kg(m)}), min_size=1, max_size=4),
        "location": st.sampled_from(["enclosed_space", "machinery_room", "below_grade"]),
        "space_volume": st.floats(0.1, 1e6).map(m3),
        "jurisdiction": st.sampled_from(["us", "eu", "gb"]),
        "use": st.sampled_from(["comfort_cooling", "industrial_process", "commercial_refrigeration", "other"]),
        "date": st.dates().map(str),
        "leak_detection": st.booleans(),
        "mechanical_ventilation": st.booleans(),
        "hermetic": st.booleans(),
        "additions": st.lists(
            st.fixed_dictionaries(
                {"mass": st.floats(0.001, 100).map(kg), "days_since_previous": st.floats(1, 900).map(days)}
            ),
            max_size=2,
        ),
    }
)


def codes(answer: dict[str, Any]) -> dict[str, str]:
    return {f["code"]: f["severity"] for f in answer["findings"]}


@drawn(given=cases)
def test_limit_volume_and_charge_belong_together(answer_of: Any, given: dict[str, Any]) -> None:
    answer = answer_of(SAFETY, given)
    results = answer["results"]
    largest = max(c["charge"]["value"] for c in given["circuits"])
    volume, limit = given["space_volume"]["value"], results["concentration_limit"]["value"]
    assert results["concentration"]["value"] == pytest.approx(1000 * largest / volume, rel=1e-9)
    assert results["minimum_space_volume"]["value"] * limit == pytest.approx(1000 * largest, rel=1e-9)
    assert results["maximum_charge"]["value"] == pytest.approx(limit * volume / 1000, rel=1e-9)
    over = results["fraction_of_limit"] > 1
    assert over == ("concentration_over_limit" in codes(answer))
    if over:
        assert codes(answer)["concentration_over_limit"] == (
            "check" if given["location"] == "machinery_room" else "stop"
        )
    assert ("fraction_of_lfl" in results) == (results["safety_group"] in ("A2L", "A3"))
    burns = [c["statement"] for c in answer["cautions"] if c["code"] == "flammable_refrigerant"]
    assert len(burns) == (results["safety_group"] in ("A2L", "A3"))
    assert all(results["safety_group"] in statement for statement in burns)
    assert ("leak_rate" in results) == bool(given["additions"])
    duties = {d["code"] for d in results["duties"]}
    exceeded = results.get("leak_rate", 0) > results.get("leak_rate_limit", float("inf"))
    assert ({"repair_leak", "verify_repair"} <= duties) == exceeded
    assert {"certified_technician", "no_venting", "recover_before_opening", "keep_records"} <= duties
    if given["jurisdiction"] == "us":
        assert "leak_check_interval" not in results
    else:
        assert "leak_rate_limit" not in results


@drawn(given=cases)
def test_units_change_nothing(answer_of: Any, given: dict[str, Any]) -> None:
    other = given | {
        "circuits": [{"charge": {"value": c["charge"]["value"] / 0.45359237, "unit": "lb"}} for c in given["circuits"]],
        "space_volume": {"value": given["space_volume"]["value"] * 1000, "unit": "L"},
    }
    first, second = answer_of(SAFETY, given), answer_of(SAFETY, other)
    assert second["results"]["fraction_of_limit"] == pytest.approx(first["results"]["fraction_of_limit"], rel=1e-9)
    assert codes(second).keys() ^ codes(first).keys() <= {"concentration_over_limit", "flammable_over_quarter_lfl"}


def test_outdoors_has_no_space(answer_of: Any) -> None:
    results = answer_of(SAFETY, OUTDOORS)["results"]
    space = {"concentration", "fraction_of_limit", "fraction_of_lfl", "minimum_space_volume", "maximum_charge"}
    assert not space & set(results)
    assert codes(answer_of(SAFETY, OUTDOORS | {"space_volume": m3(1)})) == {"space_volume_not_used": "note"}


def test_the_minimum_volume_just_holds(answer_of: Any) -> None:
    least = answer_of(SAFETY, BASE)["results"]["minimum_space_volume"]["value"]
    assert "concentration_over_limit" not in codes(answer_of(SAFETY, BASE | {"space_volume": m3(least * 1.000001)}))
    assert "concentration_over_limit" in codes(answer_of(SAFETY, BASE | {"space_volume": m3(least * 0.999999)}))


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "date", "expected"),
    [
        ("R-410A", 15, "2026-01-01", 0.10),
        ("R-410A", 14.9, "2026-01-01", None),
        ("R-410A", 15, "2025-12-31", None),
        ("R-22", 50, "2024-01-01", 0.10),
        ("R-22", 49, "2026-01-01", None),
        ("R-1234ze(E)", 500, "2026-01-01", None),
        ("R-290", 500, "2026-01-01", None),
    ],
)
def test_which_rule_applies(answer_of: Any, refrigerant: str, pounds: float, date: str, expected: float | None) -> None:
    given = OUTDOORS | {
        "refrigerant": refrigerant,
        "circuits": [{"charge": {"value": pounds, "unit": "lb"}}],
        "date": date,
    }
    assert answer_of(SAFETY, given)["results"].get("leak_rate_limit") == expected


@pytest.mark.parametrize(
    ("use", "limit"),
    [("comfort_cooling", 0.10), ("other", 0.10), ("commercial_refrigeration", 0.20), ("industrial_process", 0.30)],
)
def test_the_customers_use_sets_the_limit(answer_of: Any, use: str, limit: float) -> None:
    assert answer_of(SAFETY, OUTDOORS | {"use": use})["results"]["leak_rate_limit"] == limit


def test_leak_rate_by_the_last_addition_and_its_circuit(answer_of: Any) -> None:
    given = OUTDOORS | {"additions": [{"mass": kg(5)}, {"mass": kg(1), "circuit": 1, "days_since_previous": days(730)}]}
    assert answer_of(SAFETY, given)["results"]["leak_rate"] == pytest.approx(1 / 12, rel=1e-9)
    first_ever = OUTDOORS | {"additions": [{"mass": kg(2)}]}
    assert answer_of(SAFETY, first_ever)["results"]["leak_rate"] == pytest.approx(2 / 20, rel=1e-9)


@pytest.mark.parametrize(
    ("kilograms", "detection", "hermetic", "months"),
    [
        (2, False, False, None),
        (3, False, False, 12),
        (3, True, False, 24),
        (3, False, True, None),
        (30, False, True, 6),
        (30, True, False, 12),
        (300, False, False, 3),
        (300, True, False, 6),
    ],
)
def test_leak_check_intervals(
    answer_of: Any, kilograms: float, detection: bool, hermetic: bool, months: int | None
) -> None:
    given = OUTDOORS | {
        "circuits": [{"charge": kg(kilograms)}],
        "jurisdiction": "gb",
        "leak_detection": detection,
        "hermetic": hermetic,
    }
    answer = answer_of(SAFETY, given)
    assert answer["results"].get("leak_check_interval") == months
    duties = {d["code"] for d in answer["results"]["duties"]}
    assert ("leak_check" in duties) == (months is not None)
    assert ("leak_detection" in duties) == (kilograms == 300)


def test_names_are_the_rows_with_a_limit() -> None:
    assert set(get_args(LimitedRefrigerant)) == {n for n, r in LIMITS.items() if isinstance(r.limit_g_m3, float)}
    assert set(LIMITS) == set(REFRIGERANTS)


def test_a_limit_from_memory_says_so(answer_of: Any) -> None:
    assert "limit_from_memory" in {a["code"] for a in answer_of(SAFETY, BASE)["assumptions"]}
    seen = answer_of(SAFETY, BASE | {"refrigerant": "R-134a"})["assumptions"]
    assert "limit_from_memory" not in {a["code"] for a in seen}
    assert "rules_from_2026" in {a["code"] for a in seen}


RELIEF = {"height_above_grade": {"value": 16, "unit": "ft"}, "distance_to_opening": {"value": 21, "unit": "ft"}}
FINDINGS = [
    ("concentration_over_limit", "stop", BASE | {"space_volume": m3(20)}),
    ("concentration_over_limit", "check", BASE | {"space_volume": m3(20), "location": "machinery_room"}),
    ("flammable_over_quarter_lfl", "stop", BASE | {"refrigerant": "R-32", "space_volume": m3(100)}),
    (
        "flammable_over_quarter_lfl",
        "check",
        BASE | {"refrigerant": "R-32", "space_volume": m3(100), "location": "machinery_room"},
    ),
    ("a3_not_listed", "stop", BASE | {"refrigerant": "R-290", "space_volume": m3(1e5)}),
    ("below_grade_unprotected", "stop", BASE | {"location": "below_grade"}),
    ("below_grade_unprotected", "check", BASE | {"location": "below_grade", "leak_detection": True}),
    (
        "below_grade_unprotected",
        "stop",
        BASE | {"location": "below_grade", "leak_detection": True, "mechanical_ventilation": False},
    ),
    ("below_grade_unprotected", "stop", BASE | {"location": "below_grade", "mechanical_ventilation": True}),
    (
        "relief_outlet_too_near",
        "check",
        BASE | {"relief_discharge": RELIEF | {"height_above_grade": {"value": 14, "unit": "ft"}}},
    ),
    (
        "relief_outlet_too_near",
        "check",
        BASE | {"relief_discharge": RELIEF | {"distance_to_opening": {"value": 19, "unit": "ft"}}},
    ),
    ("leak_rate_over_limit", "check", OUTDOORS | {"additions": [{"mass": kg(3)}]}),
    ("addition_above_charge", "check", OUTDOORS | {"additions": [{"mass": kg(25)}]}),
    ("detection_compulsory", "check", OUTDOORS | {"circuits": [{"charge": kg(300)}], "jurisdiction": "eu"}),
    ("reclaimed_only", "note", OUTDOORS | {"refrigerant": "R-22"}),
    ("other_eu_rule", "note", OUTDOORS | {"refrigerant": "R-22", "jurisdiction": "eu"}),
    ("other_eu_rule", "note", OUTDOORS | {"refrigerant": "R-1234ze(E)", "jurisdiction": "eu"}),
    ("other_eu_rule", "note", OUTDOORS | {"refrigerant": "R-290", "jurisdiction": "eu"}),
    ("space_volume_not_used", "note", OUTDOORS | {"space_volume": m3(1)}),
]


@pytest.mark.parametrize(("code", "severity", "given"), FINDINGS)
def test_findings(to_the_word: Any, code: str, severity: str, given: dict[str, Any]) -> None:
    assert codes(to_the_word(SAFETY, given)).get(code) == severity


def test_every_finding_is_raised_above() -> None:
    assert set(refrigerant_safety.findings) == {code for code, _, _ in FINDINGS}


def test_what_frees_a_finding(answer_of: Any) -> None:
    assert codes(answer_of(SAFETY, BASE | {"relief_discharge": RELIEF})) == {}
    protected = BASE | {"location": "below_grade", "leak_detection": True, "mechanical_ventilation": True}
    assert "below_grade_unprotected" not in codes(answer_of(SAFETY, protected))
    listed = BASE | {"refrigerant": "R-290", "space_volume": m3(1e5), "listed_for_indoor_use": True}
    assert "a3_not_listed" not in codes(answer_of(SAFETY, listed))


REFUSED = [
    (BASE | {"refrigerant": "R-515B"}, "#/refrigerant"),
    (BASE | {"refrigerant": "R-245fa"}, "#/refrigerant"),
    (BASE | {"space_volume": m3(0)}, "#/space_volume"),
    (BASE | {"circuits": [{"charge": kg(0)}]}, "#/circuits/0/charge"),
    (BASE | {"circuits": []}, "#/circuits"),
    (OUTDOORS | {"location": "enclosed_space"}, "#/space_volume"),
    (BASE | {"additions": [{"mass": kg(1), "circuit": 2}]}, "#/additions/0/circuit"),
    (BASE | {"additions": [{"mass": kg(1), "days_since_previous": days(0)}]}, "#/additions/0/days_since_previous"),
    (BASE | {"date": "2026-02-30"}, "#/date"),
    (BASE | {"date": "1 May 2026"}, "#/date"),
]


@pytest.mark.parametrize(("given", "pointer"), REFUSED)
def test_refusals(answer_of: Any, given: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(SAFETY, given)
    assert pointer in [e.pointer for e in refusal.value.errors]
