"""The clients under `openapi/clients`: built from the document, their READMEs run, and no sooner again than is asked."""

import importlib.util
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
from running import running

ROOT = Path(__file__).parents[2]
CLIENTS = ROOT / "openapi" / "clients"
DEMO = ROOT / "deploy" / "demo"


def build(kind: str, folder: Path) -> None:
    command = [sys.executable, str(CLIENTS / "build.py"), kind, str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=600)
    assert done.returncode == 0, (done.stdout + done.stderr)[-4000:]


def shown(language: str, folder: str, url: str) -> str:
    text = (CLIENTS / folder / "README.md").read_text("utf-8")
    code = "\n".join(re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL))
    assert "http://127.0.0.1:8080" in code
    return code.replace("http://127.0.0.1:8080", url)


def printed(command: list[str], folder: Path, **environment: str) -> list[str]:
    for name in ("fleet.json", "order-indoor.json"):
        shutil.copy(DEMO / name, folder)
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, (done.stdout + done.stderr)[-4000:]
    return done.stdout.splitlines()


def said(lines: list[str]) -> None:
    assert re.fullmatch(r"DEMO-INDOOR held (acceptable|conditional)", lines[0]), lines
    assert lines[1:] == ["confirmed", "DEMO-INDOOR confirmed", "404 There is nothing here"]


def test_the_client_for_python_does_what_its_readme_shows(tmp_path: Path) -> None:
    build("python", tmp_path / "built")
    service_folder = tmp_path / "service"
    service_folder.mkdir()
    with running(service_folder, {"evaluation_seconds": "60"}) as service:
        (tmp_path / "readme.py").write_text(shown("python", "python", service.url))
        said(printed([sys.executable, "readme.py"], tmp_path, PYTHONPATH=str(tmp_path / "built")))


@pytest.mark.nightly
def test_the_client_for_typescript_does_what_its_readme_shows(tmp_path: Path) -> None:
    if shutil.which("npm") is None:
        pytest.skip("no npm here")
    built = tmp_path / "built"
    build("typescript", built)
    service_folder = tmp_path / "service"
    service_folder.mkdir()
    with running(service_folder, {"evaluation_seconds": "60"}) as service:
        code = shown("ts", "typescript", service.url).replace('"coldwright-client"', '"./src/index"')
        (built / "readme.ts").write_text(code)
        node = str(shutil.which("node"))
        tsc = built / "node_modules" / ".bin" / "tsc"
        options = ("--strict", "--module", "commonjs", "--moduleResolution", "node10", "--target", "es2022")
        done = subprocess.run(
            [str(tsc), "readme.ts", "--outDir", "run", "--types", "node", *options],
            cwd=built,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout
        said(printed([node, "run/readme.js"], built))


# --- retries of the client for Python, against answers that are written here -------------------------------------------


def retrying() -> Any:
    spec = importlib.util.spec_from_file_location("retrying", CLIENTS / "python" / "coldwright_client" / "retrying.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


Answers = list[httpx.Response | httpx.TransportError]


def ask(answers: Answers, method: str, path: str, **options: Any) -> tuple[int, list[float], list[httpx.Request]]:
    """Status in the end, the pauses made, and what was sent."""
    pauses: list[float] = []
    sent: list[httpx.Request] = []

    def reply(request: httpx.Request) -> httpx.Response:
        sent.append(request)
        answer = answers[len(sent) - 1]
        if isinstance(answer, httpx.TransportError):
            raise answer
        return answer

    transport = retrying().Retrying(httpx.MockTransport(reply), sleep=pauses.append, **options)
    with httpx.Client(base_url="http://x", transport=transport) as client:
        return client.request(method, path, json={}).status_code, pauses, sent


def busy(after: str, status: int = 503) -> httpx.Response:
    return httpx.Response(status, headers={"Retry-After": after})


def done() -> httpx.Response:
    return httpx.Response(200)


def test_it_comes_back_when_the_service_wants() -> None:
    status, pauses, _ = ask([busy("7"), busy("3", 429), done()], "PUT", "/v1/bookings/A")
    assert (status, pauses) == (200, [7.0, 3.0])


def test_a_date_is_obeyed_too() -> None:
    at = format_datetime(datetime.now(UTC) + timedelta(seconds=30), usegmt=True)
    status, pauses, _ = ask([busy(at), done()], "GET", "/v1/bookings/A")
    assert status == 200
    assert 25 < pauses[0] <= 30


def test_a_pause_that_is_too_long_is_left_to_the_caller_and_not_cut_short() -> None:
    assert ask([busy("3600"), done()], "GET", "/v1/bookings")[:2] == (503, [])


def test_it_gives_up_after_the_attempts() -> None:
    status, pauses, sent = ask([busy("1"), busy("1"), busy("1")], "GET", "/v1/bookings", attempts=3)
    assert (status, len(pauses), len(sent)) == (503, 2, 3)


@pytest.mark.parametrize(("method", "path"), [("PUT", "/v1/bookings/A"), ("POST", "/v1/bookings/A/confirm")])
@pytest.mark.parametrize("make", [lambda: httpx.ReadError("gone"), lambda: httpx.Response(502)])
def test_a_lost_answer_is_asked_for_again(make: Callable[[], Any], method: str, path: str) -> None:
    status, pauses, sent = ask([make(), done()], method, path)
    assert (status, len(pauses), len(sent)) == (200, 1, 2)


@pytest.mark.parametrize("path", ["/v1/keys", "/v1/keys/1/rotate", "/v1/webhooks/w/rotate", "/v1/webhooks/w/replay"])
def test_what_does_something_anew_each_time_is_sent_once(path: str) -> None:
    assert ask([httpx.Response(502), done()], "POST", path)[0] == 502
    with pytest.raises(httpx.ReadError):
        ask([httpx.ReadError("gone"), done()], "POST", path)


def test_a_job_has_one_key_however_often_it_is_sent() -> None:
    _, _, sent = ask([httpx.ReadError("gone"), busy("1"), done()], "POST", "/v1/jobs")
    assert len({request.headers["Idempotency-Key"] for request in sent}) == 1
    assert len(sent) == 3
