"""What tenants use: requests counted in windows that all processes share, jobs under way, bytes kept."""

import asyncio
import os
import threading

import pytest

from coldwright.service.http.callers import Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.rates import Rates, Spent
from coldwright.service.settings import Settings
from coldwright.store import Database, StoreUnavailable
from coldwright.store.conditions import Condition
from coldwright.store.fleets import put_fleet
from coldwright.store.jobs import New, NewItem, TooManyJobs, cancel_job, create_job
from coldwright.store.records import Record, put_record
from coldwright.store.usage import kept_bytes
from coldwright.store.windows import Window, add, forget_all, window


def test_a_window_is_counted_by_all_and_begins_anew_when_it_is_over(database: Database) -> None:
    other = Database(database.url.render_as_string(hide_password=False))
    assert add(database, "ann", 1, 60, now=1000.0) == Window(1, 1060.0)
    assert add(other, "ann", 2, 60, now=1059.0) == Window(3, 1060.0)
    assert add(database, "bo", 1, 60, now=1030.0) == Window(1, 1090.0)
    assert add(database, "ann", 1, 60, now=1060.0) == Window(1, 1120.0)
    assert window(other, "ann") == Window(1, 1120.0)
    assert window(other, "cy") is None
    assert forget_all(database, "ann") == 1
    assert forget_all(database) == 1
    other.close()


def test_of_many_who_count_at_once_none_is_lost(database: Database) -> None:
    def count() -> None:
        for _ in range(20):
            add(database, "crowd", 1, 60, now=1000.0)

    threads = [threading.Thread(target=count) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert window(database, "crowd") == Window(160, 1060.0)


def caller(tenant: str, key: str) -> Caller:
    return Caller(tenant, key, frozenset({"calculate"}), "key")


@pytest.mark.postgres
@pytest.mark.parametrize("empty_url", ["postgresql"], indirect=True)
def test_replicas_share_one_quota(database: Database) -> None:
    """Three processes of a service, a quota of nine: the tenth request is refused, whichever it comes to."""
    settings = Settings(tenant_requests_per_minute=9)
    replicas = [Rates(settings, database) for _ in range(3)]
    spent = [replicas[n % 3].spent(caller("acme", f"key{n}"), True) for n in range(10)]
    assert [not s.text for s in spent] == [True] * 9 + [False]
    assert spent[3].headers["RateLimit-Policy"] == '"tenant";q=9;w=60'
    assert spent[3].headers["RateLimit"].startswith('"tenant";r=5;t=')
    with pytest.raises(ProblemRaised) as caught:
        spent[9].check()
    assert caught.value.kind.status == 429
    assert 1 <= int(caught.value.headers["Retry-After"]) <= 60
    replicas[0].spent(caller("other", "key"), True).check()


async def _asking_nothing(_work: object, *_arguments: object) -> Spent:
    raise StoreUnavailable("it does not answer")


@pytest.mark.postgres
@pytest.mark.parametrize("empty_url", ["postgresql"], indirect=True)
def test_while_the_store_does_not_answer_each_process_counts_by_itself(database: Database) -> None:
    rates = Rates(Settings(requests_per_minute=2), database)

    async def spend() -> list[bool]:
        return [not (await rates.spend(_asking_nothing, caller("acme", "key"))).text for _ in range(3)]

    assert asyncio.run(spend()) == [True, True, False]


def job(number: int) -> New:
    return New(f"{number:024x}", "electrical.service", "metric", [NewItem("one", b"{}")], None, "", sizes=[1])


def test_a_tenant_has_so_many_jobs_under_way_and_no_more(database: Database) -> None:
    for number in range(2):
        create_job(database, "acme", job(number), 2)
    with pytest.raises(TooManyJobs, match="2 jobs"):
        create_job(database, "acme", job(2), 2)
    create_job(database, "other", job(3), 2)
    cancel_job(database, "acme", job(0).id)
    create_job(database, "acme", job(2), 2)
    create_job(database, "acme", job(4))


def test_what_a_tenant_keeps_is_counted_as_it_is_kept(database: Database) -> None:
    """Random bytes do not grow smaller, so that their number is known."""
    assert kept_bytes(database, "acme") == 0
    given, answer = os.urandom(5_000), os.urandom(20_000)
    put_record(database, "acme", Record("0" * 64, "a.b", "1.0.0", "acceptable", given, answer))
    assert 25_000 < kept_bytes(database, "acme") < 25_200
    document = b'{"machines": []}'
    put_fleet(database, "acme", "one", document, Condition())
    with_fleet = kept_bytes(database, "acme")
    assert 25_000 + len(document) < with_fleet < 26_000
    assert kept_bytes(database, "other") == 0
