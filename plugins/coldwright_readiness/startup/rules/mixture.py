"""Strength of the mixture: which readings count, and the weakest that can be in the loop."""

from msgspec import UNSET

from coldwright_basis.freezing import GREATEST_MASS_FRACTION, LEAST_MASS_FRACTION, glycol_freezing_temperature
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against, covers
from coldwright_readiness.startup.evidence.record import Record

READINGS_AGREE = 3.0
"""K by which freezing point and strength of one sample may differ."""
TURNOVERS = 3
"""So often the loop goes round before a reading is that of the mixture."""


def freezing_by_strength(e: Evidence, reading: Record) -> float | None:
    """K, by the freezing line of the glycol; None without a strength, or with one outside the line."""
    strength = reading.data.mass_fraction
    if strength is UNSET or not e.limits.glycol or not LEAST_MASS_FRACTION <= strength <= GREATEST_MASS_FRACTION:
        return None
    return glycol_freezing_temperature(e.limits.configuration.fluid_kind, strength)


def freezing_point(e: Evidence, reading: Record) -> float:
    """K: as read, or the worse one where the strength, read too, says something else."""
    read: float = reading.data.freeze_point.si
    by_strength = freezing_by_strength(e, reading)
    if by_strength is not None and abs(by_strength - read) > READINGS_AGREE:
        return max(by_strength, read)
    return read


def strength_changes(e: Evidence) -> list[Record]:
    """What makes another mixture of the liquid in the loop."""
    fills = e.such("fill", lambda d: d.medium != "mixed")
    return [*fills, *e.of("antifreeze_charge", "drain")]


def usable_readings(e: Evidence) -> list[Record]:
    """Readings of a running loop that had time to mix."""
    changes = Against(strength_changes(e))
    wait = TURNOVERS * (e.limits.turnover or 0)
    spans = e.pumping.run.spans
    return [
        r
        for r in e.of("antifreeze_reading")
        if r.proves
        and covers(spans, r.earliest - wait, r.latest)
        and not (wait and changes.may_lie(r.earliest - wait + 1, r.earliest))
    ]


def weakest_mixture(e: Evidence) -> float | None:
    """K: the warmest freezing point that can be that of the loop now; None where no reading counts."""
    usable = usable_readings(e)
    if not usable:
        return None
    newest = max(usable, key=lambda r: (r.earliest, r.id))
    rivals = [r for r in e.of("antifreeze_reading") if r.latest >= newest.earliest and not e.pumping.stood(r)]
    return max(freezing_point(e, r) for r in (newest, *rivals))
