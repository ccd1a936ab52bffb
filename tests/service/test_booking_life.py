"""A booking from its second day on: states, proposals, holds that lapse, what is free, what no longer holds."""

import codecs
import dataclasses
import datetime
import itertools
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import msgspec
import pytest
from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient
from orders import changed, fleet, machine, order
from startup_histories import CONFIGURATION

from coldwright.registry import Registry, Served
from coldwright.service.app import create_app
from coldwright.service.bookings import checking, recheck
from coldwright.service.settings import Settings

Client = TestClient[Litestar]
Body = dict[str, Any]
ONE: Body = {"value": 100, "unit": "kW"}
TWO: Body = {"value": 200, "unit": "kW"}
MUCH: Body = {"value": 9000, "unit": "kW"}
DOORS = ("hold", "confirm", "deliver", "return", "cancel")
LEADS: dict[tuple[str, str], str] = {
    ("quote", "hold"): "held",
    ("quote", "cancel"): "cancelled",
    ("held", "hold"): "held",
    ("held", "confirm"): "confirmed",
    ("held", "cancel"): "cancelled",
    ("confirmed", "confirm"): "confirmed",
    ("confirmed", "deliver"): "on_hire",
    ("confirmed", "cancel"): "cancelled",
    ("on_hire", "deliver"): "on_hire",
    ("on_hire", "return"): "returned",
    ("returned", "return"): "returned",
    ("cancelled", "cancel"): "cancelled",
}
"""Every step that makes sense; all others are refused."""
WAY: dict[str, tuple[str, ...]] = {
    "quote": (),
    "held": ("hold",),
    "confirmed": ("hold", "confirm"),
    "on_hire": ("hold", "confirm", "deliver"),
    "returned": ("hold", "confirm", "deliver", "return"),
    "cancelled": ("cancel",),
}


def yard(count: int = 2, **extra: Any) -> Body:
    return fleet(machine("middle", 150, count) | extra)


def booking(reference: str, first: str = "2027-06-01", last: str = "2027-06-14", **changes: Any) -> Body:
    wanted = {"duty__load": ONE, "fleet": None, "fleet_id": "yard", "period": {"from": first, "to": last}}
    return order(**({"reference": reference} | wanted | changes))


