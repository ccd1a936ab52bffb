"""Jobs that are sent as lines: any number of items, each with an error of its own; half a body makes no job. Data invented."""

import gzip
import json
import socket
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
import sqlalchemy
from hypothesis import given
from hypothesis import strategies as st
from invented_calculators import registry_with_invented
from keyed import keyed_app
from litestar import Litestar
from litestar.testing import TestClient
from running import running

from coldwright.service.app import create_app
from coldwright.service.jobs.lines import Lines
from coldwright.service.settings import Settings
from coldwright.store.job_tables import job_items, jobs
from coldwright.store.jobs import New, NewItem, create_job

Client = TestClient[Litestar] | httpx.Client
Body = dict[str, Any]
LINES = {"content-type": "application/x-ndjson"}
HEAD = b'{"calculator": "invented.doubled", "keep": ["/results/doubled"]}'
LONGEST = 20_000


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient[Litestar]]:
    """A service whose limits are soon reached."""
    settings = Settings(
        database_url=f"sqlite:///{tmp_path_factory.mktemp('lines')}/store.sqlite3",
        engine="inline",
        largest_body=LONGEST,
        largest_batch_body=200_000,
        largest_upload=2_000_000,
        job_items=15_000,
    )
    with TestClient(create_app(settings, registry_with_invented()), raise_server_exceptions=False) as client:
        yield client


def line(number: int, name: str = "") -> bytes:
    item = {"id": name or f"n{number}", "given": {"length": {"value": number / 100, "unit": "m"}}}
    return json.dumps(item).encode()


def sent(
    client: Client, *lines: bytes, status: int = 202, key: str = "", headers: dict[str, str] | None = None
) -> Body:
    named = LINES | (headers or {}) | ({"idempotency-key": key} if key else {})
    reply = client.post("/v1/jobs", content=b"\n".join(lines), headers=named)
    assert reply.status_code == status, reply.text
    document: Body = reply.json()
    return document


def ended(client: Client, job: Body) -> list[Body]:
    deadline = time.monotonic() + 180
    while "finished_at" not in (status := client.get(f"/v1/jobs/{job['id']}").json()):
        assert time.monotonic() < deadline, status
        time.sleep(0.02)
    found: list[Body] = client.get(f"/v1/jobs/{job['id']}/results?page_size=1000").json()["results"]
    return found


def shown(client: TestClient[Litestar]) -> int:
    """How many jobs a caller sees."""
    return len(client.get("/v1/jobs?page_size=1000").json()["jobs"])


def test_lines_come_to_the_same_as_a_list(small: TestClient[Litestar]) -> None:
    job = sent(small, HEAD, *(line(n) for n in range(30)))
    assert (job["total"], job["calculator"]) == (30, "invented.doubled")
    items = [json.loads(line(n)) for n in range(30)]
    whole = small.post("/v1/jobs", json=json.loads(HEAD) | {"items": items}).json()
    assert ended(small, job) == ended(small, whole)


def test_a_byte_order_mark_before_the_first_line_is_no_fault(small: TestClient[Litestar]) -> None:
    assert sent(small, b"\xef\xbb\xbf" + HEAD, line(1))["total"] == 1


@pytest.mark.parametrize("packed", [False, True])
def test_more_items_than_a_list_may_have(small: TestClient[Litestar], packed: bool) -> None:
    body = b"\n".join([HEAD, *(line(n) for n in range(12_000))])
    if packed:  # of two members, in many pieces
        body = gzip.compress(body[:5000]) + gzip.compress(body[5000:])
    pieces = (body[start : start + 7001] for start in range(0, len(body), 7001))
    headers = LINES | ({"content-encoding": "gzip"} if packed else {})
    reply = small.post("/v1/jobs", content=pieces, headers=headers)
    assert reply.status_code == 202, reply.text
    job = reply.json()
    assert (job["total"], job["failed"]) == (12_000, 0)
    small.delete(f"/v1/jobs/{job['id']}")
    first, last = (
        small.app.state.services.database.engine.connect()
        .execute(
            sqlalchemy.select(job_items.c.name, job_items.c.given).where(
                job_items.c.job == job["id"], job_items.c.number == n
            )
        )
        .one()
        for n in (0, 11_999)
    )
    assert (first.name, last.name) == ("n0", "n11999")
    assert json.loads(last.given) == json.loads(line(11_999))["given"]


