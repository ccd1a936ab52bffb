"""Opening a start-up, and changing its configuration."""

from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Raw, Struct, UnsetType

from coldwright.contract import Given, Refused, refuse
from coldwright.contract.reading import convert
from coldwright.service.http.body import is_long, read_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import page_number, page_size, token_after
from coldwright.service.http.preconditions import condition_of, precondition_problems, status_of
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.changes import MACHINE, Looser, looser, refuse_unless_allowed
from coldwright.service.startups.documents import Types
from coldwright.service.startups.events import notify
from coldwright.service.startups.kinds import shared_names
from coldwright.service.startups.plans import FromBooking, Plan, plan_named, plan_of, refuse_other_serial
from coldwright.service.startups.refusing import refuse_configuration
from coldwright.service.startups.verdict import configuration_of, find_startup, verdict_now
from coldwright.service.state import Services
from coldwright.store.conditions import judge
from coldwright.store.startups import (
    Change,
    Startup,
    get_startup,
    list_configurations,
    machine_key,
    put_startup,
    start_before,
)


class LooseDocument(Given, frozen=True, kw_only=True):
    """A body before the configuration of a plan is laid under it."""

    configuration: Any = UNSET
    from_booking: Any = UNSET
    booking: Any = UNSET
    machine: Any = UNSET
    serial: Any = UNSET
    by: Any = UNSET
    reason: Any = UNSET


class ConfigurationEntry(Struct, frozen=True, kw_only=True):
    """A configuration that a start-up had."""

    version: Annotated[int, Meta(ge=1, le=2**31, description="Counts up from 1.")]
    digest: Annotated[str, Meta(description="SHA-256: the verdicts that were sent name it.")]
    changed_at: Annotated[str, instant("From when on it was in force, RFC 3339.")]
    changed_by: Annotated[str, Meta(description="Who set it; absent where nobody was named.")] | UnsetType = UNSET
    reason: Annotated[str, Meta(description="Why; absent where no limit was loosened.")] | UnsetType = UNSET
    key: Annotated[str, Meta(description="Id of the key or person that sent it.")]
    loosened: Annotated[tuple[Looser, ...], Meta(description="Which limits are looser than before.")]
    configuration: Annotated[Any, Meta(description="The configuration.")]


