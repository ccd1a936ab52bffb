"""Old plugins go on working, and two major versions of a calculator are served side by side."""

import importlib
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import msgspec
import pytest
from distributions import entry_points_in, install, sound
from families import KEPT, importable
from litestar.testing import TestClient
from openapi_spec_validator import OpenAPIV31SpecValidator
from packaging.version import Version

import coldwright.contract
from coldwright.conformance import check_plugin
from coldwright.conformance.suite import lookup_with
from coldwright.contract import CONTRACT_VERSION, Plugin, quantities
from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright.contract.walk import fields_of
from coldwright.registry import Registry
from coldwright.service.app import create_app, document_of
from coldwright.service.settings import Settings

OLD = Path(__file__).parents[1] / "fixtures" / "old_plugin"
CONTRACT_1_0 = msgspec.json.decode((OLD / "contract_1_0.json").read_bytes())
FOUR_KW = {"power": {"value": 4, "unit": "kW"}}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.syspath_prepend(str(OLD))
    monkeypatch.syspath_prepend(str(tmp_path))
    before = set(sys.modules)
    yield tmp_path
    for name in set(sys.modules) - before:
        if str(tmp_path) in str(getattr(sys.modules[name], "__file__", "")):
            del sys.modules[name]


# --- the promise ---------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", CONTRACT_1_0["names"])
def test_every_name_of_contract_1_0_is_there_and_takes_what_it_took(name: str) -> None:
    thing = getattr(coldwright.contract, name)
    if parameters := CONTRACT_1_0["names"][name]:
        now = inspect.signature(thing).parameters
        assert list(now)[: len(parameters)] == parameters
        later = [now[p] for p in list(now)[len(parameters) :]]
        assert all(p.default is not inspect.Parameter.empty for p in later)


@pytest.mark.parametrize("name", CONTRACT_1_0["methods"])
def test_every_method_of_contract_1_0_is_there(name: str) -> None:
    thing = getattr(coldwright.contract, name)
    assert not [m for m in CONTRACT_1_0["methods"][name] if not hasattr(thing, m)]


@pytest.mark.parametrize("kind", CONTRACT_1_0["units"])
def test_every_unit_of_contract_1_0_is_taken(kind: str) -> None:
    assert set(CONTRACT_1_0["units"][kind]) <= getattr(quantities, kind).units.keys()


def test_a_plugin_of_contract_1_0_works_to_the_letter(folder: Path) -> None:
    assert Version(CONTRACT_VERSION) > Version("1.0"), "this test would show nothing"
    registry = Registry(entry_points_in(OLD))
    (found,) = registry.found
    assert (found.state, found.contract, found.distribution_version) == ("loaded", ">=1.0", "0.4.2")
    registry.take_all_in()
    head = registry.lookup("pipework.static_head")
    results, notes = run(head, convert(head.given, dict(head.examples[0].given)))
    assert results.head.to("kPa") == pytest.approx(588.4, abs=0.05)  # 1000 kg/m3 x 9.80665 m/s2 x 60 m, by hand
    assert {a.code for a in notes.assumptions} == {"default:/name", "default:/density_ratio", "default:/state", "still"}
    both = registry.lookup("pipework.two_risers")
    doubled, _ = run(both, convert(both.given, dict(both.examples[0].given)), registry.lookup)
    assert doubled.head.si == pytest.approx(2 * results.head.si)
    limited, notes = run(
        head, convert(head.given, {"height": {"value": 40, "unit": "m"}, "limit": {"value": 3, "unit": "bar"}})
    )
    assert (limited.margin.value < 0, notes.outcome) == (True, "unacceptable")
    plugin = registry.plugins["pipework"]
    assert isinstance(plugin, Plugin)
    faults = check_plugin(
        plugin, distribution="coldwright-pipework", lookup=lookup_with(plugin), module="coldwright_pipework"
    )
    assert not [str(f) for f in faults]


@pytest.mark.parametrize("contract", ["<1.1", "==1.0", ">=2", "~=0.9"])
def test_one_of_another_contract_is_set_aside_and_told_so(contract: str, folder: Path) -> None:
    install(folder, "coldwright-other", {"other": sound("other", contract=contract)}, {"other": "other:plugin"})
    registry = Registry(entry_points_in(folder))
    (found,) = registry.found
    assert (found.state, found.stage) == ("set_aside", "contract")
    assert found.reason == f"written for contract {contract}, this is {CONTRACT_VERSION}"
    assert found.remedy == "Install a release of the plugin for this contract."
    assert not registry.served


