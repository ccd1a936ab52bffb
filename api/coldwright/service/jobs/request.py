"""What is asked of a job."""

from typing import Annotated, Literal

import msgspec
from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Example, Given, Refused, Text, about, field_error
from coldwright.service.exploration.sweep import PointerText
from coldwright.service.jobs.lines import JobItem
from coldwright.service.jobs.selecting import BookingsWanted

MOST_ITEMS = 10_000
"""Of one JSON document; lines have a limit of their own."""

Keep = (
    Annotated[
        Literal["answers", "changes"] | Annotated[tuple[PointerText, ...], Meta(min_length=1, max_length=20)],
        about(
            "What is kept of each answer: `answers` (if not given): all of it; a list of JSON pointers into the answer: what "
            "stands there; `changes`, of kept orders: only those whose outcome, machines, or findings that stop the plan or "
            "are to be checked, are not those of the kept plan; the worst first. A word may stand alone or in a list."
        ),
    ]
    | UnsetType
)


class JobRequest(Given, frozen=True, kw_only=True):
    """Exactly one of `items` (with `calculator`) and `bookings`."""

    calculator: Annotated[Text, about("Id of the calculator of `items`.")] | UnsetType = UNSET
    items: Annotated[tuple[JobItem, ...], about("Evaluations.", min_length=1, max_length=MOST_ITEMS)] | UnsetType = (
        UNSET
    )
    bookings: (
        Annotated[BookingsWanted, about("Assess kept orders again: a heat wave over the whole book.")] | UnsetType
    ) = UNSET
    keep: Keep = UNSET


class Wanted(Given, frozen=True, kw_only=True):
    """The first line of a job that is sent as lines."""

    calculator: Annotated[Text, about("Id of the calculator of all items.")]
    keep: Keep = UNSET


def kept_of(keep: Keep, *, of_orders: bool) -> bytes:
    """What is to be kept, as a job has it; a list of one word is that word, as generated clients send it."""
    if isinstance(keep, UnsetType):
        keep = "answers"
    elif isinstance(keep, tuple) and keep in (("answers",), ("changes",)):
        keep = keep[0]
    if keep == "changes" and not of_orders:
        text = "`changes` compares kept orders with their kept plans: it stands beside `bookings` only."
        raise Refused([field_error("/keep", text, code="either_or", value="changes")])
    return msgspec.json.encode(keep)


EXAMPLE = Example(
    "heat-wave",
    "Invented: which orders of July no longer hold on a day of 43 degC?",
    {
        "bookings": {
            "from": "2027-07-01",
            "to": "2027-07-31",
            "override": {"site": {"design_ambient_temperature": {"value": 43, "unit": "degC"}}},
        },
        "keep": ["changes"],
    },
)
