"""What came of a job: as Parquet, and how far it is as events. All data are invented."""

import io
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import msgspec
import pytest
from invented_calculators import registry_with_invented
from keyed import keyed_app
from litestar import Litestar
from litestar.testing import TestClient
from pyarrow import parquet
from running import running

from coldwright.bulk.keeping import NewFinding, PlanChange, Side
from coldwright.service.jobs import parquet as writing
from coldwright.service.jobs import results as paging
from coldwright.store import Database, upgrade
from coldwright.store.events import list_events
from coldwright.store.jobs import Item, New, NewItem, create_job
from coldwright.store.jobs.chunks import Chunk, finish

Client = TestClient[Litestar] | httpx.Client
Body = dict[str, Any]
PARQUET = {"accept": "application/vnd.apache.parquet"}


def ended(client: Client, body: Body) -> Body:
    reply = client.post("/v1/jobs", json=body)
    assert reply.status_code == 202, reply.text
    deadline = time.monotonic() + 180
    while "finished_at" not in (status := client.get(f"/v1/jobs/{reply.json()['id']}").json()):
        assert time.monotonic() < deadline, status
        time.sleep(0.02)
    return dict(status)


def items(count: int) -> list[Body]:
    found = [{"id": f"n{n}", "given": {"length": {"value": n, "unit": "m"}}} for n in range(count)]
    return [*found, {"id": "=1+1", "given": {"length": {"value": -1, "unit": "m"}}}]


@pytest.mark.parametrize(("size", "most"), [(7, 10**9), (100, 3_000), (1000, 1)])
def test_pages_end_early_where_their_items_are_long_and_leave_none_out(
    invented: Client, monkeypatch: pytest.MonkeyPatch, size: int, most: int
) -> None:
    monkeypatch.setattr(paging, "MOST_OF_A_PAGE", most)
    monkeypatch.setattr(paging, "PIECE", 3)
    job = ended(invented, {"calculator": "invented.doubled", "items": items(29)})
    found, sizes, query = [], [], f"?page_size={size}"
    while query:
        reply = invented.get(f"/v1/jobs/{job['id']}/results{query}")
        assert reply.status_code == 200, reply.text
        page = reply.json()
        sizes.append(len(page["results"]))
        found += [result["id"] for result in page["results"]]
        token = page.get("next_page_token")
        query = f"?page_size={size}&page_token={token}" if token else ""
    assert found == [*(f"n{n}" for n in range(29)), "=1+1"]
    assert sizes == [7, 7, 7, 7, 2] if most > 10_000 else max(sizes) < 10 and min(sizes) >= 1


