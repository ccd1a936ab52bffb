"""A form of a start that is sent twice, changed on the way back, or sent after the session: nothing lost or doubled."""

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from forms_of_pages import token_in
from keyed import Keyed, keyed_app
from sqlalchemy import update
from startup_histories import CONFIGURATION, base, seen

from coldwright.registry import Registry
from coldwright.service.people.observing import record_of
from coldwright.store.schema import sessions

HTML = {"accept": "text/html"}
HERE = "/v1/startups/s1"


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("recording"), registry) as made:
        start = {"configuration": CONFIGURATION, "machine": "m1"}
        made.client.put(HERE, json=start, headers=made.key("acme")).raise_for_status()
        yield made


def sign_in(keyed: Keyed, person: str) -> None:
    keyed.client.cookies.clear()
    secret = keyed.key("acme", "field", "calculate", person=person)["authorization"].partition(" ")[2]
    token = token_in(keyed.client.get("/sign-in", headers=HTML).text)
    keyed.client.post("/sign-in", data={"form_token": token, "key": secret}, headers=HTML)


def form_of(page: str) -> dict[str, str]:
    """What the form of a record holds as it is drawn."""
    form = page[page.index('class="record"') :]
    return dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', form[: form.index("</form>")]))


def records(keyed: Keyed) -> list[dict[str, Any]]:
    found = keyed.client.get(f"{HERE}/observations", headers=keyed.key("acme")).json()
    return [kept["observation"] for kept in found["observations"]]


def filled(keyed: Keyed, value: str = "true") -> dict[str, str]:
    page = keyed.client.get(f"{HERE}?record=unit_level", headers=HTML).text
    return form_of(page) | {"0/data/ok": value}


def send(keyed: Keyed, sent: dict[str, str], **named: Any) -> Any:
    return keyed.client.post(f"{HERE}/form", data=sent, headers=HTML, follow_redirects=False, **named)


def test_a_form_that_is_sent_twice_is_one_record(keyed: Keyed) -> None:
    sign_in(keyed, "Ann Hill")
    sent, before = filled(keyed), len(records(keyed))
    assert [send(keyed, sent).status_code for _ in range(2)] == [303, 303]
    assert len(records(keyed)) == before + 1
    at_once = filled(keyed)
    with ThreadPoolExecutor(4) as pool:
        assert {reply.status_code for reply in pool.map(lambda _: send(keyed, at_once), range(4))} == {303}
    assert len(records(keyed)) == before + 2


def test_what_was_changed_in_a_form_that_was_sent_before_is_said_and_sent_as_another_record(keyed: Keyed) -> None:
    sign_in(keyed, "Ann Hill")
    sent, before = filled(keyed), len(records(keyed))
    send(keyed, sent)
    again = send(keyed, sent | {"0/data/ok": "false"})
    assert again.status_code == 422
    assert "is not recorded yet" in again.text
    assert [r["data"]["ok"] for r in records(keyed)[before:]] == [True]
    anew = form_of(again.text) | {"0/data/ok": "false"}
    assert anew["0/id"] != sent["0/id"]
    assert send(keyed, anew).status_code == 303
    assert [r["data"]["ok"] for r in records(keyed)[before:]] == [True, False]


def test_two_people_who_record_at_once_are_both_heard(keyed: Keyed) -> None:
    before, forms = len(records(keyed)), []
    for person in ("Ann Hill", "Bo Lee"):
        sign_in(keyed, person)
        forms.append((dict(keyed.client.cookies), filled(keyed)))
    for cookies, sent in forms:
        keyed.client.cookies.clear()
        keyed.client.cookies.update(cookies)
        assert send(keyed, sent).status_code == 303
    assert len(records(keyed)) == before + 2


def test_what_somebody_wrote_outlasts_their_session(keyed: Keyed) -> None:
    sign_in(keyed, "Ann Hill")
    sent, before = filled(keyed), len(records(keyed))
    with keyed.database.writing() as connection:
        connection.execute(update(sessions).values(expires_at=datetime.now(UTC) - timedelta(seconds=1)))
    keyed.client.app.state.services.forget(keyed.client.cookies["coldwright_session"])
    ended = send(keyed, sent)
    assert ended.status_code == 401
    assert "Your session has ended" in ended.text
    assert len(records(keyed)) == before, "nothing is done for whom nobody knows"
    held = dict(re.findall(r'type="hidden" name="(to|kept)" value="([^"]*)"', ended.text))
    held = {name: text.replace("&amp;", "&") for name, text in held.items()}
    ours = HTML | {"origin": "http://testserver.local"}
    assert keyed.client.post("/sign-in/again", data=held, headers=HTML).status_code == 403, "of nobody's page"
    elsewhere = HTML | {"origin": "https://elsewhere.example"}
    assert keyed.client.post("/sign-in/again", data=held, headers=elsewhere).status_code == 403
    not_yet = keyed.client.post("/sign-in/again", data=held, headers=ours)
    assert "You are not signed in yet" in not_yet.text
    assert held["kept"].replace("&", "&amp;") in not_yet.text, "and it is still held"
    sign_in(keyed, "Ann Hill")
    shown = keyed.client.post("/sign-in/again", data=held, headers=ours)
    assert shown.status_code == 200, shown.text
    assert len(records(keyed)) == before, "not without a click"
    form = shown.text[shown.text.index(f'action="{HERE}/form') :]
    again = dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', form))
    assert send(keyed, again).status_code == 303
    assert [r["id"] for r in records(keyed)[before:]] == [sent["0/id"]]


