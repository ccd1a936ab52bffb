"""A step as the answers show it."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, Said, about, spoken
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import duration
from coldwright_readiness.shared.schedule import Timing
from coldwright_readiness.shared.steps import Role, Step


class ProcedureStep(Results, frozen=True, kw_only=True):
    """One step of the plan."""

    id: Annotated[str, about("Word that names the step.")]
    title: Annotated[str, about("What is done.")]
    why: Annotated[str, about("Why it is done.")]
    look_at: Annotated[str, about("What to look at.")]
    acceptance: Annotated[str, about("When it is done.")]
    hazard: Annotated[str, about("What can hurt.")]
    role: Annotated[Role, about("Who does it; `none` for time that passes by itself.")]
    duration: Annotated[Duration, about("How long it takes.")]
    depends_on: Annotated[tuple[str, ...], about("Steps that come before.")]
    undone_by: Annotated[tuple[str, ...], about("Events, V1 to V10, after which it must be done again.")]
    earliest_start: Annotated[Duration, about("Earliest start after arrival, with hands enough.")]
    earliest_finish: Annotated[Duration, about("Earliest finish after arrival, with hands enough.")]
    slack: (
        Annotated[Duration, about("Delay that cold water forgives; absent where cold water does not wait for it.")]
        | UnsetType
    ) = UNSET
    critical: Annotated[bool, about("Whether any delay of it delays cold water.")]
    evidence_kinds: Annotated[tuple[str, ...], about("Kinds of observation that prove it.")]
    said: Said = UNSET


def described(step: Step, timing: Timing) -> ProcedureStep:
    """A step with its times."""
    return ProcedureStep(
        id=step.id,
        title=step.title,
        why=step.why,
        look_at=step.look_at,
        hazard=step.hazard,
        role=step.role,
        duration=duration(step.duration),
        depends_on=step.depends_on,
        undone_by=step.undone_by,
        earliest_start=duration(timing.start),
        earliest_finish=duration(timing.finish),
        slack=UNSET if timing.slack is None else duration(timing.slack),
        critical=timing.critical,
        evidence_kinds=step.evidence_kinds,
        **spoken(acceptance=step.acceptance),
    )
