"""What the pages of a plan read of its answer."""

from typing import Literal

from msgspec import Struct

from coldwright.contract.notes import Caution, Finding
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.order.given import Order


class PlanAnswer(Struct, frozen=True):
    """What the page reads of an answer of `booking.assessment`."""

    given: Order
    results: AssessmentResults
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    outcome: Literal["acceptable", "conditional", "unacceptable"]
