"""How long conductors stand a fault."""

from msgspec import UnsetType

from coldwright.contract import Notes
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import FAULT_FACTORS, Segment
from coldwright_electrical.shared.sizes import cross_section


def withstand_time(
    given: FaultCurrentGiven, notes: Notes, segments: list[Segment], three_phase: float, earth: float | None
) -> float | None:
    """Least of (k S / I)^2 over the lines with a three-phase fault and the grounds with an earth fault, both at the machine."""
    k = float(FAULT_FACTORS.rows["k_of_copper"][given.practice])
    stand = []
    for segment in segments:
        stand.append((cross_section(segment.given.conductor_size) * segment.given.sets, three_phase))
        ground = segment.given.ground_conductor_size
        if earth is not None and not isinstance(ground, UnsetType):
            stand.append((cross_section(ground) * segment.ground_sets, earth))
    if not stand:
        return None
    area, current = min(stand, key=lambda pair: pair[0] / pair[1])
    duration = (k * area / current) ** 2
    notes.show(
        "t",
        "Time the weakest conductor stands",
        f"least of (k S / I)^2 over lines and grounds = ({k:g} x {area:.5g} mm2 / {current:.6g})^2",
        duration,
        "s",
    )
    return duration
