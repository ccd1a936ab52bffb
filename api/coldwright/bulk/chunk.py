"""Works off one chunk of a job: whatever drives it, in process or on many machines, calls this."""

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from typing import Protocol

from msgspec.structs import replace

from coldwright.bulk.facts import facts_of
from coldwright.bulk.keeping import NO_ANSWER, Keep, changed, keep_of, picked
from coldwright.bulk.needs import served_for
from coldwright.contract import Malformed, Refused
from coldwright.contract.answer import Units
from coldwright.engine import Batch, Engine, Evaluated, Failure
from coldwright.engine.outcome import NoFreeWorker, TooSlow, WorkerDied
from coldwright.engine.turns import asking_tenant
from coldwright.registry import Registry, Served
from coldwright.store import Database
from coldwright.store.jobs import Item
from coldwright.store.jobs.chunks import Chunk, Left, finish, items_to_do
from coldwright.store.records import get_record

Prepare = Callable[[str, Served, bytes], bytes]


class Counted(Protocol):
    """Hears what comes of chunks, by tenant and calculator."""

    def count_items(self, tenant: str, calculator: str, outcome: str, count: int) -> None:
        """So many items are done, with their outcome or `failed`."""

    def count_put_back(self, tenant: str, calculator: str, reason: str) -> None:
        """A chunk, or an item of it, is to be tried again, since something went wrong: the slug of the problem."""


class NobodyCounts:
    """Where nobody wants to hear of it."""

    def count_items(self, tenant: str, calculator: str, outcome: str, count: int) -> None: ...

    def count_put_back(self, tenant: str, calculator: str, reason: str) -> None: ...


NOT_SERVED = "not-served"
MOST_ATTEMPTS = 3
"""An item at which so many processes died, or that was too slow so often, has failed for good."""
LONGEST_PAUSE = 60.0


class ChunkWorker:
    """What working off a chunk takes."""

    def __init__(
        self,
        database: Database,
        registry: Registry,
        engine: Engine,
        *,
        prepare: Prepare | None = None,
        counted: Counted | None = None,
    ) -> None:
        """`prepare` makes of an item's input what the calculator is asked, from what the store has; may raise `Refused`.

        `counted` hears of every item that is done, and of all that has to be tried again.
        """
        self._prepare = prepare or (lambda _tenant, _served, given: given)
        self._database, self._registry, self._engine = database, registry, engine
        self._counted = counted or NobodyCounts()

    def work_chunk(self, tenant: str, job: str, first: int, size: int, attempts: int = 0) -> list[Left]:
        """Answer the items of a chunk that are not done, and keep what came of them; what is left, and from when on.

        An item fails only by itself: it is refused, its calculator raises, or processes die of it again and again. A
        calculator that rests or is not served here, and workers that are all busy, are no answer: those items wait.
        Repeating a chunk does no harm. Raises `StoreUnavailable` or `StoreFull`; then nothing was kept.
        """
        chunk = Chunk(tenant, job, first, size, attempts)
        found, items = items_to_do(self._database, tenant, job, first, size)
        if found is None:
            return []
        served = served_for(self._registry, found.needs)
        if served is None:
            self._counted.count_put_back(tenant, found.calculator, NOT_SERVED)
            return [_later(chunk, first, _pause(attempts))]
        units: Units = "us" if found.units == "us" else "metric"
        asking_tenant.set(tenant)
        refused, ready = self._prepared(tenant, served, items)
        try:
            batch = self._engine.evaluate_many(served, [i.given for i in ready], units) if ready else Batch([])
        except Failure as failure:
            batch = Batch([], failure)
        if batch.failure is not None:
            self._counted.count_put_back(tenant, served.calculator.id, batch.failure.slug)
        keep = keep_of(found.keep)
        done = [self._done(tenant, keep, item, answer) for item, answer in zip(ready, batch.answers, strict=False)]
        undone = ready[len(done) :]
        done += refused
        tried: list[Item] = []
        left: list[Left] = []
        if undone and isinstance(batch.failure, TooSlow | WorkerDied):
            first_undone = undone.pop(0)
            suspect = replace(first_undone, attempts=first_undone.attempts + 1)
            if suspect.attempts >= MOST_ATTEMPTS:
                done.append(_failed(suspect, batch.failure))
            else:
                tried.append(suspect)
                left.append(Left(suspect.number, 1, _in(_pause(suspect.attempts)), suspect.attempts))
            batch = Batch(batch.answers)
        if undone:
            left.append(_later(chunk, undone[0].number, _wait_for(batch.failure, attempts), batch.failure is not None))
        finish(self._database, chunk, done, left, tried)
        for outcome, count in Counter(item.outcome or "failed" for item in done).items():
            self._counted.count_items(tenant, served.calculator.id, outcome, count)
        return left

    def _prepared(self, tenant: str, served: Served, items: Sequence[Item]) -> tuple[list[Item], list[Item]]:
        refused, ready = [], []
        for item in items:
            try:
                ready.append(replace(item, given=self._prepare(tenant, served, item.given)))
            except Refused as error:
                refused.append(_failed(item, error))
        return refused, ready

    def _done(self, tenant: str, keep: Keep, item: Item, answer: "Evaluated | Refused | Malformed | Failure") -> Item:
        if not isinstance(answer, Evaluated):
            return _failed(item, answer)
        body, severity = answer.body, 0
        if keep == "changes":
            before = get_record(self._database, tenant, item.before)
            body, severity = (b"", 0) if before is None else changed(before.answer, answer.body)
        elif keep != "answers":
            body = picked(answer.body, keep)
        return replace(item, status=200, outcome=answer.outcome, body=body, severity=severity)


def _failed(item: Item, error: Refused | Malformed | Failure) -> Item:
    facts = facts_of(error)
    return replace(item, status=facts.status, body=facts.encoded(), severity=NO_ANSWER)


def _wait_for(failure: Failure | None, attempts: int) -> float:
    if failure is None:  # time was up: it is the next tenant's turn, and then this one's again
        return 0.0
    if isinstance(failure, NoFreeWorker):
        return failure.retry_after or 1.0
    return failure.retry_after if failure.retry_after is not None else _pause(attempts)


def _pause(attempts: int) -> float:
    return float(min(LONGEST_PAUSE, 2**attempts))


def _in(seconds: float) -> datetime:
    return datetime.now(UTC) + timedelta(seconds=seconds)


def _later(chunk: Chunk, first: int, seconds: float, counted: bool = False) -> Left:
    return Left(first, chunk.first + chunk.size - first, _in(seconds), chunk.attempts + counted)
