"""`GET /v1/quotas`: how much the tenant may ask and keep, and how much of that it uses now."""

from typing import Annotated

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import Asked, Endpoint, Reply
from coldwright.service.http.kept import MIB
from coldwright.service.http.replies import json_reply
from coldwright.store import Database
from coldwright.store.jobs import jobs_under_way
from coldwright.store.usage import kept_bytes

Number = Annotated[int, Meta(ge=0, le=2**53)]
_NO_LIMIT = "Absent where there is no limit."


class Quotas(Struct, frozen=True, kw_only=True):
    """What the tenant of the key may ask and keep."""

    requests_per_minute: Annotated[Number, Meta(description=f"Of this key. {_NO_LIMIT}")] | UnsetType = UNSET
    tenant_requests_per_minute: (
        Annotated[Number, Meta(description=f"Of all keys of the tenant together. {_NO_LIMIT}")] | UnsetType
    ) = UNSET
    requests_at_once: Annotated[
        Number,
        Meta(description="Requests of the tenant that may be under way in one process: less while others ask too."),
    ]
    jobs: Annotated[Number, Meta(description=f"Jobs that may be under way. {_NO_LIMIT}")] | UnsetType = UNSET
    jobs_under_way: Annotated[Number, Meta(description="Jobs that are.")]
    storage_bytes: Annotated[Number, Meta(description=f"Bytes that may be kept. {_NO_LIMIT}")] | UnsetType = UNSET
    storage_used_bytes: Annotated[
        Number, Meta(description="Bytes of documents, answers and records that are kept, compressed as they are.")
    ]


async def _get(asked: Asked) -> Response[bytes]:
    services, settings, tenant = asked.services, asked.services.settings, asked.caller.tenant
    under_way, kept = await services.stored(_used, services.database, tenant)
    quotas = Quotas(
        requests_per_minute=settings.requests_per_minute or UNSET,
        tenant_requests_per_minute=settings.tenant_requests_per_minute or UNSET,
        requests_at_once=services.limits.share_of(tenant),
        jobs=settings.tenant_jobs or UNSET,
        jobs_under_way=under_way,
        storage_bytes=settings.tenant_storage_mib * MIB or UNSET,
        storage_used_bytes=kept,
    )
    return json_reply(quotas)


def _used(database: Database, tenant: str) -> tuple[int, int]:
    with database.reading() as connection:
        under_way = jobs_under_way(connection, tenant)
    return under_way, kept_bytes(database, tenant)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        Endpoint(
            method="GET",
            path="/v1/quotas",
            operation_id="getQuotas",
            summary="How much you may ask and keep",
            description="The quotas that the operator has set for a tenant, and how much of them is used now.",
            tag="operation",
            scope="calculate",
            handler=_get,
            replies={200: Reply("The quotas.", Quotas)},
            problems=("store-unavailable",),
        )
    ]
