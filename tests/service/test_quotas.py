"""How much may be asked: bodies, rates, requests at a time. Over the limit is a clear problem that says when to come back."""

import asyncio
import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION

from coldwright.engine.turns import Turns, asking_tenant
from coldwright.registry import Registry
from coldwright.service.http.in_turn import InTurn, NoPlace
from coldwright.service.http.limits import Limits
from coldwright.service.http.open_streams import OpenStreams
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.turnstile import IN_A_ROUND, Turnstile
from coldwright.service.settings import SettingError, Settings, from_environment, misspelt
from coldwright.store.records import Record, put_record

SERVICE = "/v1/calculators/electrical/service"
JSON = {"content-type": "application/json"}


def refused(limits: Limits, caller: str = "ann") -> ProblemRaised:
    with pytest.raises(ProblemRaised) as caught:
        limits.enter(caller, caller)
    return caught.value


def test_what_was_refused_is_not_counted_as_under_way() -> None:
    limits = Limits(Settings(concurrency=2))
    limits.enter("ann", "ann")
    limits.enter("ann", "ann")
    for _ in range(5):
        problem = refused(limits)
        assert problem.kind.slug == "overloaded"
        assert problem.headers["Retry-After"] == "1"
    limits.enter("bo", "bo")
    limits.leave("ann", "ann")
    limits.enter("ann", "ann")


def test_one_tenant_alone_has_nearly_everything_and_beside_others_its_share() -> None:
    limits = Limits(Settings(concurrency=64, total_concurrency=64))
    for number in range(56):
        limits.enter(f"ann{number % 2}", "ann")
    with pytest.raises(ProblemRaised) as caught:
        limits.enter("ann0", "ann")
    assert caught.value.kind.slug == "overloaded"
    assert caught.value.headers["Retry-After"] == "1"
    limits.enter("bo", "bo")  # the places that are kept free are for whoever has fewer
    assert (limits.share_of("ann"), limits.share_of("bo")) == (28, 28)
    for number in range(29):
        limits.leave(f"ann{number % 2}", "ann")
    limits.enter("ann0", "ann")
    with pytest.raises(ProblemRaised):
        limits.enter("ann0", "ann")
    limits.leave("bo", "bo")
    assert limits.share_of("ann") == 56
    assert Limits(Settings(tenant_concurrency=3)).share_of("ann") == 3


def test_turns_are_taken_by_weight_and_a_full_line_is_shared() -> None:
    turns: Turns[str] = Turns(6, {"bo": 2})
    line = [turns.join(tenant, threading.Event()) for tenant in ("ann", "ann", "ann", "ann", "bo", "bo")]
    assert None not in line
    assert turns.join("ann", threading.Event()) is None, "nobody has more than it"
    pushed = line[3]
    newcomer = turns.join("cy", threading.Event())
    assert newcomer is not None
    assert pushed is not None
    assert pushed.pushed_out
    assert turns.ahead_of("dee") == 3
    served = []
    while (ticket := turns.next()) is not None:
        served.append(ticket.tenant)
    assert served == ["ann", "bo", "cy", "bo", "ann", "ann"]


@given(asked=st.lists(st.sampled_from("abc"), max_size=60), gone=st.sets(st.integers(0, 59)))
def test_nobody_who_waits_is_passed_over(asked: list[str], gone: set[int]) -> None:
    """Equal weights: between two turns of a tenant that waits, no other has more than one; and all are served in the end."""
    turns: Turns[str] = Turns(100)
    tickets = [turns.join(tenant, threading.Event()) for tenant in asked]
    for number in gone & set(range(len(tickets))):
        turns.leave(tickets[number])  # type: ignore[arg-type]
    waiting = [t for n, t in enumerate(asked) if n not in gone]
    assert len(turns) == len(waiting)
    served = []
    while (ticket := turns.next()) is not None:
        served.append(ticket.tenant)
    assert sorted(served) == sorted(waiting)
    for place in range(len(served)):
        left = set(served[place:])
        assert set(served[place : place + len(left)]) == left


