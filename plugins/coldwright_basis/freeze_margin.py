"""How far the freezing point of a mixture must lie below the water that leaves: one rule for the plan and for the start.

Evaporating runs colder than the liquid, and a film on the tubes is colder than what the thermometer shows. The margin is
common practice, without a source.
"""

from typing import Final

from coldwright.contract.quantities import TemperatureDifference
from coldwright_basis.compare import at_most

USUAL_FREEZE_MARGIN: Final = TemperatureDifference(15.0, "delta_degF")
"""Unless the caller gives another, from 5 to 30 delta_degF."""


def freezing_point_for(set_point: float, margin: float = USUAL_FREEZE_MARGIN.si) -> float:
    """Warmest freezing point, K, that goes with a leaving set point [K] and a margin [K]."""
    return set_point - margin


def mixture_good_for(set_point: float, freezing_point: float, margin: float = USUAL_FREEZE_MARGIN.si) -> bool:
    """Whether a mixture that freezes at `freezing_point` [K] is good for a leaving set point [K]."""
    return at_most(freezing_point, freezing_point_for(set_point, margin))