FAMILIES = msgspec.json.decode(KEPT.read_bytes(), type=dict[str, dict[str, Any]])


@pytest.mark.parametrize("pinned", FAMILIES)
def test_what_a_plugin_imports_of_our_families_stays_within_a_major(pinned: str) -> None:
    """A calculator that is still shipped in this major is where it was, and so are the fields of its input and results."""
    served = Registry.of_ours().find(pinned)
    if served is None:
        pytest.skip("this major version is not shipped any more")
    for part in ("calculator", "given", "results"):
        module, _, name = FAMILIES[pinned][part].partition(":")
        assert hasattr(importlib.import_module(module), name), f"{module} has no {name} any more"
    calculator, kept = served.local, FAMILIES[pinned]
    now = {f.wire_name: f.required for f in fields_of(cast(Any, calculator.given))}
    assert kept["given_fields"].keys() <= now.keys()
    assert not [name for name, required in now.items() if required and not kept["given_fields"].get(name)]
    assert set(kept["results_fields"]) <= {f.wire_name for f in fields_of(cast(Any, calculator.results))}


def test_every_calculator_of_ours_is_held_to_that() -> None:
    assert set(importable()) <= set(FAMILIES), "run tests/support/families.py for a new calculator or a new major"


# --- two majors ----------------------------------------------------------------------------------------------------
TWO_MAJORS = sound("acme", "heat", version="1.4.0", struct="Old", factor=2).replace(
    "plugin =", "old = answer\nunused ="
) + sound("acme", "heat", version="2.0.1", struct="New", factor=3).replace(
    "calculators=(answer,)", "calculators=(old, answer)"
)
ASKING_THE_OLD = (
    sound("asker", uses=("acme.heat",), struct="Asker")
    .replace("\nSTATED", "\nfrom acme import OldGiven, old\n\nSTATED")
    .replace('Power.of(given.power.to("kW") * 2, "kW")', "ask(old, OldGiven(power=given.power)).power")
)


@pytest.fixture
def majors(folder: Path) -> Registry:
    install(folder, "coldwright-acme", {"acme": TWO_MAJORS}, {"acme": "acme:plugin"}, version="7.0")
    install(folder, "coldwright-asker", {"asker": ASKING_THE_OLD}, {"asker": "asker:plugin"})
    return Registry(entry_points_in(folder))


@pytest.fixture
def client(majors: Registry, tmp_path: Path) -> Iterator[TestClient[Any]]:
    settings = Settings(database_url=f"sqlite:///{tmp_path}/store.sqlite3", engine="inline", required_plugins="")
    with TestClient(create_app(settings, majors)) as client:
        yield client


def test_the_registry_finds_the_newest_and_each_by_its_major(majors: Registry) -> None:
    majors.take_all_in()
    assert [f.reason for f in majors.found] == ["", ""]
    assert majors.found[0].calculators == ("acme.heat@1", "acme.heat")
    assert majors.lookup("acme.heat").version == "2.0.1"
    assert majors.lookup("acme.heat@2").version == "2.0.1"
    assert majors.lookup("acme.heat@1").version == "1.4.0"
    assert majors.find("acme.heat@3") is None
    assert [s.calculator.major for s in majors.majors("acme.heat")] == [2, 1]
    with pytest.raises(KeyError):
        majors.lookup("acme.heat@3")


def test_each_answers_at_an_address_of_its_own(client: TestClient[Any]) -> None:
    def answer(path: str) -> tuple[str, float]:
        reply = client.post(path, json=FOUR_KW).json()
        return reply["calculator"]["version"], reply["results"]["power"]["value"]

    assert answer("/v1/calculators/acme/heat") == ("2.0.1", 12)
    assert answer("/v1/calculators/acme/heat/majors/2") == ("2.0.1", 12)
    assert answer("/v1/calculators/acme/heat/majors/1") == ("1.4.0", 8)
    missing = client.post("/v1/calculators/acme/heat/majors/3", json=FOUR_KW)
    assert missing.status_code == 404
    assert "acme.heat is served here as 2.0.1, 1.4.0" in missing.json()["detail"]
    assert client.post("/v1/calculators/acme/heat/majors/2?unit=us", json=FOUR_KW).status_code == 422


