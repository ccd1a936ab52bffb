"""The reply to whoever asks whether the machine may start: as JSON, or as a page."""

import msgspec
from litestar import Response

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.negotiation import represent, wanted_form
from coldwright.service.http.replies import encode, wanted_units
from coldwright.service.startups.audit import tell
from coldwright.service.startups.verdict import (
    Verdict,
    find_startup,
    instant_of,
    now_text,
    verdict_on,
)
from coldwright.sheets import Sheet, Sources, startup_sheet
from coldwright.store.startups import Startup


async def get(asked: Asked) -> Response[bytes]:
    """The verdict, now or at another instant."""
    form = wanted_form(asked)
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    at = asked.query("at")
    if at is not None:
        instant_of(at, "at")
    known = asked.query("known_at")
    units = wanted_units(asked)
    verdict = await verdict_on(
        asked.services,
        asked.caller.tenant,
        startup,
        at.replace(" ", "+") if at else now_text(),
        units,
        instant_of(known, "known_at") if known else None,
    )
    if at is None and known is None:
        await tell(asked, startup, verdict)
    etag = f'W/"{startup.etag}-{verdict.observation_count}-{verdict.meaning}-{units}"'
    content = {"id": startup.id, "observation_count": verdict.observation_count, "verdict": msgspec.Raw(verdict.body)}
    return await represent(
        asked,
        form,
        etag,
        body=lambda: encode(content),
        sheet=lambda sources: _sheet(startup, verdict, sources),
        name=f"start-up-{startup.id}",
    )


def _sheet(startup: Startup, verdict: Verdict, sources: Sources) -> Sheet:
    """The page for the person at the machine."""
    document = msgspec.json.decode(startup.document)
    return startup_sheet(
        msgspec.json.decode(verdict.body),
        sources,
        id_=startup.id,
        machine=document.get("machine", ""),
        booking=document.get("booking", ""),
        observations=verdict.observation_count,
    )
