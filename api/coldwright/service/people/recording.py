"""Recording from the page of a start: the form for what would settle the next action, and forms for everything else."""

from typing import Any

from litestar import Response
from msgspec import json

from coldwright.contract import Refused
from coldwright.contract.language import Say, words_in
from coldwright.contract.reading import convert
from coldwright.registry import Registry
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint
from coldwright.service.http.languages import LANG, language_of
from coldwright.service.http.negotiation import sources
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import wanted_units
from coldwright.service.http.sessions import read_form
from coldwright.service.people.addresses import form_at
from coldwright.service.people.observing import MOST_RECORDS, described, observations_in, record_of
from coldwright.service.people.sheets import used_sheet
from coldwright.service.people.shell import see, written
from coldwright.service.startups.documents import Types
from coldwright.service.startups.observations import LooseBatch, ObservationReplies, take
from coldwright.service.startups.reply import TZ, sheet_of_start
from coldwright.service.startups.verdict import Verdict, find_startup, verdict_now
from coldwright.store.observations import body_of
from coldwright.store.startups import ENDED, Startup

KEPT_BEFORE = 200
SENT_BEFORE = (
    "This form was recorded before, with what it said then. What it says now is not recorded yet: if it is another reading, "
    "press Record it once more."
)
NO_WRONG: dict[int, list[str]] = {}


async def slots(
    asked: Asked,
    startup: Startup,
    verdict: Verdict,
    kept: dict[str, str] | None = None,
    wrong: dict[int, list[str]] = NO_WRONG,
) -> dict[str, str]:
    """What stands in the slots of the page of a start."""
    if (
        "field" not in asked.caller.scopes
        or verdict.status == ENDED
        or asked.services.registry.role("start_forms") is None
    ):
        return {}
    forms, say = await described(asked, startup), words_in("coldwright.service", language_of(asked))
    kinds, us = {k["kind"]: k for k in forms["kinds"]}, wanted_units(asked) == "us"
    templates = [t for t in verdict.part("next_action", {}).get("record", ()) if t["kind"] in kinds]
    chosen = asked.query("record") or ""
    if kept is not None:
        records = [_as_entered(n, kinds, kept, us, say) for n in range(MOST_RECORDS) if kept.get(f"{n}/kind") in kinds]
    elif chosen in kinds:
        records = [record_of(0, kinds[chosen], {}, us, say)]
    else:
        records = [record_of(n, kinds[t["kind"]], t, us, say) for n, t in enumerate(templates)]
    groups: dict[str, list[dict[str, Any]]] = {}
    for kind in forms["kinds"]:
        groups.setdefault(kind["group"], []).append(kind)
    roles = next((f["choices"] for f in forms["common"] if f["name"] == "role"), ())
    query = "".join(f"&{p}={v}" for p in ("tz", "units", "lang") if (v := asked.query(p)))
    html = written(
        asked,
        "recording.html",
        here=f"/v1/startups/{startup.id}",
        action=f"/v1/startups/{startup.id}/form?{query.lstrip('&')}",
        query=query,
        records=records,
        chosen=chosen,
        groups=groups,
        roles=roles,
        person=asked.caller.person,
        own_roles=asked.caller.roles,
        zone=asked.query("tz") or "UTC",
        kept=kept or {},
        wrong=wrong,
        say=say,
    )
    return {"record": html}


def _as_entered(place: int, kinds: dict[str, Any], kept: dict[str, str], us: bool, say: Say) -> dict[str, Any]:
    """A record as somebody filled it in, to be put right."""
    record = record_of(place, kinds[kept[f"{place}/kind"]], {}, us, say)
    for field in record["fields"]:
        if field.kind == "quantity":
            field.value, field.unit = (
                kept.get(f"{field.pointer}/value", ""),
                kept.get(f"{field.pointer}/unit", field.unit),
            )
        for child in field.children:
            child.value = kept.get(child.pointer, "")
        if field.kind not in ("quantity", "list"):
            field.value = kept.get(field.pointer, "")
    return record | {"id": kept.get(f"{place}/id", record["id"])}