def test_parquet_has_what_the_lines_have(invented: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read by the library of the format's own project, in groups of rows; every cell against the lines of the same job."""
    monkeypatch.setattr(writing, "GROUP", 50)
    pointers = ["/results/doubled", "/outcome", "/results", "/findings", "/none"]
    job = ended(invented, {"calculator": "invented.doubled", "items": items(230), "keep": pointers})
    reply = invented.get(f"/v1/jobs/{job['id']}/results", headers=PARQUET)
    assert (reply.status_code, reply.headers["content-type"]) == (200, PARQUET["accept"])
    file = parquet.ParquetFile(io.BytesIO(reply.content))
    assert file.num_row_groups == 3
    lines = invented.get(f"/v1/jobs/{job['id']}/results", headers={"accept": "application/x-ndjson"}).text.splitlines()
    table = file.read().to_pylist()
    assert len(table) == len(lines) == 231
    for row, line in zip(table, map(json.loads, lines), strict=True):
        assert (row["id"], row["status"]) == (line["id"], line["status"])
        if line["status"] != 200:
            assert row["problem"].startswith("#/length")
            assert {row[name] for name in row if name.startswith("/")} == {None}
            continue
        kept = line["kept"]
        assert row["outcome"] == row["/outcome"] == line["outcome"]
        assert (row["/results/doubled value"], row["/results/doubled unit"]) == tuple(kept["/results/doubled"].values())
        assert json.loads(row["/results"]) == kept["/results"]
        assert json.loads(row["/findings"]) == kept["/findings"]
        assert (row["/none"], row["/outcome value"], row["problem"]) == (None, None, None)


def test_whole_answers_as_parquet(invented: Client) -> None:
    job = ended(invented, {"calculator": "invented.doubled", "items": items(3)})
    reply = invented.get(f"/v1/jobs/{job['id']}/results", headers=PARQUET)
    rows = parquet.read_table(io.BytesIO(reply.content)).to_pylist()
    paged = invented.get(f"/v1/jobs/{job['id']}/results").json()["results"]
    assert [json.loads(r["answer"]) if r["answer"] else None for r in rows] == [r.get("answer") for r in paged]


def test_changes_as_parquet() -> None:
    change = PlanChange(
        Side("acceptable", {"A": 1}),
        Side("unacceptable", {"A": 2, "B": 1}),
        (NewFinding("c", "stop", "It is hot.", "Hire."),),
        (),
    )
    columns = writing.Columns("changes", "")
    whole = (
        columns.add([Item(0, "J-1", b"", 200, "unacceptable", msgspec.json.encode(change), severity=3)]) + columns.end()
    )
    (row,) = parquet.read_table(io.BytesIO(whole)).to_pylist()
    assert (row["id"], row["machines_before"], row["machines"]) == ("J-1", "1 x A", "2 x A; 1 x B")
    assert (row["findings"], row["do"], row["problem"]) == ("It is hot.", "Hire.", None)


def test_without_the_library_a_clear_406(invented: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    job = ended(invented, {"calculator": "invented.doubled", "items": items(1)})
    monkeypatch.setattr(writing, "find_spec", lambda _name: None)
    reply = invented.get(f"/v1/jobs/{job['id']}/results", headers=PARQUET)
    assert (reply.status_code, reply.json()["type"]) == (406, "/problems/not-acceptable")
    assert "coldwright[parquet]" in reply.json()["detail"]
    assert invented.get(f"/v1/jobs/{job['id']}/results", headers={"accept": "text/csv"}).status_code == 200


# --- how far it is ----------------------------------------------------------------------------------------------------


def events_in(lines: Iterator[str]) -> Iterator[tuple[str, str, Body]]:
    """Kind, id and data of each event of a stream."""
    event: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(": ")
        if line:
            event[name] = value
        else:
            if "event" in event:
                yield event["event"], event["id"], json.loads(event["data"])
            event = {}


def test_a_stream_says_how_far_it_is_and_ends_with_it(tmp_path: Path) -> None:
    with (
        running(tmp_path, {"log_level": "warning"}) as service,
        httpx.Client(base_url=service.url, timeout=60) as client,
    ):
        example = client.get("/v1/calculators/booking/assessment").json()["examples"][0]["given"]
        body = {"calculator": "booking.assessment", "items": [{"id": str(n), "given": example} for n in range(150)]}
        address = client.post("/v1/jobs", json=body).headers["location"]
        with client.stream("GET", f"{address}/events") as reply:
            assert (reply.status_code, reply.headers["content-type"]) == (200, "text/event-stream; charset=utf-8")
            found = list(events_in(reply.iter_lines()))
        status = client.get(address).json()
        assert found[-1] == ("done", "ended", status)
        assert {kind for kind, _, _ in found[:-1]} == {"progress"}
        done = [data["done"] for _, _, data in found]
        assert done == sorted(done)
        assert client.get(f"{address}/events", headers={"last-event-id": "ended"}).status_code == 204
        with client.stream("GET", f"{address}/events", headers={"last-event-id": "37"}) as reply:
            assert [kind for kind, _, _ in events_in(reply.iter_lines())] == ["done"]
        assert client.get(f"/v1/jobs/{'0' * 24}/events").status_code == 404
        feed = client.get("/v1/events?kind=job.progress").json()["events"]
        assert len(feed) <= 9
        assert all(e["subject"] == status["id"] and e["data"]["state"] == "running" for e in feed)


def test_nobody_hears_of_the_jobs_of_another_tenant(tmp_path: Path) -> None:
    with keyed_app(tmp_path, registry_with_invented()) as keyed:
        ours, theirs = keyed.key("ours"), keyed.key("theirs")
        body = {"calculator": "invented.doubled", "items": items(1)}
        address = keyed.client.post("/v1/jobs", json=body, headers=ours).headers["location"]
        assert keyed.client.get(f"{address}/events", headers=theirs).status_code == 404
        with keyed.client.stream("GET", f"{address}/events", headers=ours) as reply:
            assert [kind for kind, _, _ in events_in(reply.iter_lines())][-1] == "done"
        assert not len(keyed.client.app.state.services.streams)


def test_a_job_has_nine_events_of_progress_at_most(tmp_path: Path) -> None:
    """However many chunks it has; one that is done at once has none."""
    database = Database(f"sqlite:///{tmp_path}/store.sqlite3")
    upgrade(database)
    for job, sizes in (("many", [1] * 200), ("few", [1] * 3), ("one", [5])):
        made = [NewItem(str(n), b"{}") for n in range(sum(sizes))]
        create_job(database, "t", New(job, "a.b", "metric", made, None, "f", "a.b@1 1.0.0", sizes=sizes))
        first = 0
        for size in sizes:
            done = [Item(n, "", b"", 200, "acceptable", b"{}") for n in range(first, first + size)]
            finish(database, Chunk("t", job, first, size), done, ())
            first += size
    found = list_events(database, "t", 0, 100)
    database.close()
    counts = {job: [e.kind for e in found if e.subject == job] for job in ("many", "few", "one")}
    assert counts == {
        "many": ["job.progress"] * 9 + ["job.done"],
        "few": ["job.progress"] * 2 + ["job.done"],
        "one": ["job.done"],
    }
    assert [json.loads(e.body)["answered"] for e in found if e.subject == "many"] == [20 * n for n in range(1, 11)]
