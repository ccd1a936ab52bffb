"""The object that an entry point of the group `coldwright.calculators` names."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from coldwright.contract.calculator import Calculator, Example
from coldwright.contract.reference import Reference

CONTRACT_VERSION = "1.3"
"""Version of this package's promise: see DEVELOPERS.md, "What the contract promises"."""

ENTRY_POINT_GROUP = "coldwright.calculators"


Exploration = Literal["worksheet", "sweep", "limit"]
Role = Literal["booking", "booking_change", "fleet", "start", "start_change", "start_forms"]
"""What the service and the commands need a calculator for: to judge an order, what differs between two orders, a fleet
document, a start, a change of a start's configuration, and to describe the forms in which a start is recorded."""


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
    roles: Mapping[Role, str] = field(default_factory=dict)
    """Which of its calculators, by id, takes which part in the service. A role that is taken stays with its holder."""
    warms: tuple[str, ...] = ()
    """Ids of its calculators whose first example a worker answers before it takes work: what they build at first use is
    there from then on. Name those that everybody asks; each costs every worker its time and memory."""
    warms_later: tuple[str, ...] = ()
    """Ids of its calculators whose first answer takes long, and that few ask: one worker answers their first example when
    the service has been ready for a while and nobody asks anything. The others do not pay for it. Of plugins that are
    loaded in the service itself."""
    summary: str = ""
    """What it is for, in a line of the document."""
    explorations: Mapping[Exploration, Example] = field(default_factory=dict)
    """Requests that the document shows where many questions are asked in one: what they hold is for the plugin to say."""
