"""The service: registry, engine, store and routes, put together."""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from typing import Any

import msgspec
import structlog
from litestar import Litestar
from litestar.config.app import AppConfig
from litestar.datastructures import State
from litestar.exceptions import HTTPException

from coldwright.engine import Engine
from coldwright.registry import Registry, ReportedPlugin
from coldwright.service.bookings import resource as bookings
from coldwright.service.bookings.checking import checker_of
from coldwright.service.calculators import resource as calculators
from coldwright.service.events import feed, webhooks
from coldwright.service.events.runner import WebhookRunner
from coldwright.service.exploration import resource as exploration
from coldwright.service.fleets import availability, machines
from coldwright.service.fleets import resource as fleets
from coldwright.service.forecasts import resource as forecasts
from coldwright.service.forecasts import schedules
from coldwright.service.http.authentication import Authenticator
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.guard import Guard
from coldwright.service.http.hosts import allowed_hosts, is_loopback
from coldwright.service.http.origins import origins_of
from coldwright.service.http.routes import route_handlers
from coldwright.service.jobs import driving
from coldwright.service.jobs import resource as jobs
from coldwright.service.logs import plugin_said
from coldwright.service.openapi.document import build_document
from coldwright.service.openapi.published import Published
from coldwright.service.people import bench, kept, ordering, plant, recording, signin, signin_elsewhere, signout, yard
from coldwright.service.people.problems import for_people
from coldwright.service.resources import catalogue, keys, operation, quotas, records
from coldwright.service.settings import WARM_BY_PLUGINS, Settings, names_in, weights_in
from coldwright.service.startups import resource as startups
from coldwright.service.startups.watching import watcher_of
from coldwright.service.state import Services
from coldwright.store import Database, StoreFull, StoreUnavailable, upgrade
from coldwright.store.keys import any_key, note_uses

log = structlog.get_logger("coldwright.service")

TAGS = {
    "plans": "Orders and fleets that are kept, with their revisions.",
    "startups": "One machine's start on site: observations in, verdict out.",
    "exploration": "Many questions in one request: worksheets, sweeps, limits, jobs.",
    "records": "Answers that are kept, to be computed again and compared.",
    "catalogue": "Calculators, sources, data tables, plugins, problems.",
    "operation": "Health, metrics, this document.",
}


def all_endpoints(registry: Registry) -> list[Endpoint]:
    """Every address of the service."""
    by_plugins = (calculators, fleets, machines, availability, bookings, exploration, bench, yard, ordering, recording)
    always = (
        forecasts,
        schedules,
        feed,
        webhooks,
        jobs,
        records,
        catalogue,
        keys,
        quotas,
        operation,
        signin,
        signout,
        kept,
    )
    return [
        *(endpoint for resource in by_plugins for endpoint in resource.endpoints(registry)),
        *startups.endpoints(registry, recording.slots, plant.show),
        *(endpoint for resource in always for endpoint in resource.endpoints()),
    ]


NOTE_EVERY = 60.0
"""Seconds between two writes of when keys were used: a request itself writes nothing."""


async def _note_uses_of_keys(services: Services, authenticator: Authenticator) -> None:
    while True:
        await asyncio.sleep(NOTE_EVERY)
        await _keep_uses_of_keys(services, authenticator)


async def _keep_uses_of_keys(services: Services, authenticator: Authenticator) -> None:
    used, authenticator.used = authenticator.used, {}
    if used:
        with contextlib.suppress(StoreUnavailable, StoreFull):  # last use is shown in the list of keys, nothing else
            await services.stored(note_uses, services.database, used)


def document_of(registry: Registry, endpoints: list[Endpoint] | None = None, public_url: str = "") -> dict[str, Any]:
    """The OpenAPI document of these calculators; `endpoints` where they are made already."""
    return build_document(endpoints or all_endpoints(registry), _tags(registry), public_url)


