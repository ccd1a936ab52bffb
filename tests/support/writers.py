"""A stream of writes to a running service, and what it acknowledged: all of which must still be there afterwards."""

import itertools
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import httpx
from startup_histories import CONFIGURATION, seen

SERVICE = "/v1/calculators/electrical/service"
Body = dict[str, Any]


class Examples:
    """Invented inputs, from the service's own descriptions."""

    def __init__(self, url: str) -> None:
        with httpx.Client(base_url=url, timeout=60) as client:
            self.order = self._first(client, "/v1/calculators/booking/assessment")
            self.fleet = self._first(client, "/v1/calculators/booking/fleet_check")["fleet"]
            self.service = self._first(client, SERVICE)

    @staticmethod
    def _first(client: httpx.Client, address: str) -> Body:
        given: Body = client.get(address).json()["examples"][0]["given"]
        return given


class Kept:
    """What was acknowledged, by all writers together. Grows while the service is killed and started again."""

    def __init__(self) -> None:
        self.observations: dict[str, set[str]] = {}
        self.tags: dict[str, str] = {}
        """ETags by address, for fleets and orders."""
        self.digests: set[str] = set()
        self.counter = 0
        """Newest acknowledged version of the one fleet that is changed all the time."""

    @property
    def orders(self) -> int:
        """How many orders."""
        return sum(address.startswith("/v1/bookings/") for address in list(self.tags))

    def __len__(self) -> int:
        return sum(map(len, self.observations.values())) + len(self.tags) + len(self.digests) + self.counter


class Writers:
    """Threads that write until they are told to stop or the service goes away."""

    def __init__(self, url: str, examples: Examples, kept: Kept, name: str, patient: bool = False) -> None:
        self.url, self.examples, self.kept, self.name = url, examples, kept, name
        self.patient = patient
        """Whether 503 and a lost connection are waited out: for a store that stops and starts."""
        self.refused: list[httpx.Response] = []
        self.faults: list[str] = []
        self._stop = threading.Event()
        jobs = (self._observe, self._keep_fleets, self._keep_records, self._keep_orders, self._count)
        self._threads = [threading.Thread(target=self._run, args=(job,)) for job in jobs]

    def __enter__(self) -> "Writers":
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        for thread in self._threads:
            thread.join(90)

    def wait_until(self, reached: Callable[[], bool], seconds: float = 60.0) -> None:
        """Let them write until so much is kept."""
        deadline = time.monotonic() + seconds
        while not reached():
            assert not self.faults, self.faults
            assert time.monotonic() < deadline, "the writers do not get on"
            time.sleep(0.02)

    def _run(self, job: Callable[[httpx.Client], Iterator[None]]) -> None:
        with httpx.Client(base_url=self.url, timeout=60) as client:
            try:
                for _ in job(client):
                    if self._stop.is_set():
                        return
            except httpx.TransportError as error:
                if self.patient:
                    self.faults.append(repr(error))
            except Exception as error:
                self.faults.append(repr(error))

    def _sent(self, client: httpx.Client, method: str, address: str, body: Body, **headers: str) -> httpx.Response:
        while True:
            reply = client.request(method, address, json=body, headers=headers)
            if reply.status_code != 503 or not self.patient or self._stop.is_set():
                return reply
            self.refused.append(reply)
            self._stop.wait(0.1)

    def _expect(self, reply: httpx.Response, *statuses: int) -> bool:
        if reply.status_code in statuses:
            return True
        if not (self.patient and reply.status_code == 503):
            self.faults.append(f"{reply.request.method} {reply.request.url}: {reply.status_code} {reply.text[:300]}")
        return False

    def _observe(self, client: httpx.Client) -> Iterator[None]:
        name = f"startup-{self.name}"
        address = f"/v1/startups/{name}"
        self._expect(self._sent(client, "PUT", address, {"configuration": CONFIGURATION}), 200, 201)
        for number in itertools.count():
            batch = [seen("unit_level", "07:00", f"{self.name}-{number}-{n}", ok=True) for n in range(3)]
            reply = self._sent(client, "POST", f"{address}/observations", {"observations": batch})
            if self._expect(reply, 200):
                ids = self.kept.observations.setdefault(name, set())
                ids.update(o["id"] for o in reply.json()["observations"] if o["status"] in (200, 201))
            yield

    def _keep_fleets(self, client: httpx.Client) -> Iterator[None]:
        for number in itertools.count():
            address = f"/v1/fleets/{self.name}-{number}"
            reply = self._sent(client, "PUT", address, self.examples.fleet)
            if self._expect(reply, 200, 201):
                self.kept.tags[address] = reply.headers["etag"]
            yield

    def _keep_records(self, client: httpx.Client) -> Iterator[None]:
        seed = sum(map(ord, self.name)) % 1000
        for number in itertools.count():
            body = self.examples.service | {"power_factor": round(0.6 + seed / 1e4 + number / 1e7, 9)}
            reply = self._sent(client, "POST", f"{SERVICE}?record=true", body)
            if self._expect(reply, 200):
                self.kept.digests.add(reply.json()["digest"])
            yield

    def _keep_orders(self, client: httpx.Client) -> Iterator[None]:
        for number in itertools.count():
            reference = f"{self.name}-{number}"
            body = self.examples.order | {"reference": reference}
            reply = self._sent(client, "PUT", f"/v1/bookings/{reference}", body)
            if self._expect(reply, 200, 201):
                self.kept.tags[f"/v1/bookings/{reference}"] = reply.headers["etag"]
            yield

    def _count(self, client: httpx.Client) -> Iterator[None]:
        address = "/v1/fleets/counter"
        self._expect(self._sent(client, "PUT", address, self.examples.fleet), 201, 200, 428)
        while True:
            present = client.get(address)
            if present.status_code == 200:
                version = present.json()["version"]
                fleet = self.examples.fleet | {"name": f"version {version + 1}"}
                reply = self._sent(client, "PUT", address, fleet, **{"if-match": present.headers["etag"]})
                if self._expect(reply, 200, 412) and reply.status_code == 200:
                    self.kept.counter = max(self.kept.counter, reply.json()["version"])
            yield


