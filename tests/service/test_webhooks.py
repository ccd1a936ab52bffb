"""Events sent to addresses: real receivers on loopback, slow, dead and hostile ones among them."""

import asyncio
import json
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID
from litestar import Litestar
from litestar.testing import TestClient
from orders import fleet, machine
from standardwebhooks import Webhook

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.events import runner
from coldwright.service.events.sending import NotSent, send, signed
from coldwright.service.settings import Settings
from coldwright.store import webhooks
from coldwright.store.events import Event

Client = TestClient[Litestar]


class Receiver:
    """A receiver that answers as it is told and keeps what it was sent."""

    def __init__(self) -> None:
        self.status, self.wait, self.location = 200, 0.0, ""
        self.got: list[tuple[dict[str, str], bytes]] = []
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["content-length"]))
                outer.got.append(({k.lower(): v for k, v in self.headers.items()}, body))
                time.sleep(outer.wait)
                self.send_response(outer.status)
                if outer.location:
                    self.send_header("location", outer.location)
                self.send_header("content-length", "0")
                self.end_headers()

            def log_message(self, *_: object) -> None:
                """Quiet."""

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)
        self.thread.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server.server_port}/events?from=yard"

    def events(self) -> list[dict[str, Any]]:
        return [json.loads(body) for _, body in self.got]


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    made = Receiver()
    yield made
    made.server.shutdown()
    made.server.server_close()


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Attempts follow each other at once."""
    monkeypatch.setattr(runner, "PAUSES", (0.1,))
    monkeypatch.setattr(runner, "LOOK_EVERY", 0.05)


@pytest.fixture
def shop(tmp_path: Path, registry: Registry, quick: None) -> Iterator[Client]:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    settings = Settings(database_url=url, engine="inline", webhooks_private=True)
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        yield client


def something_happens(client: Client, number: int = 1) -> None:
    for n in range(number):
        name = f"yard-{time.monotonic_ns()}-{n}"
        assert client.put(f"/v1/fleets/{name}", json=fleet(machine("middle", 150, 1))).status_code == 201


def eventually(wanted: Callable[[], Any], seconds: float = 30.0) -> Any:
    deadline = time.monotonic() + seconds
    while not (found := wanted()) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert found
    return found


def deliveries(client: Client, state: str = "") -> list[dict[str, Any]]:
    found = client.get(f"/v1/webhooks/w/deliveries{f'?state={state}' if state else ''}").json()["deliveries"]
    assert isinstance(found, list)
    return found


def test_an_event_comes_signed_as_the_standards_own_library_reads_it(shop: Client, receiver: Receiver) -> None:
    """Library: standardwebhooks (Standard Webhooks 1.0.0) verifies id, timestamp and signature."""
    made = shop.put("/v1/webhooks/w", json={"url": receiver.url})
    assert made.status_code == 201
    [secret] = made.json()["secrets"]
    assert "secrets" not in shop.get("/v1/webhooks/w").json()
    something_happens(shop)
    eventually(lambda: receiver.got)
    headers, body = receiver.got[0]
    payload = Webhook(secret).verify(body, headers)
    assert payload["type"] == "fleet.changed"
    assert payload["data"]["subject"].startswith("yard-")
    assert len(body) < 20_000
    eventually(lambda: [d["state"] for d in deliveries(shop)] == ["sent"])


def test_what_is_refused_is_sent_again_under_the_same_id(shop: Client, receiver: Receiver) -> None:
    receiver.status = 500
    shop.put("/v1/webhooks/w", json={"url": receiver.url})
    something_happens(shop)
    eventually(lambda: len(receiver.got) >= 3)
    receiver.status = 204
    eventually(lambda: [d["state"] for d in deliveries(shop)] == ["sent"])
    assert len({headers["webhook-id"] for headers, _ in receiver.got}) == 1
    assert deliveries(shop)[0]["attempts"] == len(receiver.got)


def test_only_the_kinds_that_are_wanted_and_only_what_is_new(shop: Client, receiver: Receiver) -> None:
    something_happens(shop)
    shop.put("/v1/webhooks/w", json={"url": receiver.url, "kinds": ["machine.state"]})
    something_happens(shop)
    shop.put("/v1/fleets/hall", json=fleet(machine("middle", 150, 1)))
    broken = {"type": "middle", "state": "out_of_service"}
    assert shop.put("/v1/fleets/hall/machines/M-1", json=broken).status_code == 201
    eventually(lambda: receiver.got)
    assert [e["type"] for e in receiver.events()] == ["machine.state"]


def test_a_secret_rotates_and_both_sign_for_a_while(shop: Client, receiver: Receiver) -> None:
    [old] = shop.put("/v1/webhooks/w", json={"url": receiver.url}).json()["secrets"]
    new, still = shop.post("/v1/webhooks/w/rotate").json()["secrets"]
    assert still == old != new
    something_happens(shop)
    eventually(lambda: receiver.got)
    headers, body = receiver.got[0]
    for secret in (old, new):
        Webhook(secret).verify(body, headers)


def test_410_disables_and_a_put_enables_again(shop: Client, receiver: Receiver) -> None:
    receiver.status = 410
    shop.put("/v1/webhooks/w", json={"url": receiver.url})
    something_happens(shop)
    eventually(lambda: shop.get("/v1/webhooks/w").json()["state"] == "disabled")
    assert "410" in shop.get("/v1/webhooks/w").json()["why"]
    assert [d["state"] for d in deliveries(shop, "dead")] == ["dead"]
    receiver.status = 200
    etag = shop.get("/v1/webhooks/w").headers["etag"]
    assert shop.put("/v1/webhooks/w", json={"url": receiver.url}, headers={"if-match": etag}).status_code == 200
    assert shop.post("/v1/webhooks/w/replay", json={"after": 0}).status_code == 202
    eventually(lambda: [d["state"] for d in deliveries(shop)] == ["sent"])


def test_what_is_never_taken_is_given_up_after_three_days(shop: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runner, "PAUSES", (4 * 86_400,))
    shop.put("/v1/webhooks/w", json={"url": "http://127.0.0.1:9/nobody"})
    something_happens(shop)
    [dead] = eventually(lambda: deliveries(shop, "dead"))
    assert dead["attempts"] == 1
    assert dead["said"]


def test_a_slow_receiver_holds_up_nobody_else(
    shop: Client, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Receiver()
    slow.wait = 120.0
    monkeypatch.setattr("coldwright.service.events.sending.SECONDS", 90.0)
    shop.put("/v1/webhooks/slow", json={"url": slow.url})
    shop.put("/v1/webhooks/w", json={"url": receiver.url})
    something_happens(shop, 5)
    eventually(lambda: len(receiver.got) == 5)
    assert sorted(e["data"]["number"] for e in receiver.events()) == [1, 2, 3, 4, 5]
    assert len(slow.got) <= runner.FOR_ONE
    assert [d["state"] for d in shop.get("/v1/webhooks/slow/deliveries").json()["deliveries"]] == ["waiting"] * 5
    slow.server.shutdown()
    slow.server.server_close()


def test_a_tenant_with_many_slow_receivers_has_so_many_calls_at_a_time(
    shop: Client, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Receiver()
    slow.wait = 120.0
    monkeypatch.setattr("coldwright.service.events.sending.SECONDS", 90.0)
    for number in range(runner.FOR_TENANT):
        shop.put(f"/v1/webhooks/slow-{number}", json={"url": slow.url})
    something_happens(shop, 3)
    eventually(lambda: len(slow.got) == runner.FOR_TENANT)
    time.sleep(1)
    assert len(slow.got) == runner.FOR_TENANT
    slow.server.shutdown()
    slow.server.server_close()


BAD = ["ftp://x/y", "https://", "https://user:pw@host/", "https://host/a b", "javascript:1", "//host", ""]
BAD += ["https://[::1", "https://[zz]/", "https://a[::1]/", "https://:443/", "https://host:0/", "https://host:99999/"]
BAD += [
    "https://host/a\0b",
    "https://h\1st/",
    "https://host:65536/",
    "https://host:x/",
    "https://a..example/",
    f"https://{'a' * 64}.example/",
]


def test_bad_addresses_and_kinds_are_refused(shop: Client) -> None:
    for url in BAD:
        reply = shop.put("/v1/webhooks/w", json={"url": url})
        assert (reply.status_code, reply.json()["errors"][0]["pointer"]) == (422, "#/url"), url
        assert "not an address that can be called" in reply.json()["errors"][0]["detail"]
    assert "Invalid IPv6" in shop.put("/v1/webhooks/w", json={"url": "https://[::1"}).json()["errors"][0]["detail"]
    good = shop.put("/v1/webhooks/bracketed", json={"url": "https://[2001:db8::1]:8443/events?from=yard"})
    assert good.status_code == 201
    wrong = shop.put("/v1/webhooks/w", json={"url": "https://orders.example.com/", "kinds": ["job.done", "nothing"]})
    assert [e["pointer"] for e in wrong.json()["errors"]] == ["#/kinds/1"]
    assert shop.get("/v1/webhooks/w").status_code == 404
    assert shop.delete("/v1/webhooks/w").status_code == 404


def test_a_tenant_has_so_many_and_those_can_still_be_changed(shop: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coldwright.store.webhooks.MOST", 2)
    sent = {"url": "https://orders.example.com/"}
    assert [shop.put(f"/v1/webhooks/w{n}", json=sent).status_code for n in range(3)] == [201, 201, 409]
    changed = shop.put("/v1/webhooks/w1", json=sent | {"kinds": ["job.done"]}, headers={"if-match": "*"})
    assert changed.status_code == 200
    assert shop.delete("/v1/webhooks/w0").status_code == 204
    assert shop.put("/v1/webhooks/w2", json=sent).status_code == 201


# --- hostile addresses ------------------------------------------------------------------------------------------------


def delivery(url: str) -> webhooks.Delivery:
    now = datetime.now(UTC)
    to = webhooks.Webhook("w", url, (), "enabled", "", (webhooks.Secret(webhooks.new_secret()),), "", now)
    return webhooks.Delivery("acme", to, Event(1, "fleet.changed", "yard", b"{}", now), 0, now)


def outcome(url: str, *, private: bool = False) -> str:
    try:
        return str(asyncio.run(send(delivery(url), datetime.now(UTC), private=private)))
    except NotSent as error:
        return str(error)


@pytest.mark.parametrize(
    "url",
    [
        "https://127.0.0.1/x",
        "https://localhost/x",
        "https://[::1]/x",
        "https://10.1.2.3/x",
        "https://192.168.1.1/x",
        "https://169.254.169.254/latest/meta-data",
        "https://0.0.0.0/x",
        "https://[::ffff:127.0.0.1]/x",
        "https://[fd00::1]/x",
        "https://[64:ff9b::7f00:1]/x",
        "https://[64:ff9b:1::7f00:1]/x",
        "https://[2002:a00:1::]/x",
        "https://[::127.0.0.1]/x",
        "https://[fec0::1]/x",
        "https://[ff02::1]/x",
        "https://224.0.0.1/x",
        "https://192.0.0.8/x",
    ],
)
def test_private_addresses_are_not_called(url: str) -> None:
    assert "private address" in outcome(url)


def test_without_leave_only_https_is_called(receiver: Receiver) -> None:
    assert "https" in outcome(receiver.url)
    assert receiver.got == []


def test_a_name_with_one_private_address_among_others_is_not_called(monkeypatch: pytest.MonkeyPatch) -> None:
    async def both(*_: object, **__: object) -> list[Any]:
        return [(0, 0, 0, "", ("93.184.215.14", 443)), (0, 0, 0, "", ("127.0.0.1", 443))]

    async def tried() -> str:
        loop = asyncio.get_running_loop()
        monkeypatch.setattr(loop, "getaddrinfo", both)
        try:
            await send(delivery("https://rebinding.example/x"), datetime.now(UTC), private=False)
        except NotSent as error:
            return str(error)
        return "sent"

    assert "private address" in asyncio.run(tried())


def test_a_redirect_is_not_followed(receiver: Receiver) -> None:
    receiver.status, receiver.location = 307, "http://127.0.0.1:9/elsewhere"
    assert outcome(receiver.url, private=True) == "The receiver answered 307."
    assert len(receiver.got) == 1


def self_signed(folder: Path) -> Path:
    """A certificate for `localhost` that nobody vouches for, with its key."""
    key, name = (
        ec.generate_private_key(ec.SECP256R1()),
        x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")]),
    )
    begins = datetime(2026, 1, 1, tzinfo=UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=36500))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .sign(key, hashes.SHA256())
    )
    file = folder / "receiver.pem"
    plain = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    file.write_bytes(plain + certificate.public_bytes(Encoding.PEM))
    return file


def test_a_receiver_whose_certificate_nobody_vouches_for_gets_nothing(receiver: Receiver, tmp_path: Path) -> None:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(self_signed(tmp_path))
    plain = receiver.url
    receiver.server.socket = context.wrap_socket(receiver.server.socket, server_side=True)
    for _ in range(2):  # what is trusted is read once, and then kept
        said = outcome(plain.replace("http://127.0.0.1", "https://localhost"), private=True)
        assert "certificate verify failed" in said
    assert receiver.got == []


def test_the_signature_is_that_of_the_standards_own_example() -> None:
    """Library: standardwebhooks signs the same id, timestamp and payload alike."""
    secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    now = datetime(2027, 6, 1, 12, tzinfo=UTC)
    ours = signed(secret, "msg_1", int(now.timestamp()), b'{"test": 2432232314}')
    assert ours == Webhook(secret).sign("msg_1", now, '{"test": 2432232314}')
