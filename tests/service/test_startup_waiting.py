"""Eight hours of waiting, with a clock of the test's own: only what really changed is told. All machines are invented."""

import asyncio
import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from book_start import by_the_book, running
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION

from coldwright.registry import Registry
from coldwright.service.http.callers import Caller
from coldwright.service.startups.events import Watch

FROM = datetime(2026, 5, 4, 9, 6, 30, tzinfo=UTC)
MINUTES = 8 * 60
OF_INTEREST = (
    "status",
    "blocks",
    "waits",
    "open_checks",
    "stop_now",
    "may_start_next",
    "missing",
    "stale",
    "next_action",
)


class Clock:
    """The service's clock, which stands until it is moved."""

    def __init__(self) -> None:
        self.now = FROM

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def keyed(tmp_path: Path, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path, registry) as made:
        yield made


@pytest.fixture
def clock(keyed: Keyed) -> Clock:
    made = Clock()
    keyed.client.app.state.services.now = made
    return made


@pytest.fixture(params=[by_the_book, running], ids=["ready", "running"])
def address(request: pytest.FixtureRequest, keyed: Keyed, clock: Clock) -> str:
    """A start whose records all arrived before the waiting began."""
    records: Callable[[str], list[dict[str, Any]]] = request.param
    headers = keyed.key("acme", "field", person="Ann Hill", roles=("technician",))
    keyed.client.put("/v1/startups/waiting", json={"configuration": CONFIGURATION}, headers=headers)
    sent = keyed.client.post("/v1/startups/waiting/observations", json={"observations": records("")}, headers=headers)
    assert sent.json()["refused"] == 0, sent.text
    assert clock.now == FROM
    return "/v1/startups/waiting"


def said(results: dict[str, Any]) -> dict[str, Any]:
    """What a person would notice, without anything that counts down."""
    found = {name: results.get(name) for name in OF_INTEREST}
    action = results["next_action"]
    return found | {"next_action": {n: action[n] for n in ("step_id", "do", "short", "record")}}


def test_eight_hours_of_waiting_tell_only_what_changed(keyed: Keyed, clock: Clock, address: str) -> None:
    """Asked every four minutes with the tag of before: as a phone does, and the verdicts that are kept."""
    headers = keyed.key("acme", "field")
    tag, answers = "", []
    for minute in range(0, MINUTES + 1, 4):
        clock.now = FROM + timedelta(minutes=minute)
        reply = keyed.client.get(address, headers=headers | {"if-none-match": tag})
        assert reply.status_code in (200, 304)
        if reply.status_code == 200:
            assert reply.headers["etag"] != tag
            tag = reply.headers["etag"]
            answers.append(reply.json()["verdict"]["results"])
    for before, after in itertools.pairwise(answers):
        assert said(before) != said(after), "an ETag that changed and says nothing new"
    kept = keyed.client.get(f"{address}/verdicts?page_size=1000", headers=headers).json()["verdicts"]
    assert len(kept) == len(answers)
    aged = set(answers[-1]["stale"]) | {a["fact"] for a in answers[0].get("look_again", ())}
    assert 1 < len(answers) <= 1 + len(aged) + len(answers[0]["facts"])


def test_a_stream_judges_only_when_something_can_have_changed(
    keyed: Keyed, clock: Clock, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    services = keyed.client.app.state.services
    caller = Caller("acme", "a-stream", frozenset({"field"}), "key")
    asked: Any = SimpleNamespace(services=services, caller=caller, trace_id="0", query=lambda _name: None)
    judged = 0
    evaluate = services.engine.evaluate

    async def counted(*arguments: Any) -> Any:
        nonlocal judged
        judged += 1
        return await evaluate(*arguments)

    monkeypatch.setattr(services.engine, "evaluate", counted)
    watch, events = Watch(asked, "waiting", ""), []

    async def watch_for_eight_hours() -> None:
        for half_minute in range(MINUTES * 2 + 1):
            clock.now = FROM + timedelta(seconds=30 * half_minute)
            if event := await watch.look():
                events.append(event)

    asyncio.run(watch_for_eight_hours())
    ids = [event.split(b"\n")[1] for event in events]
    assert len(ids) == len(set(ids)), "the same is told twice"
    assert 1 < len(events) <= judged < 100
    back = Watch(asked, "waiting", ids[-1].removeprefix(b"id: ").decode())
    assert asyncio.run(back.look()) is None, "who comes back is not told again what is known"
