"""Laws of uncertain time, over every kind of record: less surely timed is never milder, and a failure never goes stale.

Common practice, no source: the definition is that a set with uncertain times is `ready` only if it is for every placement of
every record inside its interval. All data is invented.
"""

import copy
import random
from typing import Any

import msgspec
import pytest
from quantity import q
from start_engine import SEVERITY
from start_engine.book import ASKED, DAY, by_the_book, configurations, seen
from start_engine.random_sets import random_set
from start_engine.sightings import instant
from start_engine.variants import variants

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

BOOKS = dict(configurations())
SOME = [
    "generator-own_pump-mixture",
    pytest.param("transfer_switch-site_pump-evidence", marks=pytest.mark.nightly),
    pytest.param("site-own_pump-water", marks=pytest.mark.nightly),
    "site-pump_never_stops-three_compressors",
]
WIDTHS = (0, 90, 7200)
NAMED = ("lock", "proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock")


def results(request: dict[str, Any]) -> Any:
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def rank(request: dict[str, Any]) -> int:
    return SEVERITY.index(results(request).status)


def asked(name: str, records: list[dict[str, Any]], at: str = ASKED) -> dict[str, Any]:
    return {"configuration": BOOKS[name], "evaluated_at": at, "observations": records}


def every_variant(name: str) -> list[dict[str, Any]]:
    pump = "machine" if BOOKS[name]["pump_mode"] == "own_pump" else "site"
    found: list[Any] = []
    for kind, many in variants(pump).items():
        role = "electrician" if kind in NAMED else ""
        found += [
            seen(kind, "09:05:00", "kim", role, **data) | {"id": f"v{len(found) + n}"} for n, data in enumerate(many)
        ]
    return found


@pytest.mark.parametrize("name", SOME)
def test_any_record_less_surely_timed_is_never_milder(name):
    """Each kind and each thing it may say, beside a start by the book, at growing uncertainty."""
    book = by_the_book(BOOKS[name])
    for record in every_variant(name):
        ranks = [rank(asked(name, [*book, record | {"time_uncertainty": q(width, "s")}])) for width in WIDTHS]
        assert ranks == sorted(ranks), (record, ranks)


@pytest.mark.parametrize("name", SOME)
def test_any_record_of_the_book_less_surely_timed_is_never_milder(name):
    book = by_the_book(BOOKS[name])
    for record in book:
        others = [r for r in book if r is not record]
        ranks = [rank(asked(name, [*others, record | {"time_uncertainty": q(width, "s")}])) for width in WIDTHS]
        assert ranks == sorted(ranks), (record, ranks)


def test_random_sets_less_surely_timed_are_never_milder():
    rng = random.Random(7)
    for seed in range(3000, 3200):
        request = random_set(seed)
        wider = copy.deepcopy(request)
        past = [r for r in wider["observations"] if "device" not in r and _past(r, request["evaluated_at"])]
        chosen = {r["id"] for r in rng.sample(past, min(2, len(past)))}
        for record in past:
            if record["id"] in chosen:
                before = record.get("time_uncertainty", q(0, "s"))["value"]
                record["time_uncertainty"] = q(before + 240, "s")
        statuses = results(request).status, results(wider).status
        if "ended" not in statuses:
            assert SEVERITY.index(statuses[0]) <= SEVERITY.index(statuses[1]), (seed, statuses)


def _past(record: dict[str, Any], evaluated_at: str) -> bool:
    return instant(record["at"]) <= min(instant(evaluated_at), instant(record.get("received_at", evaluated_at)))


@pytest.mark.parametrize("name", SOME)
def test_a_failed_fact_never_becomes_stale(name):
    book = by_the_book(BOOKS[name])
    for record in every_variant(name):
        soon = results(asked(name, [*book, record])).facts
        late = results(asked(name, [*book, record], f"{DAY}22:00:00Z")).facts
        for fact, state in soon.items():
            if state.status == "failed":
                assert late[fact].status == "failed", (record, fact, late[fact].status)


def test_order_and_repetition_change_nothing():
    for seed in range(3300, 3340):
        request = random_set(seed)
        shuffled = random.Random(seed).sample(request["observations"], len(request["observations"]))
        again = request | {"observations": [*shuffled, *shuffled[:4]]}
        assert msgspec.json.encode(results(again)) == msgspec.json.encode(results(request)), seed
