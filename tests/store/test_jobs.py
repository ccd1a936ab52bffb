"""Chunks of jobs: nothing is lost, nothing is done twice, tenants have their turn, whoever drives them."""

import sqlite3
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy
from postgres import new_database

from coldwright.bulk.chunk import MOST_ATTEMPTS, ChunkWorker
from coldwright.bulk.cutting import BYTES, ITEMS, sizes
from coldwright.bulk.needs import all_served, needs_of, served_for
from coldwright.bulk.queue import AHEAD, Handing, queue_name
from coldwright.contract import Load
from coldwright.contract.answer import Units
from coldwright.engine import Batch, Engine, Evaluated, Failure
from coldwright.engine.outcome import NoFreeWorker, NotLoaded, RestingCalculator, WorkerDied
from coldwright.registry import Registry, Served
from coldwright.store import Database, upgrade
from coldwright.store.events import list_events
from coldwright.store.job_tables import jobs
from coldwright.store.jobs import Item, Job, New, NewItem, cancel_job, create_job, get_job, list_items
from coldwright.store.jobs.anew import begin_anew
from coldwright.store.jobs.chunks import Chunk, Left, Turn, backlog, finish, held, items_to_do, next_chunk
from coldwright.store.jobs.job import Head, TooManyJobs
from coldwright.store.jobs.keep import SILENT
from coldwright.store.jobs.staging import begin_receiving
from coldwright.store.migrate import downgrade

NEEDS = "invented.thing@1 1.0.0"
OTHER, MISSING = "invented.other@1 1.0.0", "missing.thing@1 1.0.0"
NOW = datetime(2020, 1, 1, tzinfo=UTC)


def make(database: Database, job: str, sizes: list[int], tenant: str = "acme", needs: str = NEEDS) -> None:
    items = [NewItem(f"n{n}", b"%d" % n) for n in range(sum(sizes))]
    create_job(database, tenant, New(job, needs.partition("@")[0], "metric", items, None, "f" * 64, needs, sizes=sizes))


def answered(numbers: range, status: int = 200) -> list[Item]:
    return [Item(n, "", b"", status, "acceptable", b"%d" % n) for n in numbers]


def job_of(database: Database, job: str = "j", tenant: str = "acme") -> Job:
    found = get_job(database, tenant, job)
    assert found is not None
    return found


def test_chunks_are_taken_from_the_tenants_in_turn(database: Database) -> None:
    for tenant in ("a", "b", "c"):
        make(database, f"job-{tenant}", [2, 2, 2], tenant)
    busy: set[tuple[str, str, int]] = set()
    last, order = "", []
    for _ in range(6):
        chunk = next_chunk(database, [NEEDS], Turn(last), busy)
        assert chunk is not None
        busy.add(chunk.key)
        last = chunk.tenant
        order.append((chunk.tenant, chunk.first))
    assert order == [("a", 0), ("b", 0), ("c", 0), ("a", 2), ("b", 2), ("c", 2)]
    again = next_chunk(database, [NEEDS], Turn("b", again=True), busy)
    assert again is not None
    assert (again.tenant, again.first) == ("b", 4)
    assert next_chunk(database, ["invented.thing@1 1.0.1"], Turn(), ()) is None, "another version is served here"


def test_an_upload_that_died_keeps_its_tenant_from_no_job(database: Database) -> None:
    """No process is left to give it up; until the broom comes, hours later, it must not count."""

    def begun(job: str) -> None:
        begin_receiving(database, "acme", Head(job, "invented.thing", "metric", NEEDS, b""), 1)

    begun("died")
    with pytest.raises(TooManyJobs):
        begun("next")
    with database.writing() as connection:
        connection.execute(sqlalchemy.update(jobs).values(moved_at=datetime.now(UTC) - SILENT))
    begun("next")


