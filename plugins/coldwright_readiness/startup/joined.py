"""When facts that parts of other plugins add to a start get too old."""

from collections.abc import Iterable

from msgspec import UNSET

from coldwright.contract import FieldError, JoinedToStart
from coldwright.contract.refusal import field_error
from coldwright_basis.instants import instant


def expiries(joined: Iterable[JoinedToStart]) -> list[int]:
    """Instants from which on facts of parts are too old."""
    return [instant(f.expires_at) for part in joined for f in part.facts if f.expires_at is not UNSET]


def expiry_errors(joined: Iterable[JoinedToStart]) -> list[FieldError]:
    """Expiries that name no instant."""
    errors = []
    for number, part in enumerate(joined):
        for place, fact in enumerate(part.facts):
            if fact.expires_at is not UNSET and not _is_instant(fact.expires_at):
                pointer = f"/joined/{number}/facts/{place}/expires_at"
                text = "This is no instant: RFC 3339 with an offset."
                errors.append(field_error(pointer, text, code="not_allowed", value=fact.expires_at))
    return errors


def _is_instant(text: str) -> bool:
    try:
        instant(text)
    except ValueError:
        return False
    return True
