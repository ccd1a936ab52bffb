"""Nothing that one caller sends keeps others from being answered.

Beside every kind of body made to be slow, three at once, health and a light calculation stay quick: a median of 0.5 s and a
worst of 1.5 s on a busy machine. `tests/benchmarks/bench_freezing.py` prints how quick on a quiet one.
"""

import asyncio
import re
from collections.abc import Iterator

import httpx
import msgspec
import pytest
from forms_of_pages import token_in
from freezing import (
    ADDRESSES,
    BODIES,
    FORM,
    LIKE_ANOTHER,
    attacked,
    kinds_for,
    many_connections,
    noticing,
    request,
    status_of,
)
from running import RunningService, running
from startup_histories import CONFIGURATION

from coldwright.registry import Registry
from coldwright.service.app import all_endpoints

LIGHT = "/v1/calculators/electrical/service"
MEDIAN, WORST = 0.5, 1.5
TRIES = 3
"""A machine that is busy with something else may hold up anything once; a body that freezes the service does so each time."""
ORDINARY = 300_000
ANSWERS = {200, 202, 400, 404, 413, 422, 503}
OF_FORMS = {303, 401, 403}
"""To another page; a key that is not known; a form that no page of this service sent, as every one is to `/sign-in` here."""


@pytest.fixture(scope="module")
def light(registry: Registry) -> bytes:
    """A light calculation."""
    return request(f"POST {LIGHT}", msgspec.json.encode(dict(registry.lookup("electrical.service").examples[0].given)))


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[RunningService]:
    settings = {"log_level": "error", "connections": "300", "head_seconds": "3", "body_seconds": "3"}
    with running(tmp_path_factory.mktemp("service"), settings) as started:
        httpx.put(f"{started.url}/v1/startups/frozen", json={"configuration": CONFIGURATION}, timeout=60)
        order = dict(registry.lookup("booking.assessment").examples[0].given) | {"reference": "answered"}
        httpx.put(f"{started.url}/v1/bookings/answered", json=order, timeout=60).raise_for_status()
        yield started


@pytest.fixture(scope="module")
def shown(service: RunningService) -> bytes:
    """What a page of the service puts into its forms: without it nobody reads what was filled in."""
    page = httpx.get(f"{service.url}/orders/new", timeout=60)
    return b"form_token=" + token_in(page.text).encode() + b"&revision=1&"


def held(service: RunningService, light: bytes, shown: bytes, address: str, size: int, each: int) -> None:
    """Three bodies at once: `each` of one kind."""
    taken, most = ADDRESSES[address]
    kinds = kinds_for(address)
    for first in range(0, len(kinds), 3 // each):
        names = kinds[first : first + 3 // each] * each
        before = shown if taken == FORM else b""
        bodies = [before + BODIES[name][1](min(size, most) - 2_000) for name in names]
        for _ in range(TRIES):
            statuses, noticed = asyncio.run(attacked(service.port, light, address, bodies))
            assert set(statuses) <= ANSWERS | (OF_FORMS if taken == FORM else set()), (address, names, statuses)
            if quick := noticed.median < MEDIAN and noticed.worst < WORST:
                break
        assert quick, (address, names, noticed)


@pytest.mark.parametrize("address", ADDRESSES)
def test_no_body_freezes_anything(service: RunningService, light: bytes, shown: bytes, address: str) -> None:
    held(service, light, shown, address, ORDINARY, 1)


def test_every_address_that_takes_a_body_is_attacked(registry: Registry) -> None:
    """But the calculators', of which a light one and a heavy one stand for all."""
    declared = {f"{e.method} {e.path}" for e in all_endpoints(registry) if e.takes_body}
    declared = {address for address in declared if "/v1/calculators/" not in address} - LIKE_ANOTHER.keys()
    patterns = [re.sub(r"\\{\w+\\}", "[^/]+", re.escape(address)) for address in declared]
    assert not [p for p in patterns if not any(re.fullmatch(p, address) for address in ADDRESSES)]


@pytest.mark.nightly
@pytest.mark.parametrize("address", ADDRESSES)
def test_no_body_of_the_largest_size_freezes_anything(
    service: RunningService, light: bytes, shown: bytes, address: str
) -> None:
    held(service, light, shown, address, 16_000_000, 3)


def surrounded(service: RunningService, light: bytes, each: int) -> None:
    """Slow heads, slow bodies and connections that say nothing, more than there are places for."""
    beginnings = [b"GET /health/live HTTP/1.1\r\nHo", request(f"POST {LIGHT}", b"{", length=500), b""]
    wanted = [beginning for beginning in beginnings for _ in range(each)]

    async def all_at_once() -> None:
        async with many_connections(service.port, wanted), noticing(service.port, light) as noticed:
            await asyncio.sleep(1.0)
        assert noticed.median < MEDIAN, noticed
        assert noticed.worst < WORST, noticed
        assert await status_of(service.port, light) == 200

    asyncio.run(all_at_once())


def test_slow_and_idle_connections_keep_nobody_out(service: RunningService, light: bytes) -> None:
    surrounded(service, light, 400)


@pytest.mark.nightly
def test_thousands_of_slow_and_idle_connections_keep_nobody_out(service: RunningService, light: bytes) -> None:
    surrounded(service, light, 3_000)
