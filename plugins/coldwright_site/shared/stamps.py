"""Time stamps: RFC 3339 with an offset, kept exactly, given back in UTC."""

import re
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from msgspec import Meta

from coldwright.contract import FieldError, about, field_error

PATTERN = (
    r"^(19|20|21)\d{2}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])[Tt ]([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d{1,12})?"
    r"([Zz]|[+-]([01]\d|2[0-3]):[0-5]\d)$"
)


def stamp(description: str) -> Meta:
    """Describe a field that holds a time stamp."""
    return about(
        f"{description} RFC 3339 with its offset from UTC, years 1900 to 2199.",
        pattern=PATTERN,
        max_length=40,
        examples=["2026-07-14T14:10:00-05:00"],
    )


class Instant(NamedTuple):
    """A moment: whole seconds in UTC, and the digits after the point, without zeros at their end."""

    second: datetime
    digits: str

    def later(self, minutes: float) -> "Instant":
        """The moment some whole minutes later."""
        return self._replace(second=self.second + timedelta(minutes=minutes))

    def __str__(self) -> str:
        return f"{self.second:%Y-%m-%dT%H:%M:%S}{'.' + self.digits if self.digits else ''}Z"


def instant(text: str) -> Instant:
    """The moment that a stamp names; `ValueError` for a day that no calendar has."""
    digits = re.search(r"\.(\d+)", text)
    whole = re.sub(r"\.\d+", "", text.upper().replace(" ", "T"))
    return Instant(datetime.fromisoformat(whole).astimezone(UTC), digits[1].rstrip("0") if digits else "")


def wrong_day(text: str, pointer: str) -> list[FieldError]:
    """An error when the stamp has the right form and names no day."""
    try:
        instant(text)
    except ValueError:
        return [field_error(pointer, "No calendar has this day.", value=text)]
    return []
