"""What every folder of tests shares, beside `answer_of`, which any author of a plugin has."""

import os

import hypothesis
import pytest

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
