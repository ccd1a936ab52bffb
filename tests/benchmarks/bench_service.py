"""What the service itself costs: `python tests/benchmarks/bench_service.py`. Prints ratios of processor time.

- `electrical.service`, the smallest calculator, against bare handlers of the same framework and server. `declared` is the
  framework's ordinary one, which names the types of body and answer, and calculates, as ours does; `without_sum` is the
  same with the answer ready at hand; `by_hand` is the leanest there is, which decodes the raw body into plain objects and
  hands over bytes. Aim: at least half as quick as `declared`: like for like, since an answer that is ready needs no sum. What
  remains of ours without the sum, which `declared` and `without_sum` tell, is the road alone: guard, one reading with its
  checks, log, metrics. The split of a request says how quick ours could be at most beside an answer that is ready.
- A booking: processor time of the event loop for one, when it is only assessed and when it is kept. Aim: under 1 ms for
  one that is assessed.
"""

import asyncio
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import httpx
import msgspec

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from running import RunningService, free_port

from coldwright.registry import Registry

PATH = "/v1/calculators/electrical/service"
CONNECTIONS, EACH, ROUNDS, BOOKINGS = 8, 250, 4, 60
START = """
import sys, msgspec, uvicorn
from pathlib import Path
from litestar import Litestar, Request, Response, post
answer = msgspec.json.decode(Path(sys.argv[1]).read_bytes())
"""
RUN = """
uvicorn.run(Litestar([bare], openapi_config=None), port=int(sys.argv[2]), http="h11", access_log=False, log_level="warning")
"""
BY_HAND = """
decode, encode = msgspec.json.Decoder().decode, msgspec.json.Encoder().encode
@post("{path}", status_code=200)
async def bare(request: Request) -> Response[bytes]:
    decode(await request.body())
    return Response(encode(answer), media_type="application/json")
"""
DECLARED = """
from coldwright.contract.answer import Answer
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import convert
from coldwright.registry import Registry
served = Registry().served["electrical.service"]
Given = served.local.given
given = convert(Given, served.calculator.examples[0].given)
answer = evaluate(served.local, given, plugin=served.distribution, plugin_version=served.distribution_version)
def calculated(data):
    return evaluate(served.local, data, plugin=served.distribution, plugin_version=served.distribution_version)
@post("{path}", status_code=200)
async def bare(data: Given) -> Answer:
    return {answered}
"""
BARE = {
    "declared": DECLARED.replace("{answered}", "calculated(data)"),
    "without_sum": DECLARED.replace("{answered}", "answer"),
    "by_hand": BY_HAND,
}


