"""Instants in answers: RFC 3339, so that generated clients read them as what they are."""

from datetime import UTC, datetime

from msgspec import Meta

from coldwright.contract import refuse


def instant(description: str) -> Meta:
    """Describe a field that holds an instant: `Annotated[str, instant("When it was kept, RFC 3339.")]`."""
    return Meta(description=description, max_length=40, extra_json_schema={"format": "date-time"})


def still_to_come(pointer: str, at: datetime) -> datetime:
    """The instant, in UTC; raises `Refused` where it has passed, or has no day in UTC."""
    try:
        in_utc = at.astimezone(UTC)
    except OverflowError:
        raise refuse(pointer, "In UTC this instant is on no day of the calendar.", value=at.isoformat()) from None
    if in_utc <= datetime.now(UTC):
        raise refuse(pointer, "This instant has passed.", value=at.isoformat())
    return in_utc
