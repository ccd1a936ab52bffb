"""What the kinds of load have in common while they are worked out."""

from dataclasses import dataclass

from coldwright.contract import Fluid, Notes
from coldwright.contract.quantities import Duration


@dataclass(frozen=True)
class Place:
    """Where a part stands in the request, and what surrounds it."""

    pointer: str
    name: str
    fluid: Fluid
    pressure: float
    """Air pressure at the site, Pa."""
    coldest_liquid: float | None
    """Leaving temperature of the machines, K, where it is known."""
    notes: Notes


@dataclass(frozen=True)
class Found:
    """Heat of one part, W, and what else is known of it."""

    total: float
    mean: float | None = None
    """None: the same as the total."""
    sensible: float | None = None
    latent: float | None = None
    condensate: float | None = None
    """kg/s"""
    time: Duration | None = None
    is_estimate: bool = False
    never: bool = False
    """Whether the end is never reached, so that there is no mean."""