def lost(url: str, kept: Kept) -> list[str]:
    """Everything that was acknowledged and is not there, or is there twice."""
    found = []
    with httpx.Client(base_url=url, timeout=60) as client:
        for name, ids in kept.observations.items():
            there = list(_observation_ids(client, name))
            if len(there) != len(set(there)):
                found.append(f"{name} has observations twice")
            found += [f"{name}: observation {i}" for i in sorted(ids - set(there))]
        for address, tag in list(kept.tags.items()):
            reply = client.get(address)
            if reply.status_code != 200 or reply.headers["etag"] != tag:
                found.append(f"{address}: {reply.status_code}")
            elif reply.json().get("version", reply.json().get("revision")) != 1:
                found.append(f"{address} was kept twice")
        found += [d for d in kept.digests if client.get(f"/v1/records/{d}").status_code != 200]
        if kept.counter:
            version = client.get("/v1/fleets/counter").json()["version"]
            if version < kept.counter:
                found.append(f"the counter stands at {version}, acknowledged was {kept.counter}")
            for n in {1, version // 2 or 1, kept.counter, version}:
                if client.get(f"/v1/fleets/counter?version={n}").status_code != 200:
                    found.append(f"version {n} of the counter")
    return found


def _observation_ids(client: httpx.Client, name: str) -> Iterator[str]:
    query = "?page_size=1000"
    while query:
        page = client.get(f"/v1/startups/{name}/observations{query}").json()
        yield from (o["observation"]["id"] for o in page["observations"])
        query = f"?page_size=1000&page_token={page['next_page_token']}" if "next_page_token" in page else ""
