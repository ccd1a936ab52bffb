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
REST = 300.0

_context = multiprocessing.get_context("forkserver")  # never fork: a child would hold the listening socket


class Worker:
    """One process and the pipe to it."""

    def __init__(self, memory_limit: int) -> None:
        ours, theirs = _context.Pipe()
        self._connection: Connection = ours
        self._process = _context.Process(target=worker_module.serve, args=(theirs, memory_limit), daemon=True)
        self._process.start()
        theirs.close()

    def ask(self, question: bytes, seconds: float) -> list[Any]:
        """Send a question and wait; ends the process when it does not answer in time."""
        try:
            self._connection.send_bytes(question)
            if not self._connection.poll(seconds):
                self.stop()
                raise TooSlow(f"No answer within {seconds:g} s; the calculation was ended.")
            reply: list[Any] = msgspec.msgpack.decode(self._connection.recv_bytes())
        except (EOFError, OSError) as error:
            self.stop()
            raise WorkerDied("The process of the calculator ended before it answered.") from error
        return reply

    @property
    def alive(self) -> bool:
        """Whether the process runs."""
        return self._process.is_alive()

    def stop(self) -> None:
        """End the process now."""
        with contextlib.suppress(OSError):
            self._connection.close()
        self._process.kill()
        self._process.join(1)


class Crew:
    """Workers that answer for one distribution, with a queue of bounded length."""

    def __init__(self, size: int, *, seconds: float, memory_limit: int, longest_queue: int) -> None:
        self._size, self._seconds, self._memory_limit = size, seconds, memory_limit
        self._idle: list[Worker] = []
        self._started = 0
        self._waiting = 0
        self._longest_queue = longest_queue
        self._free = threading.Condition()
        self._deaths: dict[str, deque[float]] = {}
        self._resting_until: dict[str, float] = {}
        self._closed = False

    def warm(self) -> None:
        """Start one worker before it is asked for."""
        self._give_back(self._take())

    def ask(self, calculator_id: str, body: bytes, units: Units) -> Evaluated:
        """Evaluate in a worker; blocks, so call it from a thread. Raises `Refused` or a `Failure`."""
        self._refuse_resting(calculator_id)
        worker = self._take()
        try:
            reply = worker.ask(msgspec.msgpack.encode([calculator_id, body, units]), self._seconds)
        except (TooSlow, WorkerDied):
            self._count_death(calculator_id)
            raise
        finally:
            self._give_back(worker)
        match reply:
            case ["answered", answer, digest, outcome]:
                return Evaluated(answer, digest, outcome)
            case ["refused", errors]:
                raise Refused(msgspec.convert(errors, list[FieldError]))
            case [_, _, text]:
                raise BrokeContract(text)
            case _:
                raise BrokeContract("the worker's reply has no known form")

    def close(self) -> None:
        """End every idle worker; busy ones end when they are given back."""
        with self._free:
            self._closed = True
            for worker in self._idle:
                worker.stop()
            self._idle.clear()

    def _take(self) -> Worker:
        deadline = time.monotonic() + self._seconds
        with self._free:
            if self._waiting >= self._longest_queue:
                raise NoFreeWorker("Every worker is busy and the queue is full.", 1.0)
            self._waiting += 1
            try:
                while True:
                    while self._idle:
                        worker = self._idle.pop()
                        if worker.alive:
                            return worker
                        self._started -= 1
                    if self._started < self._size:
                        self._started += 1
                        break
                    if not self._free.wait(max(0.0, deadline - time.monotonic())):
                        raise NoFreeWorker("No worker became free in time.", 1.0)
            finally:
                self._waiting -= 1
        try:
            return Worker(self._memory_limit)
        except OSError:
            with self._free:
                self._started -= 1
                self._free.notify()
            raise NoFreeWorker("No worker process can be started now.", 5.0) from None

    def _give_back(self, worker: Worker) -> None:
        with self._free:
            if self._closed or not worker.alive:
                self._started -= 1
                worker.stop()
            else:
                self._idle.append(worker)
            self._free.notify()

    def _count_death(self, calculator_id: str) -> None:
        now = time.monotonic()
        deaths = self._deaths.setdefault(calculator_id, deque(maxlen=DEATHS_BEFORE_REST))
        deaths.append(now)
        if len(deaths) == DEATHS_BEFORE_REST and now - deaths[0] < DEATHS_WITHIN:
            self._resting_until[calculator_id] = now + REST
            deaths.clear()

    def _refuse_resting(self, calculator_id: str) -> None:
        until = self._resting_until.get(calculator_id, 0.0)
        if (left := until - time.monotonic()) > 0:
            raise RestingCalculator(
                f"{calculator_id} failed {DEATHS_BEFORE_REST} times within {DEATHS_WITHIN:g} s and rests.", left
            )
