"""The elements of a loop, those inside branches too."""

from collections.abc import Iterator, Sequence

from coldwright_hydronic.loop.given import BranchesGiven, ElementGiven

SUCTION = "pump_suction"

Located = tuple[str, ElementGiven, int]
"""Pointer, element, level of branches around it."""


def everything(elements: Sequence[ElementGiven], pointer: str = "/elements", level: int = 0) -> Iterator[Located]:
    """All elements, those of branches too, in order."""
    for i, element in enumerate(elements):
        here = f"{pointer}/{i}"
        yield here, element, level
        if isinstance(element, BranchesGiven):
            for j, path in enumerate(element.branches):
                yield from everything(path, f"{here}/branches/{j}", level + 1)
