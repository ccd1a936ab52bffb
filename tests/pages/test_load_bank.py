"""The load bank on the page of a plan. Invented data."""

import json
import re
from typing import Any

from orders import fleet, machine, order, stock
from quantity import q
from read_pages import shown_in

from coldwright.contract.page import Occasion
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.sheets import lay_out, render, sources_of


def test_the_load_bank_stands_on_the_page_as_it_is_set(answer_of: Any, registry: Registry) -> None:
    """A set far too large is too lightly loaded at full load too: what that would take is another number."""
    rows = [r for r in stock() if r["kind"] not in ("generator", "load_bank")]
    rows.append(
        {
            "kind": "generator", "item": "set 700", "count": 1, "rated_active_power": q(700, "kW"),
            "rated_apparent_power": q(875, "kVA"), "transient_reactance": 0.18,
        }
    )  # fmt: skip
    made = fleet(machine("only", 250, 1), accessories=rows)
    document = order(
        fleet=made, supply={"source": "generator"}, duty__load=q(180, "kW"), duty__lowest_load_fraction=0.1
    )
    plan = answer_of("booking.assessment", document)
    bank = plan["results"]["asked"]["generator"]["load_bank_power"]["value"]
    other = plan["results"]["supply"]["generator"]["load_bank_power"]["value"]
    assert 0 < other < bank - 5, "the trap is there"
    served = registry.served["booking.assessment"].local
    page = page_of(served, json.dumps(plan).encode(), Occasion(revision=1, details=True))
    assert page is not None
    shown = re.sub(r"\s+", "", shown_in(render(lay_out(page, plan, sources_of(registry)), "text/html")))
    assert f"Loadbank,setto{bank:.0f}kW" in shown
    assert f"{other:.0f}kW" not in shown