@pytest.fixture
def shop(tmp_path: Path, registry: Registry) -> Iterator[Client]:
    """A service of its own whose fleet `yard` has two machines of one type."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        assert client.put("/v1/fleets/yard", json=yard()).status_code == 201
        yield client


def put(client: Client, body: Body, *, etag: str = "", query: str = "") -> httpx.Response:
    headers = {"if-match": etag} if etag else {}
    return client.put(f"/v1/bookings/{body['reference']}{query}", json=body, headers=headers)


def go(client: Client, reference: str, door: str, **body: Any) -> httpx.Response:
    if door == "cancel":
        body.setdefault("reason", "The customer changed plans.")
    return client.post(f"/v1/bookings/{reference}/{door}?view=summary", json=body or None)


def state(client: Client, reference: str) -> str:
    return str(client.get(f"/v1/bookings/{reference}?view=summary").json()["state"])


def free(client: Client, first: str = "2027-06-01", last: str = "2027-06-14") -> list[int]:
    reply = client.get(f"/v1/availability?fleet=yard&from={first}&to={last}")
    assert reply.status_code == 200, reply.text
    return [d["free"] for d in reply.json()["machines"][0]["days"]]


def eventually(wanted: Callable[[], Any], seconds: float = 30.0) -> Any:
    deadline = time.monotonic() + seconds
    while not (found := wanted()) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert found
    return found


def kinds(client: Client, reference: str) -> list[str]:
    return [e["kind"] for e in client.get(f"/v1/events?subject={reference}").json()["events"]]


# --- states -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("before", "door"), list(itertools.product(WAY, DOORS)))
def test_every_step_that_makes_sense_is_taken_and_no_other(shop: Client, before: str, door: str) -> None:
    assert put(shop, booking("B-1", state="quote")).status_code == 201
    for step in WAY[before]:
        assert go(shop, "B-1", step).status_code == 200
    reply = go(shop, "B-1", door)
    after = LEADS.get((before, door))
    if after is None:
        assert (reply.status_code, reply.json()["type"]) == (409, "/problems/conflict")
        assert len(reply.json()["detail"]) > 20
        assert state(shop, "B-1") == before
    else:
        assert (reply.status_code, reply.json()["state"]) == (200, after)
    assert free(shop)[0] == (1 if state(shop, "B-1") in ("held", "confirmed", "on_hire") else 2)


def test_a_quote_holds_nothing_and_sees_real_stock(shop: Client) -> None:
    assert put(shop, booking("B-1", duty__load=TWO)).json()["state"] == "held"
    quote = put(shop, booking("B-2", state="quote")).json()
    assert (quote["state"], quote["standing"], quote["assessment"]["outcome"]) == ("quote", False, "unacceptable")
    early = put(shop, booking("B-3", "2027-05-01", "2027-05-02", state="quote", duty__load=TWO)).json()
    assert (early["state"], early["standing"]) == ("quote", True)
    assert put(shop, booking("B-4", "2027-05-01", "2027-05-02", duty__load=TWO)).json()["standing"] is True
    taken = go(shop, "B-3", "hold")
    assert taken.status_code == 409
    assert "middle" in taken.json()["detail"]


def test_null_is_no_body_where_none_is_needed(shop: Client) -> None:
    """As the client that a generator makes for Java sends what is not given."""
    put(shop, booking("B-1"))
    headers = {"content-type": "application/json"}
    assert shop.post("/v1/bookings/B-1/confirm", content=b"null", headers=headers).status_code == 200
    refused = shop.post("/v1/bookings/B-1/cancel", content=b"null", headers=headers)
    assert (refused.status_code, [e["pointer"] for e in refused.json()["errors"]]) == (422, ["#/reason"])


def test_cancelling_gives_everything_back_and_says_why(shop: Client) -> None:
    put(shop, booking("B-1", duty__load=TWO))
    assert free(shop) == [0] * 14
    for nothing in (None, b"", b"{}"):
        headers = {} if nothing is None else {"content-type": "application/json"}
        refused = shop.post("/v1/bookings/B-1/cancel", content=nothing, headers=headers)
        assert (refused.status_code, [e["pointer"] for e in refused.json()["errors"]]) == (422, ["#/reason"])
    assert shop.post("/v1/bookings/B-1/cancel", json={"reason": ""}).status_code == 422
    assert go(shop, "B-1", "cancel", reason="Site closed.").json()["state"] == "cancelled"
    assert free(shop) == [2] * 14
    history = shop.get("/v1/bookings/B-1/history").json()
    assert [(m["door"], m["reason"]) for m in history["moves"]] == [("cancel", "Site closed.")]
    etag = shop.get("/v1/bookings/B-1").headers["etag"]
    assert put(shop, booking("B-1", duty__load=ONE), etag=etag).status_code == 409
    assert go(shop, "B-9", "cancel").status_code == 404


def test_a_step_with_if_match_is_taken_from_that_state_only(shop: Client) -> None:
    etag = put(shop, booking("B-1")).headers["etag"]
    stale = {"if-match": '"0123"'}
    assert shop.post("/v1/bookings/B-1/confirm", headers=stale).status_code == 412
    confirmed = shop.post("/v1/bookings/B-1/confirm", headers={"if-match": etag})
    assert confirmed.json()["state"] == "confirmed"
    assert confirmed.headers["etag"] != etag


def test_what_comes_back_is_blocked_for_its_turnaround(shop: Client) -> None:
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    assert shop.put("/v1/fleets/yard", json=yard(2, turnaround_days=2), headers={"if-match": etag}).status_code == 200
    put(shop, booking("B-1", "2027-06-01", "2027-06-10", duty__load=TWO))
    assert free(shop, "2027-06-09", "2027-06-13") == [0, 0, 0, 0, 2]
    assert put(shop, booking("B-2", "2027-06-12", "2027-06-20")).json()["standing"] is False
    assert put(shop, booking("B-3", "2027-05-20", "2027-05-30")).json()["standing"] is False
    assert put(shop, booking("B-4", "2027-05-20", "2027-05-29")).json()["standing"] is True
    assert put(shop, booking("B-5", "2027-06-13", "2027-06-20")).json()["standing"] is True


def test_what_is_on_hire_past_its_last_day_stays_out(shop: Client) -> None:
    today = datetime.datetime.now(datetime.UTC).date()
    first, last = str(today - datetime.timedelta(days=9)), str(today - datetime.timedelta(days=1))
    put(shop, booking("B-1", first, last))
    for door in ("confirm", "deliver"):
        assert go(shop, "B-1", door).status_code == 200
    assert free(shop, str(today), str(today)) == [1]
    assert go(shop, "B-1", "return").status_code == 200
    tomorrow = str(today + datetime.timedelta(days=1))
    assert free(shop, tomorrow, tomorrow) == [2]


def test_what_left_early_stays_out_when_its_order_is_edited(shop: Client) -> None:
    put(shop, booking("B-1"))
    for door in ("confirm", "deliver"):
        assert go(shop, "B-1", door).status_code == 200
    today = str(datetime.datetime.now(datetime.UTC).date())
    assert free(shop, today, today) == [1]
    etag = shop.get("/v1/bookings/B-1").headers["etag"]
    assert put(shop, booking("B-1", customer="Another"), etag=etag).json()["state"] == "on_hire"
    assert free(shop, today, today) == [1]


def test_a_hold_lapses_at_its_instant(shop: Client) -> None:
    soon = datetime.datetime.now(datetime.UTC) + datetime.timedelta(seconds=1.5)
    held = put(shop, booking("B-1", duty__load=TWO, held_until=soon.isoformat()))
    assert (held.status_code, held.json()["state"]) == (201, "held"), held.text
    assert put(shop, booking("B-2")).json()["standing"] is False
    eventually(lambda: state(shop, "B-1") == "quote")
    assert free(shop) == [2] * 14
    assert put(shop, booking("B-2")).json()["standing"] is True  # the same order again: it is looked at again
    assert go(shop, "B-1", "confirm").status_code == 409
    past = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC).isoformat()
    assert put(shop, booking("B-3", held_until=past)).status_code == 422
    assert go(shop, "B-2", "hold", until=past).status_code == 422
    eventually(lambda: "booking.state" in kinds(shop, "B-1"))


def test_what_is_confirmed_lapses_at_no_instant(shop: Client) -> None:
    """As the field says: an edit that names an instant changes nothing of it, and no reply names one."""
    first = put(shop, booking("B-1"))
    assert go(shop, "B-1", "confirm").status_code == 200
    etag = shop.get("/v1/bookings/B-1").headers["etag"]
    later = datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=3)
    edited = put(shop, booking("B-1", customer="Another", held_until=later.isoformat()), etag=etag)
    assert (first.status_code, edited.status_code, edited.json()["state"]) == (201, 200, "confirmed")
    assert "held_until" not in edited.json()
    assert "held_until" not in shop.get("/v1/bookings/B-1").json()


# --- edits ------------------------------------------------------------------------------------------------------------


def test_a_mistyped_edit_gives_nothing_away(shop: Client) -> None:
    first = put(shop, booking("B-1", duty__load=TWO))
    wrong = put(shop, booking("B-1", duty__load=MUCH), etag=first.headers["etag"])
    assert (wrong.status_code, wrong.json()["standing"], wrong.json()["revision"]) == (200, False, 2)
    assert wrong.json()["standing_revision"] == 1
    assert free(shop) == [0] * 14
    assert put(shop, booking("B-2")).json()["standing"] is False
    shown = shop.get("/v1/bookings/B-1").json()
    assert (shown["revision"], shown["standing"], shown["proposed_revision"]) == (1, True, 2)
    assert shown["assessment"] == first.json()["assessment"]
    right = put(shop, booking("B-1", duty__load=ONE), etag=wrong.headers["etag"])
    assert (right.json()["standing"], right.json()["revision"]) == (True, 3)
    assert free(shop) == [1] * 14
    assert kinds(shop, "B-1") == ["booking.created", "booking.proposed", "booking.changed"]


def accepted(client: Client, reference: str) -> httpx.Response:
    """A plan that cannot be carried out, which is to stand all the same."""
    etag = client.get(f"/v1/bookings/{reference}").headers["etag"]
    return put(client, booking(reference, duty__load=MUCH), etag=etag, query="?accept_unacceptable=true")


@pytest.mark.parametrize("before", ["quote", "held", "confirmed"])
def test_an_unacceptable_edit_stands_where_that_is_asked_for(shop: Client, before: str) -> None:
    put(shop, booking("B-1", duty__load=TWO, state="quote"))
    for step in WAY[before]:
        go(shop, "B-1", step)
    stands = accepted(shop, "B-1")
    assert (stands.json()["standing"], stands.json()["state"], stands.json()["holds"]) == (True, "quote", False)
    assert free(shop) == [2] * 14
    for door in ("hold", "confirm", "deliver"):
        refused = go(shop, "B-1", door)
        assert (refused.status_code, state(shop, "B-1")) == (409, "quote"), door
    good = put(shop, booking("B-1", state="held"), etag=stands.headers["etag"]).json()
    assert (good["state"], good["holds"], free(shop)) == ("held", True, [1] * 14)


def test_what_is_on_hire_stays_out_whatever_becomes_of_its_plan(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    put(shop, booking("B-1", duty__load=TWO))
    for door in ("confirm", "deliver"):
        go(shop, "B-1", door)
    smaller = put(shop, booking("B-1"), etag=shop.get("/v1/bookings/B-1").headers["etag"])
    assert (smaller.json()["state"], free(shop)) == ("on_hire", [0] * 14), "nobody has brought the other back"
    stands = accepted(shop, "B-1")
    assert (stands.json()["state"], stands.json()["standing"], free(shop)) == ("on_hire", True, [0] * 14)
    assert [m["serial"] for m in stands.json()["machines"]] == ["M-1", "M-2"]
    elsewhere = put(shop, booking("B-1", fleet_id="other"), etag=stands.headers["etag"])
    inline = put(shop, booking("B-1", fleet=yard(), fleet_id=None), etag=stands.headers["etag"])
    assert (elsewhere.status_code, inline.status_code, free(shop)) == (422, 409, [0] * 14)
    assert go(shop, "B-1", "return").status_code == 200
    assert free(shop) == [2] * 14


def test_what_was_proposed_is_accepted_by_sending_it_again(shop: Client) -> None:
    first = put(shop, booking("B-1", customer="Invented Dairy", metadata={"po": "4711"}))
    proposed = put(shop, booking("B-1", duty__load=MUCH, metadata={"po": "4712"}), etag=first.headers["etag"])
    assert proposed.json()["standing"] is False
    shown = shop.get("/v1/bookings/B-1?view=summary").json()
    assert (shown["customer"], shown["metadata"]) == ("Invented Dairy", {"po": "4711"}), "those of what stands"
    again = put(shop, booking("B-1", duty__load=MUCH, metadata={"po": "4712"}))
    assert (again.json()["standing"], again.json()["revision"]) == (False, 2), "the same again changes nothing"
    accepted = put(
        shop,
        booking("B-1", duty__load=MUCH, metadata={"po": "4712"}),
        etag=proposed.headers["etag"],
        query="?accept_unacceptable=true",
    )
    assert (accepted.status_code, accepted.json()["standing"], accepted.json()["revision"]) == (200, True, 3)
    assert free(shop) == [2] * 14
    found = shop.get("/v1/bookings?metadata_name=po&metadata_value=4712").json()["bookings"]
    assert [b["reference"] for b in found] == ["B-1"]


def test_a_dry_run_answers_everything_and_keeps_nothing(shop: Client) -> None:
    dry = put(shop, booking("B-1"), query="?dry_run=true")
    assert (dry.status_code, dry.json()["dry_run"], dry.json()["standing"]) == (200, True, True)
    assert shop.get("/v1/bookings/B-1").status_code == 404
    kept = put(shop, booking("B-1"))
    assert kept.json()["assessment"] == dry.json()["assessment"]
    after = put(shop, booking("B-1", duty__load=MUCH), query="?dry_run=true").json()
    assert (after["revision"], after["standing"], after["state"]) == (2, False, "held")
    assert shop.get("/v1/bookings/B-1").json() == kept.json()
    assert put(shop, booking("B-1", duty__load=TWO), query="?dry_run=true", etag='"other"').status_code == 412


def test_a_dry_run_of_what_is_there_is_what_is_there(shop: Client) -> None:
    kept = put(shop, booking("B-1")).json()
    assert put(shop, booking("B-1"), query="?dry_run=true").json() == kept | {"dry_run": True}


def test_a_quote_stays_a_quote_when_it_is_edited(shop: Client) -> None:
    quote = put(shop, booking("B-1", state="quote"))
    body = booking("B-1", duty__load=TWO)
    edited = put(shop, body, etag=quote.headers["etag"])
    assert edited.json()["state"] == "quote"
    held = put(shop, body | {"state": "held"}, etag=edited.headers["etag"])
    assert held.json()["state"] == "held"
    back = put(shop, body | {"state": "quote"}, etag=held.headers["etag"])
    assert back.status_code == 409
    assert "Cancel" in back.json()["detail"]


# --- serial numbers ---------------------------------------------------------------------------------------------------


def register(client: Client, *serials: str, **more: Any) -> None:
    for serial in serials:
        reply = client.put(f"/v1/fleets/yard/machines/{serial}", json={"type": "middle", **more})
        assert reply.status_code in (200, 201), reply.text


def test_machines_are_assigned_by_serial_number_when_it_is_confirmed(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    put(shop, booking("B-1"))
    put(shop, booking("B-2"))
    assert go(shop, "B-1", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-1"}]
    assert go(shop, "B-2", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-2"}]
    for sheet in ("", "/crew-sheet"):
        page = shop.get(f"/v1/bookings/B-1{sheet}", headers={"accept": "text/plain"}).text
        assert "middle: M-1" in page, "on the pick list, and on what the crew carries"
        assert "M-2" not in page
    assert shop.get("/v1/fleets/yard/machines/M-2").json()["bookings"] == ["B-2"]
    assert [b["reference"] for b in shop.get("/v1/bookings?serial=M-2").json()["bookings"]] == ["B-2"]
    go(shop, "B-1", "cancel")
    put(shop, booking("B-3"))
    assert go(shop, "B-3", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-1"}]


def test_a_machine_that_breaks_before_it_leaves_is_changed_for_another(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    put(shop, booking("B-1"))
    assert go(shop, "B-1", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-1"}]
    before = shop.get("/v1/bookings/B-1").headers["etag"]
    broken_one = {"type": "middle", "state": "out_of_service", "note": "Fan."}
    assert shop.put("/v1/fleets/yard/machines/M-1", json=broken_one).status_code == 200
    after = shop.get("/v1/bookings/B-1?view=summary")
    assert after.json()["machines"] == [{"type": "middle", "serial": "M-2"}]
    assert kinds(shop, "B-1")[-1] == "booking.machines"
    assert shop.get("/v1/bookings/B-1", headers={"if-none-match": before}).status_code == 200, "it reads otherwise"
    go(shop, "B-1", "deliver")
    shop.put("/v1/fleets/yard/machines/M-2", json=broken_one)
    assert eventually(lambda: broken(shop)) == ["B-1"]
    told = shop.get("/v1/bookings/B-1?view=summary").json()
    assert told["machines"] == [{"type": "middle", "serial": "M-2"}], "it stands on the site"
    assert "M-2 (Fan.)" in told["holds_why_not"]


def in_days(days: int) -> str:
    return str(datetime.datetime.now(datetime.UTC).date() + datetime.timedelta(days=days))


def test_a_machine_that_is_not_back_goes_to_nobody_else(shop: Client) -> None:
    """By its number: one is late, then one left early, and either stands on a site."""
    register(shop, "M-1", "M-2")
    put(shop, booking("late", in_days(-9), in_days(-2)))
    put(shop, booking("early", in_days(30), in_days(40)))
    for reference in ("late", "early"):
        assert go(shop, reference, "confirm").json()["machines"] == [{"type": "middle", "serial": "M-1"}]
    go(shop, "late", "deliver")
    put(shop, booking("next", in_days(0), in_days(3)))
    assert go(shop, "next", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-2"}]
    go(shop, "next", "cancel")
    assert go(shop, "early", "deliver").json()["machines"] == [{"type": "middle", "serial": "M-2"}], "M-1 is late"
    assert kinds(shop, "early")[-2:] == ["booking.machines", "booking.state"]
    go(shop, "late", "return")
    put(shop, booking("then", in_days(2), in_days(4)))
    assert go(shop, "then", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-1"}]


def test_a_machine_that_came_back_is_given_out_after_its_turnaround(shop: Client) -> None:
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    shop.put("/v1/fleets/yard", json=yard(2, turnaround_days=3), headers={"if-match": etag})
    register(shop, "M-1", "M-2")
    put(shop, booking("B-1", in_days(-5), in_days(2)))
    for door in ("confirm", "deliver", "return"):
        go(shop, "B-1", door)
    put(shop, booking("B-2", in_days(1), in_days(4)))
    assert go(shop, "B-2", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-2"}]


def test_names_are_found_in_any_case_of_any_letters(shop: Client) -> None:
    put(shop, booking("B-1", customer="Söhne & Ünal", site__name="Große Straße 4"))
    for query in ("customer=SÖHNE", "customer=ünal", "site=STRASSE", "site=straße"):
        assert [b["reference"] for b in shop.get(f"/v1/bookings?{query}").json()["bookings"]] == ["B-1"], query


def test_a_fleet_names_no_more_machines_than_it_counts(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    third = shop.put("/v1/fleets/yard/machines/M-3", json={"type": "middle"})
    assert (third.status_code, third.json()["errors"][0]["pointer"]) == (422, "#/type")
    other = shop.put("/v1/fleets/yard/machines/M-3", json={"type": "huge"})
    assert (other.status_code, other.json()["errors"][0]["value"]) == (422, "huge")
    wrong = {"type": "middle", "state": "out_of_service", "since": "2027-06-05", "until": "2027-06-01"}
    assert shop.put("/v1/fleets/yard/machines/M-1", json=wrong).status_code == 422
    assert shop.put("/v1/fleets/none/machines/M-1", json={"type": "middle"}).status_code == 404
    assert [m["serial"] for m in shop.get("/v1/fleets/yard/machines").json()["machines"]] == ["M-1", "M-2"]
    assert shop.delete("/v1/fleets/yard/machines/M-2").status_code == 204
    assert shop.get("/v1/fleets/yard/machines/M-2").status_code == 404


def test_a_machine_out_of_service_is_not_offered_and_not_assigned(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    register(shop, "M-1", state="out_of_service", since="2027-06-01", until="2027-06-05", note="Fan motor.")
    assert free(shop, "2027-06-04", "2027-06-07") == [1, 1, 2, 2]
    assert put(shop, booking("B-1", duty__load=TWO)).json()["standing"] is False
    put(shop, booking("B-2"))
    assert go(shop, "B-2", "confirm").json()["machines"] == [{"type": "middle", "serial": "M-2"}]


# --- what no longer holds ---------------------------------------------------------------------------------------------


def broken(client: Client) -> list[str]:
    return [b["reference"] for b in client.get("/v1/bookings?holds=false").json()["bookings"]]


def test_a_fleet_that_shrinks_marks_the_bookings_that_it_breaks(shop: Client) -> None:
    for reference in ("B-1", "B-2"):
        put(shop, booking(reference))
    put(shop, booking("B-3", "2027-08-01", "2027-08-02"))
    go(shop, "B-2", "confirm")
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    shrunk = shop.put("/v1/fleets/yard", json=yard(1), headers={"if-match": etag})
    assert shrunk.status_code == 200
    assert eventually(lambda: broken(shop)) == ["B-1"], "the one that is confirmed keeps its machine"
    shown = shop.get("/v1/bookings/B-1").json()
    assert shown["holds"] is False
    assert "middle" in shown["holds_why_not"] or "cannot be carried out" in shown["holds_why_not"]
    assert "booking.no_longer_holds" in kinds(shop, "B-1")
    assert shop.put("/v1/fleets/yard", json=yard(2), headers={"if-match": shrunk.headers["etag"]}).status_code == 200
    eventually(lambda: broken(shop) == [])
    assert kinds(shop, "B-1")[-1] == "booking.holds_again"


def test_a_booking_that_cannot_be_looked_at_holds_up_no_other(shop: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    for reference in ("B-1", "B-2"):
        put(shop, booking(reference))
    looked_at = recheck.standing_of

    async def faulty(services: Any, served: Any, tenant: str, head: Any) -> Any:
        if head.reference == "B-1":
            raise ZeroDivisionError("invented")
        return await looked_at(services, served, tenant, head)

    monkeypatch.setattr(checking, "standing_of", faulty)
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    other = fleet(machine("larger", 180, 1))
    assert shop.put("/v1/fleets/yard", json=other, headers={"if-match": etag}).status_code == 200
    assert eventually(lambda: broken(shop)) == ["B-2"]


def test_a_machine_that_breaks_marks_what_it_breaks(shop: Client) -> None:
    register(shop, "M-1", "M-2")
    put(shop, booking("B-1", duty__load=TWO))
    register(shop, "M-2", state="out_of_service", since="2027-06-10")
    assert eventually(lambda: broken(shop)) == ["B-1"]


def test_what_is_over_is_no_longer_among_what_does_not_hold(shop: Client) -> None:
    put(shop, booking("B-1", duty__load=TWO))
    put(shop, booking("B-2", "2027-08-01", "2027-08-02"))
    for door in ("confirm", "deliver"):
        go(shop, "B-2", door)
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    shop.put("/v1/fleets/yard", json=yard(0), headers={"if-match": etag})
    assert len(eventually(lambda: broken(shop) if len(broken(shop)) == 2 else [])) == 2
    go(shop, "B-1", "cancel")
    go(shop, "B-2", "return")
    assert broken(shop) == []
    assert "holds_why_not" not in shop.get("/v1/bookings/B-1?view=summary").json()


def test_what_failed_for_want_of_stock_stands_when_it_is_sent_again(shop: Client) -> None:
    put(shop, booking("B-1", duty__load=TWO))
    assert put(shop, booking("B-2")).json()["standing"] is False
    go(shop, "B-1", "cancel")
    again = put(shop, booking("B-2"))
    assert (again.status_code, again.json()["standing"], again.json()["state"]) == (200, True, "held")
    assert put(shop, booking("B-2")).json()["revision"] == again.json()["revision"]


def test_a_recheck_keeps_a_revision_only_where_something_differs(shop: Client) -> None:
    put(shop, booking("B-1"))
    same = shop.post("/v1/bookings/B-1/recheck?view=summary").json()
    assert (same["changed"], same["revision"]) == (False, 1)
    etag = shop.get("/v1/fleets/yard").headers["etag"]
    other = fleet(machine("larger", 180, 1))
    assert shop.put("/v1/fleets/yard", json=other, headers={"if-match": etag}).status_code == 200
    after = shop.post("/v1/bookings/B-1/recheck").json()
    assert (after["changed"], after["revision"], after["standing"]) == (True, 2, True)
    assert {m["type"]: (m["before"], m["after"]) for m in after["differences"]["results"]["machines"]} == {
        "middle": (1, 0),
        "larger": (0, 1),
    }
    assert after["fleet"]["version"] == 2


def test_a_recheck_keeps_no_revision_where_only_the_stock_beside_it_moved(shop: Client) -> None:
    put(shop, booking("B-1"))
    put(shop, booking("B-2"))
    again = shop.post("/v1/bookings/B-1/recheck?view=summary").json()
    assert (again["changed"], again["revision"]) == (False, 1)


def test_another_answer_to_the_same_question_is_refused_with_both(tmp_path: Path) -> None:
    """A calculator whose numbers moved and whose version did not: what is kept is never told as something else."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, Registry()), raise_server_exceptions=False) as client:
        client.put("/v1/fleets/yard", json=yard())
        assert put(client, booking("B-1")).status_code == 201
    moved = Registry()
    old = moved.served["booking.assessment"]

    def other(given: Any, notes: Any, ask: Any) -> Any:
        results = old.local.function(given, notes, ask)
        return msgspec.structs.replace(results, rounds=results.rounds + 1)

    newer = dataclasses.replace(old.local, function=other)
    moved.served["booking.assessment"] = Served(newer, old.distribution, old.distribution_version)
    with TestClient(create_app(settings, moved), raise_server_exceptions=False) as client:
        rechecked = client.post("/v1/bookings/B-1/recheck")
        edited = put(
            client, booking("B-1", customer="Another one"), etag=client.get("/v1/bookings/B-1").headers["etag"]
        )
        for answer in (rechecked, edited):
            assert answer.status_code == 409, answer.text
            problem = answer.json()
            assert problem["kept"]["results"]["rounds"] + 1 == problem["now"]["results"]["rounds"]
        assert client.get("/v1/bookings/B-1").json()["revision"] == 1


