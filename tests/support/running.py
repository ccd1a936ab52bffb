"""The service as it runs in earnest: a process of its own on a free loopback port."""

import contextlib
import http.client
import os
import signal
import socket
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path


def free_port() -> int:
    """A port that was free a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class RunningService:
    """`coldwright serve` in a folder, with the settings given."""

    def __init__(
        self,
        folder: Path,
        settings: Mapping[str, str] | None = None,
        *,
        port: int | None = None,
        environment: Mapping[str, str] | None = None,
        python: str = sys.executable,
        command: Sequence[str] = (),
    ) -> None:
        """`command` in place of `serve` is one that has no address, and is never ready."""
        self.folder, self.port, self.settings = folder, port or free_port(), settings
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = folder / f"service-{self.port}.log"
        self.mark = f"COLDWRIGHT_TEST_MARK={uuid.uuid4().hex}"
        clean = {k: v for k, v in os.environ.items() if not k.startswith("COLDWRIGHT_")}
        quickly = {"warm": ""}  # what is warmed later takes a second of the processor, beside every test
        given = {f"COLDWRIGHT_{k.upper()}": v for k, v in (quickly | dict(settings or {})).items()}
        with self.log.open("ab") as output:
            self.process = subprocess.Popen(
                [python, "-m", "coldwright.cli", *(command or ("serve", "--port", str(self.port)))],
                cwd=folder,
                env=clean | dict(environment or {}) | given | dict([self.mark.split("=")]),
                stdout=output,
                stderr=output,
                start_new_session=True,
            )

    def wait_ready(self, seconds: float = 60.0) -> "RunningService":
        """Wait until it is ready; raises with its log when it is not in time."""
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline and self.process.poll() is None:
            if self._is_ready():
                return self
            time.sleep(0.05)
        raise AssertionError(f"the service did not become ready:\n{self.log.read_text()[-4000:]}")

    def _is_ready(self) -> bool:
        """One look, by the lightest client there is: `httpx.get` takes 20 ms of the processor that the service starts on."""
        probe = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            probe.request("GET", "/health/ready")
            return probe.getresponse().status == 200
        except (OSError, http.client.HTTPException):
            return False
        finally:
            probe.close()

    def processes(self) -> list[int]:
        """The service and everything that it started, wherever that hangs now: they carry its mark."""
        found = []
        for environ in Path("/proc").glob("[0-9]*/environ"):
            with contextlib.suppress(OSError):
                if self.mark.encode() in environ.read_bytes().split(b"\0"):
                    found.append(int(environ.parent.name))
        return found

    def wait_gone(self, seconds: float) -> list[int]:
        """Wait until no process of it is left; those that are left in the end."""
        deadline = time.monotonic() + seconds
        while (left := self.processes()) and time.monotonic() < deadline:
            time.sleep(0.05)
        return left

    def stop(self) -> int:
        """Ask it to stop and wait until it has."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        return self.process.wait(40)

    def kill(self) -> None:
        """As a power cut would."""
        self.process.kill()
        self.process.wait(10)


@contextlib.contextmanager
def running(
    folder: Path,
    settings: Mapping[str, str] | None = None,
    *,
    environment: Mapping[str, str] | None = None,
    python: str = sys.executable,
) -> Iterator[RunningService]:
    """A ready service, stopped at the end; `python` may be the interpreter of another environment."""
    service = RunningService(folder, settings, environment=environment, python=python)
    try:
        yield service.wait_ready()
    finally:
        service.stop()
