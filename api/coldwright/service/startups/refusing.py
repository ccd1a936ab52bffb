"""What must not be kept: a configuration or an observation that no verdict could be given on."""

import msgspec

from coldwright.contract import FieldError, Refused, refuse
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.verdict import carried_into, configuration_of, evaluated, stamped
from coldwright.service.state import Services
from coldwright.store.observations import list_counted
from coldwright.store.startups import Startup

MOST_AT_ONCE = 5_000
CHUNK = 50
"""A refusal names so many errors at most: of larger batches it would not list them all at once."""


async def refuse_configuration(services: Services, tenant: str, startup: Startup) -> None:
    """Raise `Refused` for a configuration that no verdict could be given on, be it for the records that are there."""
    now, configuration = instant_text(services.now()), configuration_of(startup.document)
    await evaluated(services, configuration, now, [], "metric", alone=True)
    kept = await services.stored(list_counted, services.database, tenant, startup.id)
    along = await carried_into(services, tenant, startup)
    everything = [stamped(body, received) for body, received in kept] + list(map(bytes, along))
    try:
        for start in range(0, len(everything), MOST_AT_ONCE):
            some = everything[start : start + MOST_AT_ONCE]
            await evaluated(services, configuration, now, some, "metric", alone=True)
    except Refused as refused:
        detail = f"What is recorded of this machine does not fit it: {refused.errors[0].detail}"
        raise refuse("/configuration", detail[:500], why="Records are kept for good.") from None


async def refusals(services: Services, document: bytes, bodies: list[bytes]) -> dict[int, list[FieldError]]:
    """Errors of observations that fit their types and that the calculator refuses all the same, by their number.

    They must not be kept: one of them would stand in the way of every verdict to come.
    """
    found: dict[int, list[FieldError]] = {}
    everything = list(range(len(bodies)))
    if not await _refused(services, document, bodies, everything):
        return found
    for start in range(0, len(bodies), CHUNK):
        wanted = everything[start : start + CHUNK]
        while errors := await _refused(services, document, bodies, wanted):
            found |= errors
            wanted = [n for n in wanted if n not in errors]
    return found


MOST_AT_ONCE = 5_000
MOST_BESIDE = 10_000
CHUNK = 50
"""A refusal names so many errors at most: of larger batches it would not list them all at once."""


async def _refused(
    services: Services, document: bytes, bodies: list[bytes], wanted: list[int]
) -> dict[int, list[FieldError]]:
    found: dict[int, list[FieldError]] = {}
    try:
        now = instant_text(services.now())
        some = [bodies[n] for n in wanted]
        await evaluated(services, configuration_of(document), now, some, "metric", alone=True)
    except Refused as refused:
        for error in refused.errors:
            root, _, rest = error.pointer.removeprefix("#/").partition("/")
            if root != "observations":
                raise
            place, _, inside = rest.partition("/")
            own = msgspec.structs.replace(error, pointer=f"#/{inside}")
            found.setdefault(wanted[int(place)], []).append(own)
    return found
