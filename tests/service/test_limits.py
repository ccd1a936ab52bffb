"""Limits: the value of an input at which the answer turns. All data are invented."""

import math
from typing import Any

import pytest
from litestar import Litestar
from litestar.testing import TestClient

from coldwright_electrical.explorations import LIMIT_EXAMPLE

Client = TestClient[Litestar]
FEEDER: dict[str, Any] = dict(LIMIT_EXAMPLE.given["given"])


def asked(client: Client, limit: dict[str, Any]) -> dict[str, Any]:
    reply = client.post("/v1/limits", json=limit)
    assert reply.status_code == 200, reply.text
    told: dict[str, Any] = reply.json()
    return told


def wave(
    first: float, last: float, until: dict[str, str] | None = None, mode: str = "wave", **more: Any
) -> dict[str, Any]:
    return {
        "calculator": "invented.wave",
        "given": {"x": 0, "mode": mode},
        "vary": {"pointer": "/x", "from": first, "to": last},
        "until": until or {"outcome": "conditional"},
    } | more


def feeder(first: float, last: float, **more: Any) -> dict[str, Any]:
    return dict(LIMIT_EXAMPLE.given) | {"vary": {"pointer": "/length", "from": first, "to": last}} | more


@pytest.mark.parametrize("tolerance", [5, 0.5, 0.01, 1e-12])
@pytest.mark.parametrize("until", [{"outcome": "conditional"}, {"finding": "running_drop_high"}])
def test_the_longest_cable_is_the_one_that_the_calculator_itself_names(
    client: Client, until: dict[str, str], tolerance: float
) -> None:
    """`longest_run` is a closed formula inside the calculator, rounded to the centimetre."""
    longest = client.post("/v1/calculators/electrical/feeder", json=FEEDER).json()["results"]["longest_run"]["value"]
    told = asked(client, feeder(10, 500, until=until, tolerance=tolerance))
    (turn,) = told["turns"]
    assert told["verdict"] == "turns_once"
    assert (told["at_from"], told["at_to"]) == ("not_reached", "reached")
    assert (turn["from_state"], turn["to_state"]) == ("not_reached", "reached")
    assert 0 < turn["after"] - turn["before"] <= max(tolerance, 1e-12)
    assert turn["before"] - 0.01 <= longest <= turn["after"] + 0.01
    assert (told["unit"], told["tolerance"]) == ("m", tolerance)
    halvings = max(0, math.ceil(math.log2(490 / 32 / tolerance)))
    assert 33 + min(halvings, 40) <= told["evaluations"] <= 33 + halvings


def test_both_sides_of_a_turn_are_what_the_calculator_says(client: Client) -> None:
    (turn,) = asked(client, feeder(10, 500))["turns"]
    for value, outcome in ((turn["before"], "acceptable"), (turn["after"], "conditional")):
        given = FEEDER | {"length": {"value": value, "unit": "m"}}
        assert client.post("/v1/calculators/electrical/feeder", json=given).json()["outcome"] == outcome


def test_from_above_to_below_gives_the_same_place(client: Client) -> None:
    (up,) = asked(client, feeder(10, 500, tolerance=1e-6))["turns"]
    down = asked(client, feeder(500, 10, tolerance=1e-6))
    (turn,) = down["turns"]
    assert (down["at_from"], down["at_to"]) == ("reached", "not_reached")
    assert turn["before"] > turn["after"]
    assert turn["after"] == pytest.approx(up["before"], abs=2e-6)


def test_never_and_always(invented: Client) -> None:
    never = asked(invented, wave(math.pi + 0.1, 4.4))
    assert (never["verdict"], never["turns"], never["evaluations"]) == ("never", [], 33)
    assert never["statement"].startswith("The outcome conditional or worse was never seen between")
    always = asked(invented, wave(0.1, 3))
    assert (always["verdict"], always["turns"]) == ("always", [])
    assert always["statement"].startswith("The outcome conditional or worse stands everywhere")
    assert "unit" not in always
    assert asked(invented, wave(0.1, 3, {"outcome": "unacceptable"}))["verdict"] == "never"
    assert asked(invented, wave(0.1, 3, {"finding": "crest"}))["verdict"] == "always"


