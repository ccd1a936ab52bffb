"""A stranger's own quantities, words of a table, series, pictures and files: served, documented, drawn and converted."""

import base64
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from carbon_plugin import SOURCE, put_table
from databases import migrated
from distributions import entry_points_in, install
from litestar.testing import TestClient
from openapi_spec_validator import OpenAPIV31SpecValidator

from coldwright.registry import Registry
from coldwright.service.app import create_app, document_of
from coldwright.service.settings import Settings

ADDRESS = "/v1/calculators/carbon/footprint"


@pytest.fixture(scope="module")
def registry(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Registry]:
    folder = tmp_path_factory.mktemp("site")
    install(folder, "coldwright-carbon", {"carbon": SOURCE}, {"carbon": "carbon:plugin"})
    put_table(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(folder))
        registry = Registry(entry_points_in(folder))
        assert [(f.state, f.reason) for f in registry.found] == [("loaded", "")]
        yield registry


@pytest.fixture(scope="module")
def client(registry: Registry, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient[Any]]:
    store = tmp_path_factory.mktemp("store") / "store.sqlite3"
    settings = Settings(database_url=f"sqlite:///{store}", engine="inline", required_plugins="")
    with TestClient(create_app(settings, registry)) as client:
        yield client


def asked(grid: str = "north", **more: Any) -> dict[str, Any]:
    return {"power": {"value": 2, "unit": "kW"}, "grid": grid} | more


def test_an_own_quantity_is_converted_both_ways(client: TestClient[Any]) -> None:
    """NIST SP 811:2008, appendix B.8: 1 lb = 0.453 592 37 kg; from memory. So 0.2 kg/kWh = 200 / 0.45359237 lb/MWh."""
    given = asked(extra={"value": 220.462262185, "unit": "lb/MWh"})
    answer = client.post(f"{ADDRESS}?units=us", json=given).json()
    assert answer["results"]["intensity"]["unit"] == "lb/MWh"
    assert answer["results"]["intensity"]["value"] == pytest.approx(200 / 0.45359237, rel=1e-9)
    assert answer["given"]["extra"] == given["extra"]


def test_its_range_holds_for_every_field_of_the_kind(client: TestClient[Any]) -> None:
    problem = client.post(ADDRESS, json=asked(extra={"value": 3.1, "unit": "kg/kWh"}))
    assert problem.status_code == 422
    (error,) = problem.json()["errors"]
    assert (error["pointer"], error["why"]) == ("#/extra", "no grid has more")
    assert error["allowed"] == {"minimum": 0, "maximum": 3, "unit": "kg/kWh"}
    assert client.post(ADDRESS, json=asked(extra={"value": 3, "unit": "t/kWh"})).status_code == 422


def test_words_are_those_of_the_table(client: TestClient[Any]) -> None:
    assert client.post(ADDRESS, json=asked("island (old)")).status_code == 200
    for wrong in ("east", "north\n", "NORTH", "island .old."):
        (error,) = client.post(ADDRESS, json=asked(wrong)).json()["errors"]
        assert error["pointer"] == "#/grid"
        assert error["allowed"] == {"one_of": ["north", "south", "island (old)"]}
        assert error["why"] == "These are the words of the table 'Invented grids'."


def test_the_document_shows_them(registry: Registry) -> None:
    document = document_of(registry)
    OpenAPIV31SpecValidator(document).validate()
    schemas = document["components"]["schemas"]
    kind = schemas["Carbon_CarbonIntensity"]
    assert kind["x-units"] == {"base": "kg/kWh", "factors": {"kg/kWh": 1.0, "lb/MWh": 0.00045359237}, "us": "lb/MWh"}
    assert kind["x-range"] == {"minimum": 0, "maximum": 3, "unit": "kg/kWh", "why": "no grid has more"}
    grid = schemas["Carbon_FootprintGiven"]["properties"]["grid"]
    assert grid["enum"] == ["north", "south", "island (old)"]
    assert len(grid["x-table"]["digest"]) == 64
    assert "pattern" not in grid
    picture = schemas["Carbon_FootprintResults"]["properties"]["picture"]
    assert picture["x-file"] == {"media_types": ["image/png"], "most_bytes": 1000}
    assert schemas["File"]["properties"]["content"]["contentEncoding"] == "base64"
    tag = next(t for t in document["tags"] if t["name"] == "carbon")
    assert tag["description"] == "Carbon of what is hired."