def test_what_is_finished_twice_counts_once(database: Database) -> None:
    make(database, "j", [3, 2])
    first = Chunk("acme", "j", 0, 3)
    assert finish(database, first, answered(range(3)), ())
    again = [Item(n, "", b"", 500, "", b"other") for n in range(3)]
    assert finish(database, first, again, ())
    assert (job_of(database).answered, job_of(database).failed, job_of(database).state) == (3, 0, "running")
    assert [i.body for i in list_items(database, "acme", "j", 0, 10)] == [b"0", b"1", b"2"]
    assert not finish(database, Chunk("acme", "j", 3, 2), answered(range(3, 5), 422), ())
    ended = job_of(database)
    assert (ended.state, ended.answered, ended.failed) == ("succeeded_with_failures", 3, 2)
    assert [e.subject for e in list_events(database, "acme", 0, 10, kind="job.done")] == ["j"]
    assert backlog(database) == []


def test_nothing_is_kept_for_a_job_that_was_cancelled(database: Database) -> None:
    make(database, "j", [3, 2])
    chunk = next_chunk(database, [NEEDS], Turn(), ())
    assert chunk is not None
    assert cancel_job(database, "acme", "j")
    assert not finish(database, chunk, answered(range(3)), [Left(1, 2, NOW)])
    assert items_to_do(database, "acme", "j", 0, 5) == (None, [])
    assert next_chunk(database, [NEEDS], Turn(), ()) is None
    assert (job_of(database).state, job_of(database).done) == ("cancelled", 0)
    cancel_job(database, "acme", "j")
    assert len(list_events(database, "acme", 0, 10)) == 1


def test_a_chunk_is_held_by_one_process_of_a_server(database: Database) -> None:
    chunk = Chunk("acme", "j", 0, 3)
    with (
        held(database, chunk) as ours,
        held(database, chunk) as theirs,
        held(database, Chunk("acme", "j", 3, 3)) as other,
    ):
        assert ours
        assert other
        assert theirs == database.is_sqlite, "in a file the one process that drives jobs knows itself"
    with held(database, chunk) as free:
        assert free


def test_what_is_left_waits_its_time(database: Database) -> None:
    make(database, "j", [5])
    later = datetime.now(UTC) + timedelta(hours=1)
    finish(database, Chunk("acme", "j", 0, 5), answered(range(2)), [Left(2, 1, later, 1), Left(3, 2, NOW)])
    chunk = next_chunk(database, [NEEDS], Turn(), ())
    assert chunk is not None
    assert (chunk.first, chunk.size) == (3, 2)
    assert next_chunk(database, [NEEDS], Turn(), {chunk.key}) is None
    assert [(b.tenant, b.needs, b.chunks) for b in backlog(database)] == [("acme", NEEDS, 2)]


def test_a_job_of_a_version_that_is_gone_begins_anew(database: Database) -> None:
    make(database, "old", [3, 2])
    make(database, "other", [3], needs="invented.other@1 1.0.0")
    finish(database, Chunk("acme", "old", 0, 3), answered(range(3)), ())
    newer = "invented.thing@1 1.1.0"
    assert begin_anew(database, newer, 4, NOW) == 0, "it has moved since"
    assert begin_anew(database, newer, 4, datetime.now(UTC) + timedelta(seconds=1)) == 1
    assert begin_anew(database, newer, 4, datetime.now(UTC) + timedelta(seconds=1)) == 0
    assert (job_of(database, "old").needs, job_of(database, "old").done) == (newer, 0)
    assert job_of(database, "other").needs == "invented.other@1 1.0.0"
    assert [(b.needs, b.chunks) for b in backlog(database)] == [("invented.other@1 1.0.0", 1), (newer, 2)]
    assert [i.number for i in items_to_do(database, "acme", "old", 0, 5)[1]] == [0, 1, 2, 3, 4]


# --- what a chunk comes to --------------------------------------------------------------------------------------------


class Scripted(Engine):
    """An engine that answers items by what their inputs say."""

    def __init__(self, registry: Registry) -> None:
        super().__init__(registry, "inline")
        self.failure: Failure | None = None
        self.deadly: set[bytes] = set()

    def evaluate_many(self, served: Served, bodies: Sequence[bytes], units: Units) -> Batch:  # noqa: ARG002
        batch = Batch([])
        for body in bodies:
            if body in self.deadly:
                return Batch(batch.answers, WorkerDied("it died"))
            if self.failure is not None and len(batch.answers) == 2:
                return Batch(batch.answers, self.failure)
            batch.answers.append(Evaluated(body, "d", "acceptable"))
        return batch


