"""Answers per second of `POST electrical.service` against a bare handler of the same framework and server.

The bare handler decodes the same request and encodes the same answer, and does nothing between. Aim: 0.8 of it, at
least 0.6. Run it alone on the machine: `python tests/benchmarks/bench_service.py`.
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
BARE = """
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
        (folder / "bare.py").write_text(BARE.replace("{path}", PATH))
        port = free_port()
        bare = subprocess.Popen([sys.executable, str(folder / "bare.py"), str(folder / "answer.json"), str(port)])
        time.sleep(3)
        try:
            for number in range(ROUNDS):
                plain = asyncio.run(answers_per_second(port, body))
                ours = asyncio.run(answers_per_second(service.port, body))
                print(
                    f"round {number + 1}: bare {plain:.0f}/s, electrical.service {ours:.0f}/s, ratio {ours / plain:.2f} "
                    f"({len(body)} bytes in, {len(answer.content)} out)"
                )
        finally:
            bare.kill()
            service.stop()


if __name__ == "__main__":
    main()
