"""Parts of strangers in a plan: their order by need, their lines against the stock, and another combination where one stops."""

import asyncio
import json
from collections.abc import Iterator
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import pytest
from distributions import entry_points_in, install
from joining_plugins import PACKAGES
from msgspec import Raw

from coldwright.bulk.needs import all_served, needs_of, served_for
from coldwright.conformance import check_plugin
from coldwright.conformance.suite import lookup_with
from coldwright.contract import ENTRY_POINT_GROUP, Plugin
from coldwright.engine import Engine
from coldwright.engine.outcome import Evaluated
from coldwright.engine.parts import MOST_BYTES, in_turn, question_of
from coldwright.registry import Registry

DEMO = Path(__file__).parents[2] / "deploy" / "demo"


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Registry, Engine]]:
    site = tmp_path_factory.mktemp("site")
    for name, code in PACKAGES.items():
        install(site, f"coldwright-{name}", {name: code}, {name: f"{name}:plugin"})
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(site))
        registry = Registry([*entry_points(group=ENTRY_POINT_GROUP), *entry_points_in(site)])
        assert [f.reason for f in registry.found if f.distribution != "coldwright"] == [""] * len(PACKAGES)
        engine = Engine(registry, "inline")
        yield registry, engine
        engine.stop()


def order(customer: str = "", **more: Any) -> dict[str, Any]:
    made: dict[str, Any] = json.loads((DEMO / "order-comfort.json").read_text())
    made.pop("fleet_id", None)
    return made | {"fleet": json.loads((DEMO / "fleet.json").read_text()), "customer": customer} | more


def plan_of(engine: tuple[Registry, Engine], given: dict[str, Any], role: Any = "booking") -> dict[str, Any]:
    registry, asks = engine
    answer: dict[str, Any] = json.loads(
        asks.evaluate_now(registry.needed(role), json.dumps(given).encode(), "metric").body
    )
    return answer


@pytest.fixture(scope="module")
def plain(engine: tuple[Registry, Engine]) -> dict[str, Any]:
    return plan_of(engine, order())


def counts(plan: dict[str, Any]) -> dict[str, int]:
    return {m["type"]: m["count"] for m in plan["results"]["machines"]}


def blocks(plan: dict[str, Any]) -> dict[str, Any]:
    return {p["calculator"]: p["block"] for p in plan["results"]["parts"]}


def test_each_is_asked_after_those_whose_blocks_it_takes(plain: dict[str, Any]) -> None:
    many = sum(counts(plain).values())
    assert list(blocks(plain)) == ["stock.lines", "zlimit.limit", "after.twice", "again.twice"]
    assert blocks(plain)["after.twice"] == {"machine_count": 2 * many}
    assert blocks(plain)["again.twice"] == {"machine_count": 4 * many}


def test_a_part_is_sent_no_more_of_the_order_than_it_names(
    engine: tuple[Registry, Engine], plain: dict[str, Any]
) -> None:
    """The order has the whole fleet; a part that reads who hires gets that, and its block's reader the block."""
    known = {
        name: Raw(json.dumps(value).encode()) for name, value in {**plain["results"], "order": order("who")}.items()
    }
    asked = {id_: question_of(engine[0].served[id_], known, {}) for id_ in ("stock.lines", "zlimit.limit")}
    assert asked["stock.lines"] == b'{"order":{"customer":"who"}}'
    limit = json.loads(asked["zlimit.limit"])
    assert limit == {"machines": plain["results"]["machines"], "order": {"customer": "who"}}


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"results": {"text": "x" * MOST_BYTES}}, "bytes; 4194304 may be part of another"),
        ({"working": [{"symbol": "x"}] * 1001}, "it has 1001 findings, assumptions, cautions and lines of working"),
        ({"findings": [{"code": "odd", "severity": "note", "statement": "y" * 20_000}]}, "are the most"),
        ({"findings": [{"code": "odd", "severity": "note", "statement": "y" * 2000}] * 1000}, ""),
    ],
)
def test_an_answer_that_nobody_could_read_is_no_part_of_a_plan(
    engine: tuple[Registry, Engine], plain: dict[str, Any], more: dict[str, Any], why: str
) -> None:
    """It costs the part its own block, and not the plan, which would be kept and printed with it."""
    part = engine[0].served["stock.lines"]
    asked = in_turn([part], {"order": Raw(json.dumps(order()).encode())})
    next(asked)
    body = {"results": {}, "findings": [], "assumptions": [], "cautions": [], "working": []} | more
    with pytest.raises(StopIteration) as done:
        asked.send([Evaluated(json.dumps(body).encode(), "digest", "acceptable")])
    ((_, answer),) = done.value.value
    assert isinstance(answer, Evaluated) is (why == "")
    assert why in (answer if isinstance(answer, str) else "")


