"""Under four times what it can carry the service answers in time what it accepts, and refuses the rest at once."""

import asyncio
from pathlib import Path

import pytest
from load import overload, refused_milliseconds
from running import running


def test_four_times_what_it_carries(tmp_path: Path) -> None:
    seconds = 6.0
    settings = {"log_level": "error", "evaluation_seconds": str(seconds), "concurrency": "64"}
    with running(tmp_path, settings) as service:
        load = asyncio.run(overload(service.url, 6.0, 4.0))
        again = asyncio.run(overload(service.url, 1.0, 0.5))
    told = "\n".join(load.lines())
    assert set(load.seconds) == {200, 503}, told
    assert load.unexplained == []
    assert load.slowest(200) < seconds + 1.0, told  # the client, on the same cores, takes its own time to hear it
    assert load.slowest(503, 0.95) < 1.0, told
    assert len(load.seconds[200]) > load.carried * 6 / 4, told
    assert sorted(load.health)[int(0.95 * len(load.health))] < 1.0, told
    assert set(again.seconds) == {200}, "afterwards all is as before"


@pytest.mark.nightly
def test_refusals_cost_the_service_next_to_nothing(tmp_path: Path) -> None:
    """By its own log: under 50 ms, with a word on when to come back; health and what is accepted go on beside it."""
    with running(tmp_path, {"log_level": "info"}) as service:
        load = asyncio.run(overload(service.url, 20.0, 4.0))
        refused = refused_milliseconds(service.log)
    told = "\n".join(load.lines())
    assert set(load.seconds) == {200, 503}, told
    assert load.unexplained == []
    assert len(refused) > 100, told
    assert refused[int(0.95 * len(refused))] < 50, (told, refused[-20:])
    assert sorted(load.health)[int(0.95 * len(load.health))] < 1.0, told
