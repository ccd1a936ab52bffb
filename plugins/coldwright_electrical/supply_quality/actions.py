"""What to do about a supply that will not do, in the order of safe work."""

from typing import Final

from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import in_words_of

MAKE_SAFE: Final = (
    "Start nothing.",
    "Open the device at the source of this supply.",
    "Lock it, tag it, and try to start.",
    "Prove dead at the place of work, between all lines and from each line to {earth}.",
)

STOP_FIRST: Final = (
    "The machine runs on this supply: unload it, stop its compressors, then its pump, before anything else."
)

BURNS_OUT: Final = frozenset({"single_phasing", "lost_phase", "unbalance_above_five_percent"})
"""Stops under which motors that run must not go on running."""

_SWAP: Final = (
    "Change over any two line conductors at the source end, in every parallel set alike; never the neutral or the "
    "{protective_conductor}, never live, and never inside the machine to suit one site."
)

REVERSED_ACTIONS: Final = (
    *MAKE_SAFE,
    _SWAP,
    "Check every parallel set again, end to end.",
    "Close the supply again and read the rotation meter once more.",
    "Count the oil heaters' warm-up hour anew from there.",
)

ROLL_ACTION: Final = (
    "With the supply isolated and proved dead, move all three lines one place on at the machine, so that the sequence "
    "stays, and read again: if the high current stays with the supply's line, look at the supply; if it stays with the "
    "machine's terminal, look at the machine."
)


def in_order(actions: list[str], practice: Practice, *, running: bool) -> tuple[str, ...]:
    """Each action once, in the words of the practice: first what stops the machine and makes the supply safe."""
    once = dict.fromkeys(actions)
    safe = [action for action in MAKE_SAFE if action in once]
    rest = [action for action in once if action not in safe]
    ordered = (*((STOP_FIRST,) if running else ()), *safe, *rest)
    return tuple(in_words_of(practice, action) for action in ordered)
