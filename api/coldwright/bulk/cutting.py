"""How many items a chunk has: about a second of work, and no more bytes than go over a pipe in a moment."""

from collections.abc import Iterable

from coldwright.contract import Load

ITEMS = {Load.LIGHT: 500, Load.HEAVY: 25}
"""A worker begins no further item after about a second, and leaves the rest: so these may be too great, but no waste."""
BYTES = 4 * 1024 * 1024


def sizes(lengths: Iterable[int], load: Load) -> list[int]:
    """Sizes of chunks of items whose inputs have these lengths in bytes, in their order."""
    found: list[int] = []
    count = total = 0
    for length in lengths:
        if count and (count >= ITEMS[load] or total + length > BYTES):
            found.append(count)
            count = total = 0
        count, total = count + 1, total + length
    return [*found, count] if count else found