def test_who_need_each_other_and_who_need_nobody_are_told(plain: dict[str, Any]) -> None:
    failed = {f["calculator"]: f["statement"] for f in plain["findings"] if f["code"] == "part_failed"}
    assert sorted(failed) == ["chicken.twice", "egg.twice", "lonely.twice"]
    assert "these need each other's blocks: chicken.twice, egg.twice" in failed["egg.twice"]
    assert "there is no block of nobody.here" in failed["lonely.twice"]


def test_a_line_is_compared_with_what_the_plan_leaves(engine: tuple[Registry, Engine], plain: dict[str, Any]) -> None:
    taken: dict[str, int] = {}
    for line in plain["results"]["pick_list"]:
        if line["from_stock"]:
            taken[line["item"]] = taken.get(line["item"], 0) + line["count"]
    row = next(a for a in order()["fleet"]["accessories"] if 0 < taken.get(a["item"], 0) < a["count"])
    left = row["count"] - taken[row["item"]]
    enough = plan_of(engine, order(f"{row['item']}={left};own meter=3"))
    lines = [line for line in enough["results"]["pick_list"] if line["calculator"] == "stock.lines"]
    assert [(line["from_stock"], line["stock_short"], line["short_by"]) for line in lines] == [
        (True, False, 0),
        (False, False, 0),
    ]
    assert enough["outcome"] == plain["outcome"]
    short = plan_of(engine, order(f"{row['item']}={left};{row['item']}=2"))
    (stop,) = [f for f in short["findings"] if f["severity"] == "stop"]
    assert (stop["code"], stop["calculator"]) == ("part_stock_short", "stock.lines")
    assert stop["statement"] == f"Missing for the period: {row['item']} (2 of 2)."
    assert short["outcome"] == "unacceptable"
    assert counts(short) == counts(plain), "a part that takes nothing but the order says the same of any machines"


def test_where_a_part_stops_the_next_combination_is_tried(
    engine: tuple[Registry, Engine], plain: dict[str, Any]
) -> None:
    unwanted = next(iter(counts(plain)))
    other = plan_of(engine, order(unwanted))
    assert unwanted not in counts(other)
    assert other["outcome"] != "unacceptable"
    assert "ruled_out" not in other["given"] or other["given"]["ruled_out"] == []
    assert other["given"]["customer"] == unwanted
    ruled = other["results"]["ruled_out_by_parts"]
    assert ruled[0]["why"] == f"zlimit.limit: {unwanted} is not wanted here."
    assert {m["type"]: m["count"] for m in ruled[0]["machines"]} == counts(plain)
    (told,) = [f for f in other["findings"] if f["code"] == "first_choice_passed_over"]
    assert f"{unwanted} is not wanted here." in told["statement"]
    assert other["digest"] != plain["digest"]
    assert plan_of(engine, order(unwanted)) == other


def test_where_no_machine_frees_it_the_best_is_shown_with_its_stop(
    engine: tuple[Registry, Engine], plain: dict[str, Any]
) -> None:
    none = plan_of(engine, order("none"))
    assert (none["outcome"], counts(none)) == ("unacceptable", counts(plain))
    stops = [f for f in none["findings"] if f["severity"] == "stop"]
    assert {f["calculator"] for f in stops} == {"zlimit.limit"}
    assert {f["field"] for f in stops} == {"/customer"}
    assert none["results"]["ruled_out_by_parts"] == []