def test_every_turn_that_the_scan_sees_is_found(invented: Client) -> None:
    """A sine is above zero between even and odd multiples of pi."""
    told = asked(invented, wave(1, 20, {"finding": "crest"}, tolerance=1e-9))
    assert told["verdict"] == "turns_more_than_once"
    assert [t["before"] for t in told["turns"]] == pytest.approx([n * math.pi for n in range(1, 7)], abs=1e-8)
    assert [t["to_state"] for t in told["turns"]] == ["not_reached", "reached"] * 3
    assert "Look at a sweep" in told["statement"]


def test_a_refused_part_of_the_range_is_told_with_its_reason(invented: Client) -> None:
    told = asked(invented, wave(0, 1, mode="gap", tolerance=1e-9))
    assert told["verdict"] == "turns_once"
    assert [(t["from_state"], t["to_state"]) for t in told["turns"]] == [
        ("not_reached", "refused"),
        ("refused", "reached"),
    ]
    assert [t["before"] for t in told["turns"]] == pytest.approx([0.3, 0.4], abs=1e-8)
    assert "Part of the range is refused" in told["statement"]
    (error,) = told["refusal"]["errors"]
    assert error["pointer"] == "#/vary"
    assert error["detail"].startswith("Not in the gap. Tried was 0.3")


def test_what_lies_between_two_points_of_the_scan_is_passed_in_order(invented: Client) -> None:
    """Not reached, refused for a ten thousandth, reached: three states between two neighbours of the scan."""
    told = asked(invented, wave(0, 1, mode="sliver", tolerance=1e-7))
    assert told["verdict"] == "turns_once"
    states = ["not_reached"]
    for turn in told["turns"]:
        assert turn["from_state"] == states[-1]
        states.append(turn["to_state"])
    assert states[-1] == told["at_to"] == "reached"


def test_what_is_refused_throughout_is_told_with_its_reason(invented: Client) -> None:
    told = asked(invented, wave(0, 1, mode="island"))
    assert (told["verdict"], told["turns"]) == ("refused_throughout", [])
    assert told["refusal"]["errors"][0]["detail"] == "Only on the island. Tried was 0."
    misspelt = asked(invented, wave(0, 1) | {"given": {"x": 0, "mood": "wave"}})
    assert misspelt["verdict"] == "refused_throughout"
    assert misspelt["refusal"]["errors"][0]["pointer"] == "#/given/mood"


def test_a_tolerance_wider_than_the_range_leaves_the_turn_to_the_scan(invented: Client) -> None:
    told = asked(invented, wave(3, 4, tolerance=1e15))
    (turn,) = told["turns"]
    assert told["evaluations"] == 33
    assert turn["after"] - turn["before"] == pytest.approx(1 / 32)
    assert turn["before"] <= math.pi <= turn["after"]


def test_a_finding_that_is_not_declared_is_refused_with_those_that_are(client: Client) -> None:
    reply = client.post("/v1/limits", json=feeder(10, 500, until={"finding": "drop_too_high"}))
    assert reply.status_code == 422
    (error,) = reply.json()["errors"]
    assert error["pointer"] == "#/until/finding"
    detail = client.get("/v1/calculators/electrical/feeder").json()
    assert error["allowed"]["one_of"] == sorted(f["code"] for f in detail["findings"])


def test_what_cannot_run_is_refused_with_every_reason(client: Client) -> None:
    wrong = feeder(10, 10, until={}) | {"vary": {"pointer": "/cable/length", "from": 10, "to": 10}}
    reply = client.post("/v1/limits", json=wrong)
    assert reply.status_code == 422
    assert {e["pointer"] for e in reply.json()["errors"]} == {"#/until", "#/vary/to", "#/vary/pointer"}
    both = feeder(10, 20, until={"outcome": "conditional", "finding": "running_drop_high"})
    assert client.post("/v1/limits", json=both).json()["errors"][0]["code"] == "either_or"
    assert client.post("/v1/limits", json=feeder(10, 20, calculator="no.such")).status_code == 404
    assert client.post("/v1/limits", json=feeder(10, 20, tolerance=0)).status_code == 422


def test_a_calculator_that_breaks_is_a_problem_and_no_state(invented: Client) -> None:
    reply = invented.post("/v1/limits", json=wave(0, 1, mode="defect"))
    assert (reply.status_code, reply.json()["type"]) == (500, "/problems/calculator-defect")