def test_a_form_without_any_session_is_not_held(keyed: Keyed) -> None:
    keyed.client.cookies.clear()
    assert send(keyed, {"0/kind": "unit_level", "kept": "x" * 1000}).status_code == 303


def test_what_is_done_instead_is_not_recorded_along_with_the_rest(keyed: Keyed) -> None:
    """A machine that runs unread: its readings, or that it was stopped. Whoever reads has not stopped it."""
    sign_in(keyed, "Ann Hill")
    start, now = "/v1/startups/s2", datetime.now(UTC)
    own = keyed.key("acme", "field", "calculate", "book", person="Ann Hill")
    keyed.client.put(start, json={"configuration": CONFIGURATION, "machine": "m2"}, headers=own).raise_for_status()
    on = seen("compressor", "10:45", id="1", state="on")
    moved = now - datetime.fromisoformat("2026-05-04T10:50:00+00:00")
    history = [o | {"at": (datetime.fromisoformat(o["at"]) + moved).isoformat()} for o in (*base(), on)]
    history = [{name: value for name, value in o.items() if name != "by"} for o in history]
    keyed.client.post(f"{start}/observations", json={"observations": history}, headers=own).raise_for_status()
    page = keyed.client.get(start, headers=HTML).text
    forms = re.findall(r'<form [^>]*class="record".*?</form>', page, re.DOTALL)
    assert len(forms) == 2
    kinds = [re.findall(r'name="\d/kind" value="(\w+)"', form) for form in forms]
    assert kinds[1] == ["compressor"]
    assert "flow_switch" in kinds[0]
    assert "compressor" not in kinds[0]
    ids = re.findall(r' id="([^"]+)"', "".join(forms))
    assert len(ids) == len(set(ids)), "each label has a field of its own"


SEEN = {
    "pump_state": ({"pump": "machine", "state": "on"}, {"pump": "machine"}),
    "flow_switch": ({"state": "made"}, {}),
    "alarm_check": ({"none_shown": True}, {}),
    "valve_position": ({"valve": "drain", "position": "closed"}, {"valve": "drain"}),
    "loop_pressure": ({"pump": "off", "gauge": "suction"}, {"gauge": "suction"}),
    "purge": ({"point": "coil", "result": "steady_water", "pump": "off"}, {"point": "coil"}),
    "compressor": ({"id": "2", "state": "off"}, {"id": "2"}),
    "lock": ({"lock_id": "7", "state": "removed", "tagged": True}, {"lock_id": "7"}),
    "supply": ({"state": "on", "whole_source": False}, {"whole_source": "false"}),
    "evaporator_pressure_drop": ({"value": {"value": 0, "unit": "kPa"}}, {}),
    "line_connection": ({"end": "source", "set": 1, "state": "connected", "order": ["ground"]}, {"end": "source", "set": "1"}),
}  # fmt: skip
"""By kind, what an action asks for, and what of it stands in the form: which thing, and never how it is."""


@pytest.mark.parametrize("kind", SEEN)
def test_no_form_holds_how_a_thing_is_before_somebody_looked(kind: str, answer_of: Any) -> None:
    (described,) = (k for k in answer_of("readiness.start_forms", {})["results"]["kinds"] if k["kind"] == kind)
    data, stays = SEEN[kind]
    fields = record_of(0, described, {"data": data}, us=False)["fields"]
    held = {f.pointer.rpartition("/")[2]: f.value for f in fields if f.value}
    assert held == stays
    assert not any(child.value for f in fields for child in f.children)


def test_a_form_that_is_sent_as_it_was_drawn_records_nothing(keyed: Keyed) -> None:
    here = "/v1/startups/untouched"
    start = {"configuration": CONFIGURATION, "machine": "m2"}
    keyed.client.put(here, json=start, headers=keyed.key("acme")).raise_for_status()
    ran = seen("compressor", "07:00", id="1", state="on")
    known = {"observations": [ran]}  # what comes next is to see it off
    keyed.client.post(f"{here}/observations", json=known, headers=keyed.key("acme")).raise_for_status()
    sign_in(keyed, "Ann Hill")
    page = keyed.client.get(here, headers=HTML).text
    form = page[page.index('class="record"') :]
    form = form[: form.index("</form>")]
    assert re.search(r'<select[^>]* name="0/data/state" required', form), "what is seen must be chosen"
    assert '<option value="">choose</option>' in form
    reply = keyed.client.post(f"{here}/form", data=form_of(page), headers=HTML, follow_redirects=False)
    assert reply.status_code == 422
    kept = keyed.client.get(f"{here}/observations", headers=keyed.key("acme")).json()
    assert len(kept["observations"]) == len(known["observations"])