def test_each_is_described_and_both_say_where_the_other_is(client: TestClient[Any]) -> None:
    newest = client.get("/v1/calculators/acme/heat").json()
    older = client.get("/v1/calculators/acme/heat/majors/1").json()
    assert client.get("/v1/calculators/acme/heat/majors/2").json() == newest
    assert (newest["version"], older["version"]) == ("2.0.1", "1.4.0")
    assert newest["majors"] == older["majors"]
    assert newest["majors"] == [
        {"version": "2.0.1", "href": "/v1/calculators/acme/heat/majors/2"},
        {"version": "1.4.0", "href": "/v1/calculators/acme/heat/majors/1"},
    ]
    listed = [c["id"] for c in client.get("/v1/calculators").json()["calculators"]]
    assert listed.count("acme.heat") == 1


def test_the_document_has_an_operation_for_each(majors: Registry) -> None:
    document = document_of(majors)
    OpenAPIV31SpecValidator(document).validate()
    newest = document["paths"]["/v1/calculators/acme/heat"]["post"]
    older = document["paths"]["/v1/calculators/acme/heat/majors/1"]["post"]
    assert (newest["operationId"], older["operationId"]) == ("acmeHeat", "acmeHeatMajor1")
    assert (newest.get("deprecated"), older.get("deprecated")) == (None, True)
    assert "/v1/calculators/acme/heat/majors/2" not in document["paths"]
    schema = older["responses"]["200"]["content"]["application/json"]["schema"]
    assert schema == {"$ref": "#/components/schemas/Acme_HeatMajor1Answer"}


def test_worksheets_pin_too_and_a_record_is_replayed_by_the_major_that_gave_it(client: TestClient[Any]) -> None:
    items = [
        {"id": "new", "calculator": "acme.heat", "given": FOUR_KW},
        {"id": "old", "calculator": "acme.heat@1", "given": FOUR_KW},
    ]
    told = client.post("/v1/worksheets", json={"items": items}).json()["items"]
    assert [i["answer"]["results"]["power"]["value"] for i in told] == [12, 8]
    kept = client.post("/v1/calculators/acme/heat/majors/1?record=true", json=FOUR_KW).json()
    replay = client.post(f"/v1/records/{kept['digest']}/replay").json()
    assert (replay["version_now"], replay["same"]) == ("1.4.0", True)


def test_a_calculator_that_asks_gets_the_major_that_it_was_written_for(majors: Registry) -> None:
    asker = majors.take_all_in().lookup("asker.answer")
    results, _ = run(asker, convert(asker.given, FOUR_KW), majors.lookup)
    assert results.power.value == 8


def test_a_deprecated_calculator_says_until_when_and_what_instead(folder: Path, tmp_path: Path) -> None:
    source = sound("acme").replace("uses=()", "deprecated=Deprecated('2026-10-01', '2027-04-01', 'Use `acme.better`.')")
    source = source.replace("import Example,", "import Deprecated, Example,")
    install(folder, "coldwright-leaving", {"leaving": source}, {"leaving": "leaving:plugin"})
    registry = Registry(entry_points_in(folder))
    operation = document_of(registry)["paths"]["/v1/calculators/acme/answer"]["post"]
    assert operation["deprecated"] is True
    assert "here until 2027-04-01 at least. Use `acme.better`." in operation["description"]
    settings = Settings(database_url=f"sqlite:///{tmp_path}/leaving.sqlite3", engine="inline", required_plugins="")
    with TestClient(create_app(settings, registry)) as client:
        reply = client.post("/v1/calculators/acme/answer", json=FOUR_KW)
        told = client.get("/v1/calculators/acme/answer").json()
    assert reply.headers["deprecation"] == "@1790812800"  # 2026-10-01T00:00:00Z in seconds of the epoch
    assert reply.headers["sunset"] == "Thu, 01 Apr 2027 00:00:00 GMT"
    assert told["deprecated"] == {"since": "2026-10-01", "until": "2027-04-01", "instead": "Use `acme.better`."}
