"""Bearer tokens of an identity provider: only good ones, of the right issuer, for this service, in time."""

import hmac
import json
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import jwt
import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry

ISSUER, AUDIENCE = "https://identity.example", "coldwright"


class Provider:
    """An identity provider's keys, on a loopback port."""

    def __init__(self) -> None:
        self.key = rsa.generate_private_key(public_exponent=65537, key_size=2048)
        self.other = rsa.generate_private_key(public_exponent=65537, key_size=2048)
        jwk = json.loads(jwt.algorithms.RSAAlgorithm.to_jwk(self.key.public_key()))
        keys = json.dumps({"keys": [jwk | {"kid": "one", "use": "sig", "alg": "RS256"}]}).encode()
        self.asked = 0
        provider = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                provider.asked += 1
                self.send_response(200)
                self.send_header("Content-Type", "application/json")
                self.end_headers()
                self.wfile.write(keys)

            def log_message(self, *_: object) -> None:
                return

        self.server = HTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self.server.server_port}/keys"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def token(self, *, key: Any = None, algorithm: str = "RS256", kid: str | None = "one", **changes: Any) -> str:
        now = int(time.time())
        claims = {"iss": ISSUER, "aud": AUDIENCE, "sub": "ann", "tenant": "acme", "iat": now, "exp": now + 60}
        claims = {k: v for k, v in (claims | {"scope": "calculate fleet"} | changes).items() if v is not None}
        headers = {"kid": kid} if kid else {}
        return jwt.encode(claims, self.key if key is None else key, algorithm=algorithm, headers=headers)

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


@pytest.fixture(scope="module")
def provider() -> Iterator[Provider]:
    running = Provider()
    yield running
    running.stop()


def settings_for(url: str) -> dict[str, str]:
    return {"oidc_jwks_url": url, "oidc_issuer": ISSUER, "oidc_audience": AUDIENCE}


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry, provider: Provider) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("tokens"), registry, **settings_for(provider.url)) as made:
        yield made


def get(keyed: Keyed, token: str, address: str = "/v1/fleets") -> Any:
    return keyed.client.get(address, headers={"authorization": f"Bearer {token}"})


def test_a_good_token_is_its_tenant_with_its_scopes(keyed: Keyed, provider: Provider) -> None:
    assert get(keyed, provider.token()).status_code == 200
    assert get(keyed, provider.token(), "/v1/calculators").status_code == 200
    assert get(keyed, provider.token(), "/v1/bookings").status_code == 403
    assert get(keyed, provider.token(scope="fly admin"), "/v1/fleets").status_code == 403
    assert get(keyed, provider.token(scope=None)).status_code == 403
    assert get(keyed, provider.token(scope=["fleet"])).status_code == 403


def test_a_key_works_beside_tokens_and_shares_the_tenant(keyed: Keyed, provider: Provider) -> None:
    key = keyed.key("acme")
    described = keyed.client.get("/v1/calculators/booking/fleet_check", headers=key).json()
    fleet = described["examples"][0]["given"]["fleet"]
    assert keyed.client.put("/v1/fleets/shared", json=fleet, headers=key).status_code == 201
    assert get(keyed, provider.token(), "/v1/fleets/shared").status_code == 200
    assert get(keyed, provider.token(tenant="acme2"), "/v1/fleets/shared").status_code == 404


def test_a_name_chosen_at_the_provider_is_no_tenant_of_a_key(keyed: Keyed, provider: Provider) -> None:
    """Without a `tenant` the subject is its own tenant, and none that a key can have."""
    for subject in ("acme", "local", "a" * 80):
        assert get(keyed, provider.token(tenant=None, sub=subject)).json() == {"fleets": []}


BAD: dict[str, dict[str, Any]] = {
    "expired": {"exp": int(time.time()) - 10},
    "without-expiry": {"exp": None},
    "not-yet": {"nbf": int(time.time()) + 86_400},
    "other-audience": {"aud": "another-service"},
    "without-audience": {"aud": None},
    "other-issuer": {"iss": "https://evil.example"},
    "without-issuer": {"iss": None},
    "without-subject": {"sub": None},
    "unknown-key-id": {"kid": "two"},
    "without-key-id": {"kid": None},
}


