"""Which limits of a start a change of configuration loosens: who may do that, and what they must say."""

from datetime import datetime
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Raw, Struct

from coldwright.contract import FieldError, Refused
from coldwright.contract.refusal import field_error
from coldwright.service.http.callers import Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import ask
from coldwright.service.state import Services
from coldwright.store.startups import loosened_since

MAY_LOOSEN = frozenset({"book", "admin"})
"""Scopes that may loosen the limits of a start. With `field` alone numeric limits are tightened only."""


MACHINE = "/machine"
"""Stands beside the configuration, and no limit goes by it: what stands of a machine does."""


class Looser(Struct, frozen=True):
    """A field whose change loosens a limit of the start, or makes another start of it."""

    pointer: Annotated[str, Meta(description="Where it stands, below the configuration; `/machine` stands beside it.")]
    why: Annotated[str, Meta(description="What is looser, or other.")]


async def looser(services: Services, before: dict[str, Any] | None, after: dict[str, Any]) -> list[Looser]:
    """What is looser in `after` than in `before`, or than the defaults where nothing was before."""
    if before == after:
        return []
    if services.registry.role("start_change") is None:  # nobody can say which way a limit is tighter
        changed = [n for n, value in (before or {}).items() if after.get(n) != value]
        return [Looser(f"/{n}", "Nobody here can say whether this is tighter or looser.") for n in changed]
    given = {"after": after} if before is None else {"before": before, "after": after}
    evaluated = await ask(services, "start_change", msgspec.json.encode(given), "metric")
    results = msgspec.json.decode(evaluated.body, type=_Answer).results
    found = [Looser(_below(entry["pointer"]), entry["why"]) for entry in _of(results, "loosened")]
    known = {entry.pointer for entry in found}
    other = [p for p in map(_below, _of(results, "structural")) if p not in known]
    return found + [Looser(p, "It makes another start of it: what was proved before need not hold.") for p in other]


async def changed_fields(services: Services, tenant: str, startup_id: str, until: datetime | None) -> bytes:
    """JSON of the fields that were loosened or made other since the start was opened, each with the last time of it."""
    last: dict[str, datetime] = {}
    for at, loosened in await services.stored(loosened_since, services.database, tenant, startup_id, until):
        for one in msgspec.json.decode(loosened, type=list[Looser]):
            if one.pointer == MACHINE:
                continue
            last[one.pointer.removeprefix("/").partition("/")[0]] = at
    if not last:
        return b""
    moments = sorted(set(last.values()))
    changes = [{"at": instant_text(at), "fields": sorted(f for f, t in last.items() if t == at)} for at in moments]
    return msgspec.json.encode(changes)


class _Answer(Struct):
    results: dict[str, Raw]


def _of(results: dict[str, Raw], name: str) -> Any:
    return msgspec.json.decode(results[name]) if name in results else ()


def _below(pointer: str) -> str:
    """A pointer into the configuration, wherever the calculator starts it."""
    plain = pointer.removeprefix("#").removeprefix("/after").removeprefix("/configuration")
    return plain if plain.startswith("/") else f"/{plain}"


def refuse_unless_allowed(caller: Caller, found: list[Looser], after: dict[str, Any], by: str, reason: str) -> None:
    """Raise a problem where the caller may not, or does not say who and why."""
    if not found:
        return
    named = tuple(
        field_error(
            one.pointer if one.pointer == MACHINE else f"/configuration{one.pointer}",
            "This loosens a limit of the start.",
            code="looser",
            value=_at(after, one),
            why=one.why,
        )
        for one in found
    )
    if not caller.scopes & MAY_LOOSEN:
        text = "With the scope `field` limits are tightened only. Somebody with `book` or `admin` may do this."
        raise ProblemRaised("scope-missing", text, errors=named[:50])
    missing: list[FieldError] = []
    why = f"It loosens limits of the start: {', '.join(one.pointer for one in found[:10])}."
    for name, value in (("by", by), ("reason", reason)):
        if not value.strip():
            text = "Say who changes it." if name == "by" else "Say why it is changed."
            missing.append(field_error(f"/{name}", text, code="missing", why=why))
    if missing:
        raise Refused(missing)


def _at(configuration: dict[str, Any], one: Looser) -> Any:
    return configuration.get(one.pointer.removeprefix("/").partition("/")[0], msgspec.UNSET)
