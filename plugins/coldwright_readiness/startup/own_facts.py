"""How the facts stand that no rule of ours reads, and parts of other plugins do.

A record of the kind `own_fact` says whether such a fact holds. It is worked out here, so that no part has to know of
clocks, corrections and doubts. Uncertainty never makes it milder.
"""

from collections.abc import Iterable, Sequence

from msgspec import UNSET

from coldwright.contract import JoinedToStart
from coldwright_basis.instants import instant, show
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import Record, after
from coldwright_readiness.startup.results import FactState
from coldwright_readiness.startup.rules.fact import Status

KIND = "own_fact"


def own_facts(e: Evidence) -> dict[str, FactState]:
    """Every fact that was recorded for parts, by its name."""
    return {subject[0]: _state(e, subject[0], records) for subject, records in e.subjects(KIND).items()}


def _state(e: Evidence, name: str, records: list[Record]) -> FactState:
    against = Against([r for r in records if not r.data.holds] + e.doubts(KIND, name))
    good = [r for r in records if r.data.holds and r.proves and against.all_before(r)]
    if not good:
        found: Status = "contradicted" if not records else "failed"
        return FactState(status=found, by=_ids(against.records or records), at=_latest(against.records or records))
    last = [r for r in good if not any(after(other, r) for other in good)]  # any of them can be the latest
    ends = [instant(r.data.until) for r in last if r.data.until is not UNSET]
    over = bool(ends) and min(ends) <= e.now
    return FactState(
        status="stale" if over else "established",
        by=_ids(last),
        at=_latest(last),
        expires_at=show(min(ends)) if ends else UNSET,
    )


def _ids(records: Iterable[Record]) -> tuple[str, ...]:
    return tuple(sorted({r.id for r in records}))


def _latest(records: Sequence[Record]) -> str:
    return show(max(r.at for r in records))


def joined_facts(joined: Iterable[JoinedToStart]) -> dict[str, FactState]:
    """The facts of parts, each under the id of its part."""
    return {
        f"{part.calculator}/{fact.name}": FactState(status=fact.status, by=fact.by, expires_at=fact.expires_at)
        for part in joined
        for fact in part.facts
    }