@pytest.fixture(scope="module")
def of_ours() -> Registry:
    return Registry.of_ours()


def test_only_its_own_fault_fails_an_item(database: Database, of_ours: Registry) -> None:
    needs = needs_of(of_ours, next(iter(of_ours.served.values())))
    make(database, "j", [8], needs=needs)
    engine = Scripted(of_ours)
    worker = ChunkWorker(database, of_ours, engine)
    failures = (RestingCalculator("rests", 30.0), NoFreeWorker("busy", 1.0), NotLoaded("not there"))
    for first, failure, pause in zip((0, 2, 4), failures, (30.0, 1.0, 4.0), strict=True):
        engine.failure = failure
        before = datetime.now(UTC)
        (left,) = worker.work_chunk("acme", "j", first, 8 - first, attempts=2)
        assert (left.first, left.size, left.attempts) == (first + 2, 6 - first, 3)
        assert pause - 0.5 < (left.not_before - before).total_seconds() < pause + 5
        assert (job_of(database).answered, job_of(database).failed) == (first + 2, 0)
    engine.failure = None
    assert worker.work_chunk("acme", "j", 6, 2) == []
    assert (job_of(database).state, job_of(database).answered) == ("succeeded", 8)


def test_an_item_that_kills_fails_after_its_attempts_and_alone(database: Database, of_ours: Registry) -> None:
    needs = needs_of(of_ours, next(iter(of_ours.served.values())))
    make(database, "j", [5], needs=needs)
    engine = Scripted(of_ours)
    engine.deadly = {b"2"}
    worker = ChunkWorker(database, of_ours, engine)
    poison, rest = worker.work_chunk("acme", "j", 0, 5)
    assert (poison.first, poison.size, rest.first, rest.size) == (2, 1, 3, 2)
    assert poison.not_before > datetime.now(UTC) > rest.not_before, "the innocent do not wait for it"
    assert worker.work_chunk("acme", "j", rest.first, rest.size) == []
    for attempt in range(2, MOST_ATTEMPTS + 1):
        left = worker.work_chunk("acme", "j", poison.first, 1, poison.attempts)
        assert bool(left) == (attempt < MOST_ATTEMPTS)
    assert (job_of(database).state, job_of(database).failed) == ("succeeded_with_failures", 1)
    (failed,) = [i for i in list_items(database, "acme", "j", 0, 10) if i.status != 200]
    assert (failed.number, failed.status, failed.attempts) == (2, 503, MOST_ATTEMPTS)


def test_a_process_without_the_plugin_leaves_the_chunk(database: Database, of_ours: Registry) -> None:
    make(database, "j", [2])
    worker = ChunkWorker(database, of_ours, Scripted(of_ours))
    assert served_for(of_ours, NEEDS) is None
    assert NEEDS not in all_served(of_ours)
    (left,) = worker.work_chunk("acme", "j", 0, 2)
    assert (left.first, left.size) == (0, 2)
    assert (job_of(database).done, backlog(database)[0].chunks) == (0, 1)


def test_chunks_are_bounded_in_items_and_in_bytes() -> None:
    assert sizes([], Load.LIGHT) == []
    assert sizes([10] * (ITEMS[Load.LIGHT] + 1), Load.LIGHT) == [ITEMS[Load.LIGHT], 1]
    assert sizes([BYTES, 1, BYTES + 1, 1, 1], Load.HEAVY) == [1, 1, 1, 2]


# --- jobs of the release before ---------------------------------------------------------------------------------------


