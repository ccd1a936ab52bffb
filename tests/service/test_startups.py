"""Start-ups over HTTP: two phones, one verdict. All machines and observations are invented."""

import copy
import random
import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from book_start import READY_AT, by_the_book
from litestar import Litestar
from litestar.testing import TestClient
from startup_histories import CONFIGURATION, seen

Client = TestClient[Litestar]


@pytest.fixture
def opened(client: Client, request: pytest.FixtureRequest) -> str:
    """The address of a start-up of its own."""
    name = re.sub("[^a-z0-9]+", "-", request.node.name.lower())[:90]
    address = f"/v1/startups/{name}"
    reply = client.put(address, json={"configuration": CONFIGURATION, "machine": f"machine of {name}"})
    assert reply.status_code == 201, reply.text
    return address


def send(client: Client, address: str, observations: list[dict[str, Any]], query: str = "") -> Any:
    return client.post(f"{address}/observations{query}", json={"observations": observations})


def verdict(client: Client, address: str, query: str = f"?at={READY_AT}") -> dict[str, Any]:
    reply = client.get(f"{address}{query}")
    assert reply.status_code == 200, reply.text
    told: dict[str, Any] = reply.json()
    return told


def without_ages(told: dict[str, Any]) -> dict[str, Any]:
    """What a verdict says; only its input tells when each record arrived."""
    return {k: v for k, v in told["verdict"].items() if k not in ("given", "digest")}


def statuses(reply: Any) -> list[int]:
    assert reply.status_code == 200, reply.text
    return [o["status"] for o in reply.json()["observations"]]


def test_a_day_by_the_book_ends_ready(client: Client, opened: str) -> None:
    before = verdict(client, opened)
    assert before["observation_count"] == 0
    assert before["verdict"]["results"]["status"] == "blocked"
    assert set(statuses(send(client, opened, by_the_book()))) == {201}
    after = verdict(client, opened)
    assert after["id"] == opened.rpartition("/")[2]
    assert after["observation_count"] == len(by_the_book())
    assert after["verdict"]["results"]["status"] == "ready"
    assert after["verdict"]["calculator"]["id"] == "readiness.startup"


def test_a_batch_sent_again_changes_nothing(client: Client, opened: str) -> None:
    first = send(client, opened, by_the_book())
    once = verdict(client, opened)
    again = send(client, opened, by_the_book())
    assert set(statuses(first)) == {201}
    assert set(statuses(again)) == {200}
    assert again.json()["kept"] == 0
    assert verdict(client, opened) == once


@pytest.mark.parametrize("seed", range(5))
def test_two_phones_that_come_late_and_mixed_give_the_same_verdict(client: Client, opened: str, seed: int) -> None:
    rng = random.Random(seed)
    send(client, opened, by_the_book())
    straight = verdict(client, opened)
    mixed = f"{opened}-mixed"
    assert client.put(mixed, json={"configuration": CONFIGURATION}).status_code == 201
    everything = by_the_book()
    phones: list[list[dict[str, Any]]] = [[o for o in everything if rng.random() < 0.7] for _ in range(2)]
    known = {o["id"] for phone in phones for o in phone}
    phones[0] += [o for o in everything if o["id"] not in known]
    batches = [phone[i : i + 4] for phone in phones for i in range(0, len(phone), 4)]
    for batch in rng.sample(batches, len(batches)):
        send(client, mixed, rng.sample(batch, len(batch)))
    late = verdict(client, mixed)
    assert late["observation_count"] == straight["observation_count"]
    assert without_ages(late) == without_ages(straight)


def test_a_phone_whose_clock_is_wrong_says_so(client: Client, opened: str) -> None:
    """Shown two hours ahead, with the offset that says it: the same verdict as a phone whose clock is right."""

    def ahead(observation: dict[str, Any]) -> dict[str, Any]:
        hour = int(observation["at"][11:13]) + 2
        moved = f"{observation['at'][:11]}{hour:02d}{observation['at'][13:]}"
        return observation | {"at": moved, "clock_offset": {"value": 2, "unit": "h"}}

    send(client, opened, [ahead(o) for o in by_the_book()])
    results = verdict(client, opened)["verdict"]["results"]
    assert results["status"] == "ready"
    assert results["timeline"][0]["at"] == "2026-05-04T07:00:00Z"


