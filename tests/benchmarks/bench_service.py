"""Answers per second of `POST electrical.service` against bare handlers of the same framework and server.

A bare handler decodes the same request and encodes the same answer, and does nothing between. There are two: `declared`
is the framework's ordinary one, which names the types of body and answer and leaves the rest to the framework; `by_hand`
is the leanest there is, which decodes the raw body into plain objects and hands over bytes. Aim: 0.8 of it, at least 0.6.
Run it alone on the machine: `python tests/benchmarks/bench_service.py`.
"""

import asyncio
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from running import RunningService, free_port

from coldwright.registry import Registry

PATH = "/v1/calculators/electrical/service"
CONNECTIONS, SECONDS, ROUNDS = 16, 4.0, 3
BY_HAND = """
import sys, msgspec, uvicorn
from pathlib import Path
from litestar import Litestar, Request, Response, post
answer = msgspec.json.decode(Path(sys.argv[1]).read_bytes())
decode, encode = msgspec.json.Decoder().decode, msgspec.json.Encoder().encode
@post("{path}", status_code=200)
async def bare(request: Request) -> Response[bytes]:
    decode(await request.body())
    return Response(encode(answer), media_type="application/json")
uvicorn.run(Litestar([bare], openapi_config=None), port=int(sys.argv[2]), access_log=False, log_level="warning")
"""
DECLARED = """
import sys, msgspec, uvicorn
from litestar import Litestar, post
from coldwright.contract.answer import Answer
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import convert
from coldwright.registry import Registry
served = Registry().served["electrical.service"]
Given = served.calculator.given
given = convert(Given, served.calculator.examples[0].given)
answer = evaluate(
    served.calculator, given, plugin=served.distribution, plugin_version=served.distribution_version
)
@post("{path}", status_code=200)
async def bare(data: Given) -> Answer:
    return answer
uvicorn.run(Litestar([bare], openapi_config=None), port=int(sys.argv[2]), access_log=False, log_level="warning")
"""
BARE = {"declared": DECLARED, "by_hand": BY_HAND}


async def _client(port: int, request: bytes, until: float) -> int:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    done = 0
    while time.monotonic() < until:
        writer.write(request)
        head = await reader.readuntil(b"\r\n\r\n")
        if not head.startswith(b"HTTP/1.1 200"):
            raise AssertionError(head)
        length = int(head.lower().split(b"content-length: ")[1].split(b"\r\n")[0])
        await reader.readexactly(length)
        done += 1
    writer.close()
    return done


async def answers_per_second(port: int, body: bytes) -> float:
    """Over a few seconds, from several connections at once."""
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    until = time.monotonic() + SECONDS
    counts = await asyncio.gather(*(_client(port, head.encode() + body, until) for _ in range(CONNECTIONS)))
    return sum(counts) / SECONDS


def main() -> None:
    """Measure both in turn and print the ratio."""
    example = Registry().lookup("electrical.service").examples[0].given
    body = msgspec.json.encode(dict(example))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        service = RunningService(folder, {"log_level": "error"}).wait_ready()
        import httpx

        answer = httpx.post(f"{service.url}{PATH}", content=body, headers={"content-type": "application/json"})
        (folder / "answer.json").write_bytes(answer.content)
        ports = {name: free_port() for name in BARE}
        processes = [_start(folder, name, port) for name, port in ports.items()]
        time.sleep(4)
        try:
            for name, port in ports.items():
                same = httpx.post(f"http://127.0.0.1:{port}{PATH}", content=body)
                assert same.json() == answer.json(), name
            for number in range(ROUNDS):
                plain = {name: asyncio.run(answers_per_second(port, body)) for name, port in ports.items()}
                ours = asyncio.run(answers_per_second(service.port, body))
                against = ", ".join(f"{ours / rate:.2f} of {name} ({rate:.0f}/s)" for name, rate in plain.items())
                print(
                    f"round {number + 1}: electrical.service {ours:.0f}/s, {against}; "
                    f"{len(body)} bytes in, {len(answer.content)} out"
                )
        finally:
            for process in processes:
                process.kill()
            service.stop()


def _start(folder: Path, name: str, port: int) -> "subprocess.Popen[bytes]":
    script = folder / f"{name}.py"
    script.write_text(BARE[name].replace("{path}", PATH))
    return subprocess.Popen([sys.executable, str(script), str(folder / "answer.json"), str(port)])


if __name__ == "__main__":
    main()
