"""Where a calculation runs: light ones of ours in line, the rest in worker processes. Strangers' run nowhere else."""

import asyncio
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Literal, TypeVar

import msgspec

from coldwright.contract import Load, Malformed, Refused
from coldwright.contract.answer import Units
from coldwright.contract.page import Occasion, Page
from coldwright.contract.reading import read
from coldwright.engine import worker as worker_module
from coldwright.engine.answering import reply_to
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.joining import Joining
from coldwright.engine.kept_units import kept_in_units
from coldwright.engine.outcome import Batch, Evaluated, Failure, NoFreeWorker, NotLoaded, RestingCalculator
from coldwright.engine.output import Output, Report
from coldwright.engine.pages import page_of
from coldwright.engine.parts import Outcome, Question, Steps
from coldwright.engine.turns import asking_tenant
from coldwright.engine.workers import Crew, Kind, Replies, evaluated
from coldwright.processes import forkserver
from coldwright.processes.guardian import Guardian
from coldwright.registry import FIRST_PARTY, Registry, Served

T = TypeVar("T")

LARGEST_IN_LINE = 100_000
"""Bytes of an input above which even a light calculator would hold up the event loop."""
STRANGERS_QUEUE = 16
SPARE_THREADS = 8
"""More than can wait: one that was pushed out of the line leaves its thread a moment later."""

QUIET_SECONDS = 5.0
"""After so long without a question nobody is thought to be waiting for the next."""

EngineKind = Literal["workers", "inline"]


_page: msgspec.json.Decoder[Page | None] = msgspec.json.Decoder(Page | None)