def test_a_correction_counts_and_what_it_corrects_stays_visible(client: Client, opened: str) -> None:
    wrong = seen("leak_check", "08:50", "leak-1", result="weep", extra={"by": "Ann Hill"})
    send(client, opened, [o for o in by_the_book() if o["kind"] != "leak_check"] + [wrong])
    assert verdict(client, opened)["verdict"]["results"]["status"] == "blocked"
    right = seen("leak_check", "08:51", "leak-2", result="dry", extra={"supersedes": "leak-1", "by": "Ann Hill"})
    assert statuses(send(client, opened, [right])) == [201]
    assert verdict(client, opened)["verdict"]["results"]["status"] == "ready"
    kept = client.get(f"{opened}/observations").json()["observations"]
    by_id = {k["observation"]["id"]: k for k in kept}
    assert by_id["leak-1"]["superseded"] is True
    assert by_id["leak-1"]["observation"]["data"] == {"result": "weep"}
    assert by_id["leak-2"]["superseded"] is False
    assert [k["sequence"] for k in kept] == list(range(1, len(kept) + 1))


def test_two_stories_under_one_id_are_both_kept_and_told(client: Client, opened: str) -> None:
    send(client, opened, by_the_book())
    other = seen("leak_check", "08:50", "leak_check..08:50", result="weep")
    assert statuses(send(client, opened, [other])) == [201]
    results = verdict(client, opened)["verdict"]["results"]
    assert results["status"] == "blocked"
    assert any("leak_check..08:50" in c["ids"] for c in results["contradictory"])


def test_the_list_comes_in_pages(client: Client, opened: str) -> None:
    send(client, opened, by_the_book())
    ids: list[str] = []
    query = "?page_size=7"
    while query:
        page = client.get(f"{opened}/observations{query}").json()
        ids += [k["observation"]["id"] for k in page["observations"]]
        query = f"?page_size=7&page_token={page['next_page_token']}" if "next_page_token" in page else ""
    assert ids == [o["id"] for o in by_the_book()]


BAD: dict[str, Callable[[dict[str, Any]], object]] = {
    "no-kind": lambda o: o.pop("kind"),
    "unknown-kind": lambda o: o.update(kind="mood"),
    "unknown-field": lambda o: o.update(colour="red"),
    "no-offset": lambda o: o.update(at="2026-05-04T07:00:00"),
    "no-such-day": lambda o: o.update(at="2026-02-30T07:00:00Z"),
    "wrong-type": lambda o: o.update(data={"ok": "yes"}),
    "no-id": lambda o: o.pop("id"),
    "control-character": lambda o: o.update(id="a\x00b"),
    "too-long": lambda o: o.update(id="x" * 300),
}


@pytest.mark.parametrize("fault", BAD)
def test_one_bad_entry_costs_itself_alone(client: Client, opened: str, fault: str) -> None:
    observations = by_the_book()
    bad = copy.deepcopy(seen("unit_level", "07:01", "the-bad-one", ok=True))
    BAD[fault](bad)
    observations.insert(3, bad)
    reply = send(client, opened, observations)
    assert statuses(reply) == [201] * 3 + [422] + [201] * (len(observations) - 4)
    assert reply.json()["kept"] == len(observations) - 1
    assert reply.json()["refused"] == 1
    errors = reply.json()["observations"][3]["errors"]
    assert errors
    assert all(e["pointer"].startswith("#/observations/3") and e["detail"] for e in errors)
    assert verdict(client, opened)["verdict"]["results"]["status"] == "ready"


def test_what_only_the_calculator_can_refuse_is_refused_at_the_door(client: Client, opened: str) -> None:
    """Kept, any one of these would stand in the way of every later verdict."""
    good = by_the_book()
    bad = [o | {"id": f"bad-{n}", "at": "2026-02-30T07:00:00Z"} for n, o in enumerate(good)] * 3
    bad = [o | {"id": f"{o['id']}-{n}"} for n, o in enumerate(bad)]
    bad.append(seen("water_temperature", "09:00", "bad-water"))
    mixed = [o for pair in zip(bad, good * 4, strict=False) for o in pair]
    reply = send(client, opened, mixed)
    assert reply.json()["refused"] == len(bad)
    by_place = [o["status"] for o in reply.json()["observations"]]
    assert by_place[0::2] == [422] * len(bad)
    assert 422 not in by_place[1::2]
    last = reply.json()["observations"][-2]
    assert [e["pointer"] for e in last["errors"]] == [f"#/observations/{len(mixed) - 2}/data/leaving"]
    assert verdict(client, opened)["verdict"]["results"]["status"] == "ready"


