"""What every folder of tests shares, beside `answer_of`, which any author of a plugin has."""

import os
from collections.abc import Iterator
from functools import cache

import hypothesis
import pytest
from httpx._config import create_ssl_context

from coldwright.registry import Registry

hypothesis.settings.register_profile(
    "ordinary",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.register_profile("nightly", parent=hypothesis.settings.get_profile("ordinary"), max_examples=2000)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))


@pytest.fixture(scope="session")
def registry() -> Registry:
    """Every installed plugin."""
    return Registry()


@pytest.fixture(scope="session", autouse=True)
def certificates_are_read_once() -> Iterator[None]:
    """httpx reads the certificates of the world for each call that makes its own client: 19 ms of processor time.

    Tests poll services on the loopback address, without TLS: what the polling took was missed by the services.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("httpx._transports.default.create_ssl_context", cache(create_ssl_context))
        yield
