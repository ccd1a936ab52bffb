"""What the expansion vessel lets the loop rise to: the plan's vessel is sized for it, and its shut valves meet it."""

from coldwright.contract.quantities import GaugePressure
from coldwright_basis.constants import STANDARD_ATMOSPHERE

VESSEL_RANGE = 150.0
"""kPa that the expansion vessel may add to the standing pressure; more where that is high."""
SEA_LEVEL = STANDARD_ATMOSPHERE / 1000
"""Pressure of the standard atmosphere, kPa; the same law as in `hydronic.loop` and `electrical.generator`."""


def vessel_maximum(standing: GaugePressure) -> GaugePressure:
    """Greatest pressure of the vessel, over the standing pressure of the cold loop."""
    pressure = standing.to("kPa")
    return GaugePressure.of(pressure + max(VESSEL_RANGE, 0.4 * (pressure + SEA_LEVEL)), "kPa")
