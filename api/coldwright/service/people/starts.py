"""Starts in a few words: the state by a sign of its own, the one thing to do, who does it. Worst first."""

from typing import Any, NamedTuple

from coldwright.contract.page import Shape
from coldwright.contract.people import label, plain_text, prose, timed
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.replies import wanted_units
from coldwright.service.startups.verdict import verdict_now
from coldwright.store.startups import ENDED, Startup, Wanted, list_startups, newest_of_machines

RANK = ("stop", "blocked", "wait", "ready", "running", "ended")
SHAPES: dict[str, Shape] = {"stop_now": "stop", "blocked": "blocked", "wait": "wait"}
SHAPES |= {"ready": "ready", "running": "running", "ended": "ended"}
TONES = {"stop": "bad", "blocked": "bad", "wait": "care", "ready": "good", "running": "good", "ended": "plain"}
MOST = 60


class StartCard(NamedTuple):
    """One start."""

    id: str
    booking: str
    machine: str
    word: str
    shape: str
    tone: str
    do: str
    lines: tuple[str, ...]

    @property
    def more(self) -> str:
        """Its order, where it has one, and what stands open, in a row."""
        texts = filter(None, (self.booking, *(line[:1].upper() + line[1:] for line in self.lines)))
        return ". ".join(texts).replace("\u2026.", "\u2026")


async def cards_on_site(asked: Asked) -> list[StartCard]:
    """Machines that are on site, by their newest start."""
    services, tenant = asked.services, asked.caller.tenant
    newest = await services.stored(newest_of_machines, services.database, tenant)
    rows = await services.stored(list_startups, services.database, tenant, Wanted(), "", 10 * MOST)
    there = [r for r in rows if newest.get(r.machine, r.created_at) <= r.created_at and r.state != ENDED]
    return await cards(asked, there[:MOST])


async def cards_of_booking(asked: Asked, booking: str) -> list[StartCard]:
    """All starts of an order."""
    services, tenant = asked.services, asked.caller.tenant
    rows = await services.stored(list_startups, services.database, tenant, Wanted(booking=booking), "", MOST)
    return await cards(asked, rows)


async def cards(asked: Asked, rows: list[Startup]) -> list[StartCard]:
    """Each as it is now, the worst first."""
    found = [await _card(asked, row) for row in rows]
    return sorted(found, key=lambda c: (RANK.index(c.shape), c.booking, c.id))


async def _card(asked: Asked, row: Startup) -> StartCard:
    verdict = await verdict_now(asked.services, asked.caller.tenant, row, wanted_units(asked))
    shape = SHAPES.get(verdict.status, "blocked")
    action: dict[str, Any] = verdict.part("next_action", {})
    return StartCard(
        row.id,
        row.booking or "",
        plain_text(row.machine or row.id),
        label(verdict.status),
        shape,
        TONES[shape],
        prose(timed(action.get("short", ""), "", verdict.evaluated_at)),
        tuple(line_of(line, verdict.evaluated_at) for line in verdict.part("lines", ()))[1:],
    )


def line_of(text: str, now: str) -> str:
    """One of several that stand in a row with full stops between: without its own, its times as a watch shows them."""
    return prose(timed(text, "", now)).removesuffix(".")


__all__ = ["StartCard", "cards", "cards_of_booking", "cards_on_site"]
