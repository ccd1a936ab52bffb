"""Forecasts that callers put: what turns in the air that is expected is marked and told, by schedules too. Invented data."""

import datetime
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from databases import migrated
from litestar import Litestar
from litestar.testing import TestClient
from orders import fleet, machine, order
from quantity import q

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings
from coldwright.store import Database
from coldwright.store.bookings import Period
from coldwright.store.conditions import Condition
from coldwright.store.forecasts import days_at
from coldwright.store.schedules import Plan, put_schedule, run_due

Client = TestClient[Litestar]
Body = dict[str, Any]
FIRST = datetime.datetime.now(datetime.UTC).date() + datetime.timedelta(days=20)
DAYS = [(FIRST + datetime.timedelta(days=n)).isoformat() for n in range(14)]


@pytest.fixture
def shop(tmp_path: Path, registry: Registry) -> Iterator[Client]:
    """A service whose fleet `yard` has two machines, of which one carries B-1 at 35 degC and does not at 46."""
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        assert client.put("/v1/fleets/yard", json=fleet(machine("middle", 150, 2))).status_code == 201
        yield client


def book(client: Client, reference: str = "B-1", **changes: Any) -> Body:
    wanted = {
        "reference": reference,
        "duty__load": q(110, "kW"),
        "fleet": None,
        "fleet_id": "yard",
        "period": {"from": DAYS[0], "to": DAYS[-1]},
        "site__name": "Harbour Hall",
    }
    kept = client.put(f"/v1/bookings/{reference}", json=order(**(wanted | changes)))
    assert kept.status_code == 201, kept.text
    assert kept.json()["standing"] is True, kept.json()["assessment"]["findings"]
    booked: Body = kept.json()
    return booked


def sky(*degrees: float, unit: str = "degC", **where: Any) -> Body:
    place = where or {"site": "harbour hall"}
    hours = [
        {"at": f"{day}T15:00:00-05:00", "temperature": q(t, unit), "gust": q(12, "m/s")}
        for day, t in zip(DAYS[3:], degrees, strict=False)
    ]
    return {"places": [place | {"hours": hours}]}


def forecast(client: Client, body: Body, name: str = "coast") -> Body:
    answer = client.put(f"/v1/forecasts/{name}", json=body)
    assert answer.status_code in (200, 201), answer.text
    kept: Body = answer.json()
    return kept


def eventually(ready: Callable[[], bool], seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while not ready():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.1)


def broken(client: Client) -> list[str]:
    return [b["reference"] for b in client.get("/v1/bookings?holds=false").json()["bookings"]]


def kinds(client: Client, subject: str) -> list[str]:
    return [e["kind"] for e in client.get(f"/v1/events?subject={subject}").json()["events"]]


def test_a_heat_wave_marks_what_it_breaks_and_a_milder_sky_clears_it(shop: Client) -> None:
    book(shop)
    book(shop, "B-2", site__name="Elsewhere")
    assert forecast(shop, sky(31, 46, 38))["version"] == 1
    eventually(lambda: broken(shop) == ["B-1"])
    why = shop.get("/v1/bookings/B-1?view=summary").json()["holds_why_not"]
    assert "coast" in why
    assert f"46 degC (115 degF) on {DAYS[4]}" in why
    assert kinds(shop, "B-1")[-1] == "booking.no_longer_holds"
    assert kinds(shop, "coast") == ["forecast.changed"]
    assert forecast(shop, sky(31, 34))["version"] == 2
    eventually(lambda: broken(shop) == [])
    assert kinds(shop, "B-1")[-1] == "booking.holds_again"
    forecast(shop, sky(31, 46))
    eventually(lambda: broken(shop) == ["B-1"])
    assert shop.delete("/v1/forecasts/coast").status_code == 204
    eventually(lambda: broken(shop) == [])


