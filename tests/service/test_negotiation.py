"""Forms of one address: JSON for programs, pages for people."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.http.negotiation import preferred
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,*/*;q=0.8"
ORDER = "/v1/bookings/DEMO-INDOOR"
STARTUP = "/v1/startups/negotiated"


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        (None, "application/json"),
        ("", "application/json"),
        ("*/*", "application/json"),
        (BROWSER, "text/html"),
        ("application/pdf", "application/pdf"),
        ("Application/PDF; q=0.5, text/html;q=0.4", "application/pdf"),
        ("text/*", "text/html"),
        ("text/*;q=0.5, text/html;q=0", "text/plain"),
        ("application/json;q=0, */*", "text/html"),
        ("application/*, text/html;q=0.2", "application/json"),
        ("application/pdf;q=1.0, application/json;q=0.9", "application/pdf"),
        ("text/html;q=nonsense, */*;q=0.1", "application/json"),
    ],
)
def test_the_header_decides(accept: str | None, form: str) -> None:
    assert preferred(accept) == form


@pytest.mark.parametrize("accept", ["image/png", "text/csv, image/*", "*/*;q=0", "text/html;q=7", "nonsense"])
def test_what_cannot_be_sent_is_told(accept: str) -> None:
    with pytest.raises(ProblemRaised) as raised:
        preferred(accept)
    assert raised.value.kind.status == 406


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[TestClient[Litestar]]:
    """A service that holds the smallest demo order, a start-up and a record."""
    path = tmp_path_factory.mktemp("pages") / "store.sqlite3"
    app = create_app(Settings(database_url=f"sqlite:///{path}", engine="inline"), registry)
    with TestClient(app, raise_server_exceptions=False) as client:
        assert client.put("/v1/fleets/demo", json=json.loads((DEMO / "fleet.json").read_text())).status_code == 201
        assert client.put(ORDER, json=json.loads((DEMO / "order-indoor.json").read_text())).status_code == 201
        example = registry.served["readiness.startup"].calculator.examples[0].given
        document = {"configuration": example["configuration"], "machine": "Invented 7", "booking": "DEMO-INDOOR"}
        document |= {"by": "Ann Hill", "reason": "another machine than planned stands there"}
        assert client.put(STARTUP, json=document).status_code == 201
        reply = client.post(f"{STARTUP}/observations", json={"observations": example["observations"]})
        assert reply.json()["refused"] == 0
        yield client


def record_of(client: TestClient[Litestar], registry: Registry) -> str:
    """Address of a kept answer."""
    example = registry.served["electrical.service"].calculator.examples[0].given
    reply = client.post("/v1/calculators/electrical/service?record=true", json=example)
    return f"/v1/records/{reply.json()['digest']}"


def addresses(client: TestClient[Litestar], registry: Registry) -> list[str]:
    """Every address that has pages."""
    return [ORDER, f"{ORDER}/revisions/1", f"{STARTUP}?at=2026-05-04T09:06:00Z", record_of(client, registry)]


def test_every_address_has_every_form(kept: TestClient[Litestar], registry: Registry) -> None:
    for address in addresses(kept, registry):
        page = kept.get(address, headers={"Accept": BROWSER})
        assert page.status_code == 200, page.text
        assert page.headers["content-type"].startswith("text/html")
        assert "default-src 'none'" in page.headers["content-security-policy"]
        assert page.text.startswith("<!doctype html>")
        pdf = kept.get(address, headers={"Accept": "application/pdf"})
        assert pdf.headers["content-type"] == "application/pdf"
        assert pdf.content.startswith(b"%PDF-")
        assert pdf.headers["content-disposition"].startswith('inline; filename="')
        text = kept.get(address, headers={"Accept": "text/plain"})
        assert text.headers["content-type"].startswith("text/plain")
        assert "Local codes" in text.text
        assert kept.get(address).headers["content-type"].startswith("application/json")
        refused = kept.get(address, headers={"Accept": "image/png"})
        assert refused.status_code == 406
        assert refused.json()["type"] == "/problems/not-acceptable"


def test_each_form_has_its_own_tag_and_varies_by_accept(kept: TestClient[Litestar], registry: Registry) -> None:
    forms = ("application/json", "text/html", "application/pdf", "text/plain")
    for address in addresses(kept, registry):
        tags = set()
        for form in forms:
            reply = kept.get(address, headers={"Accept": form})
            assert "Accept" in {name.strip() for name in reply.headers["vary"].split(",")}
            tag = reply.headers["etag"]
            again = kept.get(address, headers={"Accept": form, "If-None-Match": f'"other", {tag}'})
            assert (again.status_code, again.content) == (304, b"")
            tags.add(tag)
        assert len(tags) == len(forms)
        other = kept.get(address, headers={"Accept": "text/html", "If-None-Match": kept.get(address).headers["etag"]})
        assert other.status_code == 200


def test_the_tag_of_the_json_still_changes_the_order(kept: TestClient[Litestar]) -> None:
    order = json.loads((DEMO / "order-indoor.json").read_text())
    tag = kept.get(ORDER).headers["etag"]
    unchanged = kept.put(ORDER, json=order, headers={"If-Match": tag})
    assert unchanged.status_code == 200
    assert unchanged.json()["revision"] == 1


def test_pages_come_in_the_wanted_units(kept: TestClient[Litestar], registry: Registry) -> None:
    for address in (ORDER, record_of(kept, registry)):
        metric = kept.get(address, headers={"Accept": "text/html"})
        us = kept.get(address, params={"units": "us"}, headers={"Accept": "text/html"})
        assert metric.headers["etag"] != us.headers["etag"]
    plan = kept.get(ORDER, params={"units": "us"}, headers={"Accept": "text/plain"}).text
    assert " tons" in plan
    assert " gpm" in plan
    assert " L/s" not in plan.partition("CHECKS")[0]


def test_the_plan_names_its_order_and_the_start_its_machine(kept: TestClient[Litestar]) -> None:
    plan = kept.get(ORDER, headers={"Accept": "text/plain"}).text
    assert plan.startswith("PLAN Order DEMO-INDOOR, revision 1\n")
    start = kept.get(f"{STARTUP}?at=2026-05-04T09:06:00Z", headers={"Accept": "text/plain"}).text
    assert start.startswith("START Invented 7\n")
    assert "Ready" in start
    assert "Order DEMO-INDOOR." in start


def test_the_document_names_the_forms(kept: TestClient[Litestar]) -> None:
    document: Any = kept.get("/openapi/v1.json").json()
    for path in ("/v1/bookings/{reference}", "/v1/startups/{id}", "/v1/records/{digest}"):
        replies = document["paths"][path]["get"]["responses"]
        assert {"application/json", "text/html", "application/pdf", "text/plain"} <= set(replies["200"]["content"])
        assert "406" in replies


def test_a_crew_sheet_has_every_form_for_people_and_either_paper(kept: TestClient[Litestar]) -> None:
    address = f"{ORDER}/crew-sheet"
    page = kept.get(address, headers={"Accept": BROWSER})
    assert page.status_code == 200, page.text
    assert page.headers["content-type"].startswith("text/html")
    assert kept.get(address).headers["content-type"].startswith("text/html")
    text = kept.get(address, headers={"Accept": "text/plain"}).text
    assert text.startswith("CREW SHEET Order DEMO-INDOOR, revision 1\n")
    pdf, letter = (kept.get(f"{address}{ask}", headers={"Accept": "application/pdf"}) for ask in ("", "?paper=letter"))
    assert pdf.content.startswith(b"%PDF-")
    assert pdf.content != letter.content
    assert "crew-sheet-DEMO-INDOOR-1.pdf" in pdf.headers["content-disposition"]
    assert pdf.headers["etag"] != letter.headers["etag"]
    assert kept.get(address, headers={"Accept": "application/json"}).status_code == 406
    assert kept.get("/v1/bookings/NOBODY/crew-sheet").status_code == 404
    assert kept.get(f"{address}?paper=a5").status_code == 422


def test_each_machine_of_a_plant_has_a_sheet_and_another_number_has_none(kept: TestClient[Litestar]) -> None:
    address = f"{ORDER}/crew-sheet"
    machines = kept.get(ORDER).json()["assessment"]["results"]["machines"]
    count = sum(m["count"] for m in machines)
    last = kept.get(address, params={"machine": count}, headers={"Accept": BROWSER})
    assert last.status_code == 200
    beyond = kept.get(address, params={"machine": count + 1}, headers={"Accept": "text/plain"})
    assert beyond.status_code == 404
    assert f"This plan has {count} machine" in beyond.json()["detail"]
    assert kept.get(address, params={"machine": 0}).status_code == 422
    pdf = kept.get(address, params={"machine": count}, headers={"Accept": "application/pdf"})
    assert f"crew-sheet-DEMO-INDOOR-1-{count}.pdf" in pdf.headers["content-disposition"]


def test_a_crew_sheet_is_in_the_units_of_the_order_unless_others_are_asked_for(kept: TestClient[Litestar]) -> None:
    order = json.loads((DEMO / "order-comfort.json").read_text())
    assert kept.put("/v1/bookings/DEMO-COMFORT", json=order).status_code in (200, 201)
    text: dict[str, str] = {}
    tags = set()
    for reference, units in (
        ("COMFORT", ""),
        ("COMFORT", "metric"),
        ("COMFORT", "us"),
        ("INDOOR", ""),
        ("INDOOR", "us"),
    ):
        ask = {"units": units} if units else {}
        reply = kept.get(f"/v1/bookings/DEMO-{reference}/crew-sheet", params=ask, headers={"Accept": "text/plain"})
        text[reference + units] = reply.text
        tags.add((reference, reply.headers["etag"]))
    assert text["COMFORT"] == text["COMFORTus"] != text["COMFORTmetric"]
    assert "Set point 44 °F" in text["COMFORT"]
    assert " psi" in text["COMFORT"]
    of_crew = re.sub(
        r"Expansion vessels.*", "", text["COMFORT"].partition("OFFICE BEFORE DISPATCH")[0]
    )  # named so in stock
    assert not re.search(r"\d (kPa|kg|L|L/s|m|mm|°C)\b", of_crew), of_crew
    plan = kept.get("/v1/bookings/DEMO-COMFORT", headers={"Accept": "text/plain"}).text
    metric = kept.get("/v1/bookings/DEMO-COMFORT", params={"units": "metric"}, headers={"Accept": "text/plain"}).text
    for unit in (" tons", " gpm", "44 °F"):
        assert unit in plan
        assert unit not in metric.partition("CHECKS")[2].partition("OPEN QUESTIONS")[0]
    assert kept.get("/v1/bookings/DEMO-COMFORT").json()["assessment"]["results"]["design_load"]["unit"] == "kW"
    assert text["INDOOR"] != text["INDOORus"]
    assert "Set point 8 °C" in text["INDOOR"]
    assert len(tags) == 4


def test_a_crew_sheet_is_in_the_language_that_the_address_or_else_the_browser_asks_for(
    kept: TestClient[Litestar],
) -> None:
    address = f"{ORDER}/crew-sheet"
    english = kept.get(address, headers={"Accept": "text/plain"})
    spanish = kept.get(address, headers={"Accept": "text/plain", "Accept-Language": "es-MX,es;q=0.9,en;q=0.5"})
    named = kept.get(f"{address}?lang=es", headers={"Accept": "text/plain", "Accept-Language": "en"})
    assert spanish.text.startswith("HOJA DE LA CUADRILLA Pedido DEMO-INDOOR, revisión 1\n")
    assert spanish.text == named.text
    assert "Traducido por una máquina" in spanish.text
    assert english.headers["etag"] != spanish.headers["etag"] == named.headers["etag"]
    assert "Accept-Language" in spanish.headers["vary"]
    assert kept.get(f"{address}?lang=xx").status_code == 422
    start = kept.get(STARTUP, headers={"Accept": BROWSER, "Accept-Language": "es"})
    assert '<html lang="es">' in start.text


def test_a_plan_has_everything_for_whom_asks(kept: TestClient[Litestar]) -> None:
    short, full = (kept.get(f"{ORDER}{ask}", headers={"Accept": BROWSER}) for ask in ("", "?details=all"))
    assert "Values taken by default" not in short.text
    assert "Values taken by default" in full.text
    assert short.headers["etag"] != full.headers["etag"]
