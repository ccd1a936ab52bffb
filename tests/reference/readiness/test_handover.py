"""Published checks of `readiness.handover`. Derived: conversion of units and comparison, by hand."""

import hashlib
import json
from typing import Any

import pytest

pytestmark = pytest.mark.check

FORTY_TO_FIFTY = {"minimum": {"value": 40, "unit": "psi"}, "maximum": {"value": 50, "unit": "psi"}}
SIGNED = [{"party": "rental", "name": "R"}, {"party": "site", "name": "S"}]


def record(*items: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"items": list(items), "signatures": SIGNED, **more}


@pytest.mark.parametrize(
    ("required", "measured", "result"),
    [
        (FORTY_TO_FIFTY, {"value": 45, "unit": "psi"}, "pass"),
        (FORTY_TO_FIFTY, {"value": 310, "unit": "kPa"}, "pass"),  # 44.96 psi
        (FORTY_TO_FIFTY, {"value": 270, "unit": "kPa"}, "fail"),  # 39.16 psi
        ({"maximum": 0.02}, 0.0196, "pass"),
    ],
)
def test_line(answer_of, required, measured, result):
    results = answer_of("readiness.handover", record({"id": "a", "required": required, "measured": measured}))[
        "results"
    ]
    assert results["rows"][0]["result"] == result
    assert results["overall"] == result


def test_not_measured(answer_of):
    results = answer_of("readiness.handover", record({"id": "a", "required": FORTY_TO_FIFTY}))["results"]
    assert results["rows"] == [{"id": "a", "required": FORTY_TO_FIFTY, "result": "not_done"}]
    assert results["overall"] == "incomplete"


def test_hash(answer_of):
    item = {"id": "é", "required": {"maximum": 5}, "measured": 4.50}
    turned = {"measured": 4.5, "required": {"maximum": 5.0}, "id": "é"}
    first = answer_of("readiness.handover", {"items": [item], "signatures": SIGNED, "exceptions": []})["results"]
    second = answer_of("readiness.handover", {"exceptions": [], "signatures": SIGNED, "items": [turned]})["results"]
    assert first["record_hash"] == second["record_hash"]
    text = json.dumps(
        {"items": [item], "signatures": SIGNED, "exceptions": []},
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
    )
    assert first["record_hash"] == hashlib.sha256(text.encode()).hexdigest()
    other = answer_of("readiness.handover", record({**item, "measured": 4.6}, exceptions=[]))["results"]
    assert other["record_hash"] != first["record_hash"]
