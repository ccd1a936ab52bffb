"""Laws of water hammer in a line of segments in series. SI."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt


@dataclass(frozen=True)
class Wall:
    """How a wall gives: growth of volume for each pascal."""

    compliance: float

    @classmethod
    def elastic(cls, diameter: float, thickness: float, modulus: float, restraint: float) -> "Wall":
        """A thin wall: c1 D/(E e)."""
        return cls(restraint * diameter / (modulus * thickness))

    @classmethod
    def tested(cls, expansion: float, pressure: float) -> "Wall":
        """A hose whose volumetric expansion was measured."""
        return cls(expansion / pressure)


def celerity(density: float, bulk_modulus: float, wall: Wall, gas_term: float) -> float:
    """Wave speed; `gas_term` is the free gas fraction over its absolute pressure."""
    return 1.0 / sqrt(density * (1.0 / bulk_modulus + wall.compliance + gas_term))


@dataclass(frozen=True)
class Event:
    """A line whose flow is stopped, wholly or in part, within a closure time."""

    density: float
    lengths: tuple[float, ...]
    wave_speeds: tuple[float, ...]
    velocities: tuple[float, ...]
    stopped: float
    closure_time: float

    @cached_property
    def travel_time(self) -> float:
        """Of the wave, one way."""
        return sum(length / a for length, a in zip(self.lengths, self.wave_speeds, strict=True))

    @property
    def wave_speed(self) -> float:
        """Of the line as one."""
        return sum(self.lengths) / self.travel_time

    @property
    def critical_time(self) -> float:
        """There and back."""
        return 2.0 * self.travel_time

    @property
    def fast(self) -> bool:
        """Closed before the wave is back."""
        return self.closure_time <= self.critical_time

    @property
    def momentum(self) -> float:
        """Momentum to be stopped, for each unit of area: rho sum(L V)."""
        return self.density * self.stopped * sum(n * v for n, v in zip(self.lengths, self.velocities, strict=True))

    @property
    def velocity_change(self) -> float:
        """Of the line as one: of the first segment, or of the mean over the length where that is more."""
        mean = self.momentum / (self.density * sum(self.lengths))
        return max(self.stopped * self.velocities[0], mean)

    @property
    def joukowsky(self) -> float:
        """Rise on instant closing, by the wave speed of the line."""
        return self.density * self.wave_speed * self.velocity_change

    @property
    def rise(self) -> float:
        """Rise of this event: Joukowsky's if fast, else Michaud's, never above it."""
        return self.joukowsky if self.fast else min(self.joukowsky, 2.0 * self.momentum / self.closure_time)

    @property
    def local_rises(self) -> tuple[float, ...]:
        """Rise on instant closing in each segment by its own wave speed."""
        return tuple(
            self.density * a * self.stopped * v for a, v in zip(self.wave_speeds, self.velocities, strict=True)
        )

    @property
    def worst_rise(self) -> float:
        """The rise that the findings use: in a fast event the local rises count too."""
        return max(self.rise, *self.local_rises) if self.fast else self.rise

    def trough(self, static: float, vapor: float, atmosphere: float) -> float:
        """Gauge pressure after the rise is turned back; a liquid cannot go below its vapour pressure."""
        return max(static - self.rise, vapor - atmosphere)

    def safe_closure_time(self, allowed_rise: float, allowed_fall: float) -> float | None:
        """Closing time, s, that keeps rise and fall (Pa) within what is allowed.

        0 if instant closing does, None if nothing is allowed. A fall that just reaches its limit parts the column.
        """
        if allowed_rise <= 0 or allowed_fall <= 0:
            return None
        needed = 0.0
        if max(self.joukowsky, *self.local_rises) > allowed_rise:
            needed = 2.0 * self.momentum / allowed_rise
        if self.joukowsky >= allowed_fall:
            needed = max(needed, 2.0 * self.momentum / allowed_fall)
        return max(needed, self.critical_time) * LONGER if needed else 0.0


LONGER = 1 + 1e-6
"""A closing time that just reaches a limit is on its wrong side: as much longer as makes it right in any arithmetic."""


def safe_closure_time(events: Sequence[Event], allowed_rise: float, allowed_fall: float) -> float | None:
    """s in which every one of the events stays within rise and fall, Pa; `None` where none does.

    Slow for all, or at once.
    """
    times = [event.safe_closure_time(allowed_rise, allowed_fall) for event in events]
    known = [time for time in times if time is not None]
    if len(known) < len(times):
        return None
    longest = max(known)
    return max(longest, *(event.critical_time * LONGER for event in events)) if longest > 0 else 0.0
