"""What to do about a supply that will not do, in the order of safe work."""

from typing import Final

MAKE_SAFE: Final = (
    "Start nothing.",
    "Open the device at the source of this supply.",
    "Lock it, tag it, and try to start.",
    "Prove dead at the place of work, between all lines and from each line to ground.",
)

STOP_FIRST: Final = (
    "The machine runs on this supply: unload it, stop its compressors, then its pump, before anything else."
)

BURNS_OUT: Final = frozenset({"single_phasing", "lost_phase", "unbalance_above_five_percent"})
"""Stops under which motors that run must not go on running."""

_SWAP: Final = (
    "Change over any two line conductors at the source end, in every parallel set alike; never the neutral or the "
    "ground, never live, and never inside the machine to suit one site."
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


def in_order(actions: list[str], *, running: bool) -> tuple[str, ...]:
    """Each action once: first what stops the machine and makes the supply safe, then what is looked for and mended."""
    once = dict.fromkeys(actions)
    safe = [action for action in MAKE_SAFE if action in once]
    rest = [action for action in once if action not in safe]
    return (*((STOP_FIRST,) if running else ()), *safe, *rest)
