"""Worker processes that can be ended one by one: a hang or a crash costs one answer, never the service."""

import contextlib
import multiprocessing
import threading
import time
from collections import deque
from multiprocessing.connection import Connection
from typing import Any

import msgspec

from coldwright.contract import FieldError, Refused
from coldwright.contract.answer import Units
from coldwright.contract.decoders import prepared
from coldwright.engine import worker as worker_module
from coldwright.engine.outcome import (
    BrokeContract,
    Evaluated,
    NoFreeWorker,
    RestingCalculator,
    TooSlow,
    WorkerDied,
)

DEATHS_BEFORE_REST = 3
DEATHS_WITHIN = 60.0
START_SECONDS = 60.0
"""The first worker of all waits for the fork server, which imports everything once."""

_context = multiprocessing.get_context("forkserver")  # never fork: a child would hold the listening socket


class _Gone(Exception):  # noqa: N818
    """The process had ended before it was asked."""


class Worker:
    """One process and the pipe to it."""

    def __init__(self, memory_limit: int, seconds: float, *, warm: bool) -> None:
        ours, theirs = _context.Pipe()
        self._connection: Connection = ours
        self._seconds = seconds
        arguments = (theirs, memory_limit, seconds, warm)
        self._process = _context.Process(target=worker_module.serve, args=arguments, daemon=True)
        self._process.start()
        theirs.close()

    def ready(self) -> bool:
        """Wait until it can be asked; whether it can."""
        try:
            if self._connection.poll(START_SECONDS):
                self._connection.recv_bytes()
                return True
        except (EOFError, OSError):
            pass
        return False

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
        except (EOFError, OSError) as error:
            self.stop()
            raise WorkerDied("The process of the calculator ended before it answered.") from error
        return reply

    @property
    def alive(self) -> bool:
        """Whether it waits for a question: one that has ended has closed the pipe, and has nothing else to say."""
        try:
            return not self._connection.poll(0)
        except OSError:
            return False

    def stop(self) -> None:
        """End the process now."""
        self._process.kill()
        self._process.join(1)
        with contextlib.suppress(OSError):
            self._connection.close()


class Crew:
    """Workers that answer for one distribution, with a queue of bounded length."""

    def __init__(
        self, size: int, *, seconds: float, memory_limit: int, longest_queue: int, own: bool, rest: float
    ) -> None:
        self._size, self._seconds, self._memory_limit = size, seconds, memory_limit
        self._own, self._rest = own, rest
        self._workers: set[Worker] = set()
        self._idle: list[Worker] = []
        self._starting = 0
        self._waiting = 0
        self._longest_queue = longest_queue
        self._free = threading.Condition()
        self._ever_ready = False
        self._deaths: dict[str, deque[float]] = {}
        self._resting_until: dict[str, float] = {}
        self._closed = False
        self._usual_seconds = 0.0

    @property
    def expected_wait(self) -> float:
        """Seconds that one more question would wait its turn, as things went lately."""
        return self._waiting * self._usual_seconds / self._size

    @property
    def most_at_once(self) -> int:
        """Questions that are under way or wait their turn, at most."""
        return self._size + self._longest_queue

    def warm(self) -> None:
        """Start every worker before it is asked for."""
        with self._free:
            for _ in range(self._size - len(self._workers) - self._starting):
                self._start_another()

    def ask(self, calculator_id: str, body: bytes, units: Units) -> Evaluated:
        """Evaluate in a worker; blocks, so call it from a thread. Raises `Refused` or a `Failure`."""
        self._refuse_resting(calculator_id)
        question = msgspec.msgpack.encode([calculator_id, body, units])
        while True:
            worker = self._take()
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
            return _evaluated(reply)

    def close(self) -> None:
        """End every worker, busy or not."""
        with self._free:
            self._closed = True
            workers = list(self._workers)
            self._free.notify_all()
        for worker in workers:
            worker.stop()

    def _take(self) -> Worker:
        with self._free:
            if self._waiting >= self._longest_queue:
                raise NoFreeWorker("Every worker is busy and the queue is full.", 1.0)
            deadline = time.monotonic() + (self._seconds if self._ever_ready else START_SECONDS)
            self._waiting += 1
            try:
                while not self._closed:
                    while self._idle:
                        worker = self._idle.pop()
                        if worker.alive:
                            return worker
                        self._let_go(worker)
                    if len(self._workers) + self._starting < self._size:
                        self._start_another()
                    if not self._free.wait(max(0.0, deadline - time.monotonic())):
                        raise NoFreeWorker("No worker became free in time.", 1.0)
            finally:
                self._waiting -= 1
        raise NoFreeWorker("The service is stopping.", 2.0)

    def _start_another(self) -> None:
        """Start one in a thread of its own: whoever waits for it has a deadline, and starting has none."""
        self._starting += 1
        threading.Thread(target=self._start_one, name="worker-start", daemon=True).start()

    def _start_one(self) -> None:
        worker = None
        try:
            worker = Worker(self._memory_limit, self._seconds, warm=self._own)
            ready = worker.ready()
        except (OSError, EOFError):
            ready = False
        if not ready:
            if worker is not None:
                worker.stop()
            time.sleep(0.5)  # a machine that can't start a process now is not helped by trying at once
        with self._free:
            self._starting -= 1
            if ready and worker is not None and not self._closed:
                self._workers.add(worker)
                self._idle.append(worker)
                self._ever_ready = True
                worker = None
            self._free.notify_all()
        if worker is not None:
            worker.stop()

    def _give_back(self, worker: Worker) -> None:
        with self._free:
            if self._closed or not worker.alive:
                self._let_go(worker)
            else:
                self._idle.append(worker)
            self._free.notify()

    def _let_go(self, worker: Worker) -> None:
        self._workers.discard(worker)
        worker.stop()  # it ends by itself when the pipe closes, even where nobody knows it any more

    def _count_death(self, calculator_id: str) -> None:
        """Strangers' calculators are given a rest; ours are not, or one caller's worst input would stop them for all."""
        if self._own:
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


def _evaluated(reply: list[Any]) -> Evaluated:
    match reply:
        case ["answered", answer, digest, outcome]:
            return Evaluated(answer, digest, outcome)
        case ["refused", errors]:
            raise Refused(msgspec.convert(errors, prepared(list[FieldError])))
        case [_, _, text]:
            raise BrokeContract(text)
        case _:
            raise BrokeContract("the worker's reply has no known form")
