"""The reply to whoever asks whether the machine may start: as JSON, or as a page."""

from collections.abc import Awaitable, Callable

import msgspec
from litestar import Response

from coldwright.registry import Served
from coldwright.service.calculators.resource import leaving_headers
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.languages import language_of
from coldwright.service.http.negotiation import JSON, represent, wanted_form
from coldwright.service.http.replies import encode, json_reply, wanted_units
from coldwright.service.pages import sheet_of
from coldwright.service.people.sheets import used_sheet
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.audit import keep_sent
from coldwright.service.startups.clocks import instant_of
from coldwright.service.startups.site_time import for_a_phone, in_site_time, refuse_unknown_zone
from coldwright.service.startups.verdict import Verdict, answer_of_major, find_startup, verdict_now, verdict_on
from coldwright.sheets import Occasion, Sheet, Sources
from coldwright.store.startups import Startup, start_after

FillSlots = Callable[[Asked, Startup, Verdict], Awaitable[dict[str, str]]]
"""Forms for the slots of the page."""
TZ = Parameter(
    "tz",
    "query",
    "IANA name of the zone of the site, `America/Denver`: sentences and pages say their times in it. UTC if not given.",
    {"type": "string", "maxLength": 64, "pattern": r"^[A-Za-z0-9_+\-/]+$"},
)
RECORD = Parameter(
    "record", "query", "Kind of record for which the page shows its form.", {"type": "string", "maxLength": 64}
)


async def get(asked: Asked, fill: FillSlots) -> Response[bytes]:
    """The verdict, now or at another instant."""
    form = wanted_form(asked)
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    if moved := await moved_on(asked, startup):
        return moved
    zone = zone_of(asked) if form == JSON else ""
    verdict = await asked_for(asked, startup)
    etag = tag_of(asked, startup, verdict)
    said = await said_in(asked, verdict, zone) if form == JSON else b""
    content = {"id": startup.id, "observation_count": verdict.observation_count, "verdict": msgspec.Raw(said)}
    of_now = asked.query("at") is None and asked.query("known_at") is None
    slots = await fill(asked, startup, verdict) if form == "text/html" and of_now else {}
    live = f"/v1/startups/{startup.id}/events" if of_now else ""
    return await represent(
        asked,
        form,
        etag,
        body=lambda: encode(content),
        sheet=lambda sources: sheet_of_start(asked, startup, verdict, sources),
        name=f"start-up-{startup.id}",
        variant="-".join(filter(None, (asked.query("tz"), language_of(asked), asked.query("details")))).replace(
            "/", "_"
        ),
        used=lambda sheet: used_sheet(asked, sheet, slots, order=startup.booking or "", live=live),
    )


def zone_of(asked: Asked) -> str:
    """The zone that the query names; raises `Refused` for one that is not known."""
    zone = asked.query("tz") or ""
    refuse_unknown_zone(zone)
    return zone


async def said_in(asked: Asked, verdict: Verdict, zone: str) -> bytes:
    """The answer with the times of its sentences as the site reads them."""
    if not zone:
        return for_a_phone(verdict.body, verdict.results, verdict.evaluated_at)
    return await asked.services.apart(in_site_time, verdict.body, zone, verdict.evaluated_at)


async def get_major(asked: Asked, older: Served) -> Response[bytes]:
    """The verdict of now in the shape of an older major version."""
    services, tenant = asked.services, asked.caller.tenant
    startup = await find_startup(services, tenant, asked.path("id"))
    if moved := await moved_on(asked, startup):
        return moved
    verdict = await asked_for(asked, startup)
    answer = await answer_of_major(services, tenant, startup, older, verdict.evaluated_at, wanted_units(asked))
    content = {"id": startup.id, "observation_count": verdict.observation_count, "verdict": msgspec.Raw(answer)}
    etag = f'{tag_of(asked, startup, verdict)[:-1]}-{older.calculator.major}"'
    return json_reply(encode(content), headers={"ETag": etag, **leaving_headers(older.calculator)})


async def moved_on(asked: Asked, startup: Startup) -> Response[bytes] | None:
    """To the next start of the same machine, where there is one: what this one says of now does not count any more."""
    if asked.query("at") is not None or asked.query("known_at") is not None:
        return None
    after = await asked.services.stored(start_after, asked.services.database, asked.caller.tenant, startup)
    if after is None:
        return None
    below = asked.scope["path"].partition(f"/startups/{startup.id}")[2]
    query = asked.scope["query_string"].decode("latin-1")
    location = f"/v1/startups/{after.id}{below}{'?' if query else ''}{query}"
    return Response(b"", status_code=307, headers={"Location": location})


async def asked_for(asked: Asked, startup: Startup) -> Verdict:
    """The verdict that the query asks for: of now, which is sent and kept, or of another instant."""
    services, tenant, units = asked.services, asked.caller.tenant, wanted_units(asked)
    at, known = asked.query("at"), asked.query("known_at")
    if at is None and known is None:
        verdict = await verdict_now(services, tenant, startup, units)
        await keep_sent(asked, startup, verdict)
        return verdict
    if at is not None:
        instant_of(at, "at")
    moment = at.replace(" ", "+") if at else instant_text(services.now())
    return await verdict_on(services, tenant, startup, moment, units, instant_of(known, "known_at") if known else None)


def tag_of(asked: Asked, startup: Startup, verdict: Verdict) -> str:
    """The ETag: of what the verdict says, so that the clock alone never changes it."""
    zone = (asked.query("tz") or "").replace("/", "_")
    return f'W/"{startup.etag}-{verdict.meaning}-{wanted_units(asked)}{zone and f"-{zone}"}"'


def sheet_of_start(asked: Asked, startup: Startup, verdict: Verdict, sources: Sources) -> Sheet:
    """The page for the person at the machine."""
    document = msgspec.json.decode(startup.document)
    occasion = Occasion(
        id=startup.id,
        machine=document.get("machine", ""),
        booking=document.get("booking", ""),
        observations=verdict.observation_count,
        zone=asked.query("tz") or "",
        language=language_of(asked),
        details=asked.query("details") == "all",
    )
    return sheet_of(asked.services.engine, asked.services.registry.role("start"), verdict.body, sources, occasion)
