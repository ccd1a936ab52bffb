"""The published document against the live one, and what may change in it."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match
from openapi_changes import breaking_changes

from coldwright.commands.openapi import document_text

PUBLISHED = Path(__file__).parents[2] / "openapi" / "v1.json"
RELEASED = Path(__file__).parents[2] / "openapi" / "released" / "v1.json"
Document = dict[str, Any]


@pytest.fixture(scope="module")
def live() -> Document:
    decoded: Document = json.loads(document_text(first_party=True))
    return decoded


def test_the_published_document_is_the_live_one(live: Document) -> None:
    published = json.loads(PUBLISHED.read_text("utf-8"))
    assert published == live, "run `coldwright openapi --first-party --write openapi/v1.json`"


def test_every_example_of_a_body_is_of_its_schema(live: Document) -> None:
    wrong = []
    for path, methods in live["paths"].items():
        for method, operation in methods.items():
            content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
            schema = content.get("schema", {}) | {"components": live["components"]}
            for name, example in content.get("examples", {}).items():
                found = best_match(Draft202012Validator(schema).iter_errors(example["value"]))
                wrong += [f"{method} {path} {name}: {found.message}"] if found else []
    assert wrong == []


STILL_TAKEN = (
    "people[]/activity: athletics, heavy_work, light_bench_work, light_machine_work, moderately_active_office, "
    "seated_theatre_night, seated_very_light_work, standing_light_work, walking_standing is no longer taken"
)
"""Words that are no longer listed and taken until the next major: tests/reference/refrigeration/test_load.py."""


WITHDRAWN = "limits_nearest[]: headroom_fraction may be absent now"
"""A share of a temperature or of a level of sound, which never meant anything: `headroom` in K or dB stands instead."""


def test_nothing_that_was_released_breaks(live: Document) -> None:
    changes = breaking_changes(json.loads(RELEASED.read_text("utf-8")), live)
    assert [change for change in changes if not change.endswith((STILL_TAKEN, WITHDRAWN))] == []


SERVICE = "/v1/calculators/electrical/service"


def remove_operation(d: Document) -> None:
    del d["paths"][SERVICE]["post"]


def remove_result(d: Document) -> None:
    del d["components"]["schemas"]["ElectricalServiceResults"]["properties"]["feeder"]


def require_input(d: Document) -> None:
    d["components"]["schemas"]["ElectricalServiceGiven"]["required"].append("power_factor")


def narrow_range(d: Document) -> None:
    d["components"]["schemas"]["ElectricalServiceGiven"]["properties"]["power_factor"]["minimum"] = 0.7


def narrow_quantity(d: Document) -> None:
    d["components"]["schemas"]["ElectricalServiceGiven"]["properties"]["system_voltage"]["x-range"]["maximum"] = 600


def drop_word(d: Document) -> None:
    d["components"]["schemas"]["ElectricalServiceGiven"]["properties"]["practice"]["enum"].remove("iec")


def rename_component(d: Document) -> None:
    content = d["paths"][SERVICE]["post"]["requestBody"]["content"]["application/json"]
    d["components"]["schemas"]["Renamed"] = d["components"]["schemas"]["ElectricalServiceGiven"]
    content["schema"]["$ref"] = "#/components/schemas/Renamed"


def change_type(d: Document) -> None:
    d["components"]["schemas"]["ElectricalServiceGiven"]["properties"]["power_factor"]["type"] = "string"


def rename_operation(d: Document) -> None:
    d["paths"][SERVICE]["post"]["operationId"] = "other"


@pytest.mark.parametrize(
    "change",
    [
        remove_operation,
        remove_result,
        require_input,
        narrow_range,
        narrow_quantity,
        drop_word,
        rename_component,
        change_type,
        rename_operation,
    ],
)
def test_a_breaking_change_is_found(live: Document, change: Any) -> None:
    changed = copy.deepcopy(live)
    change(changed)
    assert list(breaking_changes(live, changed))


def test_an_addition_breaks_nothing(live: Document) -> None:
    changed = copy.deepcopy(live)
    given = changed["components"]["schemas"]["ElectricalServiceGiven"]
    given["properties"]["new"] = {"type": "string", "description": "New."}
    given["properties"]["power_factor"]["minimum"] = 0.1
    results = changed["components"]["schemas"]["ElectricalServiceResults"]
    results["properties"]["also"] = {"type": "number", "description": "New."}
    changed["paths"]["/v1/new"] = changed["paths"][SERVICE]
    assert list(breaking_changes(live, changed)) == []