@given(asked=st.lists(st.sampled_from("abc") | st.none(), max_size=80))
def test_whoever_asks_seldom_is_next(asked: list[str | None]) -> None:
    """A tenant that waited for nothing is before every further one of those that wait all the while. None: one is served."""
    turns: Turns[str] = Turns(200)
    for tenant in asked:
        if tenant is None:
            turns.next()
        else:
            turns.join(tenant, threading.Event())
    behind = turns.join("seldom", threading.Event())
    ahead = turns.ahead_of("later")
    served = []
    while (ticket := turns.next()) is not None:
        served.append(ticket)
    assert behind in served[:4], "one of each other tenant at most goes first"
    assert ahead <= 4


def test_beside_a_crowd_with_three_times_the_weight_one_question_at_a_time_is_next() -> None:
    turns: Turns[str] = Turns(100, {"crowd": 3})
    for _ in range(50):
        turns.join("crowd", threading.Event())
    for _ in range(7):
        turns.next()
    for _ in range(5):
        turns.join("alone", threading.Event())
        served = [ticket.tenant for ticket in (turns.next(), turns.next(), turns.next(), turns.next()) if ticket]
        assert served == ["alone", "crowd", "crowd", "crowd"]


def test_the_loop_takes_requests_of_each_tenant_in_turn() -> None:
    """A hundred of one tenant's are ahead of another's one: it waits for one round of them."""
    order: list[str] = []

    async def ask(turnstile: Turnstile, tenant: str) -> None:
        await turnstile.enter(tenant)
        order.append(tenant)

    async def all_at_once() -> None:
        turnstile = Turnstile(200)
        crowd = [asyncio.create_task(ask(turnstile, "crowd")) for _ in range(100)]
        alone = asyncio.create_task(ask(turnstile, "alone"))
        gone = asyncio.create_task(ask(turnstile, "gone"))
        await asyncio.sleep(0)
        gone.cancel()
        await asyncio.gather(*crowd, alone)

    asyncio.run(all_at_once())
    assert len(order) == 101
    assert order.index("alone") <= IN_A_ROUND + 1


def test_streams_are_shared_by_the_tenants_that_have_any() -> None:
    streams = OpenStreams()
    for number in range(30):
        assert not streams.refusal(f"ann{number % 3}", "ann", 40)
        streams.opened(f"ann{number % 3}", "ann")
    assert not streams.refusal("bo", "bo", 40)
    streams.opened("bo", "bo")
    assert "tenant has 30" in streams.refusal("ann9", "ann", 40)
    for _ in range(19):
        assert not streams.refusal("bo", "bo", 100)
        streams.opened("bo", "bo")
    assert "key has 20" in streams.refusal("bo", "bo", 100)
    assert streams.refusal("cy", "cy", 50), "all are taken"
    for number in range(30):
        streams.closed(f"ann{number % 3}", "ann")
    assert (len(streams), streams.refusal("cy", "cy", 50)) == (20, "")


def test_what_takes_long_is_done_one_at_a_time_and_each_tenant_in_turn() -> None:
    done: list[str] = []
    under_way = threading.Semaphore(1)

    def work(name: str) -> None:
        assert under_way.acquire(blocking=False), "two at once"
        done.append(name)
        time.sleep(0.002)
        under_way.release()

    async def ask(long: InTurn, tenant: str, name: str) -> None:
        asking_tenant.set(tenant)
        await long.do(lambda: work(name))

    async def all_at_once() -> None:
        long = InTurn("long", 1, 100)
        crowd = [asyncio.create_task(ask(long, "crowd", f"crowd {n}")) for n in range(20)]
        await asyncio.sleep(0)
        alone = asyncio.create_task(ask(long, "alone", "alone"))
        await asyncio.sleep(0)
        crowd[5].cancel()
        await asyncio.gather(*crowd, alone, return_exceptions=True)
        await ask(long, "late", "late")
        long.close(drop=True)

    asyncio.run(all_at_once())
    assert sorted(done) == sorted([*(f"crowd {n}" for n in range(20) if n != 5), "alone", "late"])
    assert done.index("alone") <= 2
    assert done[-1] == "late"


