"""Whatever a third party's calculator does costs one answer, told clearly, and nothing else."""

import json
import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from distributions import install, sound
from hostile import GENTLE, HARM, ONE_METRE, hostile_environment
from running import RunningService, running

SECONDS = 2.0


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment in which the hostile plugin is installed."""
    return hostile_environment(tmp_path_factory.mktemp("installed"))


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, hostile: dict[str, str]) -> Iterator[RunningService]:
    settings = {"evaluation_seconds": str(SECONDS), "rest_seconds": "0", "worker_memory_mib": "1500"}
    with running(tmp_path_factory.mktemp("service"), settings, environment=hostile) as ready:
        # the first worker waits for the fork server, which imports everything once
        assert httpx.post(f"{ready.url}{GENTLE}", json=ONE_METRE, timeout=90).status_code == 200
        yield ready


def test_it_is_ready_when_the_workers_of_plugins_are(tmp_path: Path, hostile: dict[str, str]) -> None:
    """The first question after ready finds a worker that waits for it; before, it says whom it waits for."""
    with running(tmp_path, {"log_level": "info"}, environment=hostile) as service:
        workers = len(service.processes())
        assert ask(service, GENTLE, ONE_METRE).status_code == 200
        assert len(service.processes()) == workers, "no process was started for it"


def test_one_slow_plugin_does_not_hold_up_readiness_for_ever(tmp_path: Path) -> None:
    slow = sound("slow") + "\nimport multiprocessing, time\n"
    slow += "multiprocessing.current_process().name != 'MainProcess' and time.sleep(600)\n"  # in a worker alone
    install(tmp_path / "site", "coldwright-slow", {"slow": slow}, {"slow": "slow:plugin"})
    environment = {"PYTHONPATH": os.pathsep.join([str(tmp_path / "site"), os.environ.get("PYTHONPATH", "")])}
    service = RunningService(tmp_path, {"worker_start_seconds": "8"}, environment=environment)
    try:
        reasons: set[str] = set()
        deadline = time.monotonic() + 60
        while (reply := health(service)) is None or reply.status_code != 200:
            assert time.monotonic() < deadline, service.log.read_text()[-2000:]
            reasons |= set(reply.json()["reasons"]) if reply is not None else set()
            time.sleep(0.1)
        assert "the workers of coldwright-slow are starting" in reasons
    finally:
        service.stop()
        assert service.wait_gone(30) == []


def health(service: RunningService) -> httpx.Response | None:
    try:
        return httpx.get(f"{service.url}/health/ready", timeout=5)
    except httpx.TransportError:
        return None


def ask(service: RunningService, address: str, given: dict[str, Any]) -> httpx.Response:
    return httpx.post(f"{service.url}{address}", json=given, timeout=30)


EXPECTED = {
    "endless_loop": (504, "calculator-too-slow"),
    "endless_loop_in_c": (504, "calculator-too-slow"),
    "sleep": (504, "calculator-too-slow"),
    "allocation": (500, "calculator-defect"),
    "allocation_in_c": (503, "calculator-died"),
    "exit": (503, "calculator-died"),
    "system_exit": (500, "calculator-defect"),
    "keyboard_interrupt": (503, "calculator-died"),
    "segmentation_fault": (503, "calculator-died"),
    "recursion": (500, "calculator-defect"),
    "long_answer": (500, "calculator-defect"),
    "wrong_type": (500, "calculator-defect"),
    "other_struct": (500, "calculator-defect"),
    "out_of_bounds": (500, "calculator-defect"),
    "not_a_number": (500, "calculator-defect"),
    "nothing": (500, "calculator-defect"),
    "closed_files": (503, "calculator-died"),
    "strange_error": (500, "calculator-defect"),
}


@pytest.mark.parametrize("harm", EXPECTED)
def test_each_harm_costs_one_clear_problem(service: RunningService, harm: str) -> None:
    status, slug = EXPECTED[harm]
    began = time.monotonic()
    reply = ask(service, HARM, {"harm": harm})
    assert time.monotonic() - began < SECONDS + 8
    assert reply.status_code == status, reply.text
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["type"] == f"/problems/{slug}"
    assert reply.json()["detail"]
    assert "Traceback" not in reply.text
    if status == 503:
        assert int(reply.headers["retry-after"]) >= 1
    after = ask(service, GENTLE, ONE_METRE)
    assert after.status_code == 200, after.text
    assert after.json()["results"]["twice"] == {"value": 2.0, "unit": "m"}
    assert httpx.get(f"{service.url}/health/ready", timeout=5).status_code == 200


def test_what_it_prints_is_no_part_of_an_answer(service: RunningService) -> None:
    reply = ask(service, HARM, {"harm": "printing"})
    assert reply.status_code == 200
    assert reply.json()["results"]["text"] == "printed"
    assert "this is not an answer" not in reply.text
    wanted, deadline = {"this is not an answer", "nor this", "nor what a child says"}, time.monotonic() + 30
    while not wanted <= (said := printed_by(service, "hostile-plugin")):
        assert time.monotonic() < deadline, said  # the log is written beside the answer, not before it
        time.sleep(0.1)


def printed_by(service: RunningService, plugin: str) -> set[str]:
    """What a plugin printed, of the whole lines that the log has so far."""
    lines = service.log.read_text().rpartition("\n")[0].splitlines()
    logged = [json.loads(line) for line in lines if "plugin_output" in line]
    return {line["text"] for line in logged if line["plugin"] == plugin}


def test_printing_without_end_costs_one_answer_and_little_of_the_log(service: RunningService) -> None:
    before = service.log.stat().st_size
    reply = ask(service, HARM, {"harm": "endless_printing"})
    assert reply.status_code == 504
    assert ask(service, GENTLE, ONE_METRE).status_code == 200
    assert service.log.stat().st_size - before < 400_000, "16 KiB of short lines, each in its own line of the log"
    assert service.log.read_text().count("all work and no play") < 1000


def test_without_the_fork_server_new_workers_come_all_the_same(service: RunningService) -> None:
    assert ask(service, HARM, {"harm": "killed_parent"}).status_code == 200
    assert ask(service, HARM, {"harm": "exit"}).status_code == 503
    deadline = time.monotonic() + 60
    while (reply := ask(service, GENTLE, ONE_METRE)).status_code != 200 and time.monotonic() < deadline:
        assert reply.status_code == 503
        assert reply.json()["type"] == "/problems/overloaded"
        time.sleep(float(reply.headers["retry-after"]))
    assert reply.status_code == 200


def test_others_are_answered_while_it_hangs(service: RunningService) -> None:
    """Our own calculators have workers of their own, and health is answered beside them all."""
    slow = [threading.Thread(target=ask, args=(service, HARM, {"harm": "endless_loop"})) for _ in range(3)]
    example = httpx.get(f"{service.url}/v1/calculators/readiness/startup", timeout=5).json()["examples"][0]["given"]
    assert ask(service, "/v1/calculators/readiness/startup", example).status_code == 200  # its workers are warm now
    for thread in slow:
        thread.start()
    try:
        for _ in range(10):
            began = time.monotonic()
            assert ask(service, "/v1/calculators/readiness/startup", example).status_code == 200
            assert httpx.get(f"{service.url}/health/live", timeout=5).status_code == 200
            assert time.monotonic() - began < 2
    finally:
        for thread in slow:
            thread.join()
    assert ask(service, GENTLE, ONE_METRE).status_code == 200


def test_in_a_worksheet_it_costs_its_own_item(service: RunningService) -> None:
    items = [
        {"id": "bad", "calculator": "hostile.harm", "given": {"harm": "exit"}},
        {"id": "good", "calculator": "hostile.gentle", "given": ONE_METRE},
        {
            "id": "twice",
            "calculator": "hostile.gentle",
            "given": {"length": {"from": "good", "pointer": "/results/twice"}},
        },
    ]
    reply = httpx.post(f"{service.url}/v1/worksheets", json={"items": items}, timeout=30).json()["items"]
    assert [i["status"] for i in reply] == [503, 200, 200]
    assert reply[2]["answer"]["results"]["twice"]["value"] == 4


def test_one_that_dies_again_and_again_is_given_a_rest(tmp_path: Path, hostile: dict[str, str]) -> None:
    settings = {"evaluation_seconds": "2", "rest_seconds": "3"}
    with running(tmp_path, settings, environment=hostile) as service:
        assert httpx.post(f"{service.url}{GENTLE}", json=ONE_METRE, timeout=90).status_code == 200
        for _ in range(3):
            assert ask(service, HARM, {"harm": "exit"}).json()["type"] == "/problems/calculator-died"
        resting = ask(service, HARM, {"harm": "none"})
        assert resting.status_code == 503
        assert resting.json()["type"] == "/problems/calculator-resting"
        assert 1 <= int(resting.headers["retry-after"]) <= 3
        assert ask(service, GENTLE, ONE_METRE).status_code == 200
        time.sleep(float(resting.headers["retry-after"]) + 0.5)
        assert ask(service, HARM, {"harm": "none"}).status_code == 200
