"""Keys and scopes: one mechanism for every address."""

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from databases import migrated
from keyed import Keyed, guarded_endpoints, keyed_app, send
from litestar.testing import TestClient
from sqlalchemy import delete

from coldwright.cli import main
from coldwright.commands.errors import CommandError
from coldwright.commands.serving import refuse_open_address
from coldwright.registry import Registry
from coldwright.service.app import all_endpoints, create_app
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.service.http.hosts import AllowedHosts, allowed_hosts, is_loopback
from coldwright.service.settings import Settings
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key, list_keys, revoke_key
from coldwright.store.schema import api_keys


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("keys"), registry) as made:
        yield made


def test_what_is_public_is_this_and_no_more(registry: Registry) -> None:
    public = {e.path for e in all_endpoints(registry) if e.scope == "public"}
    assert public == {
        "/",
        "/health/live",
        "/health/ready",
        "/metrics",
        "/openapi/v1.json",
        "/openapi/v1.html",
        "/problems",
        "/problems/{slug}",
        "/sign-in",
        "/sign-in/again",
        "/assets/{name}",
    }
    assert {e.scope for e in all_endpoints(registry)} - {"public"} <= ALL_SCOPES


def test_no_address_answers_without_a_key(keyed: Keyed, registry: Registry) -> None:
    for endpoint in guarded_endpoints(registry):
        for headers in (
            {},
            {"authorization": "Bearer cwk_wrong"},
            {"authorization": "Basic YTpi"},
            {"x-api-key": "wrong"},
        ):
            reply = send(keyed.client, endpoint, headers)
            assert reply.status_code == 401, (endpoint.path, headers)
            assert reply.json()["type"] == "/problems/key-missing"
            assert reply.headers["www-authenticate"].startswith("Bearer")


def test_no_address_answers_a_key_without_its_scope(keyed: Keyed, registry: Registry) -> None:
    """Each key lacks one scope: it is refused where that is asked for, and let in everywhere else."""
    for scope in ALL_SCOPES:
        headers = keyed.key("acme", *(ALL_SCOPES - {scope}))
        for endpoint in guarded_endpoints(registry):
            if endpoint.operation_id == "streamVerdicts":
                continue  # held to the same guard; an open stream is tested elsewhere
            reply = send(keyed.client, endpoint, headers)
            if endpoint.scope == scope:
                assert reply.status_code == 403, endpoint.path
                assert reply.json()["type"] == "/problems/scope-missing"
                assert scope in reply.json()["detail"]
            else:
                assert reply.status_code not in (401, 403), endpoint.path


def test_a_key_may_come_in_either_header(keyed: Keyed) -> None:
    headers = keyed.key("acme", "calculate")
    secret = headers["authorization"].removeprefix("Bearer ")
    for sent in (headers, {"authorization": f"bearer {secret}"}, {"x-api-key": secret}):
        assert keyed.client.get("/v1/calculators", headers=sent).status_code == 200
    assert keyed.client.get(f"/v1/calculators?key={secret}").status_code == 401


def test_the_units_of_the_key_are_the_default(keyed: Keyed) -> None:
    address = "/v1/calculators/electrical/service"
    given = keyed.client.get(address, headers=keyed.key("acme")).json()["examples"][0]["given"]
    metric = keyed.client.post(address, json=given, headers=keyed.key("acme")).json()
    us = keyed.client.post(address, json=given, headers=keyed.key("acme", units="us")).json()
    asked = keyed.client.post(f"{address}?units=us", json=given, headers=keyed.key("acme")).json()
    assert us == asked
    assert us["digest"] == metric["digest"]