class ConfigurationList(Struct, frozen=True, kw_only=True):
    """A page of the configurations of a start-up."""

    configurations: Annotated[tuple[ConfigurationEntry, ...], Meta(description="The oldest first.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def put(asked: Asked, types: Types) -> Response[bytes]:
    """Open a start-up or change it."""
    services, tenant, id_ = asked.services, asked.caller.tenant, asked.path("id")
    sent = msgspec.structs.asdict(await read_body(asked, LooseDocument))
    sent = {name: value for name, value in sent.items() if value is not UNSET}
    present = await services.stored(get_startup, services.database, tenant, id_)
    condition = condition_of(asked)
    plan = await _plan(asked, sent, present, renew=bool(condition.if_match))
    request: Any = await services.apart(convert, types.document, sent, long=await is_long(asked))
    document = encode(_kept(request, plan))
    booking = request.booking or (plan.reference if plan else "")
    machine = request.machine or request.serial or ""
    by, reason = asked.caller.person or request.by or "", request.reason or ""
    found: list[Looser] = []
    if present is None or present.document != document:
        with precondition_problems():
            judge(condition, present.etag if present else None, same=False)
        await refuse_other_serial(services, tenant, request.serial or "", booking)
        opened = present.created_at if present else services.now()
        wanted = Startup(id_, document, "", opened, machine=machine_key(machine))
        await refuse_configuration(services, tenant, wanted)
        before, after = _before(present, plan, await _booked(asked, sent, plan)), _plain(document)
        found = await looser(services, before, after)
        found += await _left_behind(services, tenant, present, wanted.machine)
        refuse_unless_allowed(asked.caller, found, after, by, reason)
    change = Change(
        booking=booking,
        machine=machine,
        configuration=configuration_of(document),
        loosened=encode(found),
        person=by if found or asked.caller.person else "",
        reason=reason,
        caller=asked.caller.id,
        changed_at=services.now(),
        names=shared_names(configuration_of(document), types.shared),
    )
    with precondition_problems():
        startup, done = await services.stored(put_startup, services.database, tenant, id_, document, condition, change)
    notify(asked)
    earlier = await services.stored(start_before, services.database, tenant, startup)
    content = {
        "id": startup.id,
        "created_at": instant_text(startup.created_at),
        **({"follows": earlier.id} if earlier else {}),
        "startup": Raw(startup.document),
    }
    return json_reply(encode(content), status_of(done), {"ETag": f'"{startup.etag}"'})


async def _left_behind(services: Services, tenant: str, present: Startup | None, machine: str) -> list[Looser]:
    """Whether a start that is given to another machine would leave behind what stands of its own: a lock, an alarm."""
    if present is None or present.machine in ("", machine):
        return []
    if not (await verdict_now(services, tenant, present, "metric")).carries:
        return []
    return [Looser(MACHINE, "What stands of the machine, such as a lock or an alarm, would not count any more.")]


async def _plan(asked: Asked, sent: dict[str, Any], present: Startup | None, *, renew: bool) -> Plan | None:
    """The plan that the body names, its configuration laid under what was sent.

    A request that is sent again takes the revision of the first time, whatever the booking has become; with `If-Match`
    the newest is wanted.
    """
    if "from_booking" not in sent:
        return None
    try:
        wanted = await asked.services.apart(convert, FromBooking, sent["from_booking"], long=await is_long(asked))
    except Refused as refused:
        raise Refused([_under("/from_booking", e) for e in refused.errors]) from None
    revision = None
    if present is not None and not renew:
        kept = msgspec.json.decode(present.document).get("from_booking", {})
        if (kept.get("reference"), kept.get("machine")) == (wanted.reference, wanted.machine):
            revision = kept["revision"]
    plan = await plan_named(asked.services, asked.caller.tenant, wanted, revision)
    if sent.setdefault("booking", plan.reference) != plan.reference:
        text = f"The configuration is to come from the booking {plan.reference!r}."
        raise refuse("/booking", text, value=sent["booking"], why="One start belongs to one booking.")
    over = sent.get("configuration", {})
    if isinstance(over, dict):
        sent["configuration"] = plan.configuration | over
    return plan


def _kept(request: Any, plan: Plan | None) -> Any:
    """What is kept: without who sent it and why, which do not make another start of it."""
    if request.configuration is UNSET:
        raise refuse("/configuration", "Say what is set up, or name the booking to take it from.", code="missing")
    origin = UNSET if plan is None else msgspec.structs.replace(request.from_booking, revision=plan.revision)
    return msgspec.structs.replace(request, by=UNSET, reason=UNSET, from_booking=origin)


async def _booked(asked: Asked, sent: dict[str, Any], plan: Plan | None) -> Plan | None:
    """The plan of the booking that the start belongs to; raises `Refused` where there is no such booking."""
    reference = sent.get("booking", "")
    if plan is not None or not reference:
        return plan
    booked = await plan_of(asked.services, asked.caller.tenant, reference)
    if booked is None:
        raise refuse("/booking", "There is no booking of that reference.", value=reference)
    return booked


def _before(present: Startup | None, plan: Plan | None, booked: Plan | None) -> dict[str, Any] | None:
    """What a configuration is compared with: the one before it, the plan's, or nothing: the defaults."""
    if present is not None:
        return _plain(present.document)
    for one in (plan, booked):
        if one is not None and one.configuration:
            return one.configuration
    return None


def _plain(document: bytes) -> dict[str, Any]:
    found: dict[str, Any] = msgspec.json.decode(configuration_of(document))
    return found


def _under(pointer: str, error: Any) -> Any:
    return msgspec.structs.replace(error, pointer=f"#{pointer}{error.pointer.removeprefix('#')}")


async def list_changes(asked: Asked) -> Response[bytes]:
    """Every configuration, in pages."""
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    size, after = page_size(asked), page_number(asked)
    rows = await asked.services.stored(
        list_configurations, asked.services.database, asked.caller.tenant, startup.id, after, size + 1
    )
    entries = tuple(
        ConfigurationEntry(
            version=r.version,
            digest=r.digest,
            changed_at=instant_text(r.changed_at),
            changed_by=r.person or UNSET,
            reason=r.reason or UNSET,
            key=r.caller,
            loosened=tuple(msgspec.json.decode(r.loosened, type=list[Looser])),
            configuration=Raw(r.document),
        )
        for r in rows[:size]
    )
    token = token_after(str(entries[-1].version)) if len(rows) > size else UNSET
    return json_reply(ConfigurationList(configurations=entries, next_page_token=token))