def test_a_recheck_plans_for_the_sky_that_is_forecast(shop: Client) -> None:
    assert book(shop)["assessment"]["results"]["machines"][0]["count"] == 1
    forecast(shop, sky(46))
    eventually(lambda: broken(shop) == ["B-1"])
    again = shop.post("/v1/bookings/B-1/recheck").json()
    assert (again["changed"], again["revision"], again["standing"]) == (True, 2, True)
    assert again["sky"]["hottest"] == q(46, "degC")
    assert again["sky"]["more_than_planned"] is True
    assert again["sky"]["wind_note"].startswith(f"Gusts to 12 m/s (26.8 mph) on {DAYS[3]}. The plan was not compared")
    assert "/site/design_ambient_temperature" in again["differences"]["results"]["fields_changed"]
    assert [(m["before"], m["after"]) for m in again["differences"]["results"]["machines"]] == [(1, 2)]
    assert again["order"]["site"]["design_ambient_temperature"] == q(35, "degC"), "the order stays as it was sent"
    eventually(lambda: broken(shop) == [])
    assert shop.post("/v1/bookings/B-1/recheck?view=summary").json()["changed"] is False


CRANE = {"lift": "crane", "crane_chart_capacity": q(40, "t"), "crane_wind_limit": q(9.8, "m/s")}


def blow(first: float, last: float, between: float = 5.0) -> Body:
    gusts = {DAYS[0]: first, DAYS[3]: between, DAYS[-1]: last}
    hours = [{"at": f"{day}T08:00:00-05:00", "gust": q(speed, "m/s")} for day, speed in gusts.items()]
    return {"places": [{"site": "harbour hall", "hours": hours}]}


def test_wind_on_a_day_of_lifting_is_compared_with_the_chart(shop: Client) -> None:
    booked = book(shop, access=CRANE)
    limit = booked["assessment"]["results"]["site"]["lift_wind_limit"]["value"]
    assert 3 < limit <= 9.8
    forecast(shop, blow(limit - 1, limit - 2, between=25))
    again = shop.post("/v1/bookings/B-1/recheck").json()
    assert (again["changed"], again["sky"]["more_than_planned"]) == (False, False), "nobody lifts on the windy day"
    assert again["sky"]["wind_note"].startswith(f"Gusts to {limit - 1:.3g} m/s")
    assert f"may be lifted in gusts up to {limit:.3g} m/s" in again["sky"]["wind_note"]
    forecast(shop, blow(limit - 1, limit + 4))
    eventually(lambda: broken(shop) == ["B-1"])
    why = shop.get("/v1/bookings/B-1?view=summary").json()["holds_why_not"]
    assert f"Gusts to {limit + 4:.3g} m/s" in why
    assert f"on {DAYS[-1]}, a day of lifting" in why
    assert f"may be lifted in gusts up to {limit:.3g} m/s" in why
    again = shop.post("/v1/bookings/B-1/recheck").json()
    assert (again["changed"], again["standing"], again["sky"]["more_than_planned"]) == (True, True, True)
    found = {f["code"]: f for f in again["assessment"]["findings"]}["wind_above_limit"]
    assert found["severity"] == "check"
    assert f"{limit:.3g} m/s in which" in found["statement"]
    forecast(shop, blow(3, 3))
    eventually(lambda: broken(shop) == [])


def test_a_mean_wind_alone_is_judged_by_the_gusts_in_it(shop: Client) -> None:
    """1.4 times the mean wind, as EN 13000 has it 10 m above ground (from memory)."""
    limit = book(shop, access=CRANE)["assessment"]["results"]["site"]["lift_wind_limit"]["value"]
    body = blow(0, 0)
    for hour in body["places"][0]["hours"]:
        del hour["gust"]
        hour["wind"] = q(0.6 * limit, "m/s")
    forecast(shop, body)
    mild = shop.post("/v1/bookings/B-1/recheck").json()
    assert "wind_above_limit" not in {f["code"] for f in mild["assessment"]["findings"]}
    for hour in body["places"][0]["hours"]:
        hour["wind"] = q(0.75 * limit, "m/s")
    forecast(shop, body)
    eventually(lambda: broken(shop) == ["B-1"])
    found = {f["code"] for f in shop.post("/v1/bookings/B-1/recheck").json()["assessment"]["findings"]}
    assert "wind_above_limit" in found