def test_all_or_nothing_keeps_nothing_of_a_batch_with_one_bad_entry(client: Client, opened: str) -> None:
    observations = by_the_book()
    observations[5] = observations[5] | {"at": "yesterday"}
    observations[9] = observations[9] | {"at": "2026-02-30T08:00:00Z"}
    reply = send(client, opened, observations, "?all_or_nothing=true")
    assert reply.status_code == 422
    assert {e["pointer"] for e in reply.json()["errors"]} == {"#/observations/5/at", "#/observations/9/at"}
    assert verdict(client, opened)["observation_count"] == 0
    assert set(statuses(send(client, opened, by_the_book(), "?all_or_nothing=true"))) == {201}


def test_a_configuration_that_no_verdict_can_rest_on_is_refused(client: Client) -> None:
    configuration = {k: v for k, v in CONFIGURATION.items() if not k.startswith("evaporator_pressure_drop")}
    reply = client.put("/v1/startups/no-drop", json={"configuration": configuration})
    assert reply.status_code == 422
    assert {e["pointer"] for e in reply.json()["errors"]} == {
        "#/configuration/evaporator_pressure_drop_minimum",
        "#/configuration/evaporator_pressure_drop_maximum",
    }
    assert client.get("/v1/startups/no-drop").status_code == 404


def test_opening_again_changes_nothing_and_changing_needs_the_tag(client: Client, opened: str) -> None:
    body = {"configuration": CONFIGURATION, "machine": f"machine of {opened.rpartition('/')[2]}"}
    same = client.put(opened, json=body)
    assert same.status_code == 200
    changed = body | {"machine": "south"}
    assert client.put(opened, json=changed).status_code == 428
    assert client.put(opened, json=changed, headers={"if-match": '"stale"'}).status_code == 412
    reply = client.put(opened, json=changed, headers={"if-match": same.headers["etag"]})
    assert reply.status_code == 200
    assert reply.json()["startup"]["machine"] == "south"
    assert reply.headers["etag"] != same.headers["etag"]


def test_what_is_not_there_is_404(client: Client) -> None:
    for address in ("", "/observations", "/verdicts", "/events"):
        assert client.get(f"/v1/startups/never-opened{address}").status_code == 404
    assert send(client, "/v1/startups/never-opened", by_the_book()).status_code == 404


def test_a_name_that_nothing_can_have(client: Client) -> None:
    for name in ("%00", "a b", "-a", "a" * 101, "a%0Ab", "ö"):
        assert client.get(f"/v1/startups/{name}").status_code == 404
        reply = client.put(f"/v1/startups/{name}", json={"configuration": CONFIGURATION})
        assert reply.status_code == 422, name
        assert reply.json()["errors"][0]["pointer"] == "#/path/id"


def test_at_asks_for_another_instant(client: Client, opened: str) -> None:
    send(client, opened, by_the_book())
    assert verdict(client, opened, "?at=2026-05-04T08:40:00Z")["verdict"]["results"]["status"] == "blocked"
    assert verdict(client, opened, "?at=2026-05-04T09:06:00Z")["verdict"]["results"]["status"] == "ready"
    shifted = verdict(client, opened, "?at=2026-05-04T11:06:00%2B02:00")["verdict"]["results"]
    assert shifted["status"] == "ready"
    for wrong in ("yesterday", "2026-05-04T09:06:00", "0001-01-01T00:00:00Z", "20260504T090600Z"):
        reply = client.get(f"{opened}?at={wrong}")
        assert reply.status_code == 422, wrong
        assert [e["pointer"] for e in reply.json()["errors"]] == ["#/query/at"]