# --- asking -----------------------------------------------------------------------------------------------------------


def test_a_summary_is_small_and_says_what_was_decided(shop: Client) -> None:
    put(shop, booking("B-1", customer="Invented Dairy", metadata={"region": "north"}))
    reply = shop.get("/v1/bookings/B-1?view=summary")
    assert len(reply.content) < 3000
    short = reply.json()
    assert (short["plan"], short["customer"], short["metadata"]) == (
        [{"type": "middle", "count": 1}],
        "Invented Dairy",
        {"region": "north"},
    )
    assert "order" not in short


def test_bookings_are_found_by_what_is_written_on_them(shop: Client) -> None:
    put(shop, booking("B-1", customer="Invented Dairy", metadata={"region": "north"}))
    put(shop, changed(booking("B-2", "2027-07-01", "2027-07-02", state="quote"), site__name="Hall 100%"))

    def found(query: str) -> list[str]:
        reply = shop.get(f"/v1/bookings?{query}")
        assert reply.status_code == 200, reply.text
        return [b["reference"] for b in reply.json()["bookings"]]

    assert found("customer=dairy") == ["B-1"]
    assert found("site=100%25") == ["B-2"]
    assert found("site=1__%25") == []
    assert found("metadata_name=region&metadata_value=north") == ["B-1"]
    assert found("state=quote") == ["B-2"]
    assert found("machine_type=middle") == ["B-1"]
    assert found("sort=updated") == ["B-1", "B-2"]
    since = shop.get("/v1/bookings/B-2?view=summary").json()["updated_at"].replace("+", "%2B")
    assert found(f"updated_since={since}") == ["B-2"]
    wrong_ones = ("from=2027-13-45", "updated_since=today", "state=lost", "sort=price", "holds=maybe")
    for wrong in (*wrong_ones, "metadata_name=region", "metadata_value=north"):
        assert shop.get(f"/v1/bookings?{wrong}").status_code == 422, wrong
    for sort in ("period", "updated", "reference", "worst"):
        page = shop.get(f"/v1/bookings?sort={sort}&page_size=1").json()
        rest = shop.get(f"/v1/bookings?sort={sort}&page_size=1&page_token={page['next_page_token']}").json()
        assert {b["reference"] for b in page["bookings"] + rest["bookings"]} == {"B-1", "B-2"}
        other = "reference" if sort != "reference" else "period"
        assert shop.get(f"/v1/bookings?sort={other}&page_token={page['next_page_token']}").status_code == 422


