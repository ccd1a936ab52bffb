"""`coldwright assess`: the plan without a server, and every wrong field in words."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from keyed import keyed_app

from coldwright.cli import main
from coldwright.commands.assess import FAILED_ON, NO_ANSWER, REFUSED, place_text
from coldwright.engine.outcome import BrokeContract
from coldwright.registry import Registry

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
ORDER, FLEET = str(DEMO / "order-indoor.json"), str(DEMO / "fleet.json")
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def order() -> dict[str, Any]:
    """The smallest demo order."""
    found: dict[str, Any] = json.loads(Path(ORDER).read_text())
    return found


def written(folder: Path, content: object) -> str:
    """A file with it."""
    path = folder / "given.json"
    path.write_text(content if isinstance(content, str) else json.dumps(content))
    return str(path)


def test_the_plan_is_printed(capsys: Captured) -> None:
    assert main(["assess", ORDER, "--fleet", FLEET]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "PLAN Order DEMO-INDOOR"
    assert lines[2].startswith("OK subject to")
    assert max(map(len, lines)) <= 100


def test_an_order_may_begin_with_a_byte_order_mark(capsys: Captured, order: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "given.json"
    path.write_text(json.dumps(order), "utf-8-sig")
    assert main(["assess", str(path), "--fleet", FLEET]) == 0
    assert capsys.readouterr().out.startswith("PLAN ")


def test_it_is_the_answer_of_the_calculator(capsys: Captured, answer_of: Any, order: dict[str, Any]) -> None:
    assert main(["assess", ORDER, "--fleet", FLEET, "--json", "--units", "us"]) == 0
    printed = json.loads(capsys.readouterr().out)
    del order["fleet_id"]
    asked = answer_of("booking.assessment", order | {"fleet": json.loads(Path(FLEET).read_text())}, "us")
    assert printed == asked


def test_it_is_the_answer_of_the_service(
    capsys: Captured, registry: Registry, order: dict[str, Any], tmp_path: Path
) -> None:
    """Digest included: what somebody planned at a desk is found under it in the service."""
    assert main(["assess", ORDER, "--fleet", FLEET, "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    del order["fleet_id"]
    body = order | {"fleet": json.loads(Path(FLEET).read_text())}
    with keyed_app(tmp_path, registry) as keyed:
        reply = keyed.client.post("/v1/calculators/booking/assessment", json=body, headers=keyed.key("acme"))
    assert reply.status_code == 200
    assert reply.json() == printed


def test_an_order_with_its_fleet_needs_no_other(tmp_path: Path, capsys: Captured, order: dict[str, Any]) -> None:
    del order["fleet_id"]
    whole = written(tmp_path, order | {"fleet": json.loads(Path(FLEET).read_text())})
    assert main(["assess", whole]) == 0
    assert main(["assess", whole, "--fleet", FLEET]) == REFUSED
    assert "leave out --fleet" in capsys.readouterr().err


def test_an_order_comes_from_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(Path(ORDER).read_bytes())))
    assert main(["assess", "-", "--fleet", FLEET]) == 0
    assert capsys.readouterr().out.startswith("PLAN")


@pytest.mark.parametrize(
    ("ending", "start"), [("html", b"<!doctype html>"), ("pdf", b"%PDF-"), ("txt", b"PLAN"), ("json", b"{")]
)
def test_it_is_written_in_the_form_that_the_name_tells(tmp_path: Path, ending: str, start: bytes) -> None:
    target = tmp_path / f"plan.{ending}"
    assert main(["assess", ORDER, "--fleet", FLEET, "--write", str(target)]) == 0
    assert target.read_bytes().startswith(start)


def test_another_ending_is_refused(tmp_path: Path, capsys: Captured) -> None:
    assert main(["assess", ORDER, "--fleet", FLEET, "--write", str(tmp_path / "plan.doc")]) == REFUSED
    assert ".pdf" in capsys.readouterr().err


def test_every_wrong_field_is_told_at_once(tmp_path: Path, capsys: Captured, order: dict[str, Any]) -> None:
    order["duty"]["leaving_temperature"] = {"value": 400, "unit": "degC"}
    order["routes"]["hose_length"] = {"value": -1, "unit": "m"}
    order["practice"] = "none"
    del order["supply"]
    assert main(["assess", written(tmp_path, order), "--fleet", FLEET]) == REFUSED
    captured = capsys.readouterr()
    assert captured.out == ""
    for text in (
        "duty.leaving_temperature",
        "routes.hose_length",
        "practice",
        "supply",
        "4 fields",
        "taken: from -25 to 25 degC",
    ):
        assert text in captured.err


def test_a_wrong_row_of_the_fleet_is_told_by_its_place(tmp_path: Path, capsys: Captured) -> None:
    fleet = json.loads(Path(FLEET).read_text())
    fleet["machines"][2]["circuits"] = -4
    assert main(["assess", ORDER, "--fleet", written(tmp_path, fleet)]) == REFUSED
    assert "fleet.machines[2].circuits" in capsys.readouterr().err


@pytest.mark.parametrize("text", ['{"a": 1', '{"a": 1, "a": 2}', "[]", "null", "\ufeff{}"])
def test_what_is_no_order_is_refused(tmp_path: Path, capsys: Captured, text: str) -> None:
    assert main(["assess", written(tmp_path, text)]) == REFUSED
    assert main(["assess", written(tmp_path, text), "--fleet", FLEET]) == REFUSED
    assert main(["assess", ORDER, "--fleet", written(tmp_path, text)]) == REFUSED
    assert "Traceback" not in capsys.readouterr().err


def test_a_file_that_is_not_there_is_told(capsys: Captured, tmp_path: Path) -> None:
    assert main(["assess", str(tmp_path / "no.json")]) == REFUSED
    assert main(["assess", str(tmp_path)]) == REFUSED
    assert main(["assess", ORDER, "--fleet", FLEET, "--write", str(tmp_path / "no" / "plan.pdf")]) == REFUSED
    assert capsys.readouterr().err.count("can't be") == 3


def test_a_plan_that_does_not_go_says_so_first(tmp_path: Path, capsys: Captured, order: dict[str, Any]) -> None:
    order["duty"].pop("loads", None)
    order["duty"]["load"] = {"value": 19_000, "unit": "kW"}
    given = written(tmp_path, order)
    assert main(["assess", given, "--fleet", FLEET]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[2] == "DOES NOT GO as it stands"
    assert "stop" in lines[3]
    assert any(line.startswith("STOPS") for line in lines[:12])
    assert main(["assess", given, "--fleet", FLEET, "--fail-on", "unacceptable"]) == FAILED_ON
    assert main(["assess", ORDER, "--fleet", FLEET, "--fail-on", "unacceptable"]) == 0


def test_a_calculator_that_fails_is_told_apart_from_a_wrong_order(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    def broken(*_: object) -> None:
        raise BrokeContract("planted")

    monkeypatch.setattr("coldwright.commands.assess.evaluate_here", broken)
    assert main(["assess", ORDER, "--fleet", FLEET]) == NO_ANSWER
    assert "no fault of the order: planted" in capsys.readouterr().err


def test_places_read_like_paths() -> None:
    assert place_text("#/fleet/machines/0/a~1b") == "fleet.machines[0].a/b"
    assert place_text("#") == "the whole of it"
