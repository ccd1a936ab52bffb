"""Signing in through an identity provider: only who set out in this browser comes in, and only as what the provider says."""

import json
import re
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest
from forms_of_pages import token_in
from identity import CLIENT, IdentityProvider
from keyed import Keyed, keyed_app
from sqlalchemy import delete, select, update

from coldwright.registry import Registry
from coldwright.service.settings import SettingError, from_environment
from coldwright.store.schema import sessions

HTML = {"accept": "text/html"}
DEMO = Path(__file__).parents[2] / "deploy" / "demo"
HERE = "http://testserver.local"


@pytest.fixture(scope="module")
def running() -> Iterator[IdentityProvider]:
    made = IdentityProvider()
    yield made
    made.stop()


@pytest.fixture
def provider(running: IdentityProvider) -> IdentityProvider:
    running.claims, running.signed_with_other_key, running.refuses = {}, False, False
    running.asks_something = False
    running.asked.clear()
    return running


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, registry: Registry, running: IdentityProvider) -> Iterator[Keyed]:
    settings = running.settings(HERE) | {"allowed_hosts": "*"}
    with keyed_app(tmp_path_factory.mktemp("provider"), registry, **settings) as made:
        yield made


@pytest.fixture
def keyed(served: Keyed, provider: IdentityProvider) -> Keyed:
    """Nobody is signed in."""
    served.client.cookies.clear()
    with served.database.writing() as connection:
        connection.execute(delete(sessions))
    return served


def set_out(keyed: Keyed, there: str = "/yard") -> str:
    """To the provider; where that sends the browser back to, without the name of the service."""
    leave = keyed.client.get("/sign-in/provider", params={"next": there}, headers=HTML, follow_redirects=False)
    assert leave.status_code == 303, leave.text
    cookie = leave.headers["set-cookie"]
    assert {"HttpOnly", "Path=/sign-in/return"} <= set(re.split("; ", cookie))
    assert "samesite=lax" in cookie.lower()
    back = httpx.get(leave.headers["location"])
    assert back.status_code == 302
    return back.headers["location"].removeprefix(HERE)


def come_back(keyed: Keyed, address: str) -> httpx.Response:
    return keyed.client.get(address, headers=HTML, follow_redirects=False)


def test_whoever_signs_in_there_is_signed_in_here_with_what_the_provider_says(
    keyed: Keyed, provider: IdentityProvider
) -> None:
    shown = keyed.client.get("/sign-in?next=/bench", headers=HTML).text
    assert "/sign-in/provider?next=/bench" in shown
    page = come_back(keyed, set_out(keyed, "/yard?fleet=demo"))
    assert page.status_code == 200, page.text
    cookies = page.headers.get_list("set-cookie") if hasattr(page.headers, "get_list") else [page.headers["set-cookie"]]
    session = next(c for c in cookies if c.startswith("coldwright_session=cws_"))
    assert "HttpOnly" in session
    assert "samesite=strict" in session.lower()
    assert 'content="0;url=/yard?fleet=demo"' in page.text
    yard = keyed.client.get("/yard", headers=HTML)
    assert yard.status_code == 200
    assert "Sign out" in yard.text
    assert keyed.client.get("/v1/keys").status_code == 403, "no scope that was not given"
    assert provider.asked.count("/.well-known/openid-configuration") <= 1
    with keyed.database.reading() as connection:
        kept = connection.execute(select(sessions)).one()
    assert kept.key_id == ""
    assert '"tenant":"acme"' in kept.holder


def test_the_tenant_is_that_of_the_claim_and_sees_nothing_of_another(keyed: Keyed, provider: IdentityProvider) -> None:
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    for tenant in ("acme", "other"):
        put = keyed.client.put(f"/v1/fleets/of-{tenant}", json=fleet, headers=keyed.key(tenant))
        assert put.status_code in (200, 201), put.text
    come_back(keyed, set_out(keyed))
    assert keyed.client.get("/v1/fleets/of-acme").status_code == 200
    assert keyed.client.get("/v1/fleets/of-other").status_code == 404
    keyed.client.cookies.clear()
    provider.claims = {"tenant": None}
    come_back(keyed, set_out(keyed))
    assert keyed.client.get("/v1/fleets/of-acme").status_code == 404, "without a claim somebody is a tenant alone"
    assert keyed.client.put("/v1/fleets/of-acme", json=fleet).status_code == 401, "a cookie alone changes nothing"


