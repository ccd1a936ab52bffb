"""Settings of the service, all from the environment, each with a default that serves one machine."""

import os
from collections.abc import Mapping

from msgspec import Struct, convert


class Settings(Struct, frozen=True, kw_only=True):
    """Read once at start. Every name is the environment variable without `COLDWRIGHT_`, in small letters."""

    database_url: str = "sqlite:///coldwright.sqlite3"
    """SQLite in the working folder, or `postgresql://...`."""
    require_keys: bool = False
    """Refuse every request without a key, even when none has been made yet."""
    engine: str = "workers"
    """`workers`: heavy and third-party calculators in processes of their own; `inline`: all in this process."""
    workers: int = 2
    """Worker processes for first-party calculators."""
    evaluation_seconds: float = 10.0
    """Longest time for one evaluation."""
    worker_memory_mib: int = 2048
    """Memory that a third-party calculator may use."""
    rest_seconds: float = 30.0
    """A third-party calculator whose process died or hung three times within a minute is not asked for this long."""
    log_format: str = "json"
    """`json` or `text`."""
    log_level: str = "info"
    largest_body: int = 1024 * 1024
    """Bytes of one request."""
    largest_batch_body: int = 16 * 1024 * 1024
    """Bytes of a worksheet, a batch of observations, a fleet or a job."""
    requests_per_minute: int = 0
    """Per key; 0 is no limit."""
    concurrency: int = 64
    """Requests under way for one key before the next is refused."""
    total_concurrency: int = 256
    """Requests under way in all before the next is refused."""
    shutdown_seconds: float = 20.0
    """Requests in flight at a stop signal get this long."""
    required_plugins: str = "electrical,hydronic,refrigeration,readiness,site,booking"
    """Not ready while one of these is set aside."""
    plugins_denied: str = ""
    """Entry points, by name, that are not to be loaded."""
    oidc_issuer: str = ""
    oidc_audience: str = ""
    oidc_jwks_url: str = ""
    """Where the issuer's keys are; empty: no bearer tokens are taken but our own keys."""
    telemetry: bool = False
    """OpenTelemetry traces; needs the `telemetry` extra."""


def from_environment(environment: Mapping[str, str] = os.environ) -> Settings:
    """Settings from `COLDWRIGHT_*`; raises `msgspec.ValidationError` naming what can't be read."""
    given = {
        name.removeprefix("COLDWRIGHT_").lower(): value
        for name, value in environment.items()
        if name.startswith("COLDWRIGHT_")
    }
    known = {k: v for k, v in given.items() if k in Settings.__struct_fields__}
    for flag in ("require_keys", "telemetry"):
        if flag in known:
            known[flag] = "true" if known[flag].lower() in ("1", "true", "yes", "on") else "false"
    return convert(known, Settings, strict=False)