@pytest.mark.parametrize("value", ["", "10 % off", "a\tb\nc", "back\\slash_'\"", " İ\N{SNOWMAN} ", "+&=#;"])
def test_own_fields_are_found_by_what_they_are_and_by_nothing_else(shop: Client, value: str) -> None:
    put(shop, booking("B-1", metadata={"po": value}))
    put(shop, booking("B-2", "2027-07-01", "2027-07-02", metadata={"po": value + "%", "_": value}))
    found = shop.get("/v1/bookings", params={"metadata_name": "po", "metadata_value": value})
    assert [b["reference"] for b in found.json()["bookings"]] == ["B-1"]
    assert shop.get("/v1/bookings/B-1").json()["metadata"] == {"po": value}


def test_instants_and_days_that_are_none_are_refused(shop: Client) -> None:
    """Python reads a day by its week, which sorts elsewhere; and some instants have no day in UTC."""
    put(shop, booking("B-1", state="quote"))
    beyond = "9999-12-31T23:59:59-14:00"
    refused = [
        put(shop, booking("B-2", held_until=beyond)),
        shop.post("/v1/bookings/B-1/hold", json={"until": beyond}),
        shop.get("/v1/bookings", params={"updated_since": "0001-01-01T00:00:00+14:00"}),
        shop.get("/v1/availability?fleet=yard&from=2027-W22-1&to=2027-06-30"),
        shop.get("/v1/availability?fleet=yard&from=2027-02-29&to=2027-03-01"),
    ]
    named = [reply.json()["errors"][0]["pointer"] for reply in refused]
    assert [reply.status_code for reply in refused] == [422] * 5
    assert named == ["#/held_until", "#/until", "#/query/updated_since", "#/query/from", "#/query/from"]


