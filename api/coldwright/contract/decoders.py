"""Decoders of types, made one at a time.

msgspec prepares a struct type in steps when it is first decoded. A second thread that decodes it, or a struct inside it,
before the last step ends the process with a memory fault; so whoever decodes into a struct prepares it here first.
"""

from collections.abc import Hashable
from functools import cache
from threading import RLock
from typing import Any, TypeVar, cast

import msgspec

T = TypeVar("T")
_one_at_a_time = RLock()


@cache
def _decoder(expected: Hashable) -> msgspec.json.Decoder[Any]:
    with _one_at_a_time:
        return msgspec.json.Decoder(cast(Any, expected))


def decoder_of(expected: type[T]) -> msgspec.json.Decoder[T]:
    """The decoder of a type."""
    return _decoder(cast(Hashable, expected))


def prepared(expected: type[T]) -> type[T]:
    """The type itself, fit to be converted into."""
    decoder_of(expected)
    return expected
