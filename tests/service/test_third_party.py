"""A third party's distribution, from its source to an answer: built, installed beside ours, served, taken away again."""

import hashlib
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from environments import make_environment
from running import RunningService, running

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "plugins" / "example"
ADDRESS = "/v1/calculators/evaporative/precooling"
GIVEN = {
    "dry_bulb": {"value": 40, "unit": "degC"},
    "wet_bulb": {"value": 20, "unit": "degC"},
    "air_flow": {"value": 10, "unit": "m3/s"},
    "method": "wetted_media",
    "saturation_effectiveness_fraction": 0.8,
    "design_air": {"value": 30, "unit": "degC"},
    "water_temperature": {"value": 15, "unit": "degC"},
}


def run(*command: str | Path, cwd: Path = ROOT) -> str:
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("COLDWRIGHT_", "PIP_", "PYTHON"))}
    done = subprocess.run(
        [str(c) for c in command], cwd=cwd, env=clean, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, f"{command}:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example, built from a copy of its source, with what is installed here and no network."""
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, EXAMPLE)
    (built,) = folder.glob("*.whl")
    return built


def components(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = document["components"]["schemas"]
    return found


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of an environment of its own."""
    return make_environment(tmp_path_factory.mktemp("environment")) / "python"


@pytest.fixture(scope="module")
def before(python: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The document before the example is there."""
    with running(tmp_path_factory.mktemp("before"), python=str(python)) as service:
        document: dict[str, Any] = httpx.get(f"{service.url}/openapi/v1.json").json()
        assert httpx.post(f"{service.url}{ADDRESS}", json=GIVEN).status_code == 404
    return document


@pytest.fixture(scope="module")
def installed(python: Path, wheel: Path, before: dict[str, Any]) -> Path:
    core = digest_of_core()
    run(sys.executable, "-m", "pip", "--python", python, "install", "--no-index", "--no-deps", "--quiet", wheel)
    assert digest_of_core() == core, "installing a plugin edits nothing of ours"
    return python


def digest_of_core() -> str:
    sha = hashlib.sha256()
    for path in sorted((ROOT / "api").rglob("*.py")):
        sha.update(path.read_bytes())
    return sha.hexdigest()


@pytest.fixture(scope="module")
def service(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningService]:
    folder = tmp_path_factory.mktemp("installed")
    with running(folder, {"evaluation_seconds": "30"}, python=str(installed)) as service:
        yield service


@pytest.fixture(scope="module")
def client(service: RunningService) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=service.url, timeout=40) as client:
        yield client


@pytest.fixture(scope="module")
def document(client: httpx.Client) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi/v1.json").json()
    return found


def test_it_is_in_the_lists(client: httpx.Client) -> None:
    listed = {c["id"]: c for c in client.get("/v1/calculators?page_size=1000").json()["calculators"]}
    assert listed["evaporative.precooling"]["plugin"] == "coldwright-evaporative"
    assert listed["evaporative.precooling"]["href"] == ADDRESS
    plugins = {p["entry_point"]: p for p in client.get("/v1/plugins").json()["plugins"]}
    assert plugins["evaporative"]["state"] == "loaded"
    assert plugins["evaporative"]["distribution_version"] == "1.1.0"
    cited = {r["reference"]["id"]: r for r in client.get("/v1/references?page_size=1000").json()["references"]}
    assert cited["evaporative_blowdown"]["used_by"] == ["evaporative.precooling"]
    assert client.get("/v1/tables/evaporative.legionella").json()["rows"] == {"from": 20, "to": 45}


def test_it_is_an_operation_of_the_document_and_nothing_is_renamed(
    document: dict[str, Any], before: dict[str, Any]
) -> None:
    operation = document["paths"][ADDRESS]["post"]
    assert operation["operationId"] == "evaporativePrecooling"
    assert set(operation["requestBody"]["content"]["application/json"]["examples"]) == {"dry_heat", "humid_coast"}
    assert {k: components(document)[k] for k in components(before)} == components(before)
    assert {k: document["paths"][k] for k in before["paths"]} == before["paths"]
    added = components(document).keys() - components(before).keys()
    assert {"Evaporative_PrecoolingGiven", "Evaporative_StageResults", "Evaporative_WaterForHeat"} <= added
    shared = {"Column", "Picture", "File", "Series", "PartQuestion", "StartBlock", "StartFact", "StartRecord"}
    assert all(name.startswith("Evaporative_") for name in added - shared)
    assert ADDRESS + "/majors/1" in document["paths"]


