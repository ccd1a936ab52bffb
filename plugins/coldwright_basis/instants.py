"""Time stamps and spans, exact: instants are whole nanoseconds since 1970-01-01T00:00:00Z, never floats.

Stamps are RFC 3339 with an offset. As its section 5.6 permits, a space or a small `t` may stand for the `T`. A fraction
has up to nine digits.
"""

import re
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from functools import lru_cache
from typing import Final

from msgspec import Meta

from coldwright.contract import FieldError, field_error
from coldwright.contract.fields import exactly
from coldwright.contract.quantities import Duration

NANO: Final = 10**9
_NANO_IN: Final = {"s": NANO, "min": 60 * NANO, "h": 3600 * NANO, "d": 86400 * NANO}
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
STAMP_PATTERN: Final = (
    r"^(?:19|20|21)[0-9]{2}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])[Tt ](?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
    r"(?:\.[0-9]{1,9})?(?:[Zz]|[+-](?:[01][0-9]|2[0-3]):[0-5][0-9])$"
)
_PARTS: Final = re.compile(r"(.{19})(?:\.([0-9]+))?([Zz]|[+-][0-9:]+)", re.DOTALL)


def stamp(description: str) -> Meta:
    """Describe a field that holds a time stamp: `Annotated[str, stamp("When ...")]`."""
    return Meta(
        description=f"{description} RFC 3339 with its offset from UTC, years 1900 to 2199.",
        pattern=exactly(STAMP_PATTERN),
        max_length=40,
        extra_json_schema={"format": "date-time"},
        examples=["2026-05-04T09:06:00Z"],
    )


@lru_cache(maxsize=8192)
def instant(text: str) -> int:
    """Nanoseconds since 1970 of a stamp of the right form; `ValueError` for a day that the calendar does not have.

    Kept for a while: a start is judged again and again by the same records.
    """
    if len(text) == 20 and text[19] in "Zz":  # whole seconds in UTC: nearly every stamp
        second = text[17:19]
        if second < "60":
            return (_seconds_of_minute(text[:16]) + int(second)) * NANO
    match = _PARTS.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is not a time stamp")
    whole, fraction, offset = match.groups()
    moment = datetime.fromisoformat(whole.upper() + "+00:00")
    seconds = (moment - _EPOCH) // timedelta(seconds=1)
    if offset not in "Zz":
        ahead = int(offset[1:3]) * 3600 + int(offset[4:6]) * 60
        seconds -= -ahead if offset[0] == "-" else ahead
    return seconds * NANO + int((fraction or "").ljust(9, "0"))


@lru_cache(maxsize=4096)
def _seconds_of_minute(minute: str) -> int:
    """Seconds since 1970 at the beginning of a minute, `2026-05-04T09:06`: thousands of records share a day's minutes."""
    hour, of_hour = minute[11:13], minute[14:16]
    if hour > "23" or of_hour > "59":
        raise ValueError(f"{minute!r} is no minute of a day")
    return _seconds_of_day(minute[:10]) + int(hour) * 3600 + int(of_hour) * 60


@lru_cache(maxsize=1024)
def _seconds_of_day(day: str) -> int:
    """Seconds since 1970 at the beginning of a day."""
    return (date.fromisoformat(day) - _EPOCH.date()).days * 86400


def stamp_error(pointer: str, text: str) -> FieldError | None:
    """The refusal of a stamp whose form is right and whose day does not exist."""
    if is_on_calendar(text):
        return None
    return field_error(pointer, f"{text} names a day that the calendar does not have.", value=text)


def is_on_calendar(text: str) -> bool:
    """Whether the day of a stamp whose form is right exists."""
    try:
        _seconds_of_day(text[:10])
    except ValueError:
        return False
    return True


@lru_cache(maxsize=4096)
def show(moment: int) -> str:
    """The stamp of an instant, in UTC; a fraction only where there is one."""
    seconds, rest = divmod(moment, NANO)
    days, of_day = divmod(seconds, 86400)
    minutes, second = divmod(of_day, 60)
    fraction = f".{rest:09d}".rstrip("0") if rest else ""
    return f"{_day(days)}T{minutes // 60:02d}:{minutes % 60:02d}:{second:02d}{fraction}Z"


def whole(moment: int) -> int:
    """The next whole second: nobody on site reads a fraction, and a wait is never said shorter than it is."""
    return -(-moment // NANO) * NANO


@lru_cache(maxsize=1024)
def _day(days: int) -> str:
    """The date so many days after 1970-01-01."""
    return (_EPOCH.date() + timedelta(days=days)).isoformat()


def span(duration: Duration) -> int:
    """Nanoseconds of a duration, rounded to the nearest."""
    value = duration.value
    if not value:
        return 0
    if value == int(value):
        return int(value) * _NANO_IN[duration.unit]
    return round(Fraction(value) * _NANO_IN[duration.unit])


@lru_cache(maxsize=4096)
def duration(nanoseconds: int, unit: str = "min") -> Duration:
    """The duration quantity of a span. Steps that wait for one another share their times: each is made once."""
    return Duration.of(nanoseconds / _NANO_IN[unit], unit)  # of two whole numbers: rounded once, to the nearest


def in_words(nanoseconds: int) -> str:
    """A span as a person says it: `1 h 5 min`, `40 s`."""
    seconds = round(nanoseconds / NANO)
    parts = (
        (seconds // 86400, "d"),
        (seconds % 86400 // 3600, "h"),
        (seconds % 3600 // 60, "min"),
        (seconds % 60, "s"),
    )
    return " ".join(f"{n} {unit}" for n, unit in parts if n) or "0 s"
