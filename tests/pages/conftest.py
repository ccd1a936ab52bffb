"""The plans of the demo orders. Everything in them is invented."""

import json
from pathlib import Path
from typing import Any

import pytest

from coldwright.contract.page import Occasion, Sheet
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.sheets import lay_out, sources_of

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
ORDERS = ("process", "comfort", "indoor")


@pytest.fixture(scope="session")
def plans(answer_of: Any) -> dict[str, dict[str, Any]]:
    """The answers, by the name of the order."""
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    found = {}
    for name in ORDERS:
        document = json.loads((DEMO / f"order-{name}.json").read_text("utf-8"))
        document.pop("fleet_id")
        found[name] = answer_of("booking.assessment", document | {"fleet": fleet})
    return found


@pytest.fixture(scope="session")
def us_plan(answer_of: Any) -> dict[str, Any]:
    """The answer to the first order in US units."""
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    document = json.loads((DEMO / "order-process.json").read_text("utf-8"))
    document.pop("fleet_id")
    answer: dict[str, Any] = answer_of("booking.assessment", document | {"fleet": fleet}, units="us")
    return answer


@pytest.fixture(scope="session")
def us_sheet(registry: Registry, us_plan: dict[str, Any]) -> Sheet:
    """Its page."""
    page = page_of(registry.served["booking.assessment"].local, json.dumps(us_plan).encode(), Occasion(revision=1))
    assert page is not None
    return lay_out(page, us_plan, sources_of(registry))


@pytest.fixture(scope="session")
def sheet_for(registry: Registry, plans: dict[str, dict[str, Any]]) -> Any:
    """`sheet_for(order, ...)`: the page of that order, for an occasion."""
    served, sources = registry.served["booking.assessment"], sources_of(registry)

    def made(name: str, **occasion: Any) -> Sheet:
        body = json.dumps(plans[name]).encode()
        page = page_of(served.local, body, Occasion(revision=1, printed="2027-01-08", **occasion))
        assert page is not None
        return lay_out(page, plans[name], sources, printed="2027-01-08")

    return made
