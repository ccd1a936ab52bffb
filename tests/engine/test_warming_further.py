"""What takes long to load is answered once by each worker, one at a time, so that there is always one for others."""

import threading
import time
from collections.abc import Iterator
from typing import ClassVar

import msgspec
import pytest

from coldwright.engine import Engine, workers
from coldwright.engine.outcome import WorkerDied
from coldwright.engine.output import Output
from coldwright.engine.workers import Crew, Kind, Worker
from coldwright.processes.guardian import Guardian
from coldwright.registry import Registry

QUESTION = {"refrigeration.cycle": b"{}"}


class Invented(Worker):
    """A worker without a process, which writes down what it is asked."""

    made: ClassVar[list["Invented"]] = []
    busy = 0
    most_busy = 0
    lock = threading.Lock()

    def __init__(self, *, dies: bool = False) -> None:
        self.asked: list[str] = []
        self.stopped = False
        self._dies = dies
        self.made.append(self)

    def begin(self) -> None:
        pass

    def ready(self, _seconds: float) -> bool:
        return True

    def ask(self, question: bytes) -> list[object]:
        with self.lock:
            Invented.busy += 1
            Invented.most_busy = max(Invented.busy, Invented.most_busy)
        time.sleep(0.05)
        self.asked.append(msgspec.msgpack.decode(question)[1])
        with self.lock:
            Invented.busy -= 1
        if self._dies:
            self.stop()
            raise WorkerDied("invented")
        return ["answered", b"{}", "0", "acceptable"]

    @property
    def alive(self) -> bool:
        return not self.stopped

    def stop(self) -> None:
        self.stopped = True


@pytest.fixture
def crew(monkeypatch: pytest.MonkeyPatch) -> Iterator[Crew]:
    monkeypatch.setattr(workers, "LOOK_EVERY", 0.02)
    monkeypatch.setattr(Invented, "made", [])
    monkeypatch.setattr(Invented, "most_busy", 0)
    monkeypatch.setattr(Crew, "_new_worker", lambda _crew: Invented())
    output, guardian = Output(None), Guardian()
    kind = Kind("invented", (), 0, 1.0, own=True)
    made = Crew(kind, 3, longest_queue=4, rest=1.0, output=output, guardian=guardian)
    yield made
    made.close()
    guardian.close()
    output.close()


def asked() -> list[list[str]]:
    return [worker.asked for worker in Invented.made]


def wait_until_asked(wanted: list[list[str]]) -> None:
    until = time.monotonic() + 20
    while asked() != wanted and time.monotonic() < until:
        time.sleep(0.02)
    assert asked() == wanted


def test_every_worker_answers_once_and_never_two_at_a_time(crew: Crew) -> None:
    crew.warm()
    crew.warm_further(QUESTION)
    wait_until_asked([["refrigeration.cycle"]] * 3)
    assert Invented.most_busy == 1
    assert crew.ask("evaluate", "booking.assessment", b"{}", "metric")[0] == "answered"
    assert sum(map(len, asked())) == 4


def test_one_that_dies_of_it_keeps_nobody_from_an_answer(crew: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    first = Invented(dies=True)
    waiting = [first]
    monkeypatch.setattr(Crew, "_new_worker", lambda _crew: waiting.pop() if waiting else Invented())
    crew.warm()
    crew.warm_further(QUESTION)
    wait_until_asked([["refrigeration.cycle"]] * 3)
    assert first.stopped
    assert crew.ask("evaluate", "booking.assessment", b"{}", "metric")[0] == "answered"


def test_the_engine_asks_the_first_example_of_what_it_is_told(registry: Registry) -> None:
    engine = Engine(registry, warm=["refrigeration.cycle", "nobody.there"])
    try:
        example = registry.served["refrigeration.cycle"].calculator.examples[0].given
        assert engine._further() == {"coldwright": {"refrigeration.cycle": msgspec.json.encode(example)}}
    finally:
        engine.stop()