@pytest.mark.parametrize("fault", BAD)
def test_a_bad_token_is_refused(keyed: Keyed, provider: Provider, fault: str) -> None:
    reply = get(keyed, provider.token(**BAD[fault]))
    assert reply.status_code == 401, reply.text
    assert reply.json()["type"] == "/problems/key-missing"
    assert reply.headers["www-authenticate"].startswith("Bearer")


def _signed_with_the_public_key(claims: str, public: bytes) -> str:
    """As if the published key were a shared secret: the oldest trick with such tokens."""
    head = jwt.utils.base64url_encode(b'{"alg":"HS256","kid":"one","typ":"JWT"}').decode()
    signature = hmac.digest(public, f"{head}.{claims}".encode(), "sha256")
    return f"{head}.{claims}.{jwt.utils.base64url_encode(signature).decode()}"


def test_another_s_signature_is_refused(keyed: Keyed, provider: Provider) -> None:
    good = provider.token()
    head, claims, signature = good.split(".")
    forged = jwt.utils.base64url_encode(
        json.dumps(jwt.decode(good, options={"verify_signature": False}) | {"tenant": "evil"}).encode()
    ).decode()
    public = provider.key.public_key().public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    for token in (
        provider.token(key=provider.other),
        provider.token(key="", algorithm="none"),
        _signed_with_the_public_key(claims, public),
        f"{head}.{forged}.{signature}",
        f"{head}.{claims}.",
        f"{head}.{claims}",
        "nonsense",
        "a.b.c",
        "é",
    ):
        header = {b"authorization": f"Bearer {token}".encode("latin-1")}
        assert keyed.client.get("/v1/fleets", headers=header).status_code == 401, token


def test_many_unknown_keys_do_not_send_us_to_the_provider_each_time(keyed: Keyed, provider: Provider) -> None:
    get(keyed, provider.token())
    before = provider.asked
    for number in range(50):
        assert get(keyed, provider.token(kid=f"unknown-{number}")).status_code == 401
    assert provider.asked - before <= 1


def test_keys_that_cannot_be_read_are_told_as_that(tmp_path: Path, registry: Registry, provider: Provider) -> None:
    gone = Provider()
    gone.stop()
    with keyed_app(tmp_path, registry, **settings_for(gone.url)) as keyed:
        for _ in range(2):
            reply = get(keyed, provider.token())
            assert reply.status_code == 503
            assert reply.json()["type"] == "/problems/identity-unavailable"
            assert int(reply.headers["retry-after"]) >= 1
        assert keyed.client.get("/v1/fleets", headers=keyed.key("acme")).status_code == 200, "keys work on"
        assert keyed.client.get("/v1/fleets").status_code == 401


def test_a_token_says_who_records_a_start_and_in_what_role(keyed: Keyed, provider: Provider) -> None:
    """Roles that are no list of words count for nothing; what the record claims counts for less."""
    for number, (roles, counted) in enumerate(((["technician"], "technician"), ("supervisor", None), ([7], None))):
        token = provider.token(scope="field", sub="ann@example.org", roles=roles)
        headers = {"authorization": f"Bearer {token}"}
        address = f"/v1/startups/by-token-{number}"
        made = keyed.client.put(address, json={"configuration": CONFIGURATION}, headers=headers)
        assert made.status_code == 201
        claim = seen("unit_level", "07:00", ok=True, extra={"by": "Cy Lake", "role": "supervisor"})
        sent = keyed.client.post(f"{address}/observations", json={"observations": [claim]}, headers=headers)
        assert sent.json()["kept"] == 1
        [kept] = keyed.client.get(f"{address}/observations", headers=headers).json()["observations"]
        assert (kept["by"], kept.get("role")) == ("ann@example.org", counted)
