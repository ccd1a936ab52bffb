"""A disk that is really full: ready says so, what is there can be read, light calculators go on; with room all goes on."""

import contextlib
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import msgspec
import psycopg
import pytest
from postgres import Postgres
from running import RunningService, running

from coldwright.registry import Registry

pytestmark = pytest.mark.nightly
SERVICE = "/v1/calculators/electrical/service"
FULL = {"status": "not_ready", "reasons": ["the store can keep no more: its disk is full"]}
FILLER = "filler"


@pytest.fixture
def small_disk() -> Iterator[Path]:
    """A file system in memory of 32 MiB, directly under `/tmp`, where the server's own user may go."""
    folder = Path(tempfile.mkdtemp(prefix="cwdisk", dir="/tmp"))
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=32m,mode=0777", "tmpfs", folder], capture_output=True)
    if mounted.returncode:
        folder.rmdir()
        pytest.skip("only root, where it may mount a file system, can have a disk that is really full")
    yield folder
    subprocess.run(["umount", "-l", folder], check=True)
    folder.rmdir()


def fill(disk: Path) -> None:
    """To the last byte."""
    with (disk / FILLER).open("ab", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(b"x" * min(4096, max(1, shutil.disk_usage(disk).free)))


def held(service: RunningService, disk: Path, light: bytes) -> None:
    """Kept before it is full, refused while it is, kept again afterwards."""
    json = {"content-type": "application/json"}

    def keep(number: int) -> int:
        address = f"{service.url}{SERVICE}?record=true"
        body = msgspec.json.decode(light)
        body["machines"][0]["machine_id"] = f"machine-{number}"
        return httpx.post(address, content=msgspec.json.encode(body), headers=json, timeout=30).status_code

    def ready() -> dict[str, object]:
        told: dict[str, object] = httpx.get(f"{service.url}/health/ready", timeout=10).json()
        return told

    assert keep(0) == 200
    fill(disk)
    statuses: list[int] = []
    while len(statuses) < 300 and 503 not in statuses:
        statuses.append(keep(len(statuses) + 1))
    assert statuses[-1] == 503, "it was never full"
    assert ready() == FULL
    assert httpx.post(f"{service.url}{SERVICE}", content=light, headers=json, timeout=10).status_code == 200
    assert httpx.get(f"{service.url}/v1/fleets", timeout=10).status_code == 200
    assert httpx.get(f"{service.url}/health/live", timeout=10).status_code == 200
    (disk / FILLER).unlink()
    until = time.monotonic() + 60
    while keep(1000) != 200 and time.monotonic() < until:
        time.sleep(0.5)
    while ready()["status"] != "ready" and time.monotonic() < until:
        time.sleep(0.5)
    assert ready() == {"status": "ready", "reasons": []}


@pytest.fixture
def light(registry: Registry) -> bytes:
    return msgspec.json.encode(dict(registry.lookup("electrical.service").examples[0].given))


def test_a_full_file_system_under_sqlite(small_disk: Path, light: bytes) -> None:
    settings = {"engine": "inline", "database_url": f"sqlite:///{small_disk}/store.sqlite3", "log_level": "error"}
    with tempfile.TemporaryDirectory() as folder, running(Path(folder), settings) as service:
        held(service, small_disk, light)


@pytest.mark.postgres
def test_a_full_file_system_under_postgresql(small_disk: Path, light: bytes) -> None:
    """The database's tables lie on it, and what is written ahead elsewhere, so that the server itself lives on."""
    server = Postgres()
    with psycopg.connect(server.dsn, autocommit=True) as connection:
        place = small_disk / "tables"
        place.mkdir()
        shutil.chown(place, user=server.folder.owner())
        connection.execute(f"CREATE TABLESPACE small LOCATION '{place}'")
        connection.execute("CREATE DATABASE small TABLESPACE small")
    url = server.dsn.replace("/postgres?", "/small?", 1)
    try:
        settings = {"engine": "inline", "database_url": url, "log_level": "error"}
        with tempfile.TemporaryDirectory() as folder, running(Path(folder), settings) as service:
            held(service, small_disk, light)
    finally:
        server.remove()
