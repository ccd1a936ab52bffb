"""A stranger's calculators join the plan of an order: they tighten it, stand on it under their name, and may fail."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from distributions import install
from running import running

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
ADDRESS = "/v1/calculators/booking/assessment"
PLUGIN = """
from typing import Annotated

from coldwright.contract import (
    Example, Given, Notes, PartLine, PartQuestion, Plugin, Reference, Results, Taken, about, calculator, finding,
    page, people, refuse,
)
from coldwright.contract.quantities import Length, Power

STATED = Reference(id="FAMILY_stated", title="The factor as stated", provenance="derived")


class Machine(Taken, frozen=True, kw_only=True):
    'A machine of the plan.'

    type: Annotated[str, about("Its type.")]
    count: Annotated[int, about("How many.", low=0, high=1000)]
    power_each: Annotated[Power, about("Power of one.", low=0, high=100000, unit="kW")]


class OwnLine(Results, frozen=True, kw_only=True):
    'A line of another shape.'

    thing: Annotated[str, about("What.")]


class CarbonGiven(Given, frozen=True, kw_only=True):
    'What it takes of the plan.'

    machines: Annotated[tuple[Machine, ...], about("The machines.", max_length=100)]
    MORE


class CarbonResults(Results, frozen=True, kw_only=True):
    'What it adds.'

    power: Annotated[Power, about("Power of all machines.")]
    cable: Annotated[Length, about("Cable to its meter.")] = Length(30.48, "m")
    pick_list: Annotated[tuple[LINE, ...], about("Lines.")] = ()
    open_questions: Annotated[tuple[PartQuestion, ...], about("Questions.")] = ()


ONE = {"type": "m", "count": 2, "power_each": {"value": 3, "unit": "kW"}}
ASKED = {"machines": [ONE], **EXAMPLE}


def lay_out(answer, occasion):
    if "FAMILY" == "misshapen":
        raise RuntimeError("no page today")
    shown = page.facts(("Power of all", people.value_text(answer.results.power)))
    return page.Page("Footprint", "FAMILY <b>", "plain", "A verdict of its own", sections=(
        page.section("Its own section", shown), page.Standard("findings", "Its stops", ("stop",)),
    ))


@calculator(
    "FAMILY.footprint", version="1.0.0", title="Footprint of FAMILY", references=(STATED,), joins="booking",
    findings=(finding("heavy", "stop", "Too much."),),
    examples=(Example("two", "Two.", ASKED), Example("again", "Again.", ASKED)), page=lay_out,
)
def footprint(given: CarbonGiven, notes: Notes) -> CarbonResults:
    'Power of all machines.'
    kilowatts = sum(m.power_each.to("kW") * m.count for m in given.machines)
    BODY