class Engine:
    """Evaluates served calculators. `inline` keeps ours in this process: for the command line and for tests."""

    def __init__(
        self,
        registry: Registry,
        kind: EngineKind = "workers",
        *,
        size: int = 2,
        seconds: float = 10.0,
        memory_limit: int = 2 * 1024**3,
        longest_queue: int = 64,
        rest: float = 30.0,
        weights: Mapping[str, int] | None = None,
        report: Report | None = None,
        nice: int = 0,
        strangers: int = 1,
        warm: Sequence[str] = (),
        warm_later: bool = False,
    ) -> None:
        """`size` workers for ours, `strangers` for each distribution of others; `nice` lowers the priority of all.

        `warm`: calculators whose first example each worker answers once it is idle, since their first answer takes long.
        `warm_later`: of ours, those that a plugin names in `warms_later` are answered by one worker, if there are several,
        once nobody has asked anything for a while.
        """
        self._registry, self._kind, self._seconds = registry, kind, seconds
        self._warm, self._warm_later = warm, warm_later and size > 1
        self._joining = Joining(registry)
        self._crews: dict[str, Crew] = {}
        self._threads: dict[str, ThreadPoolExecutor] = {}
        self._under_way: dict[str, int] = {}
        self._output, self._guardian = Output(report), Guardian()
        self._started_at = float("inf")
        distributions = {s.distribution for s in [*registry.served.values(), *registry.older.values()]} - {FIRST_PARTY}
        if kind == "workers":
            distributions.add(FIRST_PARTY)
        if distributions:
            forkserver.prepare()
        for name in distributions:
            own = name == FIRST_PARTY
            entries = () if own else tuple(registry.entries_for(name))
            self._crews[name] = Crew(
                Kind(name, entries, 0 if own else memory_limit, seconds, own, nice, registry.socket_of(name)),
                size if own else strangers,
                longest_queue=longest_queue if own else STRANGERS_QUEUE,
                rest=rest,
                output=self._output,
                guardian=self._guardian,
                weights=weights,
            )
            most = self._crews[name].most_at_once + SPARE_THREADS
            self._threads[name] = ThreadPoolExecutor(most, thread_name_prefix="crew")
            self._under_way[name] = 0

    def runs_in_line(self, served: Served, length: int = 0) -> bool:
        """Whether this calculator is answered in this process: a light one of ours, for an input of ordinary length."""
        if not served.first_party:
            return False
        return self._kind == "inline" or (served.calculator.load is Load.LIGHT and length <= LARGEST_IN_LINE)

    async def evaluate(self, served: Served, body: bytes, units: Units) -> Evaluated:
        """Read the bytes and answer, where that is right for them, with the parts that join the answer.

        Raises `Malformed`, `Refused` or a `Failure`.
        """
        steps = self._joining.before(served, body)
        if steps is None:
            plan = await self.evaluate_alone(served, body, units)
            steps = self._joining.after(served, plan)
            if steps is None:
                return plan
        try:
            questions = next(steps)
            while True:
                answered = await asyncio.gather(*(self._answered(served, q, units) for q in questions))
                questions = steps.send(list(answered))
        except StopIteration as done:
            return _whole(done)

    async def evaluate_alone(self, served: Served, body: bytes, units: Units) -> Evaluated:
        """The same without parts."""
        if self.runs_in_line(served, len(body)):
            return evaluate_here(self._registry, served, read(served.local.given, body), units)
        return evaluated(await self._in_worker(served, "evaluate", body, units))

    def _is_alone(self, served: Served, question: Question) -> bool:
        """Whether it is asked without parts: what is asked for `served` by itself, and who is joined by nobody."""
        return question.alone or question.served is served or question.served not in self._joining

    async def _answered(self, served: Served, question: Question, units: Units) -> Outcome:
        asks = self.evaluate_alone if self._is_alone(served, question) else self.evaluate
        try:
            return await asks(question.served, question.body, units)
        except (Refused, Malformed, Failure) as error:
            return error

    def evaluate_now(self, served: Served, body: bytes, units: Units) -> Evaluated:
        """The same as `evaluate`, for callers that may block."""
        steps = self._joining.before(served, body)
        if steps is None:
            plan = self._alone_now(served, body, units)
            steps = self._joining.after(served, plan)
            if steps is None:
                return plan
        return self._driven_now(steps, served, units)

    def _driven_now(self, steps: Steps, served: Served, units: Units, *, patient: bool = False) -> Evaluated:
        """`patient`: raise the failure of whoever may answer later, since a batch can wait for it."""
        try:
            questions = next(steps)
            while True:
                questions = steps.send([self._answered_now(served, q, units, patient=patient) for q in questions])
        except StopIteration as done:
            return _whole(done)

    def _answered_now(self, served: Served, question: Question, units: Units, *, patient: bool) -> Outcome:
        asks = self._alone_now if self._is_alone(served, question) else self.evaluate_now
        try:
            return asks(question.served, question.body, units)
        except (NotLoaded, NoFreeWorker, RestingCalculator) as failure:
            if patient:
                raise
            return failure
        except (Refused, Malformed, Failure) as error:
            return error

    def evaluate_many(self, served: Served, bodies: Sequence[bytes], units: Units) -> Batch:
        """Answers to inputs, in their order, as many as come within about a second. For callers that may block.

        A light calculator runs in a worker too: many of them would hold up this process. Raises a `Failure` where
        nothing could be asked.
        """
        batch = Batch([])
        answered = self._replies_of_many(served, bodies, units)
        for body, reply in zip(bodies, answered.replies, strict=False):
            try:
                batch.answers.append(self._joined_now(served, body, evaluated(reply), units))
            except (NotLoaded, NoFreeWorker, RestingCalculator) as failure:
                return Batch(batch.answers, failure)
            except (Refused, Malformed, Failure) as error:
                # without its traceback, which holds this batch: refusals by the thousand would wait for the collector of
                # cycles, and it holds up everybody for seconds when it takes them all at once
                batch.answers.append(error.with_traceback(None))
        return Batch(batch.answers, answered.failure)

    def _replies_of_many(self, served: Served, bodies: Sequence[bytes], units: Units) -> Replies:
        if not (served.first_party and self._kind == "inline"):
            return self._crews[served.distribution].ask_many(served.name, bodies, units, asking_tenant.get())
        replies: list[list[Any]] = []
        until = time.monotonic() + worker_module.MANY_SECONDS
        for body in bodies:
            replies.append(reply_to(self._registry, served, body, units))
            if time.monotonic() >= until:
                break
        return Replies(replies)

    def _joined_now(self, served: Served, body: bytes, plan: Evaluated, units: Units) -> Evaluated:
        """An answer of a batch with its parts. Raises the failure of a part that may answer later: a batch can wait."""
        steps = self._joining.before(served, body) or self._joining.after(served, plan)
        return plan if steps is None else self._driven_now(steps, served, units, patient=True)

    def _alone_now(self, served: Served, body: bytes, units: Units) -> Evaluated:
        if self.runs_in_line(served, len(body)):
            return evaluate_here(self._registry, served, read(served.local.given, body), units)
        reply = self._crews[served.distribution].ask("evaluate", served.name, body, units, asking_tenant.get())
        return evaluated(reply)

    async def in_units(self, served: Served, kept: bytes, units: Units) -> bytes:
        """A kept answer in the wanted system of units: converted, never computed again."""
        if units == "metric":
            return kept
        if served.first_party:
            return await asyncio.to_thread(kept_in_units, served.local, kept, units)
        reply = await self._in_worker(served, "in_units", kept, units)
        return bytes(reply[1]) if reply[:1] == ["respelt"] else kept

    def page(self, served: Served, body: bytes, occasion: Occasion) -> Page | None:
        """The page that the calculator gives for an answer; None where it has none. Raises a `Failure`.

        For callers that may block: a stranger's page is made in its worker.
        """
        if not served.calculator.has_page:
            return None
        if served.first_party:
            return page_of(served.local, body, occasion)
        question = msgspec.json.encode([msgspec.Raw(body), occasion])
        crew = self._crews[served.distribution]
        reply = crew.ask("page", served.name, question, "metric", asking_tenant.get())
        if reply[:1] == ["page"]:
            return _page.decode(reply[1])
        evaluated(reply)
        return None

    async def start(self) -> None:
        """Start the workers in the background, so that the first questions find them loaded."""
        self._started_at = time.monotonic()
        for name in sorted(self._crews, key=lambda n: n != FIRST_PARTY):
            self._crews[name].warm()
        for name, questions in self._further(map(self._registry.find, self._warm)).items():
            self._crews[name].warm_further(questions)
        if self._warm_later:
            for name, questions in self._further(self._registry.warming_later()).items():
                self._crews[name].warm_further(questions, most=1, quiet=QUIET_SECONDS)

    def _further(self, wanted: Iterable[Served | None]) -> dict[str, dict[str, bytes]]:
        """By distribution, the calculators to warm further, each with its first example."""
        found: dict[str, dict[str, bytes]] = {}
        for served in filter(None, wanted):
            if served.distribution in self._crews and served.calculator.examples:
                body = msgspec.json.encode(served.calculator.examples[0].given)
                found.setdefault(served.distribution, {})[served.name] = body
        return found

    def waits_for(self, limit: float) -> list[str]:
        """Distributions whose first worker is not ready yet; none once `limit` seconds have passed since the start."""
        if time.monotonic() - self._started_at > limit:
            return []
        return sorted(name for name, crew in self._crews.items() if not crew.ready)

    def stop(self) -> None:
        """End all workers."""
        for crew in self._crews.values():
            crew.close()
        for threads in self._threads.values():
            threads.shutdown(wait=True, cancel_futures=True)
        self._guardian.close()
        self._output.close()

    async def _in_worker(self, served: Served, what: worker_module.What, body: bytes, units: Units) -> list[Any]:
        name, tenant = served.distribution, asking_tenant.get()
        crew = self._crews[name]
        if self._under_way[name] >= crew.most_at_once + SPARE_THREADS:
            raise NoFreeWorker("Every worker is busy and the queue is full.", 1.0)
        if (wait := crew.expected_wait(tenant)) > self._seconds / 2:  # better refused now than after a wait
            raise NoFreeWorker(f"It would wait for about {wait:.0f} s.", wait)

        def ask() -> list[Any]:
            return crew.ask(what, served.name, body, units, tenant)

        return await self._counted(name, ask)

    async def _counted(self, name: str, work: Callable[[], T]) -> T:
        self._under_way[name] += 1
        try:
            return await asyncio.get_running_loop().run_in_executor(self._threads[name], work)
        finally:
            self._under_way[name] -= 1


def _whole(done: StopIteration) -> Evaluated:
    """What a generator of questions came to."""
    whole: Evaluated = done.value
    return whole