def processor_seconds(process: int) -> float:
    """Of a process."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(") ")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def loop_seconds(process: int) -> float:
    """Of the event loop, which is the first thread of the process; to the nanosecond."""
    return int(Path(f"/proc/{process}/task/{process}/schedstat").read_text().split()[0]) / 1e9


async def _client(port: int, request: bytes) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for _ in range(EACH):
        writer.write(request)
        head = await reader.readuntil(b"\r\n\r\n")
        if not head.startswith(b"HTTP/1.1 200"):
            raise AssertionError(head)
        length = int(head.lower().split(b"content-length: ")[1].split(b"\r\n")[0])
        await reader.readexactly(length)
    writer.close()


async def _clients(port: int, request: bytes) -> None:
    await asyncio.gather(*(_client(port, request) for _ in range(CONNECTIONS)))


def milliseconds(process: int, port: int, body: bytes) -> float:
    """Processor time of the server for one request."""
    head = f"POST {PATH} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    before = processor_seconds(process)
    asyncio.run(_clients(port, head.encode() + body))
    return (processor_seconds(process) - before) / (CONNECTIONS * EACH) * 1e3


def main() -> None:
    """Measure in turn and print the ratios."""
    registry = Registry()
    body = msgspec.json.encode(dict(registry.lookup("electrical.service").examples[0].given))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        service = RunningService(folder, {"log_level": "error"}).wait_ready()
        answer = httpx.post(f"{service.url}{PATH}", content=body, headers={"content-type": "application/json"})
        (folder / "answer.json").write_bytes(answer.content)
        ports = {name: free_port() for name in BARE}
        processes = {name: _start(folder, name, port) for name, port in ports.items()}
        try:
            for name, port in ports.items():
                _wait(port)
                same = httpx.post(f"http://127.0.0.1:{port}{PATH}", content=body)
                assert same.json() == answer.json(), name
            _smallest(service, processes, ports, body)
            _bookings(service, dict(registry.lookup("booking.assessment").examples[0].given))
        finally:
            for process in processes.values():
                process.kill()
            service.stop()


def _smallest(
    service: RunningService, processes: dict[str, "subprocess.Popen[bytes]"], ports: dict[str, int], body: bytes
) -> None:
    ratios: dict[str, list[float]] = {name: [] for name in (*BARE, "without_sum, ours without it too")}
    ready, calculated, whole = list[float](), list[float](), list[float]()
    for number in range(ROUNDS):
        ours = milliseconds(service.process.pid, service.port, body)
        bare = {name: milliseconds(processes[name].pid, port, body) for name, port in ports.items()}
        for name, theirs in bare.items():
            ratios[name].append(theirs / ours)
        ready.append(bare["without_sum"])
        calculated.append(bare["declared"])
        whole.append(ours)
        road = ours - (bare["declared"] - bare["without_sum"])
        ratios["without_sum, ours without it too"].append(bare["without_sum"] / road)
        told = ", ".join(f"{found[-1]:.2f} of {name}" for name, found in ratios.items())
        print(f"round {number + 1}: electrical.service {ours:.3f} ms of processor time; {told}")
    for name, found in ratios.items():
        print(f"as quick as {name}: {statistics.median(found):.2f}" + (" (aim 0.5)" if name == "declared" else ""))
    least, all_of = statistics.median(ready), statistics.median(whole)
    summed = statistics.median(calculated) - least
    print(
        f"of {all_of * 1e3:.0f} microseconds: server and framework {least * 1e3:.0f}, the sum {summed * 1e3:.0f}, guard, checks, "
        f"log and metrics {(all_of - least - summed) * 1e3:.0f}; even without the last four it would be "
        f"{least / (least + summed):.2f} times as quick as an answer that is ready"
    )


def _bookings(service: RunningService, order: dict[str, Any]) -> None:
    """Processor time of the event loop and of its process."""
    process = service.process.pid
    with httpx.Client(base_url=service.url, timeout=60) as client:

        def assess(_number: int) -> None:
            client.post("/v1/calculators/booking/assessment", json=order).raise_for_status()

        def keep(number: int) -> None:
            client.put(f"/v1/bookings/B-{number}", json=order | {"reference": f"B-{number}"}).raise_for_status()

        for what, ask in (("assessed", assess), ("kept", keep)):
            ask(10_000)
            before, all_before = loop_seconds(process), processor_seconds(process)
            began = time.monotonic()
            for number in range(BOOKINGS):
                ask(number)
            loop = (loop_seconds(process) - before) / BOOKINGS * 1e3
            whole = (processor_seconds(process) - all_before) / BOOKINGS * 1e3
            print(
                f"a booking {what}: event loop {loop:.2f} ms (aim 1), the service's process {whole:.2f} ms, "
                f"{(time.monotonic() - began) / BOOKINGS * 1e3:.0f} ms for the caller"
            )


def _start(folder: Path, name: str, port: int) -> "subprocess.Popen[bytes]":
    script = folder / f"{name}.py"
    script.write_text(START + BARE[name].replace("{path}", PATH) + RUN)
    return subprocess.Popen([sys.executable, str(script), str(folder / "answer.json"), str(port)])


def _wait(port: int) -> None:
    for _ in range(300):
        try:
            httpx.get(f"http://127.0.0.1:{port}/", timeout=5)
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("it did not start")


if __name__ == "__main__":
    main()