BAD: list[tuple[bytes, int, str]] = [
    (b"nothing", 400, ""),
    (b"\xff\xfe", 400, ""),
    (b'{"id": "x", "given": {}, "id": "y"}', 400, ""),
    (b'{"id": "x", "given": {"a": 1}, "given": {}}', 400, ""),
    (b"[" * 5000, 400, ""),
    (b'{"id": "x"}', 422, "#/given"),
    (b'{"given": {}}', 422, "#/id"),
    (b'{"id": "", "given": {}}', 422, "#/id"),
    (b'{"id": "a\\u0000b", "given": {}}', 422, "#/id"),
    (b'{"id": "' + b"x" * 201 + b'", "given": {}}', 422, "#/id"),
    (b'{"id": "x", "given": []}', 422, "#/given"),
    (b'{"id": "x", "given": null}', 422, "#/given"),
    (b'{"id": "x", "given": {}, "more": 1}', 422, "#/more"),
    (b"7", 422, "#"),
    (HEAD, 422, "#/calculator"),
    (b'{"id": "x", "given": {"a": "' + b"x" * LONGEST + b'"}}', 413, ""),
]


def test_each_line_has_an_error_of_its_own(small: TestClient[Litestar]) -> None:
    """Among them empty lines, lines that end as Windows ends them, and an id that was there already."""
    good = [line(1, "a:b"), b"", b"  \t", line(2) + b"\r", line(3, "n2")]
    job = sent(small, HEAD, *good, *(bad for bad, _, _ in BAD), line(4))
    assert (job["total"], job["failed"]) == (len(BAD) + 4, len(BAD) + 1)
    first, second, repeated, *failed, last = ended(small, job)
    assert [(r["id"], r["status"]) for r in (first, second, last)] == [("a:b", 200), ("n2", 200), ("n4", 200)]
    assert (repeated["id"], repeated["status"]) == ("n2", 422)
    assert [(e["pointer"], e["code"]) for e in repeated["problem"]["errors"]] == [("#/id", "repeated")]
    for number, (result, (bad, status, pointer)) in enumerate(zip(failed, BAD, strict=True), len(good) + 2):
        assert (result["id"], result["status"]) == (f"line {number}", status), bad[:60]
        if pointer:
            assert pointer in [e["pointer"] for e in result["problem"]["errors"]], bad[:60]
        assert len(result["problem"]["detail"]) < 500
    assert small.get(f"/v1/jobs/{job['id']}").json()["state"] == "succeeded_with_failures"


def test_an_input_with_a_member_twice_is_refused_by_who_reads_it(small: TestClient[Litestar]) -> None:
    twice = b'{"id": "x", "given": {"length": {"value": 1, "unit": "m"}, "length": {"value": 2, "unit": "m"}}}'
    nested = b'{"id": "y", "given": {"length": ' + b"[" * 3000 + b"]" * 3000 + b"}}"
    assert [r["status"] for r in ended(small, sent(small, HEAD, twice, nested))] == [400, 400]


@pytest.mark.parametrize(
    ("first", "status", "pointer"),
    [
        (b"", 422, "#/items"),
        (HEAD, 422, "#/items"),
        (line(1), 422, "#/calculator"),
        (b'{"calculator": "invented.doubled", "keep": "changes"}', 422, "#/keep"),
        (b'{"calculator": "invented.doubled", "items": []}', 422, "#/items"),
        (b'{"calculator": "no.such"}', 404, ""),
        (b'{"calculator": "invented.doubled", "calculator": "x"}', 400, ""),
        (b"\x00", 400, ""),
        (b"x" * (LONGEST + 1), 413, ""),
    ],
)
def test_a_first_line_that_says_nothing_makes_no_job(
    small: TestClient[Litestar], first: bytes, status: int, pointer: str
) -> None:
    before = shown(small)
    problem = sent(small, first, *([line(1)] if pointer != "#/items" or b"items" in first else []), status=status)
    assert not pointer or pointer in [e["pointer"] for e in problem["errors"]]
    assert shown(small) == before