def test_a_caller_may_rule_out_machines_too(engine: tuple[Registry, Engine], plain: dict[str, Any]) -> None:
    out = [{"machines": [{"type": t, "count": n} for t, n in counts(plain).items()], "why": "The customer had those."}]
    other = plan_of(engine, order(ruled_out=out))
    assert counts(other) != counts(plain)
    (told,) = [f for f in other["findings"] if f["code"] == "first_choice_passed_over"]
    assert "The customer had those." in told["statement"]


def test_a_change_compares_the_plans_with_their_parts(engine: tuple[Registry, Engine], plain: dict[str, Any]) -> None:
    unwanted = next(iter(counts(plain)))
    change = plan_of(engine, {"before": order("own meter=3"), "after": order(unwanted)}, "booking_change")
    results = change["results"]
    assert [(p["item"], p["before"]) for p in results["pick_list_removed"] if p["kind"] == "mat"] == [("own meter", 3)]
    assert results["fields_changed"] == ["/customer"]
    assert unwanted in {m["type"] for m in results["machines"] if m["after"] == 0}
    stopped = plan_of(engine, {"before": order(), "after": order("none")}, "booking_change")
    assert (stopped["results"]["outcome_after"], stopped["outcome"]) == ("unacceptable", "unacceptable")
    assert "zlimit.limit" in {f.get("calculator") for f in stopped["results"]["findings_appeared"]}


def test_a_change_that_is_refused_says_where(engine: tuple[Registry, Engine]) -> None:
    from coldwright.contract import Malformed, Refused

    with pytest.raises(Refused) as refused:
        plan_of(
            engine,
            {"before": order(), "after": order(period={"start": "2026-01-02", "end": "2026-01-01"})},
            "booking_change",
        )
    assert all(e.pointer.startswith("#/after/") for e in refused.value.errors)
    registry, asks = engine
    for body in (b"{}", b"[]", b"{", b'{"before": 1, "after": 2}', b"\xff"):
        with pytest.raises((Refused, Malformed)):
            asks.evaluate_now(registry.needed("booking_change"), body, "metric")


def test_both_ways_of_asking_say_the_same(engine: tuple[Registry, Engine], plain: dict[str, Any]) -> None:
    registry, asks = engine
    body = json.dumps(order(next(iter(counts(plain))))).encode()
    served = registry.needed("booking")
    awaited = asyncio.run(asks.evaluate(served, body, "metric")).body
    assert awaited == asks.evaluate_now(served, body, "metric").body
    (batched,) = asks.evaluate_many(served, [body], "metric").answers
    assert not isinstance(batched, Exception)
    assert batched.body == awaited


def test_such_plugins_keep_the_contract(engine: tuple[Registry, Engine]) -> None:
    import importlib

    for name in ("zlimit", "stock", "after"):
        plugin = importlib.import_module(name).plugin
        assert isinstance(plugin, Plugin)
        faults = check_plugin(plugin, distribution=f"coldwright-{name}", lookup=lookup_with(plugin), tries=5)
        assert [str(f) for f in faults] == []


def test_a_job_of_plans_waits_for_whoever_has_the_same_parts(engine: tuple[Registry, Engine]) -> None:
    """Worked off where a part is not installed, a plan would be without its stops."""
    here, without = engine[0], Registry.of_ours()
    for id_ in ("booking.assessment", "booking.change"):
        needs = needs_of(here, here.served[id_])
        assert served_for(here, needs) is here.served[id_]
        assert needs in all_served(here)
        assert served_for(without, needs) is None
        assert needs not in all_served(without)
        assert needs_of(without, without.served[id_]) == needs.partition(" with ")[0]
    light = needs_of(here, here.served["electrical.feeder"])
    assert light == needs_of(without, without.served["electrical.feeder"])
    assert len(f"chunks {needs}") <= 128, "the longest name of a queue"
