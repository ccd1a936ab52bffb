"""Times of sentences in the zone of the site; what a program reads stays in UTC. All machines are invented."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from book_start import by_the_book
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry

STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d")


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("zone"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def headers(keyed: Keyed) -> dict[str, str]:
    made = keyed.key("acme", "field", person="Ann Hill", roles=("technician",))
    keyed.client.put("/v1/startups/zoned", json={"configuration": CONFIGURATION}, headers=made)
    wrong = seen("phase_indicator", "09:05", "lost", rotation="missing_phase")
    book = [o for o in by_the_book("") if o["kind"] != "area_clear"]
    sent = keyed.client.post("/v1/startups/zoned/observations", json={"observations": [*book, wrong]}, headers=made)
    assert sent.json()["refused"] == 0
    return made


def get(keyed: Keyed, headers: dict[str, str], query: str) -> dict[str, Any]:
    reply = keyed.client.get(f"/v1/startups/zoned{query}", headers=headers)
    assert reply.status_code == 200, reply.text
    found: dict[str, Any] = reply.json()
    return found


def test_sentences_are_in_site_time_and_instants_in_utc(keyed: Keyed, headers: dict[str, str]) -> None:
    at = "at=2026-05-04T09:06:00Z"
    plain = get(keyed, headers, f"?{at}")["verdict"]["results"]
    there = get(keyed, headers, f"?{at}&tz=America/Denver")["verdict"]["results"]
    power = {b["rule"]: b["statement"] for b in there["blocks"]}["R05"]
    assert "03:05" in power
    assert "UTC" not in power
    assert not any(STAMP.search(b["statement"]) for b in there["blocks"])
    assert there["facts"] == plain["facts"]
    assert there["timeline"] == plain["timeline"]
    assert there["meaning"] == plain["meaning"]
    assert [b["because"] for b in there["blocks"]] == [b["because"] for b in plain["blocks"]]


def test_a_wait_is_short_in_utc_or_in_site_time(keyed: Keyed, headers: dict[str, str]) -> None:
    keyed.client.put("/v1/startups/waits", json={"configuration": CONFIGURATION}, headers=headers)
    book = {"observations": by_the_book("")}
    keyed.client.post("/v1/startups/waits/observations", json=book, headers=headers)
    for query, words in (("", "Wait until 09:05 UTC,"), ("&tz=Asia/Kolkata", "Wait until 14:35,")):
        reply = keyed.client.get(f"/v1/startups/waits?at=2026-05-04T09:04:30Z{query}", headers=headers).json()
        results = reply["verdict"]["results"]
        assert results["status"] == "wait"
        assert results["next_action"]["short"].startswith(words)
        assert results["lines"][0].startswith(words)
        assert results["next_action"]["not_before"] == "2026-05-04T09:05:00Z"


def test_brief_and_tag_go_with_the_zone(keyed: Keyed, headers: dict[str, str]) -> None:
    utc = keyed.client.get("/v1/startups/zoned/brief", headers=headers)
    there = keyed.client.get("/v1/startups/zoned/brief?tz=America/Denver", headers=headers)
    assert there.status_code == 200
    assert utc.headers["etag"] != there.headers["etag"]
    again = keyed.client.get(
        "/v1/startups/zoned/brief?tz=America/Denver", headers=headers | {"if-none-match": there.headers["etag"]}
    )
    assert again.status_code == 304


@pytest.mark.parametrize("below", ["", "/brief", "/events"])
def test_a_zone_that_nobody_knows_is_refused(keyed: Keyed, headers: dict[str, str], below: str) -> None:
    reply = keyed.client.get(f"/v1/startups/zoned{below}?tz=Mars/Base", headers=headers)
    assert reply.status_code == 422
    assert reply.json()["errors"][0]["pointer"] == "#/query/tz"