async def _take(asked: Asked, types: Types) -> Response[bytes]:
    services, tenant = asked.services, asked.caller.tenant
    startup = await find_startup(services, tenant, asked.path("id"))
    sent = dict(await read_form(asked))
    forms = await described(asked, startup)
    records = observations_in({k["kind"]: k for k in forms["kinds"]}, sent, services.now())
    first = next((n for n in range(MOST_RECORDS) if f"{n}/kind" in sent), 0)
    wrong: dict[int, list[str]] = {first: ["Nothing was filled in."]}
    if records:
        try:
            replies = await take(asked, types, LooseBatch(observations=tuple(records)), once=True)
            wrong = _wrong(sent, records, replies) | await _changed_since(asked, types, sent, replies, records)
        except (Refused, ProblemRaised) as error:
            wrong = {first: [str(error)]}
    if not wrong:
        query = asked.scope["query_string"].decode("latin-1")
        return see(f"/v1/startups/{startup.id}{'?' if query else ''}{query}")
    verdict = await verdict_now(services, tenant, startup, wanted_units(asked))
    filled = await slots(asked, startup, verdict, sent, wrong)

    def page() -> Response[bytes]:
        return used_sheet(
            asked, sheet_of_start(asked, startup, verdict, sources(services.registry)), filled, status=422
        )

    return await services.apart(page)


def _wrong(sent: dict[str, str], records: list[dict[str, Any]], replies: ObservationReplies) -> dict[int, list[str]]:
    """Why records were refused, by their place in the form."""
    places = {sent.get(f"{n}/id"): n for n in range(MOST_RECORDS)}
    found: dict[int, list[str]] = {}
    for record, reply in zip(records, replies.observations, strict=True):
        if reply.errors:
            found[places.get(record["id"], 0)] = [_said(json.decode(json.encode(e))) for e in reply.errors]
    return found


async def _changed_since(
    asked: Asked, types: Types, sent: dict[str, str], replies: ObservationReplies, records: list[dict[str, Any]]
) -> dict[int, list[str]]:
    """Records of a form that was sent before, by their place, where something else stands in it now: with a new id, so that
    they can be sent once more. A form that comes twice as it is was taken the first time, and is well.
    """
    places = {sent.get(f"{n}/id"): n for n in range(MOST_RECORDS)}
    found: dict[int, list[str]] = {}
    for record, reply in zip(records, replies.observations, strict=True):
        if reply.status != KEPT_BEFORE:
            continue
        services = asked.services
        body = await services.stored(body_of, services.database, asked.caller.tenant, asked.path("id"), record["id"])
        kept = json.decode(body) if body else {}
        now = json.decode(json.encode(convert(types.kinds.observation, record)))
        if any(kept.get(name) != now.get(name) for name in ("kind", "data")):
            place = places.get(record["id"], 0)
            found[place] = [SENT_BEFORE]
            sent.pop(f"{place}/id", None)
    return found


def _said(error: dict[str, Any]) -> str:
    name = str(error["pointer"]).rpartition("/data/")[2].split("/")[0].replace("_", " ").strip("#")
    return (
        f"{name.capitalize()}: {error['detail']}"
        if name and "/data/" in str(error["pointer"])
        else str(error["detail"])
    )


def endpoints(registry: Registry) -> list[Endpoint]:
    """Where the forms are sent; nowhere, where nobody answers whether a machine may start."""
    if registry.role("start") is None or registry.role("start_forms") is None:
        return []
    types = Types(registry)

    async def taking(asked: Asked) -> Response[bytes]:
        return await _take(asked, types)

    return [form_at("/v1/startups/{id}/form", "Records", "field", taking, TZ, UNITS, LANG)]


__all__ = ["endpoints", "slots"]
