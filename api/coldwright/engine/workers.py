"""Worker processes that can be ended one by one: a hang or a crash costs one answer, never the service."""

import contextlib
import threading
import time
from collections import deque
from collections.abc import Mapping, Sequence
from multiprocessing.connection import Connection
from typing import Any

import msgspec

from coldwright.contract import FieldError, Malformed, Refused
from coldwright.contract.answer import Units
from coldwright.contract.decoders import prepared
from coldwright.engine import worker as worker_module
from coldwright.engine.answering import ABSENT
from coldwright.engine.outcome import (
    BrokeContract,
    Evaluated,
    Failure,
    NoFreeWorker,
    NotLoaded,
    RestingCalculator,
    TooSlow,
    WorkerDied,
)
from coldwright.engine.output import Output
from coldwright.engine.turns import Ticket, Turns
from coldwright.engine.worker import What
from coldwright.processes import forkserver
from coldwright.processes.guardian import Guardian
from coldwright.registry import Entry
from coldwright.registry.remote import connect

DEATHS_BEFORE_REST = 3
DEATHS_WITHIN = 60.0
START_SECONDS = 60.0
"""The first worker of all waits for the fork server, which imports everything once."""

ALONE_SECONDS = 2.0
"""How long one that starts keeps its place among the few: nearly all are ready long before."""
LOOK_EVERY = 1.0
"""Seconds between two looks for a worker that is idle and has not been warmed further."""
_few_at_once = threading.Semaphore(4)
"""Workers that start at one time, over all crews: fifty that import at once would all be late."""


class _Gone(Exception):  # noqa: N818
    """The process had ended before it was asked."""


class Kind(msgspec.Struct, frozen=True):
    """What the workers of one distribution have in common."""

    distribution: str
    entries: Sequence[Entry]
    """Plugins of third parties to import; none for ours."""
    memory_limit: int
    seconds: float
    own: bool
    nice: int = 0
    """By how much their priority is lowered."""
    socket: str = ""
    """Where the container answers in which they run; empty where they run here."""


class Replies(msgspec.Struct, frozen=True):
    """What came of many inputs, in their order: fewer than were asked where time was up, or something went wrong."""

    replies: list[list[Any]]
    failure: Failure | None = None
    """What went wrong with the one after the last that was answered."""


class Worker:
    """A connection to a process that answers."""

    def __init__(self, connection: Connection, seconds: float) -> None:
        self._connection, self._seconds = connection, seconds
        self._stopped = False

    def begin(self) -> None:
        """Let it load. Raises `OSError` where it has ended."""
        self._connection.send_bytes(b"")

    def ready(self, seconds: float) -> bool:
        """Whether it can be asked within so many seconds. Raises `EOFError` or `OSError` where it has ended."""
        if not self._connection.poll(seconds):
            return False
        self._connection.recv_bytes()
        return True

    def ask(self, question: bytes) -> list[Any]:
        """Send a question and wait; ends the process when it does not answer in time."""
        try:
            self._connection.send_bytes(question)
        except OSError as error:
            self.stop()
            raise _Gone from error
        try:
            if not self._connection.poll(self._seconds):
                self.stop()
                raise TooSlow(f"No answer within {self._seconds:g} s; the calculation was ended.")
            reply: list[Any] = msgspec.msgpack.decode(self._connection.recv_bytes())
        except (EOFError, OSError, msgspec.MsgspecError) as error:
            self.stop()
            raise WorkerDied("The process of the calculator ended before it answered.") from error
        return reply

    def ask_many(self, question: bytes, *, gathered: bool) -> Replies:
        """Send many inputs and take the replies as they come; ends the process when one does not come in time."""
        replies: list[list[Any]] = []
        try:
            self._connection.send_bytes(question)
        except OSError as error:
            self.stop()
            raise _Gone from error
        try:
            while self._connection.poll(self._seconds):
                reply = self._connection.recv_bytes()
                if not reply:
                    return Replies(replies)
                found = msgspec.msgpack.decode(reply)
                replies += found if gathered else [found]
        except (EOFError, OSError, msgspec.MsgspecError):
            self.stop()
            return Replies(replies, WorkerDied("The process of the calculator ended before it answered."))
        self.stop()
        return Replies(replies, TooSlow(f"No answer within {self._seconds:g} s; the calculation was ended."))

    @property
    def alive(self) -> bool:
        """Whether it waits for a question: one that has ended has closed the pipe, and has nothing else to say."""
        try:
            return not self._connection.poll(0)
        except OSError:
            return False

    def stop(self) -> None:
        """Close the connection, and end the process where it is ours: one in a container ends itself, by its alarm."""
        if self._stopped:
            return
        self._stopped = True
        self._end()
        with contextlib.suppress(OSError):
            self._connection.close()

    def _end(self) -> None:
        """End the process, where it is ours to end."""


