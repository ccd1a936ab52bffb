"""Checks of `readiness.start_forms`: a form asks for what is taken, and for all of it. No source: practice."""

from typing import Any

import msgspec
import pytest
from book_start import by_the_book
from startup_histories import CONFIGURATION

from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright_readiness.start_forms import start_forms
from coldwright_readiness.start_forms.forms import LARGEST
from coldwright_readiness.startup.observation_errors import check_observation
from coldwright_readiness.startup.observations import KINDS


def forms(**configuration: Any) -> dict[str, Any]:
    given = {"configuration": CONFIGURATION | configuration} if configuration else {}
    results, _ = run(start_forms, convert(start_forms.given, given))
    told: dict[str, Any] = msgspec.to_builtins(results)
    return told


ALL = {k["kind"]: k for k in forms()["kinds"]}


def test_every_kind_has_a_form() -> None:
    assert set(ALL) == set(KINDS)
    assert not [k for k in ALL.values() if not (k["label"] and k["help"] and k["needed_when"] and k["lasts_until"])]
    common = {f["name"] for f in forms()["common"]}
    assert {"id", "at", "by", "role", "supersedes"} <= common
    assert not common & {"received_at", "sent_at", "data", "kind"}


def filled(field: dict[str, Any], last: bool) -> Any:
    """A value that the form allows: its first choice or lower end, or its last and upper end."""
    words = [c["value"] for c in field["choices"]]
    if field["type"] == "list":
        return words or ["x"]
    if field["type"] == "choice":
        return words[-1 if last else 0]
    if field["type"] == "quantity":
        system = field["us" if last else "metric"]
        value = system.get("high", 1) if last else system.get("low", system.get("above", 0) + 1)
        return {"value": value, "unit": system["unit"]}
    plain = {
        "yes_no": last,
        "count": int(field.get("most" if last else "least", 1)),
        "text": "1",
        "stamp": "2026-05-04T08:00:00Z",
    }
    return plain[field["type"]] if field["type"] in plain else field.get("most" if last else "least", 0.0)


@pytest.mark.parametrize("last", [False, True], ids=["low", "high"])
@pytest.mark.parametrize("kind", KINDS)
def test_what_a_form_allows_is_taken(kind: str, last: bool) -> None:
    data = {f["name"]: filled(f, last) for f in ALL[kind]["fields"]}
    if kind == "line_connection":
        data["state"] = "connected"  # the other two fields belong to that
    if kind == "area_clear":
        data["clear"] = False  # so does `where`
    observation = {"id": "x", "kind": kind, "at": "2026-05-04T07:00:00Z", "by": "Ann", "role": "electrician"}
    check_observation(observation | {"data": data, **({"supersedes": "y"} if kind == "withdrawn" else {})})


def test_what_is_needed_follows_from_the_set_up() -> None:
    def needed(**configuration: Any) -> set[str]:
        return {k["kind"] for k in forms(**configuration)["kinds"] if k["needed"]}

    plain = needed(supply_source="site")
    assert {o["kind"] for o in by_the_book()} - plain == {"lock", "fill"}, "events are recorded when they happen"
    mixture = needed(fluid_kind="propylene_glycol")
    assert mixture - plain == {"antifreeze_reading"}
    assert plain - mixture == {"water_temperature"}
    warm = {"ambient_temperature": {"value": 20, "unit": "degC"}}
    assert plain - needed(**warm) == {"water_temperature"}
    evidence = needed(require_connection_evidence=True) - plain
    assert evidence == {"proved_dead", "line_connection", "earth_continuity", "insulation_test", "cable_route"}
    assert "needed" not in ALL["supply"]


def test_a_place_of_the_loop_is_chosen_and_a_place_proved_dead_is_written() -> None:
    """Ventings have the points that the rules name; what was proved dead is whatever was worked on."""
    points = {kind: {f["name"]: f for f in ALL[kind]["fields"]}["point"] for kind in ("purge", "proved_dead")}
    assert {kind: f["type"] for kind, f in points.items()} == {"purge": "choice", "proved_dead": "text"}
    assert {c["value"] for c in points["purge"]["choices"]} >= {"high_point", "pump_casing"}
    assert not points["proved_dead"]["choices"]


def test_what_turns_is_running_or_stopped_in_spanish_and_never_connected(answer_of: Any) -> None:
    """From memory: `conectado` of a compressor says that its leads are on, not that it turns."""
    kinds = {k["kind"]: k for k in answer_of("readiness.start_forms", {"language": "es"})["results"]["kinds"]}
    for kind in ("compressor", "pump_state", "loop_pressure", "purge"):
        words = {c["value"]: c["label"] for f in kinds[kind]["fields"] for c in f["choices"]}
        assert (words["on"], words["off"]) == ("En marcha", "Parado")
    words = {c["value"]: c["label"] for f in kinds["supply"]["fields"] for c in f["choices"]}
    assert words["on"] == "Conectado"


def test_a_count_is_never_larger_than_a_reader_of_json_holds() -> None:
    """IEEE 754, binary64: whole numbers up to 2 to the 53rd are exact (RFC 8259, 6, from memory, says so of JSON)."""
    fields = [*forms()["common"], *(f for k in forms()["kinds"] for f in k["fields"])]
    largest = max(f["most"] for f in fields if "most" in f)
    assert largest == 2**53 - 1
    assert float(2**53 + 1) == LARGEST, "the first whole number that a double does not hold"
