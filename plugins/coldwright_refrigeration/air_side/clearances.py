"""Free space at each side, and what is asked for there."""

from typing import Final

from msgspec import UNSET

from coldwright.contract.quantities import Length
from coldwright_refrigeration.air_side.given import AirSideGiven, ClearanceGiven
from coldwright_refrigeration.air_side.results import AirClearance

REQUIRED: Final = {"coil": 1.2, "control": 1.2, "facing_coil": 3.0}
"""m, where the machine's data give none. Common practice, no source."""


def clearance_of(given: ClearanceGiven) -> AirClearance | None:
    """What one side has and lacks; None where nothing is asked for."""
    required = given.required.si if given.required is not UNSET else REQUIRED.get(given.side)
    if required is None:
        return None
    return AirClearance(
        side=given.side,
        distance=given.distance.as_unit("m"),
        required=Length.of(required, "m"),
        shortfall=Length.of(max(0.0, required - given.distance.si), "m"),
    )


def clearances_of(given: AirSideGiven) -> tuple[AirClearance, ...]:
    """Of every side for which something is asked."""
    return tuple(one for clearance in given.clearances if (one := clearance_of(clearance)) is not None)
