"""What takes long to load is answered once by each worker, one at a time, so that there is always one for others."""

import threading
import time
from collections.abc import Callable, Iterator
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


def wait_until(holds: Callable[[], bool]) -> None:
    until = time.monotonic() + 20
    while not holds() and time.monotonic() < until:
        time.sleep(0.02)


def wait_until_asked(wanted: list[list[str]]) -> None:
    wait_until(lambda: asked() == wanted)
    assert asked() == wanted


def test_every_worker_answers_once_and_never_two_at_a_time(crew: Crew) -> None:
    crew.warm()
    crew.warm_further(QUESTION)
    wait_until_asked([["refrigeration.cycle"]] * 3)
    assert Invented.most_busy == 1
    assert crew.ask("evaluate", "booking.assessment", b"{}", "metric")[0] == "answered"
    assert sum(map(len, asked())) == 4


def warmed() -> list[list[str]]:
    return [questions for questions in asked() if "refrigeration.cycle" in questions]


def test_nobody_is_warmed_while_somebody_asks(crew: Crew) -> None:
    crew.warm()
    crew.warm_further(QUESTION, most=1, quiet=3600.0)
    for _ in range(8):
        crew.ask("evaluate", "booking.assessment", b"{}", "metric")
    assert not warmed()


def test_one_alone_answers_where_that_is_enough_and_is_the_next_to_be_asked(crew: Crew) -> None:
    crew.warm()
    wait_until(lambda: len(crew._idle) == 3)
    crew.warm_further(QUESTION, most=1, quiet=0.01)
    wait_until(lambda: bool(warmed()) and len(crew._idle) == 3)
    crew.ask("evaluate", "booking.assessment", b"{}", "metric")
    assert warmed() == [["refrigeration.cycle", "booking.assessment"]]


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
    engine = Engine(registry)
    try:
        example = registry.served["refrigeration.cycle"].calculator.examples[0].given
        further = {"coldwright": {"refrigeration.cycle": msgspec.json.encode(example)}}
        assert engine._further(map(registry.find, ["refrigeration.cycle", "nobody.there"])) == further
        assert engine._further(registry.warming_later()) == further
    finally:
        engine.stop()
