"""Lists in pages, from the first day on: `page_size`, an opaque `page_token`, `next_page_token`."""

import base64
import binascii
from collections.abc import Sequence
from typing import TypeVar

from msgspec import UNSET, UnsetType

from coldwright.contract.refusal import field_error
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.problems import ProblemRaised

T = TypeVar("T")
LARGEST_PAGE = 1000
USUAL_PAGE = 200
GREATEST = 2**31 - 1
"""What a database can compare with a number in a list."""

PAGE_PARAMETERS = (
    Parameter(
        "page_size",
        "query",
        "Entries on a page, at most 1000; 200 if not given.",
        {"type": "integer", "format": "int32", "minimum": 1, "maximum": LARGEST_PAGE},
    ),
    Parameter(
        "page_token", "query", "Token of the next page, from the page before.", {"type": "string", "maxLength": 500}
    ),
)


def page_size(asked: Asked) -> int:
    """The wanted size of a page, 1 to 1000."""
    text = asked.query("page_size")
    return USUAL_PAGE if text is None else int(text)


def page_start(asked: Asked) -> str:
    """What the token says to go on after; empty for the first page."""
    token = asked.query("page_token")
    if token is None:
        return ""
    try:
        key = base64.b64decode(token.encode("ascii"), b"-_", validate=True).decode()
    except (ValueError, binascii.Error):
        raise foreign_token(token) from None
    if not all(part.isprintable() for part in key.split("\n")):
        raise foreign_token(token)
    return key


def page_number(asked: Asked) -> int:
    """The same for a list that is in the order of a number; 0 for the first page."""
    start = page_start(asked)
    if not start:
        return 0
    return number_in(start)


def number_in(start: str) -> int:
    """A number that a token says to go on after; raises a problem for one that no list has."""
    if not (start.isascii() and start.isdigit() and len(start) < 16 and int(start) <= GREATEST):
        raise foreign_token(start)
    return int(start)


def token_after(key: str) -> str:
    """The token of the page that begins after `key`."""
    return base64.urlsafe_b64encode(key.encode()).decode()


def page_of(asked: Asked, entries: Sequence[T]) -> tuple[Sequence[T], str | UnsetType]:
    """A page of a list that is all in memory, and the token of the next."""
    size, first = page_size(asked), page_number(asked)
    more = first + size < len(entries)
    return entries[first : first + size], token_after(str(first + size)) if more else UNSET


def foreign_token(token: str) -> ProblemRaised:
    text = "This token was not made by this service."
    error = field_error("/query/page_token", text, code="not_allowed", value=token[:100])
    return ProblemRaised("refused-input", text, errors=(error,))
