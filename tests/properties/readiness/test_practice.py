"""A start, its procedure and its stop speak in the words of the site's practice: ground or earth, and never both."""

import re
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from quantity import q
from start_engine.book import ASKED, by_the_book, configurations, seen
from start_engine.random_sets import random_set

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.procedure import procedure
from coldwright_readiness.shutdown import shutdown
from coldwright_readiness.start_forms import start_forms
from coldwright_readiness.startup import startup

GROUND = re.compile(r"\b(equipment )?ground(ed|ing)?\b", re.IGNORECASE)
EARTH = re.compile(r"\b(earth(ed|ing)?|protective conductor)\b", re.IGNORECASE)
SOIL = re.compile(
    r"the ground and what|ground under|soft ground|slippery ground|ground is slippery|the ground or a drain|ground check|"
    r"ground not overloaded|rigging, ground",
    re.IGNORECASE,
)
NO_WORDS = {
    "id",
    "ids",
    "by",
    "kind",
    "step_id",
    "depends_on",
    "critical_path",
    "evidence_kinds",
    "clear_by",
    "data",
    "order",
}
"""Names of fields that a program reads."""
BY_NAME = dict(configurations())


def said(value: Any) -> Iterator[str]:
    """Every text that a person reads."""
    if isinstance(value, str):
        yield SOIL.sub("", value)
    elif isinstance(value, dict):
        for name, inner in value.items():
            if name not in NO_WORDS:
                yield from said(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from said(inner)


def texts(calculator: Any, given: dict[str, Any]) -> list[str]:
    answer = msgspec.json.decode(
        msgspec.json.encode(evaluate(calculator, read(calculator.given, msgspec.json.encode(given))))
    )
    shown = [answer["results"], [{k: v for k, v in f.items() if k != "references"} for f in answer["findings"]]]
    return [text for text in said(shown) if " " in text]  # a single word is a name of an enumeration


def in_words_of(practice: str, calculator: Any, given: dict[str, Any]) -> list[str]:
    """The texts, of which none is in the words of the other practice."""
    configuration = given["configuration"] | {"practice": practice}
    found = texts(calculator, given | {"configuration": configuration})
    other = EARTH if practice == "nec" else GROUND
    assert [text for text in found if other.search(text)] == []
    return found


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_steps_of_procedure_and_stop(practice):
    own = EARTH if practice == "iec" else GROUND
    generator = {"supply_source": "generator", "pump_mode": "own_pump", "fluid_kind": "water"}
    steps = in_words_of(
        practice, procedure, {"configuration": generator, "fill_duration": q(1, "h"), "pull_down_duration": q(1, "h")}
    )
    assert {"nec": "Connect the ground first", "iec": "Connect the earth first"}[practice] in steps
    assert {"nec": "Ground the generator", "iec": "Earth the generator"}[practice] in " ".join(steps)
    stop = in_words_of(practice, shutdown, {"configuration": generator, "reason": "off_hire"})
    assert any(own.search(text) for text in stop)


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_every_word_about_the_protective_conductor(practice):
    own = EARTH if practice == "iec" else GROUND
    evidence = BY_NAME["generator-own_pump-evidence"]
    order = ["line_1", "ground", "line_2", "line_3"]
    connected: dict[str, Any] = {"fully_mated": True, "covers_on": True}
    bad = [
        seen("ground", "07:21", connected=False),
        seen("ground", "07:22", connected=True),
        seen(
            "line_connection", "07:23", end="machine", state="connected", order=order, role="electrician", **connected
        ),
        seen("line_connection", "07:24", end="source", state="disconnected", order=order, role="electrician"),
        seen("earth_continuity", "07:26", resistance=q(5, "ohm"), role="electrician"),
        seen("line_voltage", "08:20", v_ab=q(540, "V"), v_bc=q(540, "V"), v_ca=q(540, "V"), frequency=q(60, "Hz")),
        seen("ground", "09:05", connected=False),
    ]
    for records in ([], by_the_book(evidence), [*by_the_book(evidence), *bad]):
        given = {"configuration": evidence, "evaluated_at": ASKED, "observations": records}
        found = in_words_of(practice, startup, given)
        assert any(own.search(text) for text in found) or records == by_the_book(evidence)
    given["observations"] = [*given["observations"], seen("compressor", "09:00", id="1", state="on")]
    assert any(own.search(text) for text in in_words_of(practice, startup, given))


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_forms(practice):
    found = start_forms_of(practice)
    assert found["ground"]["label"] == {"nec": "Equipment ground", "iec": "Protective conductor"}[practice]
    order = next(f for f in found["line_connection"]["fields"] if f["name"] == "order")
    assert order["choices"][0] == {"value": "ground", "label": {"nec": "Ground", "iec": "Earth"}[practice]}


def start_forms_of(practice: str) -> dict[str, Any]:
    given = {"configuration": BY_NAME["site-own_pump-water"] | {"practice": practice}}
    answer = evaluate(start_forms, read(start_forms.given, msgspec.json.encode(given)))
    return {kind["kind"]: kind for kind in msgspec.to_builtins(answer.results)["kinds"]}


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_random_starts_keep_to_their_words(practice):
    for seed in range(60):
        in_words_of(practice, startup, random_set(seed))


def test_without_a_practice_it_says_ground():
    given = {"configuration": BY_NAME["site-own_pump-evidence"], "evaluated_at": ASKED, "observations": []}
    assert texts(startup, given) == in_words_of("nec", startup, given)