def test_metadata_has_bounds(shop: Client) -> None:
    for wrong in ({"a b": "x"}, {"a": "x" * 501}, {f"n{n}": "x" for n in range(51)}, {"a": 3}):
        reply = put(shop, booking("B-1", metadata=wrong))
        assert reply.status_code == 422
        assert all(e["pointer"].startswith("#/metadata") for e in reply.json()["errors"])


@pytest.mark.parametrize("media_type", ["application/x-ndjson", "application/octet-stream"])
def test_orders_are_taken_in_line_by_line(shop: Client, media_type: str) -> None:
    import msgspec

    good, wrong, taken = booking("I-1", duty__load=TWO), booking("I-2", period={"from": "x", "to": "y"}), booking("I-3")
    body = b"\r\n".join(map(msgspec.json.encode, (good, wrong, taken))) + b"\n{\n\n" + msgspec.json.encode(good)
    marked = codecs.BOM_UTF8 + body  # as some programs begin every text
    reply = shop.post("/v1/bookings/import", content=marked, headers={"content-type": media_type})
    lines = [msgspec.json.decode(line) for line in reply.content.splitlines()]
    assert [(line["line"], line["status"]) for line in lines] == [(1, 201), (2, 422), (3, 201), (4, 400), (5, 200)]
    assert [lines[0]["standing"], lines[2]["standing"]] == [True, False]
    assert lines[1]["problem"]["errors"][0]["pointer"].startswith("#/period")


