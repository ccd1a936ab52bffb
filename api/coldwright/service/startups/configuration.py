"""Opening a start-up, and changing its configuration."""

import msgspec
from litestar import Response

from coldwright.service.http.body import read_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.preconditions import condition_of, preconditions_told, status_of
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.documents import Types
from coldwright.service.startups.events import notify
from coldwright.service.startups.verdict import configuration_of, refuse_configuration
from coldwright.store.startups import Change, put_startup


async def put(asked: Asked, types: Types) -> Response[bytes]:
    """Open a start-up or change it."""
    document = await read_body(asked, types.document)
    await refuse_configuration(asked.services, encode(document))
    with preconditions_told():
        startup, done = await asked.services.stored(
            put_startup,
            asked.services.database,
            asked.caller.tenant,
            asked.path("id"),
            encode(document),
            condition_of(asked),
            Change(configuration=configuration_of(encode(document)), caller=asked.caller.id),
        )
    notify(asked)
    content = {
        "id": startup.id,
        "created_at": instant_text(startup.created_at),
        "startup": msgspec.Raw(startup.document),
    }
    return json_reply(encode(content), status_of(done), {"ETag": f'"{startup.etag}"'})