def test_known_at_asks_what_could_be_known(client: Client, opened: str) -> None:
    early = [o for o in by_the_book() if o["kind"] != "leak_check"]
    send(client, opened, early)
    between = client.get(f"{opened}/observations").json()["observations"][-1]["received_at"]
    time.sleep(0.01)
    send(client, opened, by_the_book())
    assert verdict(client, opened)["verdict"]["results"]["status"] == "ready"
    then = verdict(client, opened, f"?at={READY_AT}&known_at={between}")
    assert then["observation_count"] == len(early)
    assert then["verdict"]["results"]["status"] == "blocked"


def test_the_tag_spares_what_has_not_changed(client: Client, opened: str) -> None:
    send(client, opened, by_the_book())
    first = client.get(f"{opened}?at={READY_AT}")
    tag = first.headers["etag"]
    same = client.get(f"{opened}?at=2026-05-04T09:06:01Z", headers={"if-none-match": tag})
    assert same.status_code == 304
    assert same.content == b""
    assert client.get(f"{opened}?at={READY_AT}&units=us", headers={"if-none-match": tag}).status_code == 200
    send(client, opened, [seen("area_clear", "09:05", "somebody-came", clear=False)])
    changed = client.get(f"{opened}?at={READY_AT}", headers={"if-none-match": tag})
    assert changed.status_code == 200
    assert changed.json()["verdict"]["results"]["status"] == "blocked"


def test_what_was_told_is_kept_once_for_each_change(client: Client, opened: str) -> None:
    for _ in range(3):
        verdict(client, opened, "")
    send(client, opened, by_the_book())
    for _ in range(3):
        verdict(client, opened, "")
    verdict(client, opened)  # asked for another instant: that is no telling
    told = client.get(f"{opened}/verdicts").json()["verdicts"]
    assert [t["observation_count"] for t in told] == [0, len(by_the_book())]
    assert all(t["sent_to"] == t["told_to"] == "local" and t["sent_at"] == t["told_at"] for t in told)
    assert all(t["results"]["status"] == t["status"] for t in told)
    page = client.get(f"{opened}/verdicts?page_size=1").json()
    rest = client.get(f"{opened}/verdicts?page_size=1&page_token={page['next_page_token']}").json()
    assert [*page["verdicts"], *rest["verdicts"]] == told


@pytest.mark.parametrize("token", ["nonsense!", "w7bDtg==", "MTIzNDU2Nzg5MDEyMzQ1Njc4OTAxMjM=", "AA=="])
def test_a_foreign_page_token_is_refused(client: Client, opened: str, token: str) -> None:
    for address in (f"{opened}/observations", f"{opened}/verdicts"):
        reply = client.get(f"{address}?page_token={token}")
        assert reply.status_code == 422
        assert reply.json()["errors"][0]["pointer"] == "#/query/page_token"


def many(count: int) -> list[dict[str, Any]]:
    day = by_the_book()
    return [day[n % len(day)] | {"id": f"o{n:05d}"} for n in range(count)]


def test_five_thousand_observations_are_kept_and_judged(client: Client, opened: str) -> None:
    reply = send(client, opened, many(5000))
    assert reply.json()["kept"] == 5000
    assert verdict(client, opened)["observation_count"] == 5000
    over = send(client, opened, [seen("unit_level", "07:02", "one-too-many", ok=True)])
    assert over.status_code == 413
    assert verdict(client, opened)["observation_count"] == 5000


def test_the_reasons_of_a_wrong_batch_are_bounded_and_each_entry_has_one(client: Client, opened: str) -> None:
    good = seen("unit_level", "07:02", "wrong", ok=True)
    wrong = [good | {f"n{place}": 1 for place in range(60)} for _ in range(300)]
    reply = send(client, opened, wrong)
    assert reply.status_code == 200
    reasons = [len(o["errors"]) for o in reply.json()["observations"]]
    assert reasons == [50] * 100 + [1] * 200
    assert reply.json()["refused"] == 300


def test_a_batch_too_long_is_refused(client: Client, opened: str) -> None:
    reply = send(client, opened, many(5001))
    assert reply.status_code == 422
    assert reply.json()["errors"][0]["pointer"] == "#/observations"
    assert send(client, opened, []).status_code == 422
