"""`If-Match`, `If-None-Match` and what the store makes of them, as HTTP means it."""

import contextlib
from collections.abc import Iterator

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.problems import ProblemRaised
from coldwright.store.conditions import Changed, Condition, Done, Unconditional

LONGEST = 200
TAG = {"type": "string", "maxLength": LONGEST}
PRECONDITIONS = (
    Parameter("If-Match", "header", "ETag of the state that you read and want to change.", TAG),
    Parameter("If-None-Match", "header", "`*`: only if nothing is there yet.", TAG),
)
PRECONDITION_PROBLEMS = ("changed-meanwhile", "precondition-missing", "store-unavailable", "store-full")


def condition_of(asked: Asked) -> Condition:
    """The condition that the request's headers put. Raises a problem for a header that is longer than the document says.

    The tag of any form that was read names the state: a proxy that packs a reply makes its tag weak, and `tag_of` adds
    the form behind a dash.
    """
    errors = tuple(_too_long(p.name) for p in PRECONDITIONS if len(asked.header(p.name) or "") > LONGEST)
    if errors:
        raise ProblemRaised("refused-input", "; ".join(e.detail for e in errors), errors=errors)
    tags = tuple(
        t.strip().removeprefix("W/").strip('"').partition("-")[0]
        for t in (asked.header("if-match") or "").split(",")
        if t.strip()
    )
    return Condition(tags, (asked.header("if-none-match") or "").strip() == "*")


def _too_long(name: str) -> FieldError:
    allowed = Allowed(maximum=LONGEST, unit="characters")
    return field_error(f"/header/{name}", "This is too long.", code="out_of_range", allowed=allowed)


@contextlib.contextmanager
def precondition_problems() -> Iterator[None]:
    """Turn the store's refusals into problems."""
    try:
        yield
    except Changed:
        raise ProblemRaised(
            "changed-meanwhile", "The state is not the one that the request names. Nothing was changed."
        ) from None
    except Unconditional:
        text = "There is a state already. Send its ETag as `If-Match` to change it."
        raise ProblemRaised("precondition-missing", text) from None


def status_of(done: Done) -> int:
    """201 for something new."""
    return 201 if done == "created" else 200