def test_it_answers_and_refuses_like_ours(client: httpx.Client) -> None:
    answer = client.post(ADDRESS, json=GIVEN, params={"units": "us"}).json()
    assert answer["calculator"]["plugin"] == "coldwright-evaporative"
    assert answer["results"]["entering_air"]["unit"] == "degF"
    assert answer["results"]["entering_air"]["value"] == pytest.approx(75.2)
    assert {"environment", "electrical", "chemical"} <= {c["hazard"] for c in answer["cautions"]}
    refused = client.post(ADDRESS, json=GIVEN | {"wet_bulb": {"value": 45, "unit": "degC"}, "method": "rain"})
    assert refused.status_code == 422
    assert {e["pointer"] for e in refused.json()["errors"]} == {"#/wet_bulb", "#/method"}


def test_it_runs_in_a_process_of_its_own(service: RunningService, client: httpx.Client) -> None:
    """With every process but the service's own held still, ours go on answering and this one waits."""
    assert client.post(ADDRESS, json=GIVEN).status_code == 200
    light = client.get("/v1/calculators/electrical/service").json()
    assert light["load"] == "light"
    others = [pid for pid in service.processes() if pid != service.process.pid]
    assert others
    for pid in others:
        os.kill(pid, signal.SIGSTOP)
    try:
        ours = client.post("/v1/calculators/electrical/service", json=light["examples"][0]["given"], timeout=10)
        with pytest.raises(httpx.ReadTimeout):
            client.post(ADDRESS, json=GIVEN, timeout=2)
    finally:
        for pid in others:
            os.kill(pid, signal.SIGCONT)
    assert ours.status_code == 200
    assert client.post(ADDRESS, json=GIVEN).status_code == 200


def test_it_takes_part_in_worksheets_sweeps_limits_and_records(client: httpx.Client) -> None:
    items = [
        {"id": "air", "calculator": "evaporative.precooling", "given": GIVEN},
        {
            "id": "again",
            "calculator": "evaporative.precooling",
            "given": GIVEN | {"dry_bulb": {"from": "air", "pointer": "/results/entering_air"}},
        },
    ]
    told = client.post("/v1/worksheets", json={"items": items}).json()["items"]
    assert [i["answer"]["results"]["entering_air"]["value"] for i in told] == pytest.approx([24, 20.8])
    sweep = client.post(
        "/v1/sweeps",
        json={
            "calculator": "evaporative.precooling",
            "given": GIVEN,
            "vary": [{"pointer": "/saturation_effectiveness_fraction", "values": [0.25, 0.5, 0.75]}],
            "keep": ["/results/entering_air"],
        },
    )
    assert sweep.status_code == 200, sweep.text
    assert [r["kept"]["/results/entering_air"]["value"] for r in sweep.json()["rows"]] == pytest.approx([35, 30, 25])
    limit = client.post(
        "/v1/limits",
        json={
            "calculator": "evaporative.precooling",
            "given": GIVEN,
            "vary": {"pointer": "/saturation_effectiveness_fraction", "from": 0.2, "to": 0.9},
            "until": {"finding": "above_design"},
            "tolerance": 0.0001,
        },
    )
    assert limit.status_code == 200, limit.text
    assert limit.json()["turns"][0]["after"] == pytest.approx(0.5, abs=0.001)
    kept = client.post(ADDRESS, json=GIVEN, params={"record": "true"}).json()
    replayed = client.post(f"/v1/records/{kept['digest']}/replay").json()
    assert replayed["same"] is True


def test_the_command_line_knows_it(installed: Path) -> None:
    told = run(installed, "-m", "coldwright.cli", "plugins", "why", "evaporative")
    assert "coldwright-evaporative" in told
    kept = EXAMPLE / "tests" / "schemas.json"
    checked = run(installed, "-m", "coldwright.cli", "plugins", "check", "evaporative", "--schemas", kept)
    assert checked.startswith("evaporative keeps the contract 1.")


def test_its_own_tests_pass_where_it_is_installed(installed: Path, tmp_path: Path) -> None:
    run(installed, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-c", EXAMPLE / "pyproject.toml", EXAMPLE / "tests")


def test_when_it_is_taken_away_the_document_shrinks_again(
    installed: Path, client: httpx.Client, before: dict[str, Any], tmp_path: Path
) -> None:
    run(sys.executable, "-m", "pip", "--python", installed, "uninstall", "--yes", "--quiet", "coldwright-evaporative")
    with running(tmp_path, python=str(installed)) as service:
        assert httpx.get(f"{service.url}/openapi/v1.json").json() == before
        assert httpx.post(f"{service.url}{ADDRESS}", json=GIVEN).status_code == 404
