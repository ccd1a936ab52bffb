"""Instants of the service and of its callers."""

import re
from datetime import datetime, timedelta

from coldwright.contract import refuse
from coldwright.contract.refusal import FieldError, field_error

WHY = "An instant without an offset is another instant in every time zone."


def instant_in(text: str) -> datetime | None:
    """The instant that a text names with its offset, or nothing."""
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        return None
    return instant if instant.tzinfo is not None else None


def instant_not_before(text: str) -> datetime:
    """The first instant that this process can name and that is not before the one of the text: those have nanoseconds."""
    instant = datetime.fromisoformat(text)
    fraction = re.search(r"\.\d{6}(\d+)", text)
    return instant + timedelta(microseconds=1) if fraction and int(fraction[1]) else instant


def instant_of(text: str, name: str) -> datetime:
    """An instant of the query; raises `Refused` for one without an offset."""
    instant = instant_in(text.replace(" ", "+"))
    if instant is None:
        what = "This is not an RFC 3339 instant with its offset."
        raise refuse(f"/query/{name}", what, value=text[:100], why=WHY)
    return instant


def stamp_error(pointer: str, text: str) -> FieldError | None:
    """The refusal of a text in a body that names no instant."""
    if instant_in(text) is not None:
        return None
    return field_error(pointer, "This is not an RFC 3339 instant with its offset.", value=text[:100], why=WHY)
