"""`/v1/keys`: an administrator makes, rotates, revokes and lists the keys of its own tenant."""

from datetime import UTC, datetime, timedelta
from typing import Annotated, Literal

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Given, Text, about, refuse
from coldwright.contract.fields import exactly
from coldwright.contract.quantities import Duration
from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.paging import PAGE_PARAMETERS, page_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.keys import Key, create_key, get_key, list_keys, revoke_key, rotate_key

Scope = Literal["calculate", "book", "field", "fleet", "admin"]
Role = Annotated[str, Meta(max_length=40, pattern=exactly("[a-z][a-z0-9_]*"))]


class NewKey(Given, frozen=True, kw_only=True):
    """A key of your own tenant to be made."""

    scopes: Annotated[tuple[Scope, ...], about("What it may do.", min_length=1, max_length=5)]
    name: Annotated[Text, about("What it is for.")] = ""
    person: Annotated[Text, about("Who uses it: what is recorded with it is recorded by that person.")] = ""
    roles: Annotated[
        tuple[Role, ...],
        about("What that person is qualified for, such as `electrician`; the usual one first.", max_length=9),
    ] = ()
    units: Annotated[Literal["metric", "us"], about("Units of its answers where a request does not say.")] = "metric"
    lasts: (
        Annotated[
            Duration, about("Time after which it ends by itself. Left out, it does not.", above=0, high=3650, unit="d")
        ]
        | UnsetType
    ) = UNSET


class Rotation(Given, frozen=True, kw_only=True):
    """How a key gives way to a new one."""

    grace: Annotated[Duration, about("Time for which the old key goes on.", low=0, high=3650, unit="d")] = Duration(
        24, "h"
    )


class KeyEntry(Struct, frozen=True, kw_only=True):
    """What is known of a key; its secret is not."""

    id: Annotated[str, Meta(description="Id.")]
    name: Annotated[str, Meta(description="What it is for.")]
    scopes: Annotated[tuple[str, ...], Meta(max_length=5, description="What it may do.")]
    units: Annotated[Literal["metric", "us"], Meta(description="Units of its answers where a request does not say.")]
    person: Annotated[str, Meta(description="Who uses it; empty for one that nobody in particular uses.")]
    roles: Annotated[tuple[str, ...], Meta(max_length=9, description="What that person is qualified for.")]
    state: Annotated[Literal["in_force", "expired", "revoked"], Meta(description="Whether it is taken now.")]
    created_at: Annotated[str, Meta(description="When it was made.")]
    expires_at: Annotated[str, Meta(description="When it ends by itself; absent where it does not.")] | UnsetType = (
        UNSET
    )
    revoked_at: Annotated[str, Meta(description="When it was revoked; absent where it was not.")] | UnsetType = UNSET
    last_used_at: (
        Annotated[str, Meta(description="When it was used last, to within a minute or two; absent for never.")]
        | UnsetType
    ) = UNSET


