"""A job as lines (NDJSON): the first says what is wanted, each further one is an item with an error of its own.

Read piece by piece in bounded memory: of the body no more is held than the line that is not whole yet.
"""

import re
from collections.abc import Callable
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from coldwright.bulk.facts import Facts, facts_of
from coldwright.bulk.keeping import NO_ANSWER
from coldwright.contract import Given, Malformed, Refused, Text, about
from coldwright.contract.fields import TEXT_PATTERN
from coldwright.contract.reading import read
from coldwright.store.jobs import Item


class JobItem(Given, frozen=True, kw_only=True):
    """One evaluation."""

    id: Annotated[Text, about("Your name for it.", min_length=1)]
    given: Annotated[dict[str, Any], about("Its input, as the calculator's own address takes it.")]


class Line(Struct, frozen=True, forbid_unknown_fields=True):
    """The same with its input left as it was sent: whoever answers it reads it."""

    id: Annotated[str, Meta(min_length=1, max_length=200, pattern=TEXT_PATTERN)]
    given: msgspec.Raw


_TEXT = re.compile(rb"\S")
_decoder = msgspec.json.Decoder(Line)


class Lines:
    """Cuts a body into lines; a line that is too long is passed over up to its end, and counted."""

    def __init__(self, longest: int) -> None:
        self._longest = longest
        self._rest = b""
        self._over = 0
        """Length so far of a line that is too long; 0: there is none."""
        self.number = 0
        """Lines that have ended, empty ones too: the number of the last one."""

    def take(self, piece: bytes, found: Callable[[int, bytes | int], None]) -> None:
        """Hand over every line that ends in the piece, with its number: its bytes, or its length where that is too long.

        Empty lines are passed over by the thousand: a body of nothing else would else keep the process busy for minutes.
        """
        at = 0
        if self._rest or self._over:
            at = piece.find(b"\n") + 1
            if not at:
                self._begin(piece)
                return
            self._end(piece[: at - 1], found)
        while text := _TEXT.search(piece, at):
            at = self._passed(piece, at, text.start())
            end = piece.find(b"\n", at)
            if end < 0:
                break
            self._end(piece[at:end], found)
            at = end + 1
        else:
            at = self._passed(piece, at, len(piece))
        self._begin(piece[at:])

    def _passed(self, piece: bytes, at: int, to: int) -> int:
        """Where the line begins that goes on at `to`; the lines before it are empty, and counted."""
        start = piece.rfind(b"\n", at, to) + 1 or at
        self.number += piece.count(b"\n", at, start)
        return start

    def end(self, found: Callable[[int, bytes | int], None]) -> None:
        """Hand over the last line, which may have no end."""
        if self._rest or self._over:
            self._end(b"", found)

    def _begin(self, part: bytes) -> None:
        length = self._over or len(self._rest)
        if length + len(part) > self._longest:
            self._over, self._rest = length + len(part), b""
        else:
            self._rest += part

    def _end(self, part: bytes, found: Callable[[int, bytes | int], None]) -> None:
        self.number += 1
        if self._over or self._rest:
            self._begin(part)
            part, self._rest = self._rest, b""
        elif len(part) > self._longest:
            self._over = len(part)
        over, self._over = self._over, 0
        if over or (part and not part.isspace()):
            found(self.number, over or part)


def item_of(number: int, line: int, sent: bytes | int, longest: int) -> Item:
    """The item of a line, or the item that has failed already because of its line."""
    if isinstance(sent, int):
        text = f"The line has {sent} bytes; {longest} are taken in a line."
        return _failed(number, f"line {line}", Facts("too-large", text))
    try:
        return Item(number, *_read(sent))
    except (Refused, Malformed) as error:
        return _failed(number, f"line {line}", facts_of(error))


def _read(sent: bytes) -> tuple[str, bytes]:
    """Name and input. Raises `Malformed` or `Refused`."""
    try:
        line = _decoder.decode(sent)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        item = read(JobItem, sent)
        return item.id, msgspec.json.encode(item.given)
    given = bytes(line.given)
    colons = sent.count(b":") - given.count(b":") - line.id.count(":")
    if colons != 2 or not given.startswith(b"{"):  # a member twice, or an input that is no object
        item = read(JobItem, sent)
        return item.id, msgspec.json.encode(item.given)
    return line.id, given


def _failed(number: int, name: str, facts: Facts) -> Item:
    return Item(number, name, b"", facts.status, body=facts.encoded(), severity=NO_ANSWER)
