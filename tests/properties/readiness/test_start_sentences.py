"""What a program reads of a start never contradicts the sentence beside it, and sentences are for people."""

import re
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from borne_out import not_borne_out
from quantity import q
from start_engine.book import seen
from start_engine.random_sets import random_set
from startup_histories import ask, base

from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup
from coldwright_readiness.startup.observation_errors import check_observation

MACHINE_TALK = re.compile(r"\b[a-z]+_[a-z_]+\b|[{}`]|\bNone\b|UNSET|  |\.\.|: \.|\( ")
OF_THE_RULES = [q(2, "delta_degF"), 414.0, q(506, "V")]
"""What stands in a sentence and comes from a rule alone: how much colder than its set point water may be, and a tenth below and
above the 460 V that are assumed where no plate is given.
"""
STAMP = re.compile(r"\d{4}-\d\d-\d\dT\S+Z")


def answered(given: dict[str, Any]) -> Any:
    return msgspec.json.decode(msgspec.json.encode(evaluate(startup, read(startup.given, msgspec.json.encode(given)))))


def wrong_templates(action: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Records that the advice names and the service would refuse, readings that are still to be taken apart."""
    for template in action["record"]:
        data = template["data"] | ({"found": "it", "done": "that"} if template["kind"] == "settled" else {})
        record = {"id": "x", "at": "2026-05-04T09:00:00Z", "kind": template["kind"], "data": data, "by": "ann"}
        try:
            check_observation(record | {"role": template.get("role") or "supervisor"})
        except Refused as refused:
            yield from ((template["kind"], e.detail) for e in refused.errors if e.code != "missing")


def contradictions(answer: Any) -> Iterator[str]:
    results, action = answer["results"], answer["results"]["next_action"]
    status = results["status"]
    if status in ("ready", "wait"):
        yield from (f["statement"] for f in answer["findings"] if f["severity"] == "stop")
    if status == "ready":
        yield from (
            str(results[name]) for name in ("missing", "stale", "blocks", "open_checks", "waits") if results[name]
        )
    if (status == "stop_now") != action["do"].startswith("Stop compressor"):
        yield f"{status}: {action['do']}"
    if len(action["short"]) > 60:
        yield action["short"]


@pytest.mark.parametrize("block", range(3))
def test_status_and_sentences_agree(block):
    for seed in range(60 * block, 60 * block + 60):
        given = random_set(seed)
        answer = answered(given)
        assert list(contradictions(answer)) == [], seed
        assert list(wrong_templates(answer["results"]["next_action"])) == [], seed
        action = answer["results"]["next_action"]
        texts = [action["do"], action["why"], action["short"], *(f["statement"] for f in answer["findings"])]
        for text in texts:
            said = STAMP.sub("then", text)
            for id_ in sorted({o["id"] for o in given["observations"]}, key=len, reverse=True):
                said = said.replace(id_, "it")
            assert not MACHINE_TALK.search(said), (seed, text)
            assert said[0].isupper(), (seed, text)
        assert list(not_borne_out(answer | {"given": [given, OF_THE_RULES]})) == [], seed


ON = seen("compressor", "09:06", id="1", state="on")
LEVER: dict[str, Any] = dict.fromkeys(("connected", "gasket_seen", "direction_ok", "strain_free"), True)


@pytest.mark.parametrize(
    ("record", "subject"),
    [
        (seen("valve_position", "09:08", valve="fill", position="open"), "fill valve"),
        (seen("hose_connection", "09:08", end="machine_inlet", lever_locked=False, **LEVER), "hose at machine inlet"),
        (seen("alarm", "09:08", code="A 7", state="active", warning=True), "alarm A 7"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_read_again_while_it_runs_is_named_and_can_be_recorded(record, subject):
    answer = answered(ask([*base(), ON, record], "09:09"))
    action = answer["results"]["next_action"]
    assert (answer["results"]["status"], action["subject"]) == ("running", subject)
    assert action["record"]
    assert list(wrong_templates(action)) == []
    late = answered(ask([*base(), ON, record], "09:14"))["results"]
    assert late["status"] == "stop_now"
    assert "with no good reading within 5 min" in late["stop_now"]["causes"][0]["statement"]
