"""The object that an entry point of the group `coldwright.calculators` names."""

from dataclasses import dataclass
from typing import Any

from coldwright.contract.calculator import Calculator
from coldwright.contract.reference import Reference

CONTRACT_VERSION = "1.2"
"""Version of this package's promise: see DEVELOPERS.md, "What the contract promises"."""

ENTRY_POINT_GROUP = "coldwright.calculators"


@dataclass(frozen=True, eq=False)
class Plugin:
    """A family or a set of calculators, as one distribution ships it."""

    name: str
    title: str
    contract: str
    """Range of contract versions it was written for, as a version specifier: `>=1.0,<2`."""
    calculators: tuple[Calculator[Any, Any], ...]
    """Of one id, each major version that is still shipped; the newest answers where nobody asks for another."""
    references: tuple[Reference, ...] = ()
    """References that stand for the whole plugin, beside those of its calculators."""