class OwnWorker(Worker):
    """A process on this machine, with its session."""

    def __init__(self, kind: Kind, output: Output, guardian: Guardian) -> None:
        ours, theirs = forkserver.context.Pipe()
        hear, say = forkserver.context.Pipe(duplex=False)
        super().__init__(ours, kind.seconds)
        self._guardian = guardian
        arguments = (theirs, say, list(kind.entries), kind.memory_limit, kind.seconds, kind.nice)
        self._process = forkserver.context.Process(target=worker_module.serve, args=arguments, daemon=True)
        self._process.start()
        theirs.close()
        say.close()
        output.watch(kind.distribution, hear)
        self._guardian.watch(self._pid)

    @property
    def _pid(self) -> int:
        if self._process.pid is None:
            raise RuntimeError("the worker was not started")
        return self._process.pid

    def _end(self) -> None:
        """Now, and whatever its calculators have started."""
        self._process.kill()
        self._process.join(1)
        self._guardian.end(self._pid)


class Crew:
    """Workers that answer for one distribution, with a line of bounded length in which each tenant has its turn."""

    def __init__(
        self,
        kind: Kind,
        size: int,
        *,
        longest_queue: int,
        rest: float,
        output: Output,
        guardian: Guardian,
        weights: Mapping[str, int] | None = None,
    ) -> None:
        self._kind, self._size, self._rest = kind, size, rest
        self._output, self._guardian = output, guardian
        self._workers: set[Worker] = set()
        self._idle: list[Worker] = []
        self._starting = 0
        self._turns: Turns[Worker] = Turns(longest_queue, weights)
        self._lock = threading.Lock()
        self._ever_ready = threading.Event()
        self._deaths: dict[str, deque[float]] = {}
        self._resting_until: dict[str, float] = {}
        self._closed = False
        self._ended = threading.Event()
        self._usual_seconds = 0.0
        self._asked_at = time.monotonic()
        self.most_at_once = size + longest_queue
        """Questions that are under way or wait their turn, at most."""

    @property
    def ready(self) -> bool:
        """Whether a worker has ever been ready."""
        return self._ever_ready.is_set()

    def expected_wait(self, tenant: str) -> float:
        """Seconds that one more question of this tenant would wait its turn, as things went lately."""
        with self._lock:
            return self._turns.ahead_of(tenant) * self._usual_seconds / self._size

    def warm(self) -> None:
        """Start every worker before it is asked for."""
        with self._lock:
            for _ in range(self._size - len(self._workers) - self._starting):
                self._start_another()

    def warm_further(self, questions: Mapping[str, bytes], *, most: int = 1000, quiet: float = 0.0) -> None:
        """Let workers, `most` at most, answer these, by id of the calculator: one at a time, while another is idle too.

        For what takes long to load and few ask: nobody waits for it, and it is there when it is asked. `quiet`: so many
        seconds nobody must have asked for anything. The one that was idle last is the next one asked.
        """
        encoded = [msgspec.msgpack.encode(["evaluate", id_, body, "metric"]) for id_, body in questions.items()]
        threading.Thread(target=self._warm_each, args=(encoded, most, quiet), name="warm-further", daemon=True).start()

    def _warm_each(self, questions: Sequence[bytes], most: int, quiet: float) -> None:
        warmed: set[Worker] = set()
        while not self._ended.wait(LOOK_EVERY):
            while (worker := self._spare(warmed, most, quiet)) is not None:
                warmed.add(worker)
                with contextlib.suppress(_Gone, Failure):
                    for question in questions:
                        worker.ask(question)
                self._give_back(worker)

    def _spare(self, warmed: set[Worker], most: int, quiet: float) -> Worker | None:
        """An idle worker that is not warmed yet and not missed: it is taken."""
        with self._lock:
            warmed &= self._workers
            cold = [worker for worker in self._idle if worker not in warmed]
            enough = not cold or len(warmed) >= most or time.monotonic() - self._asked_at < quiet
            if self._closed or enough or (len(self._idle) == 1 and self._size > 1):
                return None
            self._idle.remove(cold[0])
            return cold[0]

    def ask(self, what: What, calculator_id: str, body: bytes, units: Units, tenant: str = "") -> list[Any]:
        """Ask a worker when it is this tenant's turn; blocks, so call it from a thread. Raises a `Failure`."""
        self._refuse_resting(calculator_id)
        question = msgspec.msgpack.encode([what, calculator_id, body, units])
        while True:
            worker = self._take(tenant)
            began = time.monotonic()
            try:
                reply = worker.ask(question)
                self._usual_seconds += 0.2 * (time.monotonic() - began - self._usual_seconds)
            except _Gone:
                continue
            except (TooSlow, WorkerDied):
                self._count_death(calculator_id)
                raise
            finally:
                self._give_back(worker)
            return reply

    def ask_many(self, calculator_id: str, bodies: Sequence[bytes], units: Units, tenant: str = "") -> Replies:
        """Ask a worker for many answers; blocks. Raises a `Failure` where nothing could be asked.

        Ours come several in a message. When a process dies of one of them, those that are left are asked one by one, so
        that it is known of which.
        """
        given = self._ask_many(calculator_id, bodies, units, tenant, gathered=self._kind.own)
        if not self._kind.own or given.failure is None or self._closed:
            return given
        left = bodies[len(given.replies) :]
        further = self._ask_many(calculator_id, left, units, tenant, gathered=False)
        return Replies([*given.replies, *further.replies], further.failure)

    def _ask_many(
        self, calculator_id: str, bodies: Sequence[bytes], units: Units, tenant: str, *, gathered: bool
    ) -> Replies:
        self._refuse_resting(calculator_id)
        what: What = "evaluate_gathered" if gathered else "evaluate_many"
        question = msgspec.msgpack.encode([what, calculator_id, bodies, units])
        while True:
            worker = self._take(tenant)
            try:
                given = worker.ask_many(question, gathered=gathered)
            except _Gone:
                continue
            finally:
                self._give_back(worker)
            if given.failure is not None:
                if self._closed:
                    return Replies(given.replies, NoFreeWorker("The service is stopping.", 2.0))
                self._count_death(calculator_id)
            return given

    def close(self) -> None:
        """End every worker, busy or not."""
        with self._lock:
            self._closed = True
            self._ended.set()
            workers = list(self._workers)
            self._turns.drain()
        for worker in workers:
            worker.stop()

    def _take(self, tenant: str) -> Worker:
        with self._lock:
            if self._closed:
                raise NoFreeWorker("The service is stopping.", 2.0)
            self._asked_at = time.monotonic()
            if (worker := self._idle_one()) is not None:
                return worker
            called = threading.Event()
            ticket = self._turns.join(tenant, called)
            if ticket is None:
                raise NoFreeWorker("Every worker is busy and the queue is full.", 1.0)
            self._see_to_workers()
        called.wait(self._kind.seconds if self.ready else START_SECONDS)
        return self._called(ticket)

    def _called(self, ticket: Ticket[Worker]) -> Worker:
        with self._lock:
            if ticket.worker is not None:
                return ticket.worker
            self._turns.leave(ticket)
            if self._closed:
                raise NoFreeWorker("The service is stopping.", 2.0)
        if ticket.pushed_out:
            raise NoFreeWorker("The queue is full, and others have fewer requests in it.", 1.0)
        raise NoFreeWorker("No worker became free in time.", 1.0)

    def _idle_one(self) -> Worker | None:
        while self._idle:
            worker = self._idle.pop()
            if worker.alive:
                return worker
            self._let_go(worker)
        return None

    def _see_to_workers(self) -> None:
        """Start another where somebody waits and there are fewer than there may be."""
        if len(self._turns) > self._starting and len(self._workers) + self._starting < self._size:
            self._start_another()

    def _start_another(self) -> None:
        """Start one in a thread of its own: whoever waits for it has a deadline, and starting has none."""
        self._starting += 1
        threading.Thread(target=self._start_one, name="worker-start", daemon=True).start()

    def _start_one(self) -> None:
        worker = None
        try:
            with _few_at_once:
                worker = self._new_worker()
                worker.begin()
                ready = worker.ready(ALONE_SECONDS)
            ready = ready or worker.ready(START_SECONDS - ALONE_SECONDS)  # a slow one must not hold the others
        except (OSError, EOFError):
            ready = False
        if not ready:
            if worker is not None:
                worker.stop()
            time.sleep(0.5)  # a machine that can't start a process now is not helped by trying at once
        with self._lock:
            self._starting -= 1
            if ready and worker is not None and not self._closed:
                self._workers.add(worker)
                self._ever_ready.set()
                self._hand_out(worker)
                worker = None
            elif not self._closed:
                self._see_to_workers()
        if worker is not None:
            worker.stop()

    def _new_worker(self) -> Worker:
        if self._kind.socket:
            return Worker(connect(self._kind.socket, "work"), self._kind.seconds)
        return OwnWorker(self._kind, self._output, self._guardian)

    def _hand_out(self, worker: Worker) -> None:
        """To whose turn it is, else to those that are idle."""
        ticket = self._turns.next()
        if ticket is None:
            self._idle.append(worker)
        else:
            ticket.worker = worker
            ticket.called.set()

    def _give_back(self, worker: Worker) -> None:
        with self._lock:
            if self._closed or not worker.alive:
                self._let_go(worker)
                self._see_to_workers()
            else:
                self._hand_out(worker)

    def _let_go(self, worker: Worker) -> None:
        self._workers.discard(worker)
        worker.stop()  # it ends by itself when the pipe closes, even where nobody knows it any more

    def _count_death(self, calculator_id: str) -> None:
        """Strangers' calculators are given a rest; ours are not, or one caller's worst input would stop them for all."""
        if self._kind.own:
            return
        now = time.monotonic()
        deaths = self._deaths.setdefault(calculator_id, deque(maxlen=DEATHS_BEFORE_REST))
        deaths.append(now)
        if len(deaths) == DEATHS_BEFORE_REST and now - deaths[0] < DEATHS_WITHIN:
            self._resting_until[calculator_id] = now + self._rest
            deaths.clear()

    def _refuse_resting(self, calculator_id: str) -> None:
        until = self._resting_until.get(calculator_id, 0.0)
        if (left := until - time.monotonic()) > 0:
            raise RestingCalculator(
                f"{calculator_id} failed {DEATHS_BEFORE_REST} times within {DEATHS_WITHIN:g} s and rests.", left
            )


def evaluated(reply: list[Any]) -> Evaluated:
    """What a worker replied to `evaluate`; raises `Malformed`, `Refused` or a `Failure`."""
    match reply:
        case ["answered", answer, digest, outcome]:
            return Evaluated(answer, digest, outcome)
        case ["refused", errors]:
            raise Refused(msgspec.convert(errors, prepared(list[FieldError])))
        case ["malformed", code, detail]:
            raise Malformed(code, detail)
        case [first, _, text]:
            raise NotLoaded(text) if first == ABSENT else BrokeContract(text)
        case _:
            raise BrokeContract("the worker's reply has no known form")
