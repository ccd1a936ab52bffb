"""Behaviour of `readiness.handover`: what a record comes to, rounding, refusals."""

from typing import Any

import pytest
from hypothesis import given as forall
from hypothesis import strategies as st

from coldwright.contract import Refused
from coldwright.contract.quantities import type_of_kind
from coldwright_readiness.handover import handover
from coldwright_readiness.handover.findings import HANDOVER_ITEMS
from coldwright_readiness.handover.given import KINDS_OF_UNIT, ReadingValue
from coldwright_readiness.handover.values import keeps_to, reaches, rounded

R, S = {"party": "rental", "name": "R"}, {"party": "site", "name": "S"}
GOOD: dict[str, Any] = {"id": "good", "required": {"maximum": 5}, "measured": 4}
BAD: dict[str, Any] = {"id": "bad", "required": {"maximum": 5}, "measured": 6}
OPEN: dict[str, Any] = {"id": "open", "required": {"equals": True}}


def record(*items: dict[str, Any], signatures: Any = (R, S), **more: Any) -> dict[str, Any]:
    return {"items": list(items), "signatures": list(signatures), **more}


def accepted(*parties: str, item: str = "bad") -> list[dict[str, Any]]:
    return [{"item": item, "reason": "seen and accepted", "signed_by": list(parties)}]


@pytest.mark.parametrize(
    ("given", "overall"),
    [
        (record(GOOD), "pass"),
        (record(GOOD, signatures=[R]), "incomplete"),
        ({"items": [GOOD]}, "incomplete"),
        (record(GOOD, OPEN), "incomplete"),
        (record(GOOD, BAD), "fail"),
        (record(BAD, OPEN, signatures=[]), "fail"),
        (record(GOOD, BAD, exceptions=accepted("rental", "site")), "pass_with_exceptions"),
        (record(GOOD, BAD, exceptions=accepted("rental")), "fail"),
        (record(BAD, OPEN, exceptions=accepted("rental", "site")), "incomplete"),
        (record(BAD, signatures=[S], exceptions=accepted("rental", "site")), "incomplete"),
    ],
)
def test_overall(answer_of, given, overall):
    assert answer_of("readiness.handover", given)["results"]["overall"] == overall


def test_counts_and_missing_signatures(answer_of):
    results = answer_of("readiness.handover", record(GOOD, BAD, OPEN, signatures=[{"party": "witness", "name": "W"}]))
    assert results["results"]["counts"] == {"pass": 1, "fail": 1, "not_done": 1}
    assert results["results"]["signatures_missing"] == ["rental", "site"]


def test_what_is_open_is_said_with_its_name_and_figures(answer_of):
    sound = {
        "id": "sound_at_boundary",
        "required": {"maximum": {"value": 65, "unit": "dBA"}},
        "measured": {"value": 66, "unit": "dBA"},
    }
    pressure = {
        "id": "loop_pressure_pump_off",
        "required": {"minimum": {"value": 40, "unit": "psi"}, "maximum": {"value": 50, "unit": "psi"}},
        "measured": {"value": 38.26, "unit": "psi"},
        "resolution": {"value": 0.5, "unit": "psi"},
    }
    own = {"id": "fence_closed", "required": {"equals": True}, "measured": False}
    given = record(
        sound, pressure, own, OPEN, GOOD, signatures=[S],
        exceptions=[*accepted("rental", "site", item="sound_at_boundary"), *accepted("rental", item="fence_closed"),
                    *accepted("rental", "site", item="good")],
    )  # fmt: skip
    said = [f["statement"] for f in answer_of("readiness.handover", given)["findings"]]
    assert sorted(said) == [
        "Fence closed: found no; required yes.",
        "Fence closed: the exception is not signed by the site.",
        "Good: nothing to except, the line does not fail.",
        "Loop pressure, pump off: found 38.26 psi, read to 0.5 psi; required 40 psi to 50 psi.",
        "Open: not measured or checked yet.",
        "Sound level at the boundary: found 66 dBA; required at most 65 dBA. Both parties accept it.",
        "The rental company has not signed.",
    ]


@pytest.mark.parametrize(
    ("required", "measured", "resolution", "result"),
    [
        ({"maximum": 0.02}, 0.0204, 0.001, "pass"),
        ({"maximum": 0.02}, 0.0205, 0.001, "fail"),
        ({"equals": 7}, 7.04, 0.1, "pass"),
        (
            {"minimum": {"value": 40, "unit": "psi"}},
            {"value": 272.5, "unit": "kPa"},
            {"value": 1, "unit": "psi"},
            "pass",
        ),
        ({"maximum": 310}, 310.4, 1, "pass"),
        ({"maximum": 310}, 310.6, 1, "fail"),
        ({"maximum": 12_345.67}, 12_345.674, 0.01, "pass"),
        ({"equals": "correct"}, "correct", None, "pass"),
        ({"equals": "correct"}, "reversed", None, "fail"),
        ({"equals": False}, False, None, "pass"),
        ({"equals": {"value": 1, "unit": "kPa"}}, {"value": 1000, "unit": "Pa"}, None, "pass"),
        ({"maximum": {"value": 65, "unit": "dBA"}}, {"value": 65, "unit": "dBA"}, None, "pass"),
        ({"minimum": {"value": 32, "unit": "degF"}}, {"value": 0, "unit": "degC"}, None, "pass"),
    ],
)
def test_line(answer_of, required, measured, resolution, result):
    item = {"id": "a", "required": required, "measured": measured}
    if resolution is not None:
        item["resolution"] = resolution
    assert answer_of("readiness.handover", record(item))["results"]["rows"][0]["result"] == result