class KeyList(Struct, frozen=True, kw_only=True):
    """A page of the keys of a tenant."""

    keys: Annotated[tuple[KeyEntry, ...], Meta(description="The oldest first, revoked ones too.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class MadeKey(Struct, frozen=True, kw_only=True):
    """A key that was made."""

    key: Annotated[KeyEntry, Meta(description="The key.")]
    secret: Annotated[str, Meta(description="Shown this once. Send it as `Authorization: Bearer SECRET`.")]
    replaces: Annotated[KeyEntry, Meta(description="The key that it takes the place of; absent for a new one.")] | (
        UnsetType
    ) = UNSET


def _entry(key: Key) -> KeyEntry:
    return KeyEntry(
        id=key.id,
        name=key.name,
        scopes=key.scopes,
        units="us" if key.units == "us" else "metric",
        person=key.person,
        roles=key.roles,
        state=key.state,
        created_at=instant_text(key.created_at),
        expires_at=_text(key.expires_at),
        revoked_at=_text(key.revoked_at),
        last_used_at=_text(key.last_used_at),
    )


def _text(moment: datetime | None) -> str | UnsetType:
    return UNSET if moment is None else instant_text(moment)


async def _list(asked: Asked) -> Response[bytes]:
    services = asked.services
    found = await services.stored(list_keys, services.database, asked.caller.tenant)
    page, token = page_of(asked, [_entry(k) for k in found])
    return json_reply(KeyList(keys=tuple(page), next_page_token=token), headers={"Cache-Control": "no-store"})


async def _get(asked: Asked) -> Response[bytes]:
    return json_reply(_entry(await _own(asked)), headers={"Cache-Control": "no-store"})


async def _create(asked: Asked) -> Response[bytes]:
    wanted = await read_body(asked, NewKey)
    if wanted.roles and not wanted.person:
        raise refuse("/roles", "A role belongs to a person.", code="needs", why="Give `person` too.")
    ends = None if wanted.lasts is UNSET else datetime.now(UTC) + timedelta(seconds=wanted.lasts.si)

    def make() -> tuple[Key, str]:
        return create_key(
            asked.services.database,
            asked.caller.tenant,
            tuple(sorted(set(wanted.scopes))),
            wanted.name,
            wanted.units,
            person=wanted.person,
            roles=tuple(dict.fromkeys(wanted.roles)),
            expires_at=ends,
        )

    key, secret = await asked.services.stored(make)
    return _shown_once(MadeKey(key=_entry(key), secret=secret), 201, key)


async def _rotate(asked: Asked) -> Response[bytes]:
    wanted, services = await read_body(asked, Rotation), asked.services
    grace = timedelta(seconds=wanted.grace.si)
    done = await services.stored(rotate_key, services.database, asked.path("id"), grace, asked.caller.tenant)
    if done is None:
        key = await _own(asked)
        raise ProblemRaised("conflict", f"The key {key.id} is {key.state.replace('_', ' ')}: make a new one.")
    new, secret, old = done
    return _shown_once(MadeKey(key=_entry(new), secret=secret, replaces=_entry(old)), 201, new)


async def _revoke(asked: Asked) -> Response[bytes]:
    services = asked.services
    await services.stored(revoke_key, services.database, asked.path("id"), asked.caller.tenant)
    return json_reply(_entry(await _own(asked)))


async def _own(asked: Asked) -> Key:
    key = await asked.services.stored(get_key, asked.services.database, asked.path("id"), asked.caller.tenant)
    if key is None:
        raise ProblemRaised("not-found", "There is no key of that id: see GET /v1/keys.")
    return key


def _shown_once(made: MadeKey, status: int, key: Key) -> Response[bytes]:
    headers = {"Cache-Control": "no-store", "Location": f"/v1/keys/{key.id}"}
    return json_reply(msgspec.json.encode(made), status, headers)


ID = Parameter("id", "path", "Id of the key.", {"type": "string", "pattern": "^[0-9a-f]{1,32}$"})
KEPT = ("store-unavailable", "store-full")


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        Endpoint(
            method="GET",
            path="/v1/keys",
            operation_id="listKeys",
            summary="List the keys of your tenant",
            description="Without their secrets, of which only a hash is kept.",
            tag="operation",
            scope="admin",
            handler=_list,
            replies={200: Reply("A page of the keys.", KeyList)},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="POST",
            path="/v1/keys",
            operation_id="createKey",
            summary="Make a key of your tenant",
            description="Its secret is shown this once. It may have any scope, `admin` too, and is of your tenant alone.",
            tag="operation",
            scope="admin",
            handler=_create,
            body=NewKey,
            replies={201: Reply("The key and its secret.", MadeKey, headers={"Location": "Address of the key."})},
            problems=KEPT,
        ),
        Endpoint(
            method="POST",
            path="/v1/keys/{id}/rotate",
            operation_id="rotateKey",
            summary="Make a key like another, which ends a while later",
            description="The old one goes on for the hours of grace, so that callers change over one by one.",
            tag="operation",
            scope="admin",
            handler=_rotate,
            body=Rotation,
            body_needed=False,
            parameters=(ID,),
            replies={201: Reply("The new key, its secret, and the old key.", MadeKey)},
            problems=("not-found", "conflict", *KEPT),
        ),
        Endpoint(
            method="GET",
            path="/v1/keys/{id}",
            operation_id="getKey",
            summary="Read a key",
            tag="operation",
            scope="admin",
            handler=_get,
            parameters=(ID,),
            replies={200: Reply("The key, without its secret.", KeyEntry)},
            problems=("not-found", "store-unavailable"),
        ),
        Endpoint(
            method="DELETE",
            path="/v1/keys/{id}",
            operation_id="revokeKey",
            summary="Revoke a key for good",
            description="It is refused within seconds, and streams of events that it has open end. Safe to repeat.",
            tag="operation",
            scope="admin",
            handler=_revoke,
            parameters=(ID,),
            replies={200: Reply("The key as it is now.", KeyEntry)},
            problems=("not-found", *KEPT),
        ),
    ]
