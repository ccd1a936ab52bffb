"""Orders that are kept: revisions, preconditions, lists, and the stock that they hold. All orders are invented."""

import contextlib
import copy
import datetime
import random
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient
from orders import changed, fleet, machine, order
from postgres import new_database
from running import RunningService, running

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings

Client = TestClient[Litestar]
Body = dict[str, Any]
ONE_MACHINE: Body = {"value": 100, "unit": "kW"}
"""A load that one of the 150 kW machines carries."""
TWO_MACHINES: Body = {"value": 200, "unit": "kW"}


def kilowatts(value: float) -> Body:
    return {"value": value, "unit": "kW"}


def booking(reference: str, first: str = "2027-06-01", last: str = "2027-06-14", **changes: Any) -> Body:
    """An order for one machine of the stored fleet `yard`."""
    wanted = {"duty__load": ONE_MACHINE, "fleet": None, "fleet_id": "yard", "period": {"from": first, "to": last}}
    return order(**({"reference": reference} | wanted | changes))


@pytest.fixture
def shop(tmp_path: Path, registry: Registry) -> Iterator[Client]:
    """A service of its own whose fleet `yard` has two machines of one type."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        assert client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 2))).status_code == 201
        yield client


def put(client: Client, body: Body, *, etag: str = "", status: int = 201, query: str = "") -> httpx.Response:
    headers = {"if-match": etag} if etag else {}
    reply = client.put(f"/v1/bookings/{body['reference']}{query}", json=body, headers=headers)
    assert reply.status_code == status, reply.text[:2000]
    return reply


def machines(reply: httpx.Response) -> int:
    """How many machines the plan takes; none when it is unacceptable."""
    assessment = reply.json()["assessment"]
    if assessment["outcome"] == "unacceptable":
        return 0
    return sum(m["count"] for m in assessment["results"]["machines"])


def listed(client: Client, query: str = "") -> list[str]:
    reply = client.get(f"/v1/bookings{query}")
    assert reply.status_code == 200, reply.text
    return [b["reference"] for b in reply.json()["bookings"]]


# --- one order --------------------------------------------------------------------------------------------------------


def test_an_order_is_assessed_kept_and_read(shop: Client) -> None:
    assert shop.get("/v1/bookings/B-1").status_code == 404
    kept = put(shop, booking("B-1"))
    assert (kept.json()["reference"], kept.json()["revision"]) == ("B-1", 1)
    assert (kept.json()["state"], kept.json()["standing"], kept.json()["holds"]) == ("held", True, True)
    assert kept.json()["order"] == booking("B-1")
    assert kept.json()["fleet"] == {"id": "yard", "version": 1}
    read = shop.get("/v1/bookings/B-1")
    assert read.json() == kept.json()
    assert read.headers["etag"] == kept.headers["etag"]
    assessment = kept.json()["assessment"]
    alone = shop.post("/v1/calculators/booking/assessment", json=assessment["given"])
    assert alone.json() == assessment
    assert shop.get(f"/v1/records/{assessment['digest']}").json()["answer"] == assessment
    assert shop.post(f"/v1/records/{assessment['digest']}/replay").json()["same"] is True


def test_the_same_order_again_changes_nothing_and_assesses_nothing(
    shop: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = put(shop, booking("B-1"))

    async def never(*_: object) -> None:
        raise AssertionError("it was assessed again")

    monkeypatch.setattr(shop.app.state.services.engine, "evaluate", never)
    spelt = changed(booking("B-1"), critical=False, preferences="fewest_machines", duty__margin_fraction=0.1)
    for body in (booking("B-1"), dict(reversed(booking("B-1").items())), spelt):
        again = put(shop, body, status=200)
        assert again.json() == first.json()
        assert again.headers["etag"] == first.headers["etag"]
    put(shop, booking("B-1"), etag='"stale"', status=200)
    assert put(shop, booking("B-2"), status=500).json()["type"] == "/problems/internal-error"


def test_a_change_needs_the_state_that_was_read(shop: Client) -> None:
    first = put(shop, booking("B-1"))
    more = booking("B-1", duty__load=TWO_MACHINES)
    put(shop, more, status=428)
    put(shop, more, etag='"stale"', status=412)
    assert shop.put("/v1/bookings/B-1", json=more, headers={"if-none-match": "*"}).status_code == 412
    assert shop.get("/v1/bookings/B-1").json() == first.json()
    second = put(shop, more, etag=first.headers["etag"], status=200)
    assert second.json()["revision"] == 2
    assert second.headers["etag"] != first.headers["etag"]
    put(shop, booking("B-1"), etag=first.headers["etag"], status=412)
    page = shop.get("/v1/bookings/B-1", headers={"accept": "text/html"}).headers["etag"]
    assert put(shop, booking("B-1"), etag=page, status=200).json()["revision"] == 3
    assert shop.put("/v1/bookings/B-9", json=booking("B-9"), headers={"if-match": "*"}).status_code == 412


def test_every_revision_stays_readable(shop: Client) -> None:
    first = put(shop, booking("B-1"))
    second = put(shop, booking("B-1", duty__load=TWO_MACHINES), etag=first.headers["etag"], status=200)
    for reply in (first, second):
        revision = reply.json()["revision"]
        read = shop.get(f"/v1/bookings/B-1/revisions/{revision}")
        assert read.json()["assessment"] == reply.json()["assessment"]
        assert read.json()["order"] == reply.json()["order"]
        assert read.json()["standing"] is (revision == 2)
        assert read.json()["standing_revision"] == 2
    assert shop.get("/v1/bookings/B-1").json() == second.json()
    for missing in ("3", "0", "-1", "x", "99999999999"):
        assert shop.get(f"/v1/bookings/B-1/revisions/{missing}").status_code == 404


def test_who_has_it_already_is_told_so(shop: Client) -> None:
    assert put(shop, booking("B-1")).headers["etag"] == shop.get("/v1/bookings/B-1").headers["etag"]
    for address in ("/v1/bookings/B-1", "/v1/bookings/B-1?view=summary", "/v1/bookings/B-1/revisions/1"):
        reply = shop.get(address, headers={"if-none-match": shop.get(address).headers["etag"]})
        assert (reply.status_code, reply.content) == (304, b"")


def test_us_units_are_the_same_plan(shop: Client) -> None:
    metric = put(shop, booking("B-1")).json()
    kept = shop.get("/v1/bookings/B-1?units=us").json()
    asked = shop.post("/v1/calculators/booking/assessment?units=us", json=metric["assessment"]["given"]).json()
    assert kept["assessment"] == asked, "wind in mph here as there"
    assert kept["assessment"]["digest"] == metric["assessment"]["digest"]
    assert kept["assessment"]["results"]["design_load"]["unit"] == "ton"
    assert put(shop, booking("B-1"), status=200, query="?units=us").json() == kept


def test_what_is_wrong_is_refused_and_nothing_kept(shop: Client) -> None:
    body = booking("B-1")
    reply = shop.put("/v1/bookings/B-2", json=body)
    assert reply.status_code == 422
    assert [(e["pointer"], e["value"]) for e in reply.json()["errors"]] == [("#/reference", "B-1")]
    unknown = put(shop, changed(body, fleet_id="nowhere"), status=422).json()["errors"]
    assert [(e["pointer"], e["value"]) for e in unknown] == [("#/fleet_id", "nowhere")]
    several = changed(body, period={"from": "2027-06-14", "to": "2027-06-01"}, machine_types=["none such"])
    pointers = {e["pointer"] for e in put(shop, several, status=422).json()["errors"]}
    assert any(p.startswith("#/period") for p in pointers)
    assert any(p.startswith("#/machine_types") for p in pointers)
    missing = {e["pointer"] for e in put(shop, {"reference": "B-1"}, status=422).json()["errors"]}
    assert {"#/period", "#/duty", "#/site", "#/supply", "#/routes", "#/practice"} <= missing
    both = changed(body, fleet=fleet(machine("middle", 150, 2)))
    assert [e["code"] for e in put(shop, both, status=422).json()["errors"]] == ["either_or"]
    neither = changed(body, fleet_id=None)
    assert put(shop, neither, status=422).json()["errors"]
    assert listed(shop) == []


def test_an_order_with_its_fleet_inline_holds_nothing(shop: Client) -> None:
    inline = order(reference="B-1", duty__load=ONE_MACHINE, fleet=fleet(machine("middle", 150, 1)))
    assert machines(put(shop, inline)) == 1
    assert machines(put(shop, changed(inline, reference="B-2"))) == 1
    assert machines(put(shop, booking("B-3", duty__load=TWO_MACHINES))) == 2


# --- the list ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def book(shop: Client) -> Client:
    """Orders of three sites in three months."""
    for number, (month, site) in enumerate([("07", "hall"), ("06", "dairy"), ("06", "hall"), ("08", "dairy")]):
        body = booking(f"L-{number}", f"2027-{month}-10", f"2027-{month}-20")
        put(shop, changed(body, site__name=site))
    return shop


def test_the_list_is_by_period_site_and_outcome(book: Client) -> None:
    assert listed(book) == ["L-1", "L-2", "L-0", "L-3"]
    assert listed(book, "?site=dairy") == ["L-1", "L-3"]
    assert listed(book, "?from=2027-06-21") == ["L-0", "L-3"]
    assert listed(book, "?from=2027-06-20&to=2027-07-10") == ["L-1", "L-2", "L-0"]
    assert listed(book, "?to=2027-06-09") == []
    put(book, booking("L-9", "2027-06-12", "2027-06-13", duty__load=kilowatts(9000)))
    assert listed(book, "?outcome=unacceptable") == ["L-9"]
    assert listed(book, "?outcome=unacceptable&site=dairy") == []
    entry = book.get("/v1/bookings?site=dairy&page_size=1").json()["bookings"][0]
    assert entry["href"] == "/v1/bookings/L-1"
    assert (entry["period_from"], entry["period_to"], entry["site"]) == ("2027-06-10", "2027-06-20", "dairy")
    for wrong in ("outcome=fine", "from=june", "colour=red", "page_size=0", "site=a&site=b", "page_token=!"):
        assert book.get(f"/v1/bookings?{wrong}").status_code == 422, wrong


def test_pages_are_stable_while_orders_come_in(book: Client) -> None:
    """What was there before is seen exactly once, wherever new orders land."""
    seen: list[str] = []
    query, number = "?page_size=1", 0
    while True:
        page = book.get(f"/v1/bookings{query}").json()
        seen += [b["reference"] for b in page["bookings"]]
        if "next_page_token" not in page:
            break
        for day in ("2027-06-01", "2027-09-01"):
            if number < 3:
                number += 1
                put(book, booking(f"N-{number}", day, day))
        query = f"?page_size=1&page_token={page['next_page_token']}"
    assert [r for r in seen if r.startswith("L")] == ["L-1", "L-2", "L-0", "L-3"]
    assert len(seen) == len(set(seen))
    assert listed(book, "?site=") == listed(book)


# --- stock ------------------------------------------------------------------------------------------------------------


def test_overlapping_orders_share_the_stock_and_later_ones_use_it_again(shop: Client) -> None:
    assert machines(put(shop, booking("S-1", "2027-06-01", "2027-06-10"))) == 1
    assert machines(put(shop, booking("S-2", "2027-06-10", "2027-06-20"))) == 1
    none = put(shop, booking("S-3", "2027-06-10", "2027-06-10"))
    assert machines(none) == 0
    assert any(f["severity"] == "stop" for f in none.json()["assessment"]["findings"])
    assert none.json()["assessment"]["given"]["fleet"]["machines"][0]["count"] == 0
    assert machines(put(shop, booking("S-4", "2027-06-11", "2027-06-20"))) == 1
    assert machines(put(shop, booking("S-5", "2027-06-21", "2027-06-30", duty__load=TWO_MACHINES))) == 2


def test_orders_one_after_the_other_count_once(shop: Client) -> None:
    """One machine is out all the time, though never the same order has it: the second is free for a long order."""
    for number, month in enumerate(("05", "06", "07")):
        assert machines(put(shop, booking(f"S-{number}", f"2027-{month}-01", f"2027-{month}-30"))) == 1
    assert machines(put(shop, booking("LONG", "2027-05-01", "2027-07-30"))) == 1
    assert machines(put(shop, booking("MORE", "2027-05-01", "2027-07-30"))) == 0


def test_accessories_are_held_as_machines_are(shop: Client) -> None:
    before = put(shop, booking("S-1")).json()["assessment"]
    after = put(shop, booking("S-2")).json()["assessment"]
    counts = [{r["item"]: r["count"] for r in a["given"]["fleet"]["accessories"]} for a in (before, after)]
    taken: dict[str, int] = {}
    for line in before["results"]["pick_list"]:
        if line["kind"] != "machine" and line["from_stock"]:
            taken[line["item"]] = taken.get(line["item"], 0) + line["count"]
    assert taken
    assert {item: counts[0][item] - counts[1][item] for item in taken} == taken


def test_a_change_gives_back_what_it_no_longer_takes(shop: Client) -> None:
    first = put(shop, booking("S-1", duty__load=TWO_MACHINES))
    assert machines(first) == 2
    assert machines(put(shop, booking("S-2"))) == 0
    second = put(shop, booking("S-1"), etag=first.headers["etag"], status=200)
    assert machines(second) == 1
    assert machines(put(shop, booking("S-3"))) == 1
    moved = booking("S-1", "2027-09-01", "2027-09-02", duty__load=TWO_MACHINES)
    third = put(shop, moved, etag=second.headers["etag"], status=200)
    assert machines(third) == 2
    assert machines(put(shop, booking("S-4"))) == 1
    inline = order(reference="S-1", period=moved["period"], duty__load=ONE_MACHINE)
    put(shop, inline, etag=third.headers["etag"], status=200)
    assert machines(put(shop, booking("S-5", "2027-09-01", "2027-09-02", duty__load=TWO_MACHINES))) == 2


def test_an_order_may_keep_its_own_machines_when_it_changes(shop: Client) -> None:
    first = put(shop, booking("S-1", duty__load=TWO_MACHINES))
    longer = booking("S-1", last="2027-06-20", duty__load=TWO_MACHINES)
    assert machines(put(shop, longer, etag=first.headers["etag"], status=200)) == 2


def test_an_unacceptable_order_is_kept_and_holds_nothing(shop: Client) -> None:
    large = put(shop, booking("S-1", duty__load=kilowatts(9000)))
    assert large.json()["assessment"]["outcome"] == "unacceptable"
    assert machines(put(shop, booking("S-2", duty__load=TWO_MACHINES))) == 2
    again = put(shop, booking("S-1"), etag=large.headers["etag"], status=200)
    assert machines(again) == 0


@pytest.mark.parametrize("seed", range(3))
def test_no_day_ever_has_more_machines_out_than_there_are(shop: Client, seed: int) -> None:
    """Random orders and changes against a plain count of every day: taken exactly when it is free every day."""
    rng = random.Random(seed)
    held: dict[str, tuple[int, int, int]] = {}
    tags: dict[str, str] = {}
    start = datetime.date(2027, 6, 1)
    for _ in range(40):
        reference = f"R-{rng.randrange(12)}"
        first = rng.randrange(30)
        last, wish = first + rng.randrange(8), rng.choice([1, 1, 2])
        free = min(
            2 - sum(n for r, (a, b, n) in held.items() if r != reference and a <= day <= b)
            for day in range(first, last + 1)
        )
        days = [str(start + datetime.timedelta(days=d)) for d in (first, last)]
        body = booking(reference, *days, duty__load=ONE_MACHINE if wish == 1 else TWO_MACHINES)
        headers = {"if-match": tags[reference]} if reference in tags else {}
        reply = shop.put(f"/v1/bookings/{reference}", json=body, headers=headers)
        assert reply.status_code in (200, 201), reply.text
        if reply.headers["etag"] == tags.get(reference):
            continue
        tags[reference] = reply.headers["etag"]
        assert machines(reply) == (wish if free >= wish else 0)
        assert reply.json()["standing"] is bool(machines(reply))
        if machines(reply):  # an edit that does not go is only proposed: what was held stays held
            held[reference] = (first, last, wish)


# --- races ------------------------------------------------------------------------------------------------------------


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def two_services(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[list[RunningService]]:
    """Two processes that serve one store."""
    url = new_database() if request.param == "postgresql" else f"sqlite:///{tmp_path}/shared.sqlite3"
    settings = {"database_url": url, "engine": "inline", "log_level": "warning"}
    with contextlib.ExitStack() as stack:
        yield [stack.enter_context(running(tmp_path, settings)) for _ in range(2)]


def at_once(urls: list[str], bodies: list[Body]) -> list[httpx.Response]:
    """Put the orders from threads of their own, all at the same moment."""
    replies: dict[int, httpx.Response] = {}
    barrier = threading.Barrier(len(bodies))

    def send(number: int) -> None:
        with httpx.Client(base_url=urls[number % len(urls)], timeout=60) as client:
            barrier.wait(30)
            replies[number] = client.put(f"/v1/bookings/{bodies[number]['reference']}", json=bodies[number])

    threads = [threading.Thread(target=send, args=(n,)) for n in range(len(bodies))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(90)
    return [replies[n] for n in range(len(bodies))]


def test_the_last_machine_goes_to_one_order_and_the_other_is_told(two_services: list[RunningService]) -> None:
    urls = [service.url for service in two_services]
    with httpx.Client(base_url=urls[0], timeout=60) as client:
        assert client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 1))).status_code == 201
        for number in range(12):
            day = str(datetime.date(2027, 1, 1) + datetime.timedelta(days=number))
            rivals = [booking(f"D{number}-{n}", day, day) for n in range(3)]
            replies = at_once(urls, rivals)
            assert [r.status_code for r in replies] == [201] * 3, [r.text[:500] for r in replies]
            assert sorted(machines(r) for r in replies) == [0, 0, 1]
            for body, reply in zip(rivals, replies, strict=True):
                assert client.get(f"/v1/bookings/{body['reference']}").json() == reply.json()
                if not machines(reply):
                    assert any(f["severity"] == "stop" for f in reply.json()["assessment"]["findings"])


def test_two_versions_of_one_order_are_never_both_the_first(two_services: list[RunningService]) -> None:
    urls = [service.url for service in two_services]
    with httpx.Client(base_url=urls[0], timeout=60) as client:
        client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 4)))
        for number in range(6):
            bodies = [booking(f"V-{number}", duty__load=kilowatts(50 + n)) for n in range(2)]
            bodies.append(copy.deepcopy(bodies[0]))
            replies = at_once(urls, bodies)
            statuses = [r.status_code for r in replies]
            assert statuses.count(201) == 1, statuses
            assert sorted(statuses) in ([200, 201, 428], [201, 428, 428]), statuses
            winner = replies[statuses.index(201)].json()
            assert client.get(f"/v1/bookings/V-{number}").json() == winner
            assert client.get(f"/v1/bookings/V-{number}/revisions/2").status_code == 404
