"""Bodies that come packed (`Content-Encoding: gzip`), unpacked piece by piece: a small one may hold very much."""

import zlib
from collections.abc import Iterator

from coldwright.service.http.problems import ProblemRaised

PIECE = 256 * 1024
"""Bytes that are unpacked at a time: what is done with them holds nobody up for long."""
GZIP = "gzip"


class Plain:
    """A body that is not packed."""

    def take(self, data: bytes) -> Iterator[bytes]:
        """The bytes in pieces of bounded length."""
        for start in range(0, len(data), PIECE):
            yield data[start : start + PIECE]

    def end(self) -> None:
        """It is whole."""


class Unpacked:
    """A gzip stream, of one member or of several (RFC 1952, 2.2)."""

    def __init__(self) -> None:
        self._member = zlib.decompressobj(wbits=31)
        self._begun = False

    def take(self, data: bytes) -> Iterator[bytes]:
        """What more can be unpacked, in pieces of bounded length. Raises a 400 for what is no gzip."""
        while data:
            if self._member.eof:
                self._member = zlib.decompressobj(wbits=31)
            self._begun = True
            try:
                piece = self._member.decompress(data, PIECE)
            except zlib.error as error:
                raise ProblemRaised("not-json", f"The body is not gzip, though it is said to be: {error}.") from None
            data = self._member.unused_data if self._member.eof else self._member.unconsumed_tail
            if piece:
                yield piece

    def end(self) -> None:
        """It is whole, or a 400 is raised."""
        if self._begun and not self._member.eof:
            raise ProblemRaised("not-json", "The gzip body ends too early.")


def unpacker(coding: str) -> Plain | Unpacked:
    """For a `Content-Encoding`; raises a 415 for one that is not taken."""
    if coding not in ("", GZIP):
        raise ProblemRaised(
            "media-type-not-taken",
            f"The body is sent as {coding[:40]}; taken is gzip, or as it is.",
            headers={"Accept-Encoding": GZIP},
        )
    return Unpacked() if coding else Plain()
