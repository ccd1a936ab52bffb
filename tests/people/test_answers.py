"""The open questions of a plan: each has a field that somebody can fill in, and the answer goes where the order has it."""

import json
import re
from pathlib import Path

import pytest
from forms_of_pages import token_in
from keyed import keyed_app

from coldwright.registry import Registry

HTML = {"accept": "text/html"}
DEMO = Path(__file__).parents[2] / "deploy" / "demo"
HERE = "/v1/bookings/DEMO-PROCESS"


def test_every_question_can_be_answered_a_list_too(
    tmp_path_factory: pytest.TempPathFactory, registry: Registry
) -> None:
    with keyed_app(tmp_path_factory.mktemp("answers"), registry) as keyed:
        office = keyed.key("acme")
        client = keyed.client
        client.put("/v1/fleets/demo", json=json.loads((DEMO / "fleet.json").read_text("utf-8")), headers=office)
        order = json.loads((DEMO / "order-process.json").read_text("utf-8"))
        client.put(HERE, json=order, headers=office).raise_for_status()
        secret = office["authorization"].partition(" ")[2]
        token = token_in(client.get("/sign-in", headers=HTML).text)
        client.post("/sign-in", data={"form_token": token, "key": secret}, headers=HTML)
        page = client.get(f"{HERE}/answers", headers=HTML).text
        cards = page.split('<section class="card">')[1:]
        assert len(cards) > 5
        assert [card for card in cards if not re.search(r'(<input|<select)[^>]* name="/', card)] == []
        assert "hire company" not in page
        (unloading,) = re.findall(r'name="(/access/unloading/\d+)"', page)
        sent = {"form_token": token_in(page), "revision": "1", unloading: "crane"}
        reply = client.post(f"{HERE}/answers", data=sent, headers=HTML, follow_redirects=False)
        assert reply.status_code == 303, reply.text
        shown = client.get(f"{HERE}/answers", headers=HTML).text
        assert "/access/unloading" not in shown, "it is answered"
