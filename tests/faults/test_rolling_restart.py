"""Two processes of the service behind the sample proxy, restarted one after the other as the guide says: nobody notices."""

import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import httpx
import pytest
from postgres import new_database
from running import RunningService, free_port
from writers import Examples, Kept, Writers, lost

SAMPLE = Path(__file__).parents[2] / "deploy" / "proxy" / "nginx.conf"
NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
pytestmark = [pytest.mark.postgres, pytest.mark.nightly]


class Proxy:
    """The sample proxy without TLS, over two processes of which each can be taken out."""

    def __init__(self, folder: Path, ports: list[int]) -> None:
        self.folder, self.ports, self.port = folder, ports, free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        (folder / "nginx.conf").write_text(
            f"daemon off; pid {folder}/pid; error_log {folder}/errors.log; events {{}}\n"
            f"http {{ access_log off; client_body_temp_path {folder}/bodies; proxy_temp_path {folder}/replies;\n"
            f"fastcgi_temp_path {folder}/1; uwsgi_temp_path {folder}/2; scgi_temp_path {folder}/3;\n"
            f"include {folder}/site.conf; }}\n"
        )
        self._write()
        self._process = subprocess.Popen([NGINX or "", "-c", str(folder / "nginx.conf"), "-p", str(folder)])

    def without(self, *ports: int) -> None:
        """Give nothing more to these; what is under way with them is finished."""
        self._write(*ports)
        subprocess.run([NGINX or "", "-c", str(self.folder / "nginx.conf"), "-s", "reload"], check=True)

    def stop(self) -> None:
        self._process.terminate()
        self._process.wait(20)

    def _write(self, *out: int) -> None:
        servers = "".join(f"server 127.0.0.1:{p}{' down' if p in out else ''}; " for p in self.ports)
        text = SAMPLE.read_text()
        text, replaced = re.subn(
            r"(?s)upstream coldwright \{.*?\n\}", f"upstream coldwright {{ {servers} keepalive 32; }}", text
        )
        assert replaced == 1
        text = re.sub(r"(?m)^\s*(listen \[::\].*|ssl_.*)$", "", text)
        text = text.replace("listen 80;", f"listen 127.0.0.1:{free_port()};")
        text = text.replace("listen 443 ssl http2;", f"listen 127.0.0.1:{self.port};")
        (self.folder / "site.conf").write_text(text)


def more_than(kept: Kept, number: int) -> bool:
    return len(kept) > number


@pytest.fixture
def services(tmp_path: Path) -> Iterator[list[RunningService]]:
    settings = {"database_url": new_database(), "log_level": "warning", "workers": "1"}
    made = []
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        made.append(RunningService(tmp_path / name, settings).wait_ready())
    yield made
    for service in made:
        service.stop()


@pytest.mark.skipif(NGINX is None, reason="no nginx here")
def test_no_request_is_lost(tmp_path: Path, services: list[RunningService]) -> None:
    proxy = Proxy(tmp_path, [s.port for s in services])
    try:
        deadline = time.monotonic() + 20
        while True:
            try:
                assert httpx.get(f"{proxy.url}/health/ready", timeout=5).status_code == 200
                break
            except httpx.TransportError:
                assert time.monotonic() < deadline
                time.sleep(0.05)
        kept = Kept()
        with Writers(proxy.url, Examples(proxy.url), kept, "r", patient=True) as writers:
            writers.wait_until(lambda: kept.orders > 0 and kept.counter > 1)
            for number, service in enumerate(services):
                proxy.without(service.port)
                time.sleep(2.0)  # as the guide says: what was given to it before is on its way
                assert service.stop() == 0
                so_far = len(kept)
                services[number] = RunningService(service.folder, service.settings, port=service.port).wait_ready()
                writers.wait_until(partial(more_than, kept, so_far + 20))
                proxy.without()
            so_far = len(kept)
            writers.wait_until(partial(more_than, kept, so_far + 20))
        assert writers.faults == []
        assert writers.refused == []
        assert lost(services[0].url, kept) == []
    finally:
        proxy.stop()
