"""A plugin in a container of its own: its code runs behind a socket, and what it does there costs an answer at most.

No container is needed: the process that would run in one is started beside the service, which has no plugin on its path.
"""

import asyncio
import contextlib
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from importlib.metadata import entry_points
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import msgspec
import pytest
from carbon_plugin import SOURCE, put_table
from distributions import entry_points_in, install, sound
from joining_plugins import PACKAGES
from litestar.testing import TestClient

from coldwright.contract import ENTRY_POINT_GROUP
from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.registry.entry import Entry
from coldwright.registry.remote import Hello, Reporting, reports_from
from coldwright.registry.reporting import report
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

FOUR_KW = {"power": {"value": 4, "unit": "kW"}}
WILD = sound("wild").replace(
    '    return PowerResults(power=Power.of(given.power.to("kW") * 2, "kW"))',
    """    kilowatts = given.power.to("kW")
    if kilowatts == 13:
        while True:
            pass
    if kilowatts == 14:
        import os
        os._exit(3)
    if kilowatts == 15:
        return PowerResults(power=Power.of(float(bool(__import__("socket").gethostname())), "kW"))
    return PowerResults(power=Power.of(kilowatts * 2, "kW"))""",
)


def apart(site: Path, path: Path, *more: str) -> "subprocess.Popen[bytes]":
    """The process that would run in the container, once it listens."""
    process = subprocess.Popen(
        [sys.executable, "-m", "coldwright.cli", "plugins", "serve", "--socket", str(path), *more],
        env=os.environ | {"PYTHONPATH": os.pathsep.join([str(site), os.environ.get("PYTHONPATH", "")])},
        start_new_session=True,
    )
    deadline = time.monotonic() + 30
    while not path.exists() and time.monotonic() < deadline and process.poll() is None:
        time.sleep(0.02)
    assert path.exists()
    return process


@contextlib.contextmanager
def service(store: Path, **remote: Path) -> Iterator[TestClient[Any]]:
    registry = Registry(
        entry_points(group=ENTRY_POINT_GROUP), remote={f"coldwright-{n}": str(p) for n, p in remote.items()}
    )
    settings = Settings(database_url=f"sqlite:///{store}/s.sqlite3", engine="inline", required_plugins="")
    settings = msgspec.structs.replace(settings, evaluation_seconds=2.0)
    with TestClient(create_app(settings, registry)) as client:
        yield client


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder with the sockets of two containers."""
    folder = tmp_path_factory.mktemp("apart")
    processes = []
    for name, code in {"carbon": SOURCE, "wild": WILD, "zlimit": PACKAGES["zlimit"]}.items():
        site = folder / name
        install(site, f"coldwright-{name}", {name: code}, {name: f"{name}:plugin"}, version="3.2")
        if name == "carbon":
            put_table(site)
        processes.append(apart(site, folder / f"{name}.sock", "--seconds", "2"))
    yield folder
    for process in processes:
        process.send_signal(signal.SIGTERM)
        assert process.wait(10) == 0


@pytest.fixture(scope="module")
def client(place: Path) -> Iterator[TestClient[Any]]:
    sockets = {name: place / f"{name}.sock" for name in ("carbon", "wild", "zlimit")}
    with service(place, **sockets) as client:
        yield client


def test_it_is_served_and_documented_and_its_code_is_not_here(client: TestClient[Any]) -> None:
    asked = {"power": {"value": 2, "unit": "kW"}, "grid": "south"}
    answer = client.post("/v1/calculators/carbon/footprint?units=us&record=true", json=asked)
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert (told["calculator"]["plugin"], told["calculator"]["plugin_version"]) == ("coldwright-carbon", "3.2")
    assert told["results"]["intensity"]["unit"] == "lb/MWh"
    assert "carbon" not in sys.modules
    assert client.post("/v1/calculators/carbon/footprint", json=asked | {"grid": "x"}).status_code == 422
    document = client.get("/openapi/v1.json").json()
    assert document["paths"]["/v1/calculators/carbon/footprint"]["post"]["operationId"] == "carbonFootprint"
    listed = {p["entry_point"]: p for p in client.get("/v1/plugins").json()["plugins"]}
    assert (listed["carbon"]["state"], listed["carbon"]["distribution_version"]) == ("loaded", "3.2")
    page = client.get(f"/v1/records/{told['digest']}", headers={"Accept": "text/plain"}).text
    assert "carbon dioxide" in page


def test_a_hang_and_a_crash_cost_one_answer(client: TestClient[Any]) -> None:
    def ask(kilowatts: float) -> tuple[int, str]:
        reply = client.post("/v1/calculators/wild/answer", json={"power": {"value": kilowatts, "unit": "kW"}})
        return reply.status_code, reply.json().get("type", "")

    assert ask(4) == (200, "")
    assert ask(13)[1].endswith("calculator-too-slow")
    assert ask(5) == (200, "")
    assert ask(14)[1].endswith("calculator-died")
    assert ask(6) == (200, "")


def test_a_hang_ends_by_itself_there(client: TestClient[Any], place: Path) -> None:
    """The service cannot end a process of another container: its own alarm does, two seconds after the limit."""
    client.post("/v1/calculators/wild/answer", json={"power": {"value": 13, "unit": "kW"}})
    deadline = time.monotonic() + 10
    while (busy := _busy(str(place / "wild.sock"))) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert busy == []


def _busy(path: str) -> list[int]:
    """Processes of that container which use the processor."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError, IndexError):
            if (
                path in (folder / "cmdline").read_text().split("\0")
                and (folder / "stat").read_text().rsplit(")", 1)[1].split()[0] == "R"
            ):
                found.append(int(folder.name))
    return found


