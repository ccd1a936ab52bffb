"""What is kept of an item that failed: the facts, from which a reply can be made."""

import msgspec
from msgspec import Struct

from coldwright.contract import FieldError, Malformed, Refused
from coldwright.engine import Failure

STATUS = {
    "refused-input": 422,
    "not-json": 400,
    "too-large": 413,
    "calculator-defect": 500,
    "calculator-died": 503,
    "calculator-too-slow": 504,
}
"""HTTP status that an item would have had alone, by the slug of its problem."""
MOST_ERRORS = 50


class Facts(Struct, frozen=True):
    """Why an item has no answer."""

    slug: str
    detail: str = ""
    errors: tuple[FieldError, ...] = ()

    @property
    def status(self) -> int:
        """HTTP status that the item would have had alone."""
        return STATUS[self.slug]

    def encoded(self) -> bytes:
        """As it is kept."""
        return msgspec.json.encode(self)


_decoder = msgspec.json.Decoder(Facts)


def facts_of(error: Refused | Malformed | Failure) -> Facts:
    """Why an item has no answer, from what was raised."""
    if isinstance(error, Refused):
        return Facts("refused-input", errors=tuple(error.errors[:MOST_ERRORS]))
    if isinstance(error, Malformed):
        return Facts("not-json", error.detail)
    return Facts(error.slug, str(error))


def facts_in(body: bytes) -> Facts:
    """From what was kept."""
    return _decoder.decode(body)