@forall(st.sampled_from(sorted(type_of_kind)), st.floats(-1e6, 1e6), st.data())
def test_comparison_does_not_depend_on_units(kind, number, data):
    units = st.sampled_from(sorted(type_of_kind[kind].units))
    one, two = data.draw(units), data.draw(units)
    there = type_of_kind[kind](number, one).to(two)
    a, b = ReadingValue(value=number, unit=one), ReadingValue(value=there, unit=two)
    assert reaches(a, b)
    assert keeps_to(a, b)


def test_units_shared_by_kinds_convert_alike():
    for unit, kinds in KINDS_OF_UNIT.items():
        for kind in kinds:
            for other in kinds:
                for second in set(type_of_kind[kind].units) & set(type_of_kind[other].units):
                    x, y = (type_of_kind[k](2.0, unit).to(second) for k in (kind, other))
                    assert x == pytest.approx(y, rel=1e-12)


@forall(st.floats(-1e15, 1e15), st.floats(1e-11, 1e15))
def test_rounding_stays_finite_and_near(number, step):
    assert abs(rounded(number, step) - number) <= 0.5 * step + 1e-6 * abs(number) + 1e-6 * step


FOUND = {
    ("item_failed", "stop"): record(BAD),
    ("item_accepted", "check"): record(BAD, exceptions=accepted("rental", "site")),
    ("item_not_done", "check"): record(OPEN),
    ("signature_missing", "check"): record(GOOD, signatures=[]),
    ("exception_not_signed", "check"): record(BAD, exceptions=accepted("site")),
    ("exception_not_needed", "note"): record(GOOD, exceptions=accepted("site", item="good")),
}


def test_every_declared_finding_is_tried():
    assert set(FOUND) == {(k.code, s) for k in handover.findings.values() for s in k.severities}


@pytest.mark.parametrize("finding", FOUND, ids=lambda f: "-".join(f))
def test_finding(to_the_word, finding):
    answer = to_the_word("readiness.handover", FOUND[finding])
    assert finding in {(f["code"], f["severity"]) for f in answer["findings"]}


def test_the_template_is_only_a_template(answer_of):
    assert len({row[0] for row in HANDOVER_ITEMS.rows}) == len(HANDOVER_ITEMS.rows)
    assert len(answer_of("readiness.handover", record(GOOD))["results"]["rows"]) == 1


def item(**changed: Any) -> dict[str, Any]:
    return {"items": [{**GOOD, **changed}]}


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"items": []}, "#/items"),
        (record(GOOD, GOOD), "#/items/1/id"),
        (item(required={}), "#/items/0/required"),
        (item(required={"minimum": 1, "equals": 1}), "#/items/0/required"),
        (item(required={"minimum": 6, "maximum": 5}), "#/items/0/required/minimum"),
        (item(measured="four"), "#/items/0/measured"),
        (item(measured=True), "#/items/0/measured"),
        (item(measured={"value": 4, "unit": "psi"}), "#/items/0/measured"),
        (
            item(required={"minimum": {"value": 1, "unit": "kPa"}}, measured={"value": 1, "unit": "degC"}),
            "#/items/0/measured",
        ),
        (item(required={"equals": "a"}, measured=True), "#/items/0/measured"),
        (item(measured={"value": 4, "unit": "cubit"}), "#/items/0/measured/unit"),
        (item(resolution=0), "#/items/0/resolution"),
        (item(resolution={"value": 1, "unit": "psi"}), "#/items/0/resolution"),
        (item(observed_at="2026-02-30T00:00:00Z"), "#/items/0/observed_at"),
        (record(GOOD, exceptions=accepted("site")), "#/exceptions/0/item"),
        (record(GOOD, signatures=[{**R, "at": "2026-02-30T00:00:00Z"}]), "#/signatures/0/at"),
        (record(GOOD, signatures=[{**R, "at": "yesterday"}]), "#/signatures/0/at"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.handover", given)
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize(
    ("number", "step", "expected"),
    [
        (123457.15, 0.1, 123457.2),
        (2.675, 0.01, 2.68),
        (8.25, 0.1, 8.3),
        (-8.25, 0.1, -8.2),
        (246914.3, 0.2, 246914.4),
        (8.247, 0.1, 8.2),
        (8.253, 0.1, 8.3),
    ],
)
def test_halves_go_up_whatever_a_computer_makes_of_them(number, step, expected):
    """By hand, in decimals: an instrument shows the nearest of its steps, and of two as near the upper one."""
    assert rounded(number, step) == pytest.approx(expected, rel=1e-12)