def test_a_series_is_converted_drawn_and_swept(client: TestClient[Any]) -> None:
    """Derived: 2 kW over 24 h at 0.1 kg/kWh are 4.8 kg; 4.8 / 0.45359237 = 10.58 lb."""
    series = client.post(f"{ADDRESS}?units=us", json=asked()).json()["results"]["profile"]
    mass, energy = series["columns"]
    assert (series["along"]["unit"], mass["unit"], energy["unit"]) == ("h", "lb", "kWh")
    assert mass["values"][-1] == pytest.approx(4.8 / 0.45359237)
    sweep = {
        "calculator": "carbon.footprint",
        "given": asked(),
        "vary": [{"pointer": "/grid", "values": ["north", "south", "nowhere"]}],
        "keep": ["/results/profile", "/results/profile/columns/0/values/4"],
    }
    rows = client.post("/v1/sweeps", json=sweep).json()["rows"]
    assert [r["status"] for r in rows] == [200, 200, 422]
    assert rows[1]["kept"]["/results/profile/columns/0/values/4"] == pytest.approx(19.2)
    drawing = client.post("/v1/sweeps", json=sweep, headers={"Accept": "image/svg+xml"}).text
    titles = [text for text in re.findall(r"<text[^>]*>([^<]*)</text>", drawing) if text.startswith("/results")]
    assert titles == [
        "/results/profile/columns/0/values/4",
        "/results/profile: carbon dioxide [kg]",
        "/results/profile: energy [kWh]",
    ]
    assert drawing.count("time [h]") == 2, "under each of the two columns"


def test_pages_draw_the_series_show_the_picture_and_name_the_file(client: TestClient[Any]) -> None:
    digest = client.post(f"{ADDRESS}?record=true", json=asked()).json()["digest"]

    def page(form: str) -> httpx.Response:
        return client.get(f"/v1/records/{digest}", headers={"Accept": form})

    html, text = page("text/html").text, page("text/plain").text
    assert html.count("data:image/svg+xml,") == 2
    assert "data:image/png;base64," in html
    assert "day.csv: text/csv, 39 bytes" in " ".join(text.split())
    assert "iVBOR" not in text
    assert "carbon dioxide" in text
    pdf = page("application/pdf")
    assert pdf.content.startswith(b"%PDF-")
    assert b"/Image" in pdf.content


def test_a_file_comes_as_it_was_made(client: TestClient[Any]) -> None:
    sheet = client.post(ADDRESS, json=asked()).json()["results"]["sheet"]
    assert (sheet["name"], sheet["media_type"]) == ("day.csv", "text/csv")
    assert base64.b64decode(sheet["content"]).splitlines()[-1] == b"24,4.8"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"image/png", PNG)', '"image/jpeg", PNG)', "does not begin as image/jpeg does"),
        ('"text/csv", f"hour', '"text/html", f"hour', "is none that is taken"),
        ('"text/csv", f"hour', '"text/plain", f"hour', "sheet is text/plain; text/csv were promised"),
        ('f"hour,kg\\\\n{rows}"', '("x" * 2001)', "sheet has 2001 bytes; 2000 were promised"),
        ('f"hour,kg\\\\n{rows}"', '("x" * 3000000)', "2097152 are the most"),
        ("hours),", "hours[::-1]),", "does not rise"),
        ("kilograms),", "kilograms[1:]),", "has 4 numbers, `along` has 5"),
        ('Mass, "kg"', 'Mass, "kWh"', "which is none of its kind"),
    ],
)
def test_what_is_not_as_promised_costs_the_answer(
    old: str, new: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert old.replace("\\\\", "\\") in SOURCE
    source = SOURCE.replace(old.replace("\\\\", "\\"), new).replace("carbon", "coal").replace("Carbon", "Coal")
    source = source.replace('load_table("coal"', 'load_table("carbon"').replace("coal dioxide", "carbon dioxide")
    install(tmp_path, "coldwright-coal", {"coal": source, "carbon": ""}, {"coal": "coal:plugin"})
    put_table(tmp_path)
    monkeypatch.syspath_prepend(str(tmp_path))
    settings = Settings(database_url=migrated(tmp_path / "s.sqlite3"), engine="inline", required_plugins="")
    with TestClient(create_app(settings, Registry(entry_points_in(tmp_path)))) as client:
        problem = client.post("/v1/calculators/coal/footprint", json=asked())
    assert problem.status_code == 500, problem.text
    assert says in problem.json()["detail"]