def test_its_parts_join_plans(client: TestClient[Any]) -> None:
    registry = client.app.state.services.registry
    assert [p.calculator.id for p in registry.parts("booking")] == ["zlimit.limit"]


def test_a_container_that_goes_and_comes_again(tmp_path: Path) -> None:
    install(tmp_path / "site", "coldwright-tame", {"tame": sound("tame")}, {"tame": "tame:plugin"})
    path = tmp_path / "tame.sock"
    process = apart(tmp_path / "site", path)
    with service(tmp_path, tame=path) as client:
        assert client.post("/v1/calculators/tame/answer", json=FOUR_KW).status_code == 200
        process.send_signal(signal.SIGTERM)
        assert process.wait(10) == 0
        gone = client.post("/v1/calculators/tame/answer", json=FOUR_KW)
        assert gone.status_code in (500, 503, 504), gone.text
        process = apart(tmp_path / "site", path)
        deadline = time.monotonic() + 20
        while (reply := client.post("/v1/calculators/tame/answer", json=FOUR_KW)).status_code != 200:
            assert time.monotonic() < deadline, reply.text
            time.sleep(0.2)
    process.send_signal(signal.SIGTERM)
    assert process.wait(10) == 0


def test_nobody_there_sets_it_aside_with_the_cure(tmp_path: Path) -> None:
    with service(tmp_path, ghost=tmp_path / "ghost.sock") as client:
        (ghost,) = [p for p in client.get("/v1/plugins").json()["plugins"] if p["distribution"] == "coldwright-ghost"]
        assert client.get("/health/live").status_code == 200
    assert (ghost["state"], ghost["stage"]) == ("set_aside", "import")
    assert "nobody answers at" in ghost["reason"]
    assert "coldwright plugins serve --socket" in ghost["remedy"]


def test_a_file_that_is_no_socket_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from coldwright.cli import main

    (tmp_path / "precious").write_text("data")
    assert main(["plugins", "serve", "--socket", str(tmp_path / "precious")]) == 2
    assert "is there and is no socket" in capsys.readouterr().err
    assert (tmp_path / "precious").read_text() == "data"


# --- a hostile container -------------------------------------------------------------------------------------------
@pytest.fixture
def honest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """What an honest plugin reports."""
    install(tmp_path / "site", "coldwright-acme", {"acme": sound("acme")}, {"acme": "acme:plugin"})
    monkeypatch.syspath_prepend(str(tmp_path / "site"))
    made = report(Entry("acme", "acme:plugin", "coldwright-acme", "1.0"))
    sys.modules.pop("acme", None)
    assert made.plugin is not None
    return made


def lying(path: Path, answer: bytes) -> threading.Thread:
    """A container that answers so, once."""
    server = socket.socket(socket.AF_UNIX)
    server.bind(str(path))
    server.listen()

    def run() -> None:
        line, _ = server.accept()
        with Connection(line.detach()) as connection, contextlib.suppress(OSError, EOFError):
            msgspec.msgpack.decode(connection.recv_bytes(), type=Hello)
            connection.send_bytes(answer)
        server.close()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    return thread


def told(path: Path, report: Any, name: str = "acme") -> tuple[Entry, Any]:
    lying(path, msgspec.msgpack.encode([Reporting(name, "1.0", report)]))
    (found,) = reports_from("coldwright-acme", str(path))
    return found


