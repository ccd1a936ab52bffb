"""The service as it runs in earnest, and the system's Chromium in front of it.

Without a Chromium these tests are left out; with `COLDWRIGHT_TEST_BROWSER=demand` they fail then. Pictures of every page go
to the folder `COLDWRIGHT_TEST_PICTURES`, where one is named: whoever changes a page looks at them.
"""

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from playwright.sync_api import Browser, sync_playwright
from running import RunningService

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
STARTED = "process-2"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Ends with its module: while it lasts, a loop of events runs in this thread, where other tests want to run their own."""
    if CHROMIUM is None:
        if os.environ.get("COLDWRIGHT_TEST_BROWSER") == "demand":
            pytest.fail("these tests were demanded, and there is no Chromium on the path")
        pytest.skip("there is no Chromium on the path")
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture(scope="module")
def site(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Its address: the demo orders are booked, one is held, and one of its machines has a start."""
    service = RunningService(tmp_path_factory.mktemp("browser")).wait_ready(120)
    with httpx.Client(base_url=service.url, timeout=60) as client:
        client.put("/v1/fleets/demo", json=json.loads((DEMO / "fleet.json").read_text())).raise_for_status()
        for name in ("process", "comfort", "indoor"):
            order = json.loads((DEMO / f"order-{name}.json").read_text())
            client.put(f"/v1/bookings/{order['reference']}", json=order).raise_for_status()
        client.post("/v1/bookings/DEMO-PROCESS/hold", json={}).raise_for_status()
        start = {"booking": "DEMO-PROCESS", "machine": "60-ton, no. 2", "from_booking": {"reference": "DEMO-PROCESS"}}
        client.put(f"/v1/startups/{STARTED}", json=start).raise_for_status()
    yield service.url
    service.stop()


@pytest.fixture(scope="session")
def pictures() -> Path | None:
    """Where pictures are kept."""
    named = os.environ.get("COLDWRIGHT_TEST_PICTURES")
    if named:
        Path(named).mkdir(parents=True, exist_ok=True)
    return Path(named) if named else None
