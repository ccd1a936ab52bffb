"""What a change of an order changes, found again by comparing two plans that were asked for one by one.

Derived: differences of two answers of `booking.assessment`, counted and compared here anew. The orders are invented.
"""

from collections import Counter
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from plans_anew import Json
from quantity import q

pytestmark = pytest.mark.check

FLATS = {"id": "flats", "distance": q(60, "m"), "limit_day": q(62, "dBA")}
PLANT = order(fleet=fleet(machine("middle", 150, 6)), site__sound_limits=[FLATS])
SLINGS = {"kind": "other", "item": "sling set, 4 legs", "count": 2}
PAIRS: dict[str, tuple[Json, Json]] = {
    "the same": (PLANT, PLANT),
    "more load": (PLANT, changed(PLANT, duty__load=q(500, "kW"))),
    "a hair more load": (PLANT, changed(PLANT, duty__load=q(200.0004, "kW"))),
    "hotter": (PLANT, changed(PLANT, site__design_ambient_temperature=q(45, "degC"))),
    "cold": (order(), changed(order(), site__lowest_ambient_temperature=q(-12, "degC"))),
    "on a set": (PLANT, changed(PLANT, supply={"source": "generator"}, load_side__fast_valve_closing_time=q(1, "s"))),
    "too much": (PLANT, changed(PLANT, duty__load=q(9000, "kW"))),
    "another item": (
        changed(PLANT, fleet=fleet(machine("middle", 150, 6), accessories=[*stock(), SLINGS])),
        PLANT,
    ),
}  # fmt: skip
RANK = ["acceptable", "conditional", "unacceptable"]


def outcome_of(answer: Json) -> str:
    severities = {f["severity"] for f in answer["findings"]}
    return "unacceptable" if "stop" in severities else "conditional" if "check" in severities else "acceptable"


def counted(answer: Json) -> dict[tuple[str, str], int]:
    counts: Counter[tuple[str, str]] = Counter()
    for line in answer["results"]["pick_list"]:
        counts[line["item"], line["kind"]] += line["count"]
    return dict(counts)


def room(entry: Json) -> float:
    return float(entry["headroom"]["value"] if "headroom" in entry else entry["headroom_fraction"])


def key(finding: Json) -> tuple[Any, ...]:
    return tuple(finding.get(k) for k in ("calculator", "code", "severity", "field"))


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("pair", list(PAIRS))
def test_a_change_is_the_difference_of_two_plans(answer_of: Any, pair: str, units: str) -> None:
    before, after = PAIRS[pair]
    answer = answer_of("booking.change", {"before": before, "after": after}, units=units)
    told = answer["results"]
    old, new = (answer_of("booking.assessment", document, units=units) for document in (before, after))
    assert (told["outcome_before"], told["outcome_after"]) == (outcome_of(old), outcome_of(new))
    codes = {f["code"] for f in answer["findings"]}
    if outcome_of(new) != "acceptable":
        worse = RANK.index(outcome_of(new)) > RANK.index(outcome_of(old))
        assert f"{'becomes' if worse else 'stays'}_{outcome_of(new)}" in codes
    machines = [{m["type"]: m["count"] for m in plan["results"]["machines"]} for plan in (old, new)]
    types = {t for m in machines for t in m if machines[0].get(t, 0) != machines[1].get(t, 0)}
    assert {m["type"]: (m["before"], m["after"]) for m in told["machines"]} == {
        t: (machines[0].get(t, 0), machines[1].get(t, 0)) for t in types
    }
    assert ("other_machines" in codes) == bool(types)
    was, are = counted(old), counted(new)
    moved = {k: (was.get(k, 0), are.get(k, 0)) for k in was.keys() | are.keys() if was.get(k, 0) != are.get(k, 0)}
    assert ("nothing_to_load_changes" in codes) == (not moved)
    for name, wanted in (
        ("added", {k for k, (a, b) in moved.items() if a == 0}),
        ("removed", {k for k, (a, b) in moved.items() if b == 0}),
        ("changed", {k for k, (a, b) in moved.items() if a and b}),
    ):
        listed = {(c["item"], c["kind"]): (c["before"], c["after"]) for c in told[f"pick_list_{name}"]}
        assert listed == {k: moved[k] for k in wanted}
    limits_of = [{x["what"]: x for x in plan["results"]["limits_nearest"]} for plan in (old, new)]
    names = limits_of[0].keys() | limits_of[1].keys()
    moving = {x["what"]: x for x in told["limits_moved"]}
    for what in names:
        a, b = (limits.get(what) for limits in limits_of)
        same = a is not None and b is not None and max(abs(a["value"] - b["value"]), abs(room(a) - room(b))) < 1e-7
        far = a is None or b is None or max(abs(a["value"] - b["value"]), abs(room(a) - room(b))) > 2e-5
        if same:
            assert what not in moving
        elif far:
            entry = moving[what]
            for side, limits in zip(("before", "after"), limits_of, strict=True):
                assert (f"value_{side}" in entry) == (what in limits)
                if what in limits:
                    limit = limits[what]
                    assert entry[f"value_{side}"] == pytest.approx(limit["value"], rel=1e-9)
                    assert entry[f"headroom_{side}"] == pytest.approx(room(limit), rel=1e-9, abs=1e-12)
                    assert entry["unit"] == limit["unit"]
    gone, come = ({key(f) for f in plan["findings"]} for plan in (old, new))
    assert {key(f) for f in told["findings_appeared"]} == come - gone
    assert {key(f) for f in told["findings_cleared"]} == gone - come
    asked = [{x["field"] for x in plan["results"]["open_questions"]} for plan in (old, new)]
    assert set(told["questions_opened"]) == asked[1] - asked[0]
    assert set(told["questions_answered"]) == asked[0] - asked[1]
    for name in ("design_load", "cold_water"):
        for side, plan in (("before", old), ("after", new)):
            field = name if name == "design_load" else "cold_water_after"
            if field in plan["results"]:
                assert told[f"{name}_{side}"] == plan["results"][field]


FIELDS: list[tuple[Json, list[str]]] = [
    ({"duty__load": q(0.2, "MW")}, []),
    ({"duty__load": q(201, "kW")}, ["/duty/load"]),
    ({"site__sound_limits": [FLATS | {"distance": q(61, "m")}]}, ["/site/sound_limits/0/distance"]),
    ({"site__sound_limits": None}, ["/site/sound_limits"]),
    ({"critical": True, "practice": "iec"}, ["/practice", "/critical"]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "fields"), FIELDS)
def test_fields_that_differ_are_named(answer_of: Any, changes: Json, fields: list[str]) -> None:
    """A quantity in another unit is no change; a list that is longer or shorter counts as a whole."""
    told = answer_of("booking.change", {"before": PLANT, "after": changed(PLANT, **changes)})["results"]
    assert sorted(told["fields_changed"]) == sorted(fields)
