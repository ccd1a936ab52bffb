"""`readiness.startup` against a second, slow reading of the rules (tests/support/startup_reference.py)."""

from typing import Any

import pytest
from startup_histories import generated
from startup_reference import Reference, moment

from coldwright_basis.freezing import glycol_freezing_temperature


def freezing(mass_fraction: float) -> float:
    return glycol_freezing_temperature("propylene_glycol", mass_fraction) - 273.15


def told(results: dict[str, Any]) -> dict[str, Any]:
    """The answer in the reference's terms."""
    stamps = {name: results.get(name) for name in ("warm_up_since", "warm_up_until", "earliest_start")}
    instants = {name: None if s is None else moment(s) for name, s in stamps.items()}
    return {
        "status": results["status"],
        "facts": {name: f["status"] for name, f in results["facts"].items()},
        "reason": results["facts"]["valves_set"].get("reason", ""),
        "blocks": {(b["rule"], b.get("fact"), b.get("status")) for b in results["blocks"]},
        "since": instants["warm_up_since"],
        "until": instants["warm_up_until"],
        "earliest_start": instants["earliest_start"],
        "waits": {w["rule"] for w in results["waits"]},
        "invalidated": {(i["rule"], i["by"], i["fact"]) for i in results["invalidated"]},
        "suspicions": {(s["rule"], tuple(s["ids"])) for s in (*results["impossible"], *results["contradictory"])},
        "timeline": [(e["id"], e["kind"], moment(e["effective"])) for e in results["timeline"]],
    }


def compare(answer_of, seed: int) -> None:
    request = generated(seed)
    mine = told(answer_of("readiness.startup", request)["results"])
    slow = Reference(request, freezing).verdict()
    different = {k: (mine[k], slow[k]) for k in slow if mine[k] != slow[k]}
    assert not different, f"seed {seed}: {different}"


@pytest.mark.parametrize("tens", range(30))
def test_agrees(answer_of, tens):
    for seed in range(tens * 10, tens * 10 + 10):
        compare(answer_of, seed)


@pytest.mark.nightly
@pytest.mark.parametrize("hundreds", range(100))
def test_agrees_on_ten_thousand(answer_of, hundreds):
    for seed in range(10_000 + hundreds * 100, 10_000 + hundreds * 100 + 100):
        compare(answer_of, seed)