def test_a_line_that_is_full_has_room_for_whoever_has_fewer_places_in_it() -> None:
    """Twelve use the store and its line is full of one tenant's: another's request goes ahead of them, and none is lost."""
    came: list[str] = []
    go_on = threading.Event()

    async def ask(store: InTurn, tenant: str) -> str:
        asking_tenant.set(tenant)
        try:
            await store.do(lambda: came.append(tenant) if go_on.wait(20) else None)
        except NoPlace:
            return "no place"
        return "done"

    async def all_at_once() -> list[str]:
        store = InTurn("store", 3, 10)
        crowd = [asyncio.create_task(ask(store, "crowd")) for _ in range(15)]
        await asyncio.sleep(0)
        alone = asyncio.create_task(ask(store, "alone"))
        await asyncio.sleep(0)
        go_on.set()
        found = await asyncio.gather(*crowd, alone)
        assert await ask(store, "late") == "done"
        store.close(drop=False)
        return found

    found = asyncio.run(all_at_once())
    assert found == ["done"] * 12 + ["no place"] * 3 + ["done"], (
        "two too many, and the last that waited gave its place up"
    )
    assert came.index("alone") <= 6
    assert came.count("crowd") == 12


def test_all_together_are_bounded_before_anybody_is_known() -> None:
    limits = Limits(Settings(total_concurrency=2))
    limits.arrive()
    limits.arrive()
    with pytest.raises(ProblemRaised) as caught:
        limits.arrive()
    assert caught.value.kind.slug == "overloaded"
    limits.depart()
    limits.arrive()


@pytest.fixture
def few(tmp_path: Path, registry: Registry) -> Iterator[Keyed]:
    sizes = {"largest_body": 5000, "largest_batch_body": 20_000}
    with keyed_app(tmp_path, registry, requests_per_minute=5, **sizes) as keyed:
        yield keyed


def test_over_http_the_quota_is_told_on_every_answer(few: Keyed) -> None:
    headers = few.key("acme")
    left = []
    for _ in range(5):
        reply = few.client.get("/v1/calculators", headers=headers)
        assert reply.status_code == 200
        assert reply.headers["ratelimit-policy"] == '"minute";q=5;w=60'
        left.append(reply.headers["ratelimit"].split(";")[1])
    assert left == ["r=4", "r=3", "r=2", "r=1", "r=0"]
    over = few.client.get("/v1/calculators", headers=headers)
    assert over.status_code == 429
    assert over.json()["type"] == "/problems/too-many-requests"
    assert 1 <= int(over.headers["retry-after"]) <= 60
    assert over.headers["ratelimit"].startswith('"minute";r=0;t=')
    assert few.client.get("/v1/calculators", headers=few.key("acme")).status_code == 200


def test_a_tenant_has_a_quota_of_its_own_whatever_keys_it_has(tmp_path: Path, registry: Registry) -> None:
    """And what a key had no right to ask is not taken from its tenant."""
    with keyed_app(tmp_path, registry, requests_per_minute=3, tenant_requests_per_minute=5) as keyed:
        first, second, other = keyed.key("acme"), keyed.key("acme"), keyed.key("other")

        def asked(key: dict[str, str]) -> tuple[int, str]:
            reply = keyed.client.get("/v1/calculators", headers=key)
            told = [part.split(";")[1] for part in reply.headers["ratelimit"].split(", ")]
            return reply.status_code, " ".join(told)

        found = [asked(first) for _ in range(5)]
        assert found == [(200, "r=2 r=4"), (200, "r=1 r=3"), (200, "r=0 r=2"), (429, "r=0"), (429, "r=0")]
        assert [asked(second) for _ in range(3)] == [(200, "r=2 r=1"), (200, "r=1 r=0"), (429, "r=0 r=0")]
        over = keyed.client.get("/v1/calculators", headers=second)
        assert over.json()["detail"] == "This key may send 3 requests a minute."
        assert asked(other) == (200, "r=2 r=4")
        assert keyed.client.get("/health/live").status_code == 200