def test_frost_is_looked_at_with_the_liquid_that_is_in_the_loop(shop: Client) -> None:
    assert book(shop)["assessment"]["results"]["fluid"]["kind"] == "water"
    forecast(shop, sky(20, -6))
    eventually(lambda: broken(shop) == ["B-1"])


def test_the_nearest_point_on_the_map_counts_within_its_reach(shop: Client) -> None:
    """0.1 degrees of latitude are 11.1 km (derived, mean radius of the earth 6371 km)."""
    near: dict[str, Any] = {"latitude": 50.1, "longitude": 8.0}
    far: dict[str, Any] = {"latitude": 50.3, "longitude": 8.0}
    book(shop, site__position={"latitude": 50.0, "longitude": 8.0})
    hot = sky(46, **far, reach=q(33, "km"))
    forecast(shop, hot)
    eventually(lambda: kinds(shop, "coast") == ["forecast.changed"])
    assert shop.post("/v1/bookings/B-1/recheck?dry_run=true").json().get("sky") is None, "33.4 km are beyond 33"
    both = {"places": hot["places"] + sky(30, **near)["places"]}
    both["places"][0]["reach"] = q(34, "km")
    forecast(shop, both)
    mild = shop.post("/v1/bookings/B-1/recheck").json()
    assert mild["sky"]["hottest"] == q(30, "degC"), "the nearer of two places of one forecast counts"
    forecast(shop, {"places": both["places"][:1]})
    eventually(lambda: broken(shop) == ["B-1"])


def test_a_schedule_runs_with_its_forecast_and_once_by_the_clock(shop: Client, tmp_path: Path) -> None:
    book(shop)
    made = shop.put("/v1/schedules/mornings", json={"daily_at": "04:30", "bookings": {"site": "HARBOUR"}})
    assert made.status_code == 201, made.text
    assert made.json()["next_at"].endswith("T04:30:00Z")
    assert shop.put("/v1/schedules/coast", json={"forecast": "coast"}).json()["last_count"] == 0
    forecast(shop, sky(30, site="somewhere"))
    assert shop.get("/v1/schedules/coast").json()["last_count"] == 1
    assert kinds(shop, "coast") == ["schedule.ran", "forecast.changed"]
    database = Database(f"sqlite:///{tmp_path}/store.sqlite3")
    later = datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=3)
    assert [run_due(database, later), run_due(database, later)] == [1, 0], "what was missed runs once"
    ran = shop.get("/v1/schedules/mornings").json()
    assert ran["last_count"] == 1
    assert ran["next_at"] > later.isoformat()[:19]
    assert [s["id"] for s in shop.get("/v1/schedules").json()["schedules"]] == ["coast", "mornings"]
    assert shop.delete("/v1/schedules/coast").status_code == 204
    assert shop.get("/v1/schedules/coast").status_code == 404


def test_nothing_crosses_tenants(shop: Client, tmp_path: Path) -> None:
    forecast(shop, sky(46))
    database = Database(f"sqlite:///{tmp_path}/store.sqlite3")
    period = Period(DAYS[0], DAYS[-1])
    assert days_at(database, "local", "Harbour hall", None, None, period)
    assert not days_at(database, "another", "Harbour hall", None, None, period)
    put_schedule(database, "another", "theirs", Plan(forecast="coast"), Condition())
    forecast(shop, sky(45))
    assert not shop.get("/v1/schedules").json()["schedules"]
    assert shop.get("/v1/schedules/theirs").status_code == 404


