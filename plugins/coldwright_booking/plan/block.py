"""A block of the plan: what it needs of the blocks before it, which calculators it asks, what it decides."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import NoneType
from typing import Any, Generic, TypeVar, get_args, get_type_hints

from coldwright.contract import Calculator
from coldwright_booking.plan.desk import Desk, Unanswered

ABSENT = (NoneType, Unanswered)
N = TypeVar("N")
V = TypeVar("V")


@dataclass(frozen=True)
class Block(Generic[N, V]):
    """One step of the plan. It takes one typed value, what earlier blocks decided, and gives one typed value."""

    name: str
    """Under which its value stands in the plan."""
    needs: type[N]
    """A named tuple: each field is called like the block, or the fact, that it takes."""
    asks: tuple[Calculator[Any, Any], ...]
    decide: Callable[[N, Desk], V]

    @cached_property
    def indispensable(self) -> tuple[str, ...]:
        """Needs without which it has nothing to do: those whose type does not allow for their absence."""
        return tuple(name for name, kind in get_type_hints(self.needs).items() if NoneType not in get_args(kind))


def walk(blocks: Iterable[Block[Any, Any]], decided: Mapping[str, Any], desk: Desk) -> dict[str, Any]:
    """What is decided, with the values of these blocks, each asked once, in the order given.

    A block that needs one whose calculator refused, or which was left out, is left out itself: its value is None.
    """
    known = dict(decided)
    for block in blocks:
        wanted = {name: known[name] for name in block.needs.__annotations__}
        missing = any(isinstance(wanted[name], ABSENT) for name in block.indispensable)
        known[block.name] = None if missing else block.decide(block.needs(**wanted), desk)
    return known