def test_a_tenant_keeps_no_more_than_it_may(tmp_path: Path, registry: Registry) -> None:
    """Reading, calculating and trying go on; so do the records of starts."""
    example = dict(registry.lookup("electrical.service").examples[0].given)
    with keyed_app(tmp_path, registry, tenant_storage_mib=1, tenant_jobs=3) as keyed:
        full, other = keyed.key("acme"), keyed.key("other")
        told = keyed.client.get("/v1/quotas", headers=full).json()
        assert told["storage_bytes"] == 1024 * 1024
        assert (told["storage_used_bytes"], told["jobs"], told["jobs_under_way"]) == (0, 3, 0)
        assert "requests_per_minute" not in told
        record = Record("0" * 64, "a.b", "1.0.0", "acceptable", b"", os.urandom(1024 * 1024))
        put_record(keyed.database, "acme", record)
        assert keyed.client.get("/v1/quotas", headers=full).json()["storage_used_bytes"] > 1024 * 1024
        for address in ("POST " + SERVICE + "?record=true", "PUT /v1/fleets/one", "POST /v1/jobs"):
            method, path = address.split()
            body = example if SERVICE in path else {}
            refused = keyed.client.request(method, path, json=body, headers=full)
            assert (refused.status_code, refused.json()["type"]) == (403, "/problems/storage-used"), address
            assert "may keep 1 MiB" in refused.json()["detail"]
        assert keyed.client.post(SERVICE, json=example, headers=full).status_code == 200
        assert keyed.client.get("/v1/fleets", headers=full).status_code == 200
        started = keyed.client.put("/v1/startups/one", json={"configuration": CONFIGURATION}, headers=full)
        assert started.status_code == 201
        assert keyed.client.post(f"{SERVICE}?record=true", json=example, headers=other).status_code == 200


def test_health_is_told_whatever_the_quota(few: Keyed) -> None:
    for _ in range(20):
        assert few.client.get("/health/live").status_code == 200
        assert few.client.get("/health/ready").status_code == 200
    assert few.client.get("/metrics").status_code == 200


@pytest.mark.parametrize(("address", "limit"), [(SERVICE, 5000), ("/v1/worksheets", 20_000)])
def test_a_body_is_held_to_its_limit(few: Keyed, address: str, limit: int) -> None:
    headers = few.key("acme") | JSON
    over = few.client.post(address, content=b" " * (limit + 1), headers=headers)
    assert over.status_code == 413
    assert over.json()["type"] == "/problems/too-large"
    assert str(limit) in over.json()["detail"]
    assert few.client.post(address, content=b" " * limit, headers=headers).status_code == 400

    def pieces() -> Iterator[bytes]:
        for _ in range(limit // 1000 + 1):
            yield b" " * 1000

    unannounced = few.client.post(address, content=pieces(), headers=headers)
    assert unannounced.status_code == 413


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("REQUIRE_KEYS", "maybe"),
        ("ENGINE", "fast"),
        ("WORKERS", "0"),
        ("WORKERS", "many"),
        ("EVALUATION_SECONDS", "-1"),
        ("EVALUATION_SECONDS", "nan"),
        ("CONCURRENCY", "0"),
        ("LOG_LEVEL", "loud"),
        ("OIDC_JWKS_URL", "https://identity.example/keys"),
    ],
)
def test_a_setting_that_cannot_be_read_is_named(name: str, value: str) -> None:
    with pytest.raises(SettingError, match=f"COLDWRIGHT_{name}"):
        from_environment({f"COLDWRIGHT_{name}": value})


def test_settings_are_read_as_people_write_them() -> None:
    read: dict[str, Any] = {}
    for text in ("1", "true", "YES", "on"):
        read[text] = from_environment({"COLDWRIGHT_REQUIRE_KEYS": text}).require_keys
    assert all(read.values())
    assert not from_environment({"COLDWRIGHT_REQUIRE_KEYS": "0"}).require_keys
    settings = from_environment({"COLDWRIGHT_ENGINE": "Inline", "COLDWRIGHT_WORKERS": "4", "PATH": "/bin"})
    assert (settings.engine, settings.workers) == ("inline", 4)
    assert misspelt({"COLDWRIGHT_REQUIRE_KEY": "1", "COLDWRIGHT_WORKERS": "4", "HOME": "/"}) == [
        "COLDWRIGHT_REQUIRE_KEY"
    ]