@pytest.mark.parametrize(
    ("claims", "why"),
    [
        ({"nonce": "of another attempt"}, "not for this attempt"),
        ({"nonce": None}, "not for this attempt"),
        ({"aud": "somebody-else"}, "does not hold"),
        ({"aud": [CLIENT, "somebody-else"], "azp": "somebody-else"}, "not for this attempt"),
        ({"iss": "http://127.0.0.1:1"}, "does not hold"),
        ({"exp": int(time.time()) - 600}, "does not hold"),
        ({"sub": None}, "does not hold"),
        ({"scope": "nothing of ours"}, "may not use this service"),
        ({"scope": 17}, "may not use this service"),
    ],
)
def test_what_the_provider_says_counts_only_whole(
    keyed: Keyed, provider: IdentityProvider, claims: dict[str, Any], why: str
) -> None:
    provider.claims = claims
    reply = come_back(keyed, set_out(keyed))
    assert reply.status_code == 401, reply.text
    assert why in reply.text
    assert keyed.client.get("/yard", headers=HTML, follow_redirects=False).status_code == 303


def test_a_token_of_another_key_is_worth_nothing(keyed: Keyed, provider: IdentityProvider) -> None:
    provider.signed_with_other_key = True
    assert come_back(keyed, set_out(keyed)).status_code == 401


def test_an_answer_counts_once_in_the_browser_that_set_out_and_for_its_own_attempt(keyed: Keyed) -> None:
    mine = set_out(keyed)
    way = dict(keyed.client.cookies)
    keyed.client.cookies.clear()
    stranger = come_back(keyed, mine)
    assert stranger.status_code == 401
    assert "did not set out" in stranger.text
    keyed.client.cookies.update(way)
    wrong = come_back(keyed, re.sub(r"state=[^&]+", "state=another", mine))
    assert "another attempt" in wrong.text
    keyed.client.cookies.update(way)
    assert come_back(keyed, re.sub(r"iss=[^&]+", "iss=https%3A%2F%2Felsewhere.example", mine)).status_code == 401
    keyed.client.cookies.update(way)
    assert come_back(keyed, mine).status_code == 200
    keyed.client.cookies.clear()
    keyed.client.cookies.update(way)
    assert come_back(keyed, mine).status_code == 401, "the provider takes a code once"
    for broken in ("/sign-in/return", "/sign-in/return?code=x", f"/sign-in/return?state=s&code={'x' * 5000}"):
        assert come_back(keyed, broken).status_code in (401, 422)


def test_a_stolen_code_is_worth_nothing_without_its_verifier(keyed: Keyed) -> None:
    """RFC 7636: who intercepts a code sets out himself, and sends back the other's code with his own state."""
    stolen = parse_qs(urlsplit(set_out(keyed)).query)["code"][0]
    keyed.client.cookies.clear()
    own = set_out(keyed)
    reply = come_back(keyed, re.sub(r"code=[^&]+", f"code={stolen}", own))
    assert reply.status_code == 401
    assert "did not confirm" in reply.text


def test_whoever_the_provider_refuses_is_told_so(keyed: Keyed, provider: IdentityProvider) -> None:
    provider.refuses = True
    reply = come_back(keyed, set_out(keyed))
    assert reply.status_code == 401
    assert "did not let you in" in reply.text
    assert "access_denied" not in reply.text


def test_a_provider_that_is_away_is_a_problem_for_a_while_and_keys_go_on(
    tmp_path_factory: pytest.TempPathFactory, registry: Registry
) -> None:
    away = IdentityProvider()
    away.stop()
    settings = away.settings(HERE) | {"allowed_hosts": "*"}
    with keyed_app(tmp_path_factory.mktemp("away"), registry, **settings) as keyed:
        reply = keyed.client.get("/sign-in/provider", follow_redirects=False)
        assert reply.status_code == 503
        assert reply.json()["type"].endswith("/problems/identity-unavailable")
        assert "retry-after" in reply.headers
        assert keyed.client.get("/v1/fleets", headers=keyed.key("acme")).status_code == 200