@pytest.mark.parametrize(
    ("pointer", "body"),
    [
        (
            "#/places/0/site",
            {"places": [{"site": "a", "latitude": 1, "longitude": 2, "hours": [{"at": "2027-07-01T00:00:00Z"}]}]},
        ),
        ("#/places/0/site", {"places": [{"latitude": 1, "hours": [{"at": "2027-07-01T00:00:00Z"}]}]}),
        ("#/places/0/hours/0/at", {"places": [{"site": "a", "hours": [{"at": "2027-07-01T00:00:00"}]}]}),
        ("#/places/0/hours/0/at", {"places": [{"site": "a", "hours": [{"at": "2027-13-01T00:00:00Z"}]}]}),
        ("#/places/0/hours/0/temperature", sky(104, site="a")),
        ("#/places/0/hours", {"places": [{"site": "a", "hours": []}]}),
        ("#/places", {"places": []}),
        ("#/places/0/latitude", sky(20, latitude=91, longitude=0)),
    ],
)
def test_a_forecast_that_cannot_be_is_refused(shop: Client, pointer: str, body: Body) -> None:
    answer = shop.put("/v1/forecasts/coast", json=body)
    assert answer.status_code == 422, answer.text
    assert [e["pointer"] for e in answer.json()["errors"]] == [pointer]
    assert shop.get("/v1/forecasts/coast").status_code == 404


WRONG: list[Body] = [
    {},
    {"daily_at": "24:00"},
    {"daily_at": "5:30"},
    {"daily_at": "05:30", "bookings": {"state": "lost"}},
]


@pytest.mark.parametrize("body", WRONG)
def test_a_schedule_that_cannot_be_is_refused(shop: Client, body: Body) -> None:
    assert shop.put("/v1/schedules/x", json=body).status_code == 422


def test_a_tenant_has_so_many_schedules(shop: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coldwright.store.schedules.MOST", 2)
    sent = {"forecast": "coast"}
    assert [shop.put(f"/v1/schedules/s{n}", json=sent).status_code for n in range(3)] == [201, 201, 409]
    assert shop.put("/v1/schedules/s1", json={"daily_at": "04:30"}).status_code == 200


def test_a_forecast_reads_back_as_it_was_put_and_is_listed(shop: Client) -> None:
    body = sky(31, 33)
    kept = forecast(shop, body)
    assert (kept["first_day"], kept["last_day"]) == (DAYS[3], DAYS[4])
    assert forecast(shop, body)["version"] == 1, "the same again changes nothing"
    read = shop.get("/v1/forecasts/coast")
    assert read.json()["forecast"]["places"][0]["hours"][0]["temperature"] == q(31, "degC")
    assert shop.get("/v1/forecasts/coast", headers={"if-none-match": read.headers["etag"]}).status_code == 304
    assert [f["id"] for f in shop.get("/v1/forecasts").json()["forecasts"]] == ["coast"]
    stale = shop.put("/v1/forecasts/coast", json=sky(30), headers={"if-match": '"another"'})
    assert stale.status_code == 412


def test_the_yard_shows_what_is_forecast_beyond_a_plan_and_what_breaks_it_first(shop: Client) -> None:
    for reference, load in (("B-1", 110), ("B-2", 20)):
        book(shop, reference, duty__load=q(load, "kW"))
    page = {"accept": "text/html"}
    assert "Forecast beyond the plan" not in shop.get("/yard", headers=page).text
    put = shop.put("/v1/forecasts/summer", json=sky(46.0))
    assert put.status_code in (200, 201), put.text
    until = time.monotonic() + 30
    while time.monotonic() < until:
        shown = shop.get("/yard", headers=page).text
        if "being checked" not in shown:
            break
        time.sleep(0.05)
    part = shown.partition("Forecast beyond the plan")[2].partition("</section>")[0]
    assert part.index("B-1</a>: breaks the plan") < part.index("B-2</a>: the plan still goes")
    assert "46 °C (115 °F) on" in part
    assert "planned for 35 °C (95 °F)" in part
    shop.put("/v1/forecasts/summer", json=sky(20.0))
    assert "Forecast beyond the plan" not in shop.get("/yard", headers=page).text