def _tags(registry: Registry) -> dict[str, str]:
    """What the document says of each group: our families as their plugins say, the service's own, strangers."""
    ours: dict[str, str] = {}
    others: dict[str, str] = {}
    for plugin in registry.plugins.values():
        for calculator in plugin.calculators:
            tags = others if isinstance(plugin, ReportedPlugin) or not plugin.summary else ours
            tags.setdefault(calculator.family, plugin.summary or "From another plugin.")
    return ours | TAGS | others


def create_app(
    settings: Settings, registry: Registry | None = None, engine: Engine | None = None, *, bound: str | None = None
) -> Litestar:
    """The application. Opens the store at start, so that importing and building cost no disk.

    `bound` is the address that the service listens on; nothing where it is called in process.
    """
    warm = [] if settings.warm == WARM_BY_PLUGINS else names_in(settings.warm)
    registry = registry or Registry(denied=names_in(settings.plugins_denied))
    engine = engine or Engine(
        registry,
        "inline" if settings.engine == "inline" else "workers",
        size=settings.workers,
        seconds=settings.evaluation_seconds,
        memory_limit=settings.worker_memory_mib * 1024 * 1024,
        rest=settings.rest_seconds,
        weights=weights_in(settings.tenant_weights),
        report=plugin_said,
        warm=warm,
        warm_later=settings.warm == WARM_BY_PLUGINS,
    )
    database = Database(settings.database_url)
    services = Services(settings, registry, engine, database)
    endpoints = [*all_endpoints(registry), *signin_elsewhere.endpoints(settings)]
    services.published = Published(lambda: msgspec.json.encode(document_of(registry, endpoints, settings.public_url)))
    open_address = bound is not None and not is_loopback(bound)
    authenticator = Authenticator(settings, services.keys_database, services.keys, open_address=open_address)
    services.caller_of, services.forget = authenticator.caller, authenticator.forget

    @contextlib.asynccontextmanager
    async def lifespan(_app: Litestar) -> AsyncIterator[None]:
        for found in registry.found:
            if found.state == "set_aside":
                log.warning(
                    "plugin_set_aside",
                    plugin=found.entry_point,
                    stage=found.stage,
                    reason=found.reason,
                    remedy=found.remedy,
                )
        for name in warm:
            if registry.find(name) is None:
                log.warning("no_such_calculator", setting="COLDWRIGHT_WARM", calculator=name)
        for plugin, text in registry.printed.items():
            plugin_said(plugin, text)
        await services.stored(upgrade, database)
        if not authenticator.keys_needed:
            authenticator.keys_needed = await services.stored(any_key, database)
        await engine.start()
        driver = driving.driver_of(services, plugin_said)
        services.new_job = driver.wake
        driver.start()
        watching = asyncio.create_task(services.connections.watch(), name="connections")
        checker = checker_of(services)
        if checker is not None:
            checker.start()
        watcher = watcher_of(services)
        if watcher is not None:
            watcher.start()
        noting = asyncio.create_task(_note_uses_of_keys(services, authenticator), name="uses of keys")
        sender = WebhookRunner(services)
        sender.start()
        try:
            yield
        finally:
            watching.cancel()
            if checker is not None:
                await checker.stop()
            if watcher is not None:
                await watcher.stop()
            noting.cancel()
            await _keep_uses_of_keys(services, authenticator)
            await sender.stop()
            await driving.stop(driver, services)
            services.close()

    origins = origins_of(settings.cors_origins)
    guard = Guard(services, authenticator, allowed_hosts(settings.allowed_hosts, bound), origins, for_people)
    app = Litestar.from_config(
        AppConfig(
            state=State({"services": services}),
            route_handlers=list(route_handlers(endpoints, settings, guard.admit)),
            request_class=Asked,
            lifespan=[lifespan],
            exception_handlers={HTTPException: guard.problem, Exception: guard.problem},
            cors_config=origins.config if origins else None,
            openapi_config=None,
            debug=False,
        )
    )
    app.asgi_handler = guard.around(app.asgi_handler)  # the framework's own middleware sees no unknown address
    return app
