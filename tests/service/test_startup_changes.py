"""Who may change the configuration of a start, from which plan it comes, and one open start for each machine."""

from collections.abc import Iterator
from typing import Any

import pytest
from keyed import Keyed, keyed_app
from orders import fleet, machine, order
from quantity import q
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry

Headers = dict[str, str]
AT = "?at=2026-05-04T09:06:00Z"


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("changes"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def office(keyed: Keyed) -> Headers:
    return keyed.key("acme", "book", "calculate", "field", person="Ann Hill")


@pytest.fixture(scope="module")
def phone(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field")


def put(keyed: Keyed, name: str, body: dict[str, Any], headers: Headers, tag: str = "") -> Any:
    sent = headers | ({"if-match": tag} if tag else {})
    return keyed.client.put(f"/v1/startups/{name}", json=body, headers=sent)


def test_a_phone_may_open_a_start_but_not_make_it_easier(keyed: Keyed, office: Headers, phone: Headers) -> None:
    opened = put(keyed, "easier", {"configuration": CONFIGURATION}, phone)
    assert opened.status_code == 201
    tag = opened.headers["etag"]
    looser = {"configuration": CONFIGURATION | {"anti_recycle": q(1, "min")}}
    refused = put(keyed, "easier", looser | {"by": "Ann Hill", "reason": "in a hurry"}, phone, tag)
    assert refused.status_code == 403
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/configuration/anti_recycle"]
    tighter = put(keyed, "easier", {"configuration": CONFIGURATION | {"anti_recycle": q(8, "min")}}, phone, tag)
    assert tighter.status_code == 200
    tag = tighter.headers["etag"]
    other = {"configuration": CONFIGURATION | {"anti_recycle": q(8, "min"), "pump_mode": "site_pump"}}
    refused = put(keyed, "easier", other, phone, tag)
    assert refused.status_code == 403
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/configuration/pump_mode"]
    silent = put(keyed, "easier", looser, office, tag)
    assert silent.status_code == 422
    assert [e["pointer"] for e in silent.json()["errors"]] == ["#/reason"]
    done = put(keyed, "easier", looser | {"reason": "the maker's sheet says so"}, office, tag)
    assert done.status_code == 200
    kept = keyed.client.get("/v1/startups/easier/configurations", headers=phone).json()["configurations"]
    assert [c["version"] for c in kept] == [1, 2, 3]
    assert "changed_by" not in kept[0]
    assert kept[2]["changed_by"] == "Ann Hill"
    assert kept[2]["reason"] == "the maker's sheet says so"
    assert [e["pointer"] for e in kept[2]["loosened"]] == ["/anti_recycle"]
    assert kept[2]["configuration"]["anti_recycle"] == q(1, "min")


def test_the_past_is_judged_by_the_configuration_of_then(keyed: Keyed, office: Headers) -> None:
    opened = put(keyed, "then", {"configuration": CONFIGURATION}, office)
    keyed.client.get("/v1/startups/then", headers=office)
    changed = {"configuration": CONFIGURATION | {"pump_mode": "site_pump"}, "reason": "the site's pump is used"}
    assert put(keyed, "then", changed, office, opened.headers["etag"]).status_code == 200
    keyed.client.get("/v1/startups/then", headers=office)
    first, second = keyed.client.get("/v1/startups/then/configurations", headers=office).json()["configurations"]
    told = keyed.client.get("/v1/startups/then/verdicts", headers=office).json()["verdicts"]
    assert [t["configuration"] for t in told] == [first["digest"], second["digest"]]
    modes = []
    for moment in (first["changed_at"], second["changed_at"]):
        reply = keyed.client.get(f"/v1/startups/then{AT}&known_at={moment}", headers=office)
        modes.append(reply.json()["verdict"]["given"]["configuration"]["pump_mode"])
    assert modes == ["own_pump", "site_pump"]
    before = keyed.client.get("/v1/startups/then?known_at=2020-01-01T00:00:00Z", headers=office)
    assert before.status_code == 404


def test_a_booking_that_is_named_must_be_there(keyed: Keyed, office: Headers) -> None:
    body = {"configuration": CONFIGURATION, "booking": "NO-SUCH-ORDER"}
    refused = put(keyed, "booked", body, office)
    assert refused.status_code == 422
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/booking"]
    refused = put(keyed, "booked", {"from_booking": {"reference": "NO-SUCH-ORDER"}}, office)
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/from_booking/reference"]
    refused = put(keyed, "booked", {"from_booking": {"machine": 1}}, office)
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/from_booking/reference"]
    assert put(keyed, "booked", {}, office).json()["errors"][0]["pointer"] == "#/configuration"


def test_a_start_takes_its_configuration_from_the_plan(keyed: Keyed, office: Headers, phone: Headers) -> None:
    described = keyed.client.get("/v1/calculators/booking/assessment", headers=office).json()
    order = described["examples"][0]["given"] | {"reference": "PLANNED-1", "officer_on_duty": "Cy Lake, +1 555 0100"}
    booked = keyed.client.put("/v1/bookings/PLANNED-1", json=order, headers=office)
    assert booked.status_code == 201
    plan = booked.json()["assessment"]["results"]["asked"]["procedure"]["configuration"]
    body = {"from_booking": {"reference": "PLANNED-1"}, "machine": "first of the plan"}
    opened = put(keyed, "planned", body, phone)
    assert opened.status_code == 201, opened.text
    kept = opened.json()["startup"]
    assert kept["booking"] == "PLANNED-1"
    assert kept["from_booking"] == {"reference": "PLANNED-1", "machine": 1, "revision": 1}
    assert kept["configuration"] == plan
    assert plan["officer_on_duty"] == "Cy Lake, +1 555 0100"
    assert plan["practice"] == order["practice"]
    assert plan["loop"] == "Loop of order PLANNED-1"
    assert plan["source"].endswith("of order PLANNED-1")
    machines = sum(m["count"] for m in booked.json()["assessment"]["results"]["machines"])
    assert plan["own_breaker"] == (machines > 1)
    assert put(keyed, "planned", body, phone).status_code == 200
    easier = body | {"configuration": {"anti_recycle": q(1, "min")}, "machine": "second"}
    refused = put(keyed, "planned-easier", easier, phone)
    assert refused.status_code == 403
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/configuration/anti_recycle"]
    beyond = put(keyed, "beyond", {"from_booking": {"reference": "PLANNED-1", "machine": 99}}, phone)
    assert beyond.status_code == 422
    assert beyond.json()["errors"][0]["pointer"] == "#/from_booking/machine"


def test_one_machine_has_one_open_start(keyed: Keyed, phone: Headers) -> None:
    client = keyed.client
    body = {"configuration": CONFIGURATION, "machine": "North 3"}
    first = put(keyed, "first-of-north", body, phone)
    assert "follows" not in first.json()
    second = put(keyed, "second-of-north", body | {"machine": "north  3"}, phone)
    assert second.json()["follows"] == "first-of-north"
    moved = client.get("/v1/startups/first-of-north?units=us", headers=phone, follow_redirects=False)
    assert moved.status_code == 307
    assert moved.headers["location"] == "/v1/startups/second-of-north?units=us"
    assert client.get(f"/v1/startups/first-of-north{AT}", headers=phone).status_code == 200
    late = {"observations": [seen("unit_level", "07:00", ok=True)]}
    assert client.post("/v1/startups/first-of-north/observations", json=late, headers=phone).json()["kept"] == 1
    others = keyed.key("other", "field")
    assert "follows" not in put(keyed, "north-of-others", body, others).json()


def test_at_opening_easier_means_easier_than_the_usual_values(keyed: Keyed, office: Headers, phone: Headers) -> None:
    easier = {"configuration": CONFIGURATION | {"anti_recycle": q(1, "min")}}
    refused = put(keyed, "opened-easier", easier, phone)
    assert refused.status_code == 403
    assert keyed.client.get("/v1/startups/opened-easier", headers=phone).status_code == 404
    assert put(keyed, "opened-easier", easier, office).status_code == 422
    assert put(keyed, "opened-easier", easier | {"reason": "the maker says so"}, office).status_code == 201
    harder = {"configuration": CONFIGURATION | {"anti_recycle": q(9, "min")}}
    assert put(keyed, "opened-harder", harder, phone).status_code == 201


def test_what_rests_on_a_changed_field_is_looked_at_again(keyed: Keyed, office: Headers, phone: Headers) -> None:
    client = keyed.client
    opened = put(keyed, "undone", {"configuration": CONFIGURATION}, office)
    level = {"observations": [seen("unit_level", "08:00", ok=True), seen("set_point", "08:00", value=q(44, "degF"))]}
    assert client.post("/v1/startups/undone/observations", json=level, headers=phone).json()["kept"] == 2

    def facts(more: str = "") -> dict[str, str]:
        verdict = client.get(f"/v1/startups/undone{more}", headers=phone).json()["verdict"]
        return {name: fact["status"] for name, fact in verdict["results"]["facts"].items()}

    assert facts()["set_point_safe"] == "established"
    tighter = {"configuration": CONFIGURATION | {"set_point_minimum_water": q(41, "degF")}}
    opened = put(keyed, "undone", tighter, phone, opened.headers["etag"])
    assert facts()["set_point_safe"] == "established", "what is made harder undoes nothing"
    looser = {"configuration": CONFIGURATION | {"set_point_minimum_water": q(40, "degF")}, "reason": "the plan says so"}
    assert put(keyed, "undone", looser, office, opened.headers["etag"]).status_code == 200
    found = facts()
    assert (found["set_point_safe"], found["level"]) == ("invalidated", "established")
    *_, last = client.get("/v1/startups/undone/configurations", headers=phone).json()["configurations"]
    assert facts(f"?known_at={last['changed_at']}")["set_point_safe"] != "established"
    now = client.get("/v1/startups/undone", headers=phone).json()["verdict"]["given"]
    assert now["configuration_changes"] == [{"at": last["changed_at"], "fields": ["set_point_minimum_water"]}]
    old = client.get("/v1/startups/undone/majors/1", headers=phone).json()["verdict"]["results"]
    assert old["facts"]["set_point_safe"]["status"] == "invalidated"
    again = seen("set_point", "08:00", value=q(44, "degF")) | {"id": "again", "at": "2099-01-01T00:00:00Z"}
    client.post("/v1/startups/undone/observations", json={"observations": [again]}, headers=phone)
    assert facts()["set_point_safe"] != "established", "a stamp ahead of its arrival proves nothing"
    moment = client.post("/v1/startups/undone/observations", json={"observations": [again]}, headers=phone).json()[
        "received_at"
    ]
    read = seen("set_point", "08:00", value=q(44, "degF")) | {"id": "read again", "at": moment}
    client.post("/v1/startups/undone/observations", json={"observations": [read]}, headers=phone)
    assert facts()["set_point_safe"] == "established"


# --- machines of several types ---------------------------------------------------------------------------------------


def _booked(keyed: Keyed, office: Headers) -> dict[str, Any]:
    """Two of one type and one of another: unlike compressors, oil heat and evaporators."""
    small = machine("small", 90, 2, circuits=1)
    small["oil_warm_up"] = q(3, "h")
    large = machine("large", 150, 1, circuits=3)
    large["evaporator"]["rated_pressure_drop"] = q(80, "kPa")
    document = order(reference="UNLIKE-1", fleet=fleet(small, large), duty__load=q(280, "kW"))
    booked = keyed.client.put("/v1/bookings/UNLIKE-1", json=document, headers=office)
    assert booked.status_code == 201, booked.text
    results: dict[str, Any] = booked.json()["assessment"]["results"]
    assert [(m["type"], m["count"]) for m in results["machines"]] == [("small", 2), ("large", 1)]
    return results


def test_each_start_is_judged_by_its_own_machine(keyed: Keyed, office: Headers, phone: Headers) -> None:
    """By hand: drops go with the square of the flow, from the plate's to least and greatest."""
    results = _booked(keyed, office)
    of_type = dict(zip(("small", "large"), results["asked"]["start_configurations"], strict=True))
    rated = {"small": (50, 2, 3), "large": (80, 6, 1)}
    for number, kind in ((1, "small"), (2, "small"), (3, "large")):
        sent = {"from_booking": {"reference": "UNLIKE-1", "machine": number}, "machine": f"{kind} {number}"}
        opened = keyed.client.put(f"/v1/startups/unlike-{number}", json=sent, headers=phone)
        assert opened.status_code == 201, opened.text
        kept = opened.json()["startup"]["configuration"]
        assert kept == of_type[kind]
        drop, compressors, hours = rated[kind]
        assert kept["compressors"] == compressors
        assert kept["warm_up_duration"]["value"] == {"min": 60, "h": 1}[kept["warm_up_duration"]["unit"]] * hours
        least, most = (kept[f"evaporator_pressure_drop_{end}"]["value"] for end in ("minimum", "maximum"))
        assert abs(least / (drop * 0.45**2) - 1) < 0.05, "0.45 of the rated flow; cold water is a little thicker"
        assert abs(most / (drop * 1.7**2) - 1) < 0.05
        assert kept["own_breaker"]


def test_of_like_machines_one_configuration_holds(keyed: Keyed, office: Headers) -> None:
    document = order(reference="LIKE-1", fleet=fleet(machine("only", 150, 3)))
    results = keyed.client.put("/v1/bookings/LIKE-1", json=document, headers=office).json()["assessment"]["results"]
    assert sum(m["count"] for m in results["machines"]) > 1
    assert not results["asked"]["start_configurations"]