def test_events_count_up_without_gaps_and_are_polled_to_their_end(shop: Client) -> None:
    put(shop, booking("B-1"))
    for door in ("confirm", "deliver", "return"):
        go(shop, "B-1", door)
    after, seen = 0, []
    while page := shop.get(f"/v1/events?after={after}&page_size=2").json()["events"]:
        seen += page
        after = page[-1]["number"]
    assert [e["number"] for e in seen] == list(range(1, len(seen) + 1))
    mine = [(e["kind"], e["data"].get("state")) for e in seen if e.get("reference") == "B-1"]
    states = [("booking.state", s) for s in ("confirmed", "on_hire", "returned")]
    assert mine == [("booking.created", "held"), *states]
    assert shop.get(f"/v1/events?after={after}").json() == {"events": [], "next_after": after}


def test_a_kind_that_no_event_has_is_refused_with_those_there_are(shop: Client) -> None:
    put(shop, booking("B-1"))
    assert [e["subject"] for e in shop.get("/v1/events?kind=booking.created").json()["events"]] == ["B-1"]
    assert shop.get("/v1/events?kind=booking.holds_again").json()["events"] == []
    refused = shop.get("/v1/events?kind=booking.create")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/query/kind")
    assert "booking.created, booking.changed" in refused.json()["errors"][0]["detail"]


def test_a_start_of_a_job_to_come_is_on_no_site_today(shop: Client) -> None:
    today = datetime.datetime.now(datetime.UTC).date()
    first, last = ((today + datetime.timedelta(days=n)).isoformat() for n in (40, 50))
    put(shop, booking("B-1", first, last)).raise_for_status()
    for start, more in (("far", {"from_booking": {"reference": "B-1"}}), ("near", {"configuration": CONFIGURATION})):
        reply = shop.put(f"/v1/startups/{start}", json={"machine": start} | more)
        assert reply.status_code == 201, reply.text
    page = shop.get("/yard", headers={"accept": "text/html"}).text
    here, _, later = page[page.index("Machines on site") :].partition("Starts of jobs to come")
    assert "/v1/startups/near" in here
    assert "/v1/startups/far" not in here
    later = later.partition("</section>")[0]
    assert "/v1/startups/far" in later
    assert f"From {first}" in later