def changed(report: Any, **fields: Any) -> Any:
    (calculator,) = report.plugin.calculators
    plugin = msgspec.structs.replace(report.plugin, calculators=(msgspec.structs.replace(calculator, **fields),))
    return msgspec.structs.replace(report, plugin=plugin)


def test_an_honest_report_is_taken(tmp_path: Path, honest: Any) -> None:
    entry, report = told(tmp_path / "s", honest)
    assert report.plugin is not None
    assert (entry.distribution, entry.first_party) == ("coldwright-acme", False)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"id": "electrical.feeder"}, "the family 'electrical' of electrical.feeder is reserved"),
        ({"id": "acme.answer\n"}, "is not of its form"),
        ({"version": "1"}, "is not of its form"),
        ({"id": "other.answer"}, "is called 'Acme_AnswerAnswer', which is another's name"),
        ({"answer": "FeederAnswer"}, "names schemas that it does not bring"),
        ({"components": {}}, "names schemas that it does not bring"),
    ],
)
def test_a_lie_sets_it_aside(tmp_path: Path, honest: Any, fields: dict[str, Any], says: str) -> None:
    entry, report = told(tmp_path / "s", changed(honest, **fields))
    assert report.plugin is None
    assert report.stage == "identity"
    assert says in report.reason
    assert entry.distribution == "coldwright-acme"


def test_an_id_that_is_not_claimed_is_no_way_round_the_owner(tmp_path: Path, honest: Any) -> None:
    plugin = msgspec.structs.replace(honest.plugin, names=())
    _, report = told(tmp_path / "s", msgspec.structs.replace(honest, plugin=plugin))
    assert "it does not claim acme.answer" in report.reason


@pytest.mark.parametrize("answer", [b"", b"\xc1", b"\x90", msgspec.msgpack.encode({"a": 1})])
def test_nonsense_sets_it_aside(tmp_path: Path, answer: bytes) -> None:
    lying(tmp_path / "s", answer)
    ((entry, report),) = reports_from("coldwright-acme", str(tmp_path / "s"))
    assert (report.plugin, report.stage, entry.name) == (None, "import", "coldwright-acme")


# --- slow ones -----------------------------------------------------------------------------------------------------
def slow(path: Path, made: Any, held: list[Connection]) -> None:
    """A container that reports and then never gets ready."""
    server = socket.socket(socket.AF_UNIX)
    server.bind(str(path))
    server.listen()
    server.settimeout(60)

    def run() -> None:
        with server, contextlib.suppress(OSError, EOFError):
            while True:
                line, _ = server.accept()
                line.settimeout(None)
                connection = Connection(line.detach())
                if msgspec.msgpack.decode(connection.recv_bytes(), type=Hello).what == "report":
                    connection.send_bytes(msgspec.msgpack.encode([Reporting(path.stem, "1.0", made)]))
                    connection.close()
                else:
                    held.append(connection)

    threading.Thread(target=run, daemon=True).start()


def test_slow_ones_do_not_hold_the_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Six that never get ready, more than start at one time: the seventh is ready all the same, and each is named."""
    held: list[Connection] = []
    names = [f"slow{n}" for n in range(6)]
    for name in names:
        site = tmp_path / name
        install(site, f"coldwright-{name}", {name: sound(name)}, {name: f"{name}:plugin"})
        with monkeypatch.context() as patch:
            patch.syspath_prepend(str(site))
            slow(tmp_path / f"{name}.sock", report(Entry(name, f"{name}:plugin", f"coldwright-{name}", "1.0")), held)
            sys.modules.pop(name, None)
    install(tmp_path / "zz", "zz-sound", {"zz": sound("zz")}, {"zz": "zz:plugin"})
    monkeypatch.syspath_prepend(str(tmp_path / "zz"))
    remote = {f"coldwright-{n}": str(tmp_path / f"{n}.sock") for n in names}
    registry = Registry(entry_points_in(tmp_path / "zz"), remote=remote)
    assert [f.reason for f in registry.found] == [""] * 7
    engine = Engine(registry, "inline")
    try:
        asyncio.run(engine.start())
        deadline = time.monotonic() + 25
        while "zz-sound" in engine.waits_for(60) and time.monotonic() < deadline:
            time.sleep(0.1)
        assert engine.waits_for(60) == [f"coldwright-{n}" for n in names]
        assert engine.waits_for(0) == [], "after the limit nobody is waited for"
    finally:
        engine.stop()
        for connection in held:
            connection.close()
