"""Durations of steps that the caller gives in place of the usual ones."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.contract.quantities import Duration
from coldwright_readiness.shared.steps import Step

LONGEST_STEP = Duration(30.0, "d")
AT_EVERY_MACHINE: Final = frozenset(
    {
        "place_machine", "connect_ground", "connect_lines", "connect_hoses",
        "disconnect_lines", "disconnect_ground", "disconnect_hoses", "secure_panels", "lift", "tie_down",
    }
)  # fmt: skip
"""Steps whose minutes are those of one machine: one crew goes from machine to machine (common practice)."""


def for_machines(steps: tuple[Step, ...], machines: int) -> tuple[Step, ...]:
    """The steps with what is done at every machine taking its time at each."""
    return tuple(replace(s, duration=machines * s.duration) if s.id in AT_EVERY_MACHINE else s for s in steps)


def pointer_to(step: str) -> str:
    """Where the duration of a step stands in the input."""
    return f"/step_durations/{step.replace('~', '~0').replace('/', '~1')}"


def duration_errors(durations: Mapping[str, Duration], steps: Sequence[Step]) -> Iterator[FieldError]:
    """Durations of steps that are not there, or out of range."""
    ids = [s.id for s in steps]
    for step, wanted in durations.items():
        if step not in ids:
            text = "This set-up has no such step."
            yield field_error(pointer_to(step), text, code="unknown_field", allowed=Allowed(one_of=tuple(ids)))
        elif not 0 <= wanted.si <= LONGEST_STEP.si:
            allowed = Allowed(minimum=0, maximum=30, unit="d")
            text = f"{wanted} is outside the range of a step."
            yield field_error(pointer_to(step), text, code="out_of_range", value=wanted, allowed=allowed)
