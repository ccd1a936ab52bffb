"""How many items a chunk has: about a second of work, and no more bytes than go over a pipe in a moment."""

from collections.abc import Iterable

from coldwright.contract import Load

ITEMS = {Load.LIGHT: 2000, Load.HEAVY: 75}
"""A worker begins no further item after about a second, and leaves the rest: so these may be too great, but no waste. Light
ones would do more in a second, but their whole answers are held together until they are kept: some 20 MB."""
BYTES = 4 * 1024 * 1024


class Cutting:
    """Cuts items into chunks as they come."""

    def __init__(self, load: Load) -> None:
        self._most = ITEMS[load]
        self._found: list[int] = []
        self._count = self._bytes = 0

    def add(self, length: int) -> None:
        """One more item, whose input has that many bytes."""
        if self._count and (self._count >= self._most or self._bytes + length > BYTES):
            self._found.append(self._count)
            self._count = self._bytes = 0
        self._count, self._bytes = self._count + 1, self._bytes + length

    def sizes(self) -> list[int]:
        """Items of each chunk, in their order."""
        return [*self._found, self._count] if self._count else self._found


def sizes(lengths: Iterable[int], load: Load) -> list[int]:
    """Sizes of chunks of items whose inputs have these lengths in bytes, in their order."""
    cutting = Cutting(load)
    for length in lengths:
        cutting.add(length)
    return cutting.sizes()