def test_limits_are_clear_and_leave_no_half_job(small: TestClient[Litestar]) -> None:
    def never_ends() -> Iterator[bytes]:
        yield HEAD + b"\n" + line(1) + b"\n"
        for _ in range(40):
            yield b"x" * 65_536

    before = shown(small)
    bombs = gzip.compress(HEAD + b"\n" + line(1) + b"\n" * 3_000_000)
    for content, headers, words in (
        (never_ends(), {}, "more than the 2000000 bytes"),
        (b"\n" * 2_000_001, {}, "2000000 are taken"),
        (bombs, {"content-encoding": "gzip"}, "Unpacked the body has more than the 2000000 bytes"),
        (b"\n".join([HEAD, *(line(n) for n in range(15_001))]), {}, "at most 15000 items"),
    ):
        reply = small.post("/v1/jobs", content=content, headers=LINES | headers)
        assert (reply.status_code, reply.json()["type"]) == (413, "/problems/too-large")
        assert words in reply.json()["detail"]
    for body, words in (
        (gzip.compress(HEAD + b"\n" + line(1))[:-9], "ends too early"),
        (HEAD + b"\n" + line(1), "not gzip"),
        (gzip.compress(HEAD) + b"more", "not gzip"),
    ):
        reply = small.post("/v1/jobs", content=body, headers=LINES | {"content-encoding": "gzip"})
        assert (reply.status_code, words in reply.json()["detail"]) == (400, True)
    reply = small.post("/v1/jobs", content=HEAD, headers=LINES | {"content-encoding": "br"})
    assert (reply.status_code, reply.headers["accept-encoding"]) == (415, "gzip")
    document = {"calculator": "invented.doubled", "items": [json.loads(line(1))]}
    packed = gzip.compress(json.dumps(document).encode())
    json_too = {"content-type": "application/json", "content-encoding": "gzip"}
    assert small.post("/v1/jobs", content=packed, headers=json_too).status_code == 415
    pieces = iter([b'{"calculator": "', *[b"x" * 50_000] * 5])
    long = small.post("/v1/jobs", content=pieces, headers=json_too | {"content-encoding": "identity"})
    assert (long.status_code, long.json()["type"]) == (413, "/problems/too-large")
    assert shown(small) == before
    assert small.app.state.services.uploads == {}


def test_empty_lines_cost_nothing(small: TestClient[Litestar]) -> None:
    job = sent(small, b"\n" * 5000, HEAD, b"\r\n" * 100_000, line(1), b" \n" * 100_000)
    assert [r["id"] for r in ended(small, job)] == ["n1"]


def test_one_key_makes_one_job_of_lines(small: TestClient[Litestar]) -> None:
    body = (HEAD, line(1), line(2))
    first = sent(small, *body, key="lines")
    assert sent(small, *body, key="lines")["id"] == first["id"]
    ended(small, first)
    assert sent(small, *body, key="lines")["id"] == first["id"]
    before = shown(small)
    other = sent(small, HEAD, line(1), line(3), status=422, key="lines")
    assert other["errors"][0]["code"] == "repeated"
    reply = small.post("/v1/jobs?units=us", content=b"\n".join(body), headers=LINES | {"idempotency-key": "lines"})
    assert reply.status_code == 422
    assert shown(small) == before


