"""Runs the service on a free loopback port, books an invented order over HTTP and prints the plan. Standard library only."""

import argparse
import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

DEMO = Path(__file__).resolve().parent / "demo"
READY_SECONDS = 120.0


def free_port() -> int:
    """A loopback port that is free now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextlib.contextmanager
def service(folder: str) -> Iterator[str]:
    """The service in a folder of its own; yields its address and stops it at the end, whatever happens."""
    port = free_port()
    log = Path(folder) / "service.log"
    environment = {k: v for k, v in os.environ.items() if not k.startswith("COLDWRIGHT_")}
    environment["COLDWRIGHT_EVALUATION_SECONDS"] = "120"  # a slow or busy machine shall show its plan too
    command = [sys.executable, "-m", "coldwright.cli", "serve", "--host", "127.0.0.1", "--port", str(port)]
    with log.open("wb") as output:
        process = subprocess.Popen(command, cwd=folder, env=environment, stdout=output, stderr=output)  # noqa: S603
    try:
        address = f"http://127.0.0.1:{port}"
        wait_ready(address, process, log)
        yield address
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def wait_ready(address: str, process: "subprocess.Popen[bytes]", log: Path) -> None:
    """Wait until it can serve; ends the program with its log when it does not come up."""
    deadline = time.monotonic() + READY_SECONDS
    while time.monotonic() < deadline and process.poll() is None:
        try:
            send(address, "GET", "/health/ready")
        except (OSError, urllib.error.URLError):
            time.sleep(0.1)
        else:
            return
    sys.stderr.write(log.read_text("utf-8", "replace")[-4000:])
    raise SystemExit("The service did not come up; its log is above.")


def send(address: str, method: str, path: str, content: object = None, accept: str = "application/json") -> bytes:
    """One request; raises `HTTPError` for anything but a success."""
    body = None if content is None else json.dumps(content).encode()
    headers = {"Accept": accept} | ({"Content-Type": "application/json"} if body else {})
    request = urllib.request.Request(address + path, body, headers, method=method)  # noqa: S310
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))  # loopback goes through no proxy
    with opener.open(request, timeout=120) as reply:
        answered: bytes = reply.read()
        return answered


def book(address: str, fleet: object, order: dict[str, object], units: str) -> bytes:
    """Fleet in, order in, plan out."""
    send(address, "PUT", f"/v1/fleets/{order['fleet_id']}", fleet)
    path = f"/v1/bookings/{order['reference']}"
    send(address, "PUT", path, order)
    return send(address, "GET", f"{path}?units={units}", accept="text/plain")


def main() -> int:
    """Do it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("order", nargs="?", default=str(DEMO / "order-process.json"), help="another order")
    parser.add_argument("--units", choices=("metric", "us"), default="metric", help="units of the plan")
    parser.add_argument("--from", dest="folder", default=".", help=argparse.SUPPRESS)
    given = parser.parse_args()
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    order = json.loads(Path(given.folder, given.order).read_text("utf-8"))
    with tempfile.TemporaryDirectory(prefix="coldwright-") as folder, service(folder) as address:
        try:
            plan = book(address, fleet, order, given.units)
        except urllib.error.HTTPError as error:
            sys.stderr.write(error.read().decode("utf-8", "replace") + "\n")
            raise SystemExit(f"The service answered {error.code}; its problem is above.") from error
    sys.stdout.buffer.write(plan)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
