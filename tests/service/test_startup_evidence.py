"""Attacks on a start: whose word counts, when it was received, and what goes along. All machines are invented."""

from collections.abc import Iterator
from typing import Any

import pytest
from book_start import READY_AT, by_the_book, running
from keyed import Keyed, keyed_app
from quantity import q
from startup_histories import CONFIGURATION, seen

from coldwright.registry import Registry

Headers = dict[str, str]
AT = f"?at={READY_AT}"


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("evidence"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def ann(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field", person="Ann Hill", roles=("technician",))


@pytest.fixture(scope="module")
def bo(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field", person="Bo Reed", roles=("technician",))


@pytest.fixture(scope="module")
def boss(keyed: Keyed) -> Headers:
    return keyed.key("acme", "field", person="Cy Lake", roles=("supervisor", "electrician"))


@pytest.fixture(scope="module")
def shared(keyed: Keyed) -> Headers:
    """A key that nobody in particular uses."""
    return keyed.key("acme", "field")


def opened(keyed: Keyed, headers: Headers, name: str, **document: Any) -> str:
    body = {"configuration": CONFIGURATION, **document}
    assert keyed.client.put(f"/v1/startups/{name}", json=body, headers=headers).status_code == 201
    return f"/v1/startups/{name}"


def send(keyed: Keyed, headers: Headers, address: str, *observations: dict[str, Any], **beside: Any) -> list[int]:
    body = {"observations": list(observations), **beside}
    reply = keyed.client.post(f"{address}/observations", json=body, headers=headers)
    assert reply.status_code == 200, reply.text
    return [o["status"] for o in reply.json()["observations"]]


def verdict(keyed: Keyed, headers: Headers, address: str, query: str = AT) -> dict[str, Any]:
    reply = keyed.client.get(f"{address}{query}", headers=headers)
    assert reply.status_code == 200, reply.text
    results: dict[str, Any] = reply.json()["verdict"]["results"]
    return results


def listed(keyed: Keyed, headers: Headers, address: str) -> dict[str, dict[str, Any]]:
    page = keyed.client.get(f"{address}/observations", headers=headers).json()
    return {o["observation"]["id"]: o for o in page["observations"]}


def test_the_credential_says_who_recorded_it(keyed: Keyed, ann: Headers, boss: Headers, shared: Headers) -> None:
    address = opened(keyed, ann, "whose")
    claim = {"by": "Cy Lake", "role": "supervisor"}
    send(keyed, ann, address, seen("unit_level", "07:00", "of-ann", ok=True, extra=claim))
    send(keyed, boss, address, seen("unit_level", "07:01", "of-boss", ok=True, extra={"role": "electrician"}))
    send(keyed, boss, address, seen("unit_level", "07:02", "of-boss-too", ok=True))
    send(keyed, shared, address, seen("unit_level", "07:03", "of-somebody", ok=True, extra=claim))
    send(keyed, shared, address, seen("unit_level", "07:04", "of-nobody", ok=True))
    send(keyed, shared, address, seen("unit_level", "07:05", "of-no-key", ok=True, extra={"by": "Flo Ray"}))
    found = {id_: (o.get("by"), o.get("role")) for id_, o in listed(keyed, ann, address).items()}
    assert found == {
        "of-ann": ("Ann Hill", "technician"),
        "of-boss": ("Cy Lake", "electrician"),
        "of-boss-too": ("Cy Lake", "supervisor"),
        "of-somebody": ("Cy Lake (not proved)", None),
        "of-no-key": ("Flo Ray", None),
        "of-nobody": (None, None),
    }
    assert listed(keyed, ann, address)["of-ann"]["observation"]["by"] == "Cy Lake", "what was sent stays as it was sent"


def test_a_key_of_the_office_may_claim_what_a_phone_may_not(keyed: Keyed, shared: Headers) -> None:
    office = keyed.key("acme", "field", "book")
    address = opened(keyed, office, "claims")
    claim = {"by": "Cy Lake", "role": "supervisor"}
    send(keyed, office, address, seen("unit_level", "07:00", "office", ok=True, extra=claim))
    send(keyed, shared, address, seen("unit_level", "07:01", "phone", ok=True, extra=claim))
    found = {id_: o.get("role") for id_, o in listed(keyed, office, address).items()}
    assert found == {"office": "supervisor", "phone": None}


ADVERSE = {
    "supply": seen("supply", "09:05", "bad", state="off"),
    "people": seen("area_clear", "09:05", "bad", clear=False),
    "alarm": seen("alarm", "09:05", "bad", code="A1", state="active"),
    "lock": seen("lock", "09:05", "bad", lock_id="L9", state="applied"),
    "leak": seen("leak_check", "09:05", "bad", result="weep"),
}
MILD = {
    "supply": {"state": "on"},
    "people": {"clear": True},
    "alarm": {"code": "A1", "state": "cleared"},
    "lock": {"lock_id": "L9", "state": "removed"},
    "leak": {"result": "dry"},
}


@pytest.mark.parametrize("what", ADVERSE)
def test_nobody_erases_what_another_recorded_against_a_start(
    keyed: Keyed, ann: Headers, bo: Headers, shared: Headers, what: str
) -> None:
    address = opened(keyed, ann, f"erase-{what}")
    send(keyed, ann, address, *by_the_book(""))
    assert verdict(keyed, ann, address)["status"] == "ready"
    bad = ADVERSE[what]
    send(keyed, ann, address, bad)
    before = verdict(keyed, ann, address)
    assert before["status"] == "blocked"
    correction = {"id": "gone", "kind": bad["kind"], "at": bad["at"], "data": MILD[what], "supersedes": "bad"}
    withdrawn = {"id": "gone-2", "kind": "withdrawn", "at": bad["at"], "data": {"reason": "wrong"}, "supersedes": "bad"}
    for attacker in (bo, shared):
        for attempt in (correction, withdrawn):
            named = attempt | {"id": f"{attempt['id']}-{attacker is bo}", "by": " ann  hill", "role": "supervisor"}
            assert set(send(keyed, attacker, address, named)) <= {201, 422}
    after = verdict(keyed, ann, address)
    assert after["status"] == "blocked"
    assert not [x for x in after["superseded"] if x["id"] == "bad"]
    assert listed(keyed, ann, address)["bad"]["superseded"] is False


def test_who_recorded_it_or_a_supervisor_corrects_it_and_both_are_named(
    keyed: Keyed, ann: Headers, boss: Headers
) -> None:
    for name, sender, then_by in (("own", ann, "Ann Hill"), ("boss", boss, "Cy Lake")):
        address = opened(keyed, ann, f"corrected-{name}")
        send(keyed, ann, address, *by_the_book(""), seen("area_clear", "09:05", "bad", clear=False))
        right = seen("area_clear", "09:05:30", "right", clear=True, extra={"supersedes": "bad"})
        assert send(keyed, sender, address, right) == [201]
        assert verdict(keyed, ann, address)["status"] == "ready"
        entry = listed(keyed, ann, address)["bad"]
        assert entry["superseded"] is True
        assert entry["superseded_by"] == {
            "id": "right",
            "how": "supersedes",
            "person": then_by,
            "of_person": "Ann Hill",
        }


def test_what_the_service_writes_nobody_else_writes(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "stamps")
    stamp = "2026-05-04T07:00:00Z"
    own = seen("unit_level", "07:00", "own", ok=True, extra={"received_at": stamp, "sent_at": stamp})
    reply = keyed.client.post(
        f"{address}/observations",
        json={"observations": [own, seen("unit_level", "07:00", "good", ok=True)]},
        headers=ann,
    ).json()
    assert [o["status"] for o in reply["observations"]] == [422, 201]
    errors = {e["pointer"]: e for e in reply["observations"][0]["errors"]}
    assert set(errors) == {"#/observations/0/received_at", "#/observations/0/sent_at"}
    assert all(e["value"] == stamp and e["why"] for e in errors.values())
    for wrong in ("yesterday", "2026-05-04T07:00:00", 7):
        body = {"observations": [own], "sent_at": wrong}
        refused = keyed.client.post(f"{address}/observations", json=body, headers=ann)
        assert refused.status_code == 422
        assert [e["pointer"] for e in refused.json()["errors"]] == ["#/sent_at"]


def test_a_phone_with_a_wrong_clock_proves_nothing_and_hides_nothing(keyed: Keyed, ann: Headers) -> None:
    """Its records of tomorrow prove nothing today; what speaks against a start counts all the same."""
    year = {"at": "2096-05-04T09:03:00Z"}
    address = opened(keyed, ann, "tomorrow")
    book = by_the_book("")
    send(keyed, ann, address, *(o | year if o["kind"] == "water_temperature" else o for o in book))
    assert verdict(keyed, ann, address)["status"] == "blocked"
    address = opened(keyed, ann, "tomorrow-off")
    send(keyed, ann, address, *book, seen("supply", "09:05", "late", state="off") | year)
    assert verdict(keyed, ann, address)["status"] == "blocked"


def test_the_difference_of_the_clocks_is_shown_and_widens(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "clocks")
    level = seen("unit_level", "07:00", "level", ok=True)
    body = {"observations": [level], "sent_at": "2026-05-04T07:00:10+02:00"}
    reply = keyed.client.post(f"{address}/observations", json=body, headers=ann).json()
    entry = listed(keyed, ann, address)["level"]
    assert reply["clock_difference"] == entry["clock_difference"]
    assert entry["clock_difference"]["value"] > 0
    assert entry["sent_at"] == "2026-05-04T05:00:10Z"
    timeline = verdict(keyed, ann, address, "")["timeline"]
    assert timeline[0]["at"] == "2026-05-04T07:00:00Z", "never shifted"
    assert timeline[0]["uncertainty"]["value"] > 0
    again = keyed.client.post(f"{address}/observations", json=body | {"sent_at": "2026-05-04T07:00:00Z"}, headers=ann)
    assert again.json()["kept"] == 0
    assert listed(keyed, ann, address)["level"] == entry, "the first arrival counts"


def test_what_stands_goes_along_into_the_next_start_of_the_machine(keyed: Keyed, ann: Headers, bo: Headers) -> None:
    first = opened(keyed, ann, "carry-1", machine="East 7")
    lock = seen("lock", "06:00", "lock-on", lock_id="L7", state="applied")
    alarm = seen("alarm", "06:00", "alarm-on", code="A7", state="active")
    send(keyed, ann, first, lock, alarm)
    second = opened(keyed, bo, "carry-2", machine="east 7")
    send(keyed, bo, second, *by_the_book(""))
    results = verdict(keyed, bo, second)
    assert results["status"] == "blocked"
    assert results["facts"]["locks_clear"]["by"] == ["carry-1/lock-on"]
    page = keyed.client.get(f"{second}/observations", headers=bo).json()
    along = {o["id"]: o for o in page["carried"]}
    assert set(along) == {"carry-1/lock-on", "carry-1/alarm-on"}
    assert along["carry-1/lock-on"]["by"] == "Ann Hill"
    tag = keyed.client.get(second, headers=bo).headers["etag"]
    late = [
        seen("lock", "06:30", "lock-off", lock_id="L7", state="removed"),
        seen("alarm", "06:30", "alarm-off", code="A7", state="cleared"),
    ]
    send(keyed, ann, first, *late)
    later = verdict(keyed, bo, second)
    assert later["status"] == "ready", later["blocks"]
    assert keyed.client.get(second, headers=bo | {"if-none-match": tag}).status_code == 200


def test_a_running_compressor_goes_along(keyed: Keyed, ann: Headers) -> None:
    first = opened(keyed, ann, "run-1", machine="West 2")
    send(keyed, ann, first, *running(""))
    second = opened(keyed, ann, "run-2", machine="West 2")
    assert verdict(keyed, ann, second, "?at=2026-05-04T09:20:00Z")["status"] == "stop_now"
    off = seen("compressor", "09:10", "off", id="1", state="off")
    send(keyed, ann, second, off)
    assert verdict(keyed, ann, second, "?at=2026-05-04T09:20:00Z")["status"] != "running"


def test_another_tenant_has_no_part_in_it(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "apart", machine="South 1")
    send(keyed, ann, address, seen("lock", "08:00", "lock-on", lock_id="L7", state="applied"))
    others = keyed.key("acme2", "field", "book", "admin", person="Ann Hill", roles=("supervisor",))
    for below in ("", "/brief", "/observations", "/configurations", "/verdicts", "/events"):
        assert keyed.client.get(f"{address}{below}", headers=others).status_code == 404
    withdrawn = {"id": "w", "kind": "withdrawn", "at": READY_AT, "data": {"reason": "x"}, "supersedes": "lock-on"}
    sent = keyed.client.post(f"{address}/observations", json={"observations": [withdrawn]}, headers=others)
    assert sent.status_code == 404
    theirs = opened(keyed, others, "apart", machine="South 1")
    assert verdict(keyed, others, theirs)["facts"]["locks_clear"]["by"] == []


def test_a_configuration_that_does_not_fit_what_is_recorded_is_refused(keyed: Keyed, ann: Headers) -> None:
    office = keyed.key("acme", "field", "book", person="Di Moss")
    two = CONFIGURATION | {"compressors": 2}
    body = {"configuration": two, "machine": "Twin"}
    tag = keyed.client.put("/v1/startups/twin", json=body, headers=office).headers["etag"]
    send(keyed, ann, "/v1/startups/twin", seen("compressor", "07:00", "c2", id="2", state="off"))
    fewer = body | {"configuration": CONFIGURATION | {"compressors": 1}, "reason": "one was taken out"}
    refused = keyed.client.put("/v1/startups/twin", json=fewer, headers=office | {"if-match": tag})
    assert refused.status_code == 422
    assert [e["pointer"] for e in refused.json()["errors"]] == ["#/configuration"]
    assert verdict(keyed, ann, "/v1/startups/twin")["status"] == "blocked"


def test_an_unknown_role_of_a_key_costs_no_record(keyed: Keyed) -> None:
    odd = keyed.key("acme", "field", person="Ed Fox", roles=("rigger_of_moons",))
    address = opened(keyed, odd, "odd-role")
    off = seen("supply", "07:00", "off", state="off", extra={"time_uncertainty": q(5, "s")})
    assert send(keyed, odd, address, off) == [201]
    assert "role" not in listed(keyed, odd, address)["off"]


def test_who_still_asks_in_the_words_of_version_1_is_never_told_to_start(keyed: Keyed, ann: Headers) -> None:
    """Judged by today's rules: what version 1 had no word for is `blocked` there."""
    address = opened(keyed, ann, "major-1")
    send(keyed, ann, address, *running(""))
    query = "?at=2026-05-04T09:07:00Z"
    assert verdict(keyed, ann, address, query)["status"] == "running"
    reply = keyed.client.get(f"{address}/majors/1", headers=ann)
    assert reply.status_code == 200, reply.text
    old = reply.json()["verdict"]
    assert old["calculator"]["version"].startswith("1.")
    assert old["results"]["status"] == "blocked"
    assert "stop_now" not in old["results"]
    assert {"deprecation", "sunset"} <= set(reply.headers)


def test_every_state_has_its_page_and_a_stop_comes_first(keyed: Keyed, ann: Headers) -> None:
    address = opened(keyed, ann, "pages")
    text = ann | {"accept": "text/plain"}
    heads = {}
    for clock, records in (("08:00", []), ("09:06", by_the_book("")), ("09:07", running(""))):
        if records:
            send(keyed, ann, address, *records)
        query = f"?at=2026-05-04T{clock}:00Z"
        heads[clock] = keyed.client.get(f"{address}{query}", headers=text).text.splitlines()[2]
    assert heads["08:00"].startswith("Blocked: ")
    assert heads["09:06"].startswith("Ready")
    assert heads["09:07"].startswith("Running")
    send(keyed, ann, address, seen("flow_switch", "09:08", "lost", state="not_made"))
    page = keyed.client.get(f"{address}?at=2026-05-04T09:09:00Z", headers=text).text
    assert page.splitlines()[2].startswith("Stop it now")
    assert page.index("Stop it now") < page.index("> Stop compressor 1") < page.index("WHY")
    late = keyed.client.get(f"{address}?at=2026-05-04T23:09:00Z", headers=text).text
    assert late.splitlines()[2].startswith("Stop it now"), "it never lapses by age"


def test_a_start_that_is_given_to_another_machine_leaves_no_lock_behind(
    keyed: Keyed, ann: Headers, bo: Headers
) -> None:
    """A mistyped name, or one that is meant: whoever may only tighten may not shed what stands of the machine."""
    first = opened(keyed, ann, "shed-1", machine="North 4")
    send(keyed, ann, first, seen("lock", "06:00", "lock-on", lock_id="L4", state="applied"))
    second = opened(keyed, bo, "shed-2", machine="North 4")
    send(keyed, bo, second, *by_the_book(""))

    def put(headers: Headers, **document: Any) -> Any:
        tag = keyed.client.put(second, json=here, headers=bo).headers["etag"]
        body = {"configuration": CONFIGURATION, **document}
        return keyed.client.put(second, json=body, headers=headers | {"if-match": tag})

    here = {"configuration": CONFIGURATION, "machine": "North 4"}
    for other in ({"machine": "North 40"}, {}):
        refused = put(bo, **other)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (403, "#/machine")
    assert put(bo, machine=" north  4").status_code == 200, "it is the same machine"
    here["machine"] = " north  4"
    assert verdict(keyed, bo, second)["status"] == "blocked"
    office = keyed.key("acme", "field", "book", person="Di Moor")
    asked_why = put(office, machine="North 40")
    assert [e["pointer"] for e in asked_why.json()["errors"]] == ["#/reason"]
    assert put(office, machine="North 40", reason="It stands at the other hall.").status_code == 200
    assert verdict(keyed, bo, second)["status"] == "ready"
    newest = keyed.client.get(f"{second}/configurations", headers=bo).json()["configurations"][-1]
    assert (newest["changed_by"], [one["pointer"] for one in newest["loosened"]]) == ("Di Moor", ["/machine"])


@pytest.mark.parametrize("stamp", ["20260504T090600Z", "2026-05-04T09:06Z", "0001-01-01T00:00:00+23:59"])
def test_a_stamp_of_a_batch_is_refused_where_it_stands(keyed: Keyed, ann: Headers, stamp: str) -> None:
    address = opened(keyed, ann, f"stamp-{stamp[:4]}-{len(stamp)}")
    body = {"observations": [seen("unit_level", "07:00", ok=True)], "sent_at": stamp}
    reply = keyed.client.post(f"{address}/observations", json=body, headers=ann)
    assert (reply.status_code, [e["pointer"] for e in reply.json()["errors"]]) == (422, ["#/sent_at"])