def test_each_tenant_has_its_own_quota_and_sees_its_own_jobs(tmp_path: Path) -> None:
    with keyed_app(tmp_path, registry_with_invented(), tenant_jobs=1, tenant_storage_mib=1) as keyed:
        ours, theirs = keyed.key("ours"), keyed.key("theirs")

        def ended(job: str, headers: dict[str, str]) -> None:
            """It counts for the quota until then."""
            while "finished_at" not in keyed.client.get(f"/v1/jobs/{job}", headers=headers).json():
                time.sleep(0.02)

        first = sent(keyed.client, HEAD, line(1), headers=ours, key="k")
        ended(first["id"], ours)
        nobody = New("0" * 24, "a.b", "metric", [NewItem("x", b"{}")], None, "", "a.b@1 1.0.0")
        create_job(keyed.database, "ours", nobody)
        problem = sent(keyed.client, HEAD, line(1), status=429, headers=ours)
        assert problem["type"] == "/problems/too-many-jobs"
        assert sent(keyed.client, HEAD, line(1), headers=ours, key="k")["id"] == first["id"], "it is the same one"
        other = sent(keyed.client, HEAD, line(1), headers=theirs)
        assert keyed.client.get(f"/v1/jobs/{first['id']}", headers=theirs).status_code == 404
        assert keyed.client.get(f"/v1/jobs/{other['id']}", headers=theirs).status_code == 200
        ended(other["id"], theirs)
        long = b'{"id": "%d", "given": {"x": "' + b"x" * 100_000 + b'"}}'
        full = sent(keyed.client, HEAD, *(long % n for n in range(30)), status=403, headers=theirs)
        assert full["type"] == "/problems/storage-used"
        assert len(keyed.client.get("/v1/jobs", headers=theirs).json()["jobs"]) == 1


@given(st.lists(st.sampled_from([b"", b" ", b"a", b"bb", b"c" * 6, b"d" * 7, b"e" * 30]), max_size=12), st.data())
def test_lines_are_cut_alike_whatever_the_pieces(texts: list[bytes], data: st.DataObject) -> None:
    """Against the plain way: the whole body split at once."""
    body = b"\n".join(texts)
    lines, found = Lines(6), list[tuple[int, bytes | int]]()
    rest = body
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        lines.take(rest[:size], lambda number, text: found.append((number, text)))
        rest = rest[size:]
    lines.end(lambda number, text: found.append((number, text)))
    expected = [(n, t if len(t) <= 6 else len(t)) for n, t in enumerate(body.split(b"\n"), 1) if t.strip()]
    assert found == expected


# --- a connection that breaks, and a service that is killed -----------------------------------------------------------


def half_sent(port: int, body: bytes) -> socket.socket:
    """A request whose body goes on, of which so much has been sent."""
    connection = socket.create_connection(("127.0.0.1", port))
    head = "POST /v1/jobs HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/x-ndjson\r\nContent-Length: 90000000\r\n\r\n"
    connection.sendall(head.encode() + body)
    return connection


def test_what_breaks_off_leaves_nothing(tmp_path: Path) -> None:
    """The caller goes, the caller falls silent, the service is killed: and what was acknowledged before is there."""
    body = HEAD.replace(b"invented.doubled", b"electrical.service") + b"\n" + b"\n".join(line(n) for n in range(20_000))
    store = f"sqlite:///{tmp_path}/coldwright.sqlite3"

    def states() -> list[str]:
        engine = sqlalchemy.create_engine(store)
        with engine.connect() as connection:
            found = list(connection.scalars(sqlalchemy.select(jobs.c.state)))
        engine.dispose()
        return found

    def until(receiving: int) -> None:
        deadline = time.monotonic() + 30
        while states().count("receiving") != receiving:
            assert time.monotonic() < deadline, states()
            time.sleep(0.05)

    with running(tmp_path, {"log_level": "warning", "body_seconds": "4"}) as service:
        gone = half_sent(service.port, body)
        until(1)
        gone.close()
        until(0)
        silent = half_sent(service.port, body)
        until(1)
        until(0)
        assert silent.recv(4096).startswith(b"HTTP/1.1 408")
        silent.close()
        assert httpx.get(f"{service.url}/v1/jobs", timeout=10).json() == {"jobs": []}
        killed = half_sent(service.port, body)
        until(1)
        service.kill()
        killed.close()
    engine = sqlalchemy.create_engine(store)
    with engine.begin() as connection:
        connection.execute(sqlalchemy.update(jobs).values(moved_at=datetime.now(UTC) - timedelta(hours=3)))
    engine.dispose()
    with running(tmp_path, {"log_level": "warning"}) as service:
        assert httpx.get(f"{service.url}/v1/jobs", timeout=10).json() == {"jobs": []}
        deadline = time.monotonic() + 30
        while states():
            assert time.monotonic() < deadline, "rows are left of what broke off"
            time.sleep(0.1)
