"""What comes out of an evaluation, and the ways in which it can fail through no fault of the caller."""

import msgspec
from msgspec import Struct

from coldwright.contract import Malformed, Refused


class Evaluated(Struct, frozen=True):
    """An encoded answer with what is kept of it."""

    body: bytes
    digest: str
    outcome: str

    @property
    def given(self) -> bytes:
        """The input as it was used, in its one spelling."""
        return bytes(msgspec.json.decode(self.body, type=_GivenAlone).given)


class _GivenAlone(Struct, frozen=True):
    given: msgspec.Raw


class Failure(Exception):  # noqa: N818
    """The calculator, not the input, is at fault."""

    slug = "calculator-defect"
    retry_after: float | None = None


class BrokeContract(Failure):
    """It raised, or its answer was not what it promises."""


class NotLoaded(BrokeContract):
    """The worker process did not load it, whatever the service knows of it."""


class TooSlow(Failure):
    """It did not answer in time and was ended."""

    slug = "calculator-too-slow"


class WorkerDied(Failure):
    """Its process ended: a crash, a kill for memory, an exit."""

    slug = "calculator-died"


class RestingCalculator(Failure):
    """It failed too often and is not asked for a while."""

    slug = "calculator-resting"

    def __init__(self, text: str, retry_after: float) -> None:
        super().__init__(text)
        self.retry_after = retry_after


class NoFreeWorker(Failure):
    """Every worker is busy and the queue is full."""

    slug = "overloaded"

    def __init__(self, text: str, retry_after: float) -> None:
        super().__init__(text)
        self.retry_after = retry_after


class Batch(Struct, frozen=True):
    """What came of many inputs, in their order: fewer than were asked where time was up, or something went wrong."""

    answers: "list[Evaluated | Refused | Malformed | Failure]"
    failure: Failure | None = None
    """What went wrong with the one after the last that was answered."""