def test_jobs_of_the_release_before_go_on(tmp_path: object) -> None:
    """Its rows, as it wrote them: what was done stays, what was not is taken up, problems keep their facts."""
    path = f"{tmp_path}/store.sqlite3"
    database = Database(f"sqlite:///{path}")
    upgrade(database, "0012")
    problem = '{"type":"/problems/not-json","title":"t","status":400,"detail":"why"}'
    with sqlite3.connect(path) as store:
        for id_, state in (("run", "running"), ("end", "succeeded")):
            row = ("acme", id_, state, "invented.thing", "us", 45 if id_ == "run" else 1, None, "f", "o")
            store.execute(f"INSERT INTO jobs VALUES ({', '.join('?' * 9)}, '2026-01-01', '2026-01-01', NULL)", row)
        items = [("acme", "run", n, f"n{n}", b"{}", 200 if n < 25 else 0, "", b"{}") for n in range(45)]
        items.append(("acme", "end", 0, "n0", b"{}", 400, "", problem.encode()))
        store.executemany(f"INSERT INTO job_items VALUES ({', '.join('?' * 8)})", items)
    upgrade(database)
    running, ended = job_of(database, "run"), job_of(database, "end")
    assert (running.answered, running.state, running.units) == (25, "running", "us")
    assert (ended.state, ended.failed) == ("failed", 1)
    assert b'"slug": "not-json"' in list_items(database, "acme", "end", 0, 1)[0].body
    taken = [
        next_chunk(database, ["invented.thing "], Turn(), {("acme", "run", f) for f in range(0, 20 * n, 20)})
        for n in range(3)
    ]
    assert [(c.first, c.size) for c in taken if c is not None] == [(0, 20), (20, 20), (40, 5)]
    assert [i.number for i in items_to_do(database, "acme", "run", 20, 20)[1]] == list(range(25, 40))
    downgrade(database, "0012")
    with database.reading() as connection:
        assert connection.scalar(sqlalchemy.text("SELECT state FROM jobs WHERE id = 'end'")) == "succeeded"
    database.close()


@pytest.mark.postgres
def test_each_tenant_has_a_few_chunks_in_the_queue_and_the_next_follow() -> None:
    database = Database(new_database())
    upgrade(database)
    with Handing(database, {"b": 2}, {NEEDS, OTHER}) as handing, Handing(database, {}, {MISSING}) as able:
        make(database, "job-a", [1] * 20, "a")
        assert handing.top_up() == AHEAD
        make(database, "job-b", [1] * 20, "b")
        make(database, "job-c", [1] * 2, "c")
        assert handing.top_up() == 2 * AHEAD + 2
        assert handing.top_up() == 0, "none twice"
        with database.writing() as connection:
            connection.execute(sqlalchemy.text("UPDATE procrastinate_jobs SET status = 'doing' WHERE id IN (1, 2)"))
        assert handing.top_up() == 2, "those of the first tenant follow"
        with database.reading() as connection:
            rows = connection.execute(
                sqlalchemy.text("SELECT args->>'tenant', queue_name FROM procrastinate_jobs WHERE status = 'todo'")
            ).all()
        assert Counter(tenant for tenant, _ in rows) == {"a": AHEAD, "b": 2 * AHEAD, "c": 2}
        assert {queue for _, queue in rows} == {queue_name(NEEDS)}
        make(database, "job-d", [1] * 9, "a", needs=OTHER)
        assert handing.top_up() == 0, "a tenant with jobs for several calculators has no larger share"
        make(database, "job-e", [1] * 9, "d", needs=MISSING)
        make(database, "job-f", [1] * 9, "d")
        assert handing.top_up() == AHEAD, "what nobody here can work on keeps nothing out"
        assert able.top_up() == AHEAD, "and who can hands it over"
        assert handing.top_up() == 0
        with database.writing() as connection:
            taken = "UPDATE procrastinate_jobs SET status = 'doing' WHERE status = 'todo'"
            assert connection.execute(sqlalchemy.text(taken)).rowcount > 10
        assert (handing.top_up() or 0) > 10, "as many wait as are worked on"
        handing.call_workers()
        handing.call_workers()
        with database.reading() as connection:
            looks = "SELECT queue_name FROM procrastinate_jobs WHERE task_name = 'coldwright.look' ORDER BY queue_name"
            found = connection.scalars(sqlalchemy.text(looks)).all()
        assert found == sorted(map(queue_name, (NEEDS, OTHER, MISSING)))
    database.close()