plugin = Plugin(name="FAMILY", title="FAMILY", contract=">=1.2,<2", calculators=(footprint,))
"""
SOUND = """notes.stop("heavy", "It takes more than is allowed here.", field="/machines")
    return CarbonResults(
        power=Power(kilowatts, "kW"),
        pick_list=(PartLine(item="meter", count=1, reason="To prove it."),),
        open_questions=(
            PartQuestion(field="/site/name", assumed="here", effect="The factor.", who="customer", decides=True),
        ),
    )"""
OWN_LINE = 'return CarbonResults(power=Power(kilowatts, "kW"), pick_list=(OwnLine(thing="x"),))'
SURGE = 'surge: Annotated[Machine, about("A surge that no plan of this test has.")]'


def source(family: str, body: str, more: str = "", example: str = "{}", line: str = "PartLine") -> str:
    text = PLUGIN.replace("FAMILY", family).replace("BODY", body).replace("MORE", more)
    return text.replace("EXAMPLE", example).replace("LINE", line)


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    site = tmp_path_factory.mktemp("site")
    packages = {
        "carbon": source("carbon", SOUND),
        "broken": source("broken", "raise RuntimeError(str(kilowatts))"),
        "refuser": source("refuser", 'raise refuse("/machines", "Not such machines.")'),
        "needy": source("needy", SOUND, SURGE, '{"surge": ONE}'),
        "misshapen": source("misshapen", OWN_LINE, line="OwnLine"),
    }
    for name, code in packages.items():
        install(site, f"coldwright-{name}", {name: code}, {name: f"{name}:plugin"})
    return {"PYTHONPATH": os.pathsep.join([str(site), os.environ.get("PYTHONPATH", "")])}


def order() -> dict[str, Any]:
    made: dict[str, Any] = json.loads((DEMO / "order-comfort.json").read_text())
    made.pop("fleet_id", None)
    return made | {"fleet": json.loads((DEMO / "fleet.json").read_text())}


@pytest.fixture(scope="module")
def answers(
    tmp_path_factory: pytest.TempPathFactory, environment: dict[str, str]
) -> Iterator[tuple[dict[str, Any], dict[str, Any], str, str]]:
    """The plan without strangers, the plan with them, and its page in both systems of units."""
    with running(tmp_path_factory.mktemp("alone")) as service:
        alone = httpx.post(f"{service.url}{ADDRESS}", json=order(), timeout=60).json()
    with running(tmp_path_factory.mktemp("joined"), environment=environment) as service:
        together = httpx.post(f"{service.url}{ADDRESS}?record=true", json=order(), timeout=60).json()
        kept = f"{service.url}/v1/records/{together['digest']}"
        page, us = (
            httpx.get(f"{kept}?units={u}&details=all", headers={"Accept": "text/plain"}, timeout=60).text
            for u in ("metric", "us")
        )
        yield alone, together, page, us


def test_a_strangers_page_is_made_in_its_worker_and_escaped_here(tmp_path: Path, environment: dict[str, str]) -> None:
    machine = {"type": "m", "count": 2, "power_each": {"value": 3, "unit": "kW"}}
    with running(tmp_path, environment=environment) as service:

        def shown(family: str, form: str) -> httpx.Response:
            address = f"{service.url}/v1/calculators/{family}/footprint?record=true"
            answer = httpx.post(address, json={"machines": [machine]}, timeout=60).json()
            kept = f"{service.url}/v1/records/{answer['digest']}"
            return httpx.get(kept, headers={"Accept": form}, timeout=60)

        text = shown("carbon", "text/plain").text
        assert "A verdict of its own" in text
        assert "Power of all  6 kW" in text
        assert "ITS STOPS" in text
        assert "carbon &lt;b&gt;" in shown("carbon", "text/html").text
        failed = shown("misshapen", "text/plain")
        assert failed.status_code == 200
        assert "Its own page could not be made" in failed.text
        assert "6 kW" in failed.text


def test_a_part_adds_its_block_its_lines_and_its_questions_under_its_name(answers: Any) -> None:
    alone, together, page, _ = answers
    (block,) = together["results"]["parts"]
    power = sum(m["power_each"]["value"] * m["count"] for m in together["results"]["machines"])
    assert (block["calculator"], block["plugin"]) == ("carbon.footprint", "coldwright-carbon")
    assert block["block"]["power"]["value"] == pytest.approx(power)
    lines = [line for line in together["results"]["pick_list"] if line["calculator"] == "carbon.footprint"]
    assert [(line["item"], line["count"]) for line in lines] == [("meter", 1)]
    questions = together["results"]["open_questions"]
    assert any(q["field"] == "/site/name" and q["effect"] == "The factor." for q in questions)
    assert "FOOTPRINT OF CARBON" in page
    assert "meter" in page
    assert alone["results"]["parts"] == []


def test_a_part_tightens_and_takes_nothing_away(answers: Any) -> None:
    alone, together, *_ = answers
    assert together["outcome"] == "unacceptable"
    assert together["findings"][: len(alone["findings"])] == alone["findings"]
    assert any(f["code"] == "heavy" and f["severity"] == "stop" for f in together["findings"])
    for name, value in alone["results"].items():
        if name not in ("pick_list", "open_questions", "parts"):
            assert together["results"][name] == value, name
    assert together["digest"] != alone["digest"]


def test_a_kept_plan_in_other_units_converts_its_parts_too(answers: Any) -> None:
    """Derived: 30.48 m = 100 ft, by the definition of the foot."""
    *_, metric, us = answers
    metric, us = (" ".join(page.partition("FOOTPRINT OF CARBON")[2].split()) for page in (metric, us))
    assert "Cable 30.5 m" in metric
    assert "Cable 100 ft" in us


def test_a_part_that_fails_costs_its_own_block_and_says_so_as_a_check(answers: Any) -> None:
    _, together, *_ = answers
    failed = {f["calculator"]: f for f in together["findings"] if f["code"] == "part_failed"}
    assert sorted(failed) == ["broken.footprint", "misshapen.footprint", "needy.footprint", "refuser.footprint"]
    assert {f["severity"] for f in failed.values()} == {"check"}
    assert "is not part of this plan: there is no surge" in failed["needy.footprint"]["statement"]
    assert "Not such machines." in failed["refuser.footprint"]["statement"]


def test_the_command_joins_them_too(tmp_path: Path, environment: dict[str, str]) -> None:
    (tmp_path / "order.json").write_text(json.dumps(order()))
    command = [sys.executable, "-c", "from coldwright.cli import main; main()", "assess", "order.json", "--json"]
    done = subprocess.run(
        command, cwd=tmp_path, env={**os.environ, **environment}, capture_output=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert [p["calculator"] for p in json.loads(done.stdout)["results"]["parts"]] == ["carbon.footprint"]
