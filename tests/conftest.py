"""What every folder of tests shares, beside `answer_of`, which any author of a plugin has."""

import os
from collections.abc import Iterator
from functools import cache

import hypothesis
import pytest
from httpx._config import create_ssl_context
from hypothesis.internal.constants_ast import Constants

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


@pytest.fixture(scope="session", autouse=True)
def examples_depend_on_no_other_test() -> Iterator[None]:
    """Hypothesis also draws the numbers that stand in the modules which are imported so far.

    Then what a test draws depends on which tests its process ran before, and a failure of one run is not met again.
    """
    with pytest.MonkeyPatch.context() as patch:
        if os.environ.get("HYPOTHESIS_PROFILE", "ordinary") == "ordinary":
            patch.setattr("hypothesis.internal.conjecture.providers._get_local_constants", Constants)
        yield