def test_signing_out_ends_it_here_and_leads_on_to_the_provider(keyed: Keyed, provider: IdentityProvider) -> None:
    """OpenID Connect RP-Initiated Logout 1.0, 2 (from memory): hint, client, and where to come back to."""
    come_back(keyed, set_out(keyed))
    page = keyed.client.get("/bench", headers=HTML).text
    kept = keyed.client.cookies["coldwright_session"]
    id_token = keyed.client.cookies["coldwright_id_token"]
    out = keyed.client.post("/sign-out", data={"form_token": token_in(page)}, headers=HTML, follow_redirects=False)
    assert out.status_code == 200
    found = re.search(r'content="0;url=([^"]+)"', out.text)
    assert found is not None
    there = urlsplit(unescape(found[1]))
    assert f"{there.scheme}://{there.netloc}{there.path}" == f"{provider.issuer}/end"
    sent = {"of": ["somebody"], "id_token_hint": [id_token], "client_id": [CLIENT]}
    assert parse_qs(there.query) == sent | {"post_logout_redirect_uri": [f"{HERE}/sign-in"]}
    assert "coldwright_id_token" not in keyed.client.cookies
    assert "coldwright_account" not in keyed.client.cookies
    keyed.client.cookies.set("coldwright_session", kept)
    assert keyed.client.get("/bench", headers=HTML, follow_redirects=False).status_code == 303
    with keyed.database.reading() as connection:
        assert connection.execute(select(sessions)).all() == []


def test_a_session_ends_with_the_token_and_is_renewed_without_a_question(
    keyed: Keyed, provider: IdentityProvider
) -> None:
    come_back(keyed, set_out(keyed))
    with keyed.database.writing() as connection:
        kept = connection.execute(select(sessions)).one()
        assert timedelta(seconds=60) <= kept.expires_at - kept.created_at <= timedelta(seconds=120), "by `exp`"
        connection.execute(update(sessions).values(expires_at=datetime.now(UTC) - timedelta(seconds=1)))
    keyed.client.app.state.services.forget(keyed.client.cookies["coldwright_session"])
    ended = keyed.client.get("/yard?fleet=demo", headers=HTML, follow_redirects=False)
    asked = keyed.client.get(ended.headers["location"], headers=HTML, follow_redirects=False)
    assert asked.headers["location"].startswith("/sign-in/provider?silent=yes&next=/yard")
    for asks in (True, False):
        provider.asks_something = asks
        leave = keyed.client.get(asked.headers["location"], headers=HTML, follow_redirects=False)
        assert parse_qs(urlsplit(leave.headers["location"]).query)["prompt"] == ["none"]
        page = come_back(keyed, httpx.get(leave.headers["location"]).headers["location"].removeprefix(HERE))
        if asks:
            assert page.status_code == 401
            assert "Your session has ended" in page.text
        else:
            assert 'content="0;url=/yard?fleet=demo"' in page.text
    assert keyed.client.get("/yard", headers=HTML).status_code == 200


@pytest.mark.parametrize("there", ["//elsewhere.example", "https://elsewhere.example/", "/\\elsewhere.example"])
def test_it_leads_nowhere_else(keyed: Keyed, there: str) -> None:
    assert 'content="0;url=/yard"' in come_back(keyed, set_out(keyed, there)).text


def test_words_of_the_provider_are_mapped_to_scopes(
    tmp_path_factory: pytest.TempPathFactory, registry: Registry, provider: IdentityProvider
) -> None:
    provider.claims = {"scope": None, "groups": ["crew", "canteen"], "company": "acme"}
    settings = provider.settings(HERE) | {
        "allowed_hosts": "*",
        "oidc_scope_map": "crew=field+calculate, office=book",
        "oidc_scope_claim": "groups",
        "oidc_tenant_claim": "company",
    }
    with keyed_app(tmp_path_factory.mktemp("mapped"), registry, **settings) as keyed:
        assert come_back(keyed, set_out(keyed)).status_code == 200
        assert keyed.client.get("/bench", headers=HTML).status_code == 200
        assert keyed.client.get("/yard", headers=HTML).status_code == 403


@pytest.mark.parametrize(
    ("environment", "named"),
    [
        ({"CLIENT_ID": "c"}, "OIDC_ISSUER"),
        ({"CLIENT_ID": "c", "ISSUER": "https://identity.example"}, "PUBLIC_URL"),
        ({"CLIENT_ID": "c", "ISSUER": "http://identity.example"}, "https alone"),
        ({"SCOPE_MAP": "crew=everything"}, "SCOPE_MAP"),
        ({"SCOPE_MAP": "=book"}, "SCOPE_MAP"),
    ],
)
def test_settings_with_which_nobody_could_sign_in_safely_are_refused(environment: dict[str, str], named: str) -> None:
    sent = {f"COLDWRIGHT_OIDC_{name}": value for name, value in environment.items()}
    if named == "https alone":
        sent["COLDWRIGHT_PUBLIC_URL"] = "https://plans.example.com"
    with pytest.raises(SettingError, match=named):
        from_environment(sent)
