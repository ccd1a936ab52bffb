"""Signing in with a key: a session that is never more than the key, and forms that only our own pages can send."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from forms_of_pages import token_in
from keyed import Keyed, keyed_app
from sqlalchemy import update

from coldwright.registry import Registry
from coldwright.store.keys import list_keys, revoke_key
from coldwright.store.schema import sessions

HTML = {"accept": "text/html"}


@pytest.fixture
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("keys"), registry) as made:
        yield made


def signed_in(keyed: Keyed, *scopes: str) -> str:
    """Sign in with a new key; the value of the cookie."""
    secret = keyed.key("acme", *scopes)["authorization"].partition(" ")[2]
    page = keyed.client.get("/sign-in?next=/bench", headers=HTML)
    assert page.status_code == 200
    sent = {"form_token": token_in(page.text), "key": secret, "next": "/bench"}
    reply = keyed.client.post("/sign-in", data=sent, headers=HTML, follow_redirects=False)
    assert (reply.status_code, reply.headers["location"]) == (303, "/bench")
    cookie = reply.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    found = re.search(r"coldwright_session=(cws_[^;]+)", cookie)
    assert found is not None
    return found[1]


def test_whoever_is_not_signed_in_is_shown_the_way_in_and_a_program_its_problem(keyed: Keyed) -> None:
    person = keyed.client.get("/yard?fleet=demo", headers=HTML, follow_redirects=False)
    assert (person.status_code, person.headers["location"]) == (303, "/sign-in?next=/yard%3Ffleet%3Ddemo")
    assert keyed.client.get("/yard").status_code == 401
    wrong = keyed.client.get("/sign-in", headers=HTML)
    reply = keyed.client.post("/sign-in", data={"form_token": token_in(wrong.text), "key": "cwk_no"}, headers=HTML)
    assert reply.status_code == 401
    assert "is not known" in reply.text
    assert "coldwright_session" not in reply.headers.get("set-cookie", "")


def test_a_session_has_the_scope_of_its_key_and_ends_with_it(keyed: Keyed) -> None:
    token = signed_in(keyed, "calculate")
    assert keyed.client.get("/bench", headers=HTML).status_code == 200
    assert keyed.client.get("/v1/calculators").status_code == 200
    assert keyed.client.get("/yard", headers=HTML).status_code == 403
    database = keyed.database
    with database.writing() as connection:
        connection.execute(update(sessions).values(expires_at=datetime.now(UTC) - timedelta(seconds=1)))
    keyed.client.app.state.services.forget(token)
    assert keyed.client.get("/bench", headers=HTML, follow_redirects=False).status_code == 303


def test_a_revoked_key_takes_its_sessions_along(keyed: Keyed) -> None:
    token = signed_in(keyed, "calculate")
    for key in list_keys(keyed.database):
        revoke_key(keyed.database, key.id)
    keyed.client.app.state.services.forget(token)
    assert keyed.client.get("/bench", headers=HTML, follow_redirects=False).status_code == 303


def test_a_session_changes_nothing_but_by_the_forms_of_our_pages(keyed: Keyed) -> None:
    token = signed_in(keyed, "calculate", "book", "fleet", "field")
    client = keyed.client
    assert client.put("/v1/fleets/demo", json={"machines": []}).status_code == 401, "a cookie alone is no key"
    client.cookies.clear()
    assert client.get("/v1/calculators", headers={"authorization": f"Bearer {token}"}).status_code == 401
    client.cookies.set("coldwright_session", token)
    page = client.get("/bench/hydronic/antifreeze", headers=HTML).text
    good = token_in(page)
    given = {"form_token": good, "/kind": "propylene_glycol", "/lowest_temperature/value": "-12"}
    for sent, headers in (
        ({k: v for k, v in given.items() if k != "form_token"}, {}),
        (given | {"form_token": "0" * 64}, {}),
        (given, {"origin": "https://elsewhere.example"}),
    ):
        refused = client.post("/bench/hydronic/antifreeze", data=sent, headers=headers)
        assert refused.status_code == 403, headers
        assert refused.json()["type"] == "/problems/form-not-ours"
    assert client.post("/bench/hydronic/antifreeze", data=given, follow_redirects=False).status_code == 303
    out = client.post("/sign-out", data={"form_token": good}, follow_redirects=False)
    assert out.status_code == 303
    client.cookies.set("coldwright_session", token)
    assert client.get("/bench", headers=HTML, follow_redirects=False).status_code == 303, "the session is over"


def test_the_token_of_one_session_is_worth_nothing_in_another(keyed: Keyed) -> None:
    signed_in(keyed, "calculate")
    first = token_in(keyed.client.get("/bench/hydronic/antifreeze", headers=HTML).text)
    keyed.client.cookies.clear()
    signed_in(keyed, "calculate")
    reply = keyed.client.post("/bench/hydronic/antifreeze", data={"form_token": first})
    assert reply.status_code == 403


@pytest.mark.parametrize(
    "there",
    ["//elsewhere.example", "https://elsewhere.example/", "/\\elsewhere.example", "javascript:x", "http://[::1"],
)
def test_signing_in_leads_nowhere_else(keyed: Keyed, there: str) -> None:
    page = keyed.client.get("/sign-in", params={"next": there}, headers=HTML)
    assert 'name="next" value="/yard"' in page.text
