"""What one start says against every start of the same source or loop, until plants are resources of their own.

Of the source: it was off, two sources can feed together, a lock is on, somebody is at the leads. Of the loop: filled, drained,
opened, leaking, the site's pump off, fill, drain or header valve in a wrong place. What happened counts wherever it was; what
can stand counts while it can. Common practice, no source.

Machines behind breakers of their own share the source all the same: an outage, or a generator that stops, is one of all. Who
opens only the breaker of one says so (`whole_source` false), and no other machine is stopped by it; what does not say so is
taken for the whole source, since the milder reading could hide an outage.
"""

from collections.abc import Iterable
from typing import Final, Literal

from msgspec import UNSET

from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Following
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.words import word

SharedField = Literal["source", "loop"]
MOST_SHARED: Final = 1000
"""Of one source or loop so many are named, the newest: each of them alone is enough to forbid a start."""


def shared_records(e: Evidence) -> dict[SharedField, list[Record]]:
    """Name of the field of the configuration -> records of this start that count in the others of the same name."""
    c = e.limits.configuration
    found: dict[SharedField, list[Record]] = {}
    if c.source is not UNSET:
        found["source"] = _newest([r for r in _of_source(e) if not _of_one_breaker(e, r)])
    if c.loop is not UNSET:
        found["loop"] = _newest(_of_loop(e))
    return {name: records for name, records in found.items() if records}


def _of_one_breaker(e: Evidence, r: Record) -> bool:
    """Whether it was said to concern the breaker that feeds this machine alone."""
    return e.limits.configuration.own_breaker and getattr(r.data, "whole_source", UNSET) is False


def _of_source(e: Evidence) -> list[Record]:
    settled = Settlements(e)
    found = [*e.power.off, *e.such("supply", lambda d: d.state == "interrupted")]
    found += _standing(e, "transfer_interlock", e.such("transfer_interlock", lambda d: not d.ok))
    found += _standing(e, "lock_check", e.such("lock_check", lambda d: not d.none_seen))
    at_leads = e.such("area_clear", lambda d: not d.clear and d.where in ("leads", "open_guards"))
    found += _standing(e, "area_clear", at_leads)
    for records in e.by_subject("lock").values():
        on = [r for r in records if r.data.state == "applied" and not settled.frees_lock(r)]
        found += _not_followed(on, [r for r in records if r.data.state == "removed"])
    return found


def _of_loop(e: Evidence) -> list[Record]:
    found = e.of("fill", "antifreeze_charge", "drain", "loop_opened")
    found += e.pumping.off["site"]
    found += _standing(e, "leak_check", e.such("leak_check", lambda d: d.result != "dry"))
    for subject, records in e.by_subject("valve_position").items():
        name = word(records[0].data.valve)
        if name in ("fill", "drain"):
            wrong = [r for r in records if r.data.position != e.limits.loop_valves[name]]
            found += _not_followed(wrong, [r for r in records if r.data.position == e.limits.loop_valves[name]])
        elif name == "other" and subject:
            found += [r for r in records if r.data.in_flow_path is True and r.data.position != "open"]
    return found


def _standing(e: Evidence, kind: str, adverse: list[Record]) -> list[Record]:
    """Those that no good record of the kind surely followed."""
    bad = set(adverse)
    return _not_followed(adverse, [r for r in e.of(kind) if r not in bad])


def _not_followed(adverse: Iterable[Record], good: Iterable[Record]) -> list[Record]:
    ends = Following(good)
    return [r for r in adverse if ends.end_of(r) == ALWAYS]


def _newest(records: list[Record]) -> list[Record]:
    own = [r for r in records if not r.foreign]
    return sorted(own, key=lambda r: (-r.latest, r.id))[:MOST_SHARED]