def test_a_revoked_key_is_refused_soon(tmp_path: Path, registry: Registry, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coldwright.service.http.authentication.REMEMBER_SECONDS", 0.0)
    with keyed_app(tmp_path, registry) as keyed:
        key, secret = create_key(keyed.database, "acme", ("calculate",))
        headers = {"x-api-key": secret}
        assert keyed.client.get("/v1/calculators", headers=headers).status_code == 200
        assert revoke_key(keyed.database, key.id)
        assert keyed.client.get("/v1/calculators", headers=headers).status_code == 401


def test_a_known_caller_is_answered_while_the_store_is_away(
    tmp_path: Path, registry: Registry, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Calculators need no store. Who was never seen is not let in, and nothing that needs the store is promised."""
    monkeypatch.setattr("coldwright.service.http.authentication.REMEMBER_SECONDS", 0.0)
    with keyed_app(tmp_path, registry) as keyed:
        known, unknown = keyed.key("acme"), keyed.key("acme")
        assert keyed.client.get("/v1/calculators", headers=known).status_code == 200
        (tmp_path / "store.sqlite3").rename(tmp_path / "away")
        (tmp_path / "store.sqlite3").mkdir()
        keyed.let_go_of_the_store()  # now, since what runs in the background may have opened it again
        assert keyed.client.get("/v1/calculators", headers=known).status_code == 200
        for reply in (
            keyed.client.get("/v1/calculators", headers=unknown),
            keyed.client.get("/v1/fleets", headers=known),
        ):
            assert reply.status_code == 503
            assert reply.json()["type"] == "/problems/store-unavailable"
            assert "retry-after" in reply.headers


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Database]:
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", f"sqlite:///{tmp_path}/keys.sqlite3")
    database = Database(f"sqlite:///{tmp_path}/keys.sqlite3")
    upgrade(database)
    yield database
    database.close()


def test_the_command_makes_lists_and_revokes(store: Database, capsys: pytest.CaptureFixture[str]) -> None:
    made = ["keys", "create", "--tenant", "acme", "--scopes", "calculate,book", "--name", "office", "--units", "us"]
    assert main(made) == 0
    told = capsys.readouterr().out
    secret = re.search(r"^secret\s+(\S+)$", told, re.MULTILINE)
    assert secret is not None
    [key] = list_keys(store)
    assert (key.tenant, key.scopes, key.name, key.units) == ("acme", ("book", "calculate"), "office", "us")
    assert main(["keys", "list"]) == 0
    listed = capsys.readouterr().out
    assert key.id in listed
    assert "in force" in listed
    assert secret[1] not in listed
    assert main(["keys", "revoke", key.id]) == 0
    assert main(["keys", "list"]) == 0
    assert "revoked" in capsys.readouterr().out
    assert main(["keys", "revoke", key.id]) == 2
    assert f"there is no key {key.id} in force" in capsys.readouterr().err


def test_a_key_names_its_person_and_what_that_person_is_qualified_for(
    store: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    made = ["keys", "create", "--tenant", "acme", "--scopes", "field", "--person", "Ann Hill"]
    assert main([*made, "--role", "electrician", "--role", "supervisor", "--role", "electrician"]) == 0
    told = capsys.readouterr().out
    assert "person  Ann Hill" in told
    [key] = list_keys(store)
    assert (key.person, key.roles) == ("Ann Hill", ("electrician", "supervisor"))
    assert main(["keys", "list"]) == 0
    assert "Ann Hill (electrician, supervisor)" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (["--role", "electrician"], "a role belongs to a person"),
        (["--person", "Ann", "--role", "Chief Electrician"], "a role is"),
        (["--person", "Ann\nBo"], "can be printed"),
        (["--person", "x" * 201], "can be printed"),
    ],
)
def test_a_key_of_nobody_has_no_role(
    store: Database, capsys: pytest.CaptureFixture[str], wrong: list[str], said: str
) -> None:
    assert main(["keys", "create", "--tenant", "acme", "--scopes", "field", *wrong]) == 2
    assert said in capsys.readouterr().err
    assert list_keys(store) == []


@pytest.mark.parametrize(
    ("tenant", "scopes", "said"),
    [("acme", "calculate,steal", "steal"), ("acme", " , ", "choose from"), ("Ac me", "book", "a tenant is")],
)
def test_the_command_refuses_what_it_cannot_make(
    store: Database, capsys: pytest.CaptureFixture[str], tenant: str, scopes: str, said: str
) -> None:
    assert main(["keys", "create", "--tenant", tenant, "--scopes", scopes]) == 2
    assert said in capsys.readouterr().err
    assert list_keys(store) == []


def test_a_name_that_would_write_over_the_list_is_refused(store: Database, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["keys", "create", "--tenant", "acme", "--scopes", "book", "--name", "x\x1b[2Jy"]) == 2
    assert "characters that can be printed" in capsys.readouterr().err
    assert list_keys(store) == []


@pytest.mark.parametrize(
    "address", ["", "nonsense", "mysql://u:secret@h/x", "postgresql://u:secret@h:port/x", "sqlite:///{broken}"]
)
def test_an_address_of_no_store_is_said_in_a_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, address: str
) -> None:
    (broken := tmp_path / "order.json").write_text("no database" * 100)
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", address.replace("{broken}", str(broken)))
    assert main(["keys", "list"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("coldwright: ")
    assert "secret" not in said


@pytest.mark.parametrize("wrong", [["serve", "--port", "99999"], ["openapi", "--write", "/nowhere/at/all.json"]])
def test_what_no_command_can_do_is_said_in_a_line(capsys: pytest.CaptureFixture[str], wrong: list[str]) -> None:
    """A port that is none was found only once the workers ran, and the service then stood still."""
    assert main(wrong) == 2
    assert capsys.readouterr().err.startswith("coldwright: ")


@pytest.mark.parametrize(
    ("host", "own"),
    [
        ("127.0.0.1", True),
        ("127.8.8.8", True),
        ("::1", True),
        ("[::1]", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("192.168.1.4", False),
        ("example.org", False),
        ("", False),
    ],
)
def test_which_addresses_only_this_machine_reaches(host: str, own: bool) -> None:
    assert is_loopback(host) is own


def test_no_keys_no_open_address(
    tmp_path: Path, store: Database, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["serve", "--host", "0.0.0.0", "--port", "1"]) == 2
    assert "COLDWRIGHT_ALLOWED_HOSTS" in capsys.readouterr().err
    monkeypatch.setenv("COLDWRIGHT_ALLOWED_HOSTS", "plans.example.com")
    assert main(["serve", "--host", "0.0.0.0", "--port", "1"]) == 2
    said = capsys.readouterr().err
    assert "coldwright keys create" in said
    assert "COLDWRIGHT_REQUIRE_KEYS" in said
    settings = Settings(allowed_hosts="plans.example.com")
    with pytest.raises(CommandError):
        refuse_open_address(settings, "0.0.0.0", store)
    refuse_open_address(settings, "127.0.0.1", store)
    refuse_open_address(Settings(allowed_hosts="plans.example.com", require_keys=True), "0.0.0.0", store)
    create_key(store, "acme", ("book",))
    refuse_open_address(settings, "0.0.0.0", store)
    with pytest.raises(CommandError, match="COLDWRIGHT_ALLOWED_HOSTS"):
        refuse_open_address(Settings(require_keys=True), "0.0.0.0", store)


def test_keys_are_needed_for_the_life_of_the_process(tmp_path: Path, registry: Registry) -> None:
    """Bound elsewhere than loopback: not even the loss of every key opens it."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline", allowed_hosts="*")
    with TestClient(create_app(settings, registry, bound="0.0.0.0"), raise_server_exceptions=False) as client:
        keyed = Keyed(client)
        headers = keyed.key("acme")
        assert client.get("/v1/fleets", headers=headers).status_code == 200
        with keyed.database.writing() as connection:
            connection.execute(delete(api_keys))
        for _ in range(3):
            assert client.get("/v1/fleets").status_code == 401
            time.sleep(0.1)


def test_a_loopback_service_with_keys_stays_one(tmp_path: Path, registry: Registry) -> None:
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    database = Database(settings.database_url)
    upgrade(database)
    create_key(database, "acme", ("fleet",))
    database.close()
    app = create_app(settings, registry, bound="127.0.0.1")
    with TestClient(app, raise_server_exceptions=False) as client:
        with app.state.services.database.writing() as connection:
            connection.execute(delete(api_keys))
        assert client.get("/v1/fleets", headers={"host": "localhost"}).status_code == 401


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200),
        ("LOCALHOST.:8080", 200),
        ("127.0.0.1:1", 200),
        ("[::1]:8080", 200),
        ("evil.example", 421),
        ("evil.example:8080", 421),
        ("localhost.evil.example", 421),
        ("127.0.0.1.evil.example", 421),
        ("localhost@evil.example", 421),
        ("", 421),
    ],
)
def test_on_loopback_only_names_of_loopback_are_answered(
    tmp_path: Path, registry: Registry, host: str, status: int
) -> None:
    """A page that has its own name lead to this machine (DNS rebinding) gets nothing."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    app = create_app(settings, registry, bound="127.0.0.1")
    with TestClient(app, raise_server_exceptions=False) as client:
        reply = client.get("/v1/calculators", headers={"host": host})
        assert reply.status_code == status
        assert client.get("/no/such/address", headers={"host": host}).status_code == (404 if status == 200 else status)
        assert client.get("/health/live", headers={"host": host}).status_code == 200
        assert client.get("/health/ready", headers={"host": host}).status_code == 200
    if status != 200:
        assert reply.json()["type"] == "/problems/host-not-allowed"
        assert "COLDWRIGHT_ALLOWED_HOSTS" in reply.json()["detail"]


def test_names_are_those_of_the_setting() -> None:
    named = allowed_hosts("plans.example.com, *.example.net", "0.0.0.0")
    assert [
        named.allows(h) for h in ("plans.example.com:443", "a.b.example.net", "example.net", "localhost", None)
    ] == [
        True,
        True,
        False,
        False,
        False,
    ]
    assert allowed_hosts("", "127.8.8.8").allows("127.8.8.8:8080")
    assert AllowedHosts(["*"]).allows("anything")


def test_once_there_is_a_key_everybody_needs_one(tmp_path: Path, registry: Registry) -> None:
    with keyed_app(tmp_path, registry, require_keys=False) as keyed:
        assert keyed.client.get("/v1/fleets").status_code == 200
        headers = keyed.key("acme")
        assert keyed.client.get("/v1/fleets", headers=headers).status_code == 200
    with keyed_app(tmp_path, registry, require_keys=False) as again:
        assert again.client.get("/v1/fleets").status_code == 401
        assert again.client.get("/v1/fleets", headers=headers).status_code == 200
