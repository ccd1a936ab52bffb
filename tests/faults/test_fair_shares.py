"""Nobody can hold up anybody: beside a tenant that asks for far more than the machine can do, another is served in turn."""

import asyncio
from pathlib import Path

import httpx
from crowd import beside, two_tenants
from running import running

PLAN = "/v1/calculators/booking/assessment"


def test_one_tenant_is_served_in_turn_beside_a_crowd_of_anothers(tmp_path: Path) -> None:
    """Ratios alone, since the clients are on the same cores: it waits for one or two of the crowd's, who wait for each other."""
    url, crowd, alone = two_tenants(tmp_path)
    settings = {"database_url": url, "workers": "1", "log_level": "error", "require_keys": "1"}
    with running(tmp_path, settings) as service:
        described = httpx.get(f"{service.url}{PLAN}", headers=alone, timeout=20).json()
        given = described["examples"][0]["given"]
        quiet, loud, many = asyncio.run(beside(service.url, PLAN, given, crowd, alone, 24, 12))
        assert set(quiet.seconds) == set(loud.seconds) == {200}
        assert many.unexplained == 0
        assert loud.within(0.9) < many.within(0.5) / 2, (quiet, loud)
        assert httpx.get(f"{service.url}/health/ready", timeout=5).status_code == 200
