"""What plan and crew sheet say to people: who settles a check, how many, and numbers that do not contradict each other.

Invented orders; each plan is worked out once for all that is looked at.
"""

import json
import re
from functools import cache
from typing import Any, Literal

import pytest
from orders import fleet, machine, order
from quantity import q

from coldwright.contract.page import Occasion, Sheet
from coldwright.contract.people import quantity
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.sheets import lay_out, sources_of
from coldwright.sheets.text import as_text

Json = dict[str, Any]
PAIR, FROST = fleet(machine("middle", 150, 3)), q(-10, "degC")
ORDERS: dict[str, Json] = {
    "on a set": order(
        fleet=PAIR, supply={"source": "generator"}, critical=True, site__lowest_ambient_temperature=FROST,
        load_side__volume=q(2600, "L"),
    ),
    "the site's pump": order(fleet=PAIR, load_side__pump="site", load_side__rated_pressure_drop=q(240, "kPa")),
    "in a hall": order(
        practice="iec",
        site={"name": "Old hall, invented", "design_ambient_temperature": q(38, "degC"), "indoors": True},
        fleet=fleet(machine("hall", 90, 3, voltage=400, frequency=50)),
        supply={"source": "site", "voltage": q(400, "V"), "frequency": q(50, "Hz"), "fault_current": q(9, "kA")},
        duty__load=q(140, "kW"),
    ),
    "one machine": order(
        fleet=fleet(machine("large", 330, 1)), site__lowest_ambient_temperature=FROST, load_side__volume=q(90, "L")
    ),
    "loud": order(fleet=PAIR, site__sound_limits=[{"id": "flats", "distance": q(9, "m"), "limit_day": q(50, "dBA")}]),
    "two sizes": order(
        fleet=fleet(machine("middle", 150, 3), machine("large", 330, 1)), duty__lowest_load_fraction=0.2
    ),
    "little known": order(fleet=PAIR, load_side={}, access={}, supply={"source": "site"}, duty__load=q(265, "kW")),
    "a small loop": order(
        fleet=PAIR, duty__lowest_load_fraction=0.02, load_side__volume=q(10, "L"), routes__hose_length=q(12, "m")
    ),
}  # fmt: skip
STOPPED: dict[str, Json] = {
    "a weak supply": order(
        fleet=fleet(machine("middle", 150, 3), machine("large", 330, 1)), supply__available_current=q(30, "A")
    ),
    "outside a method": order(fleet=PAIR, load_side__rated_flow=q(0.05, "L/s"), load_side__pump="site"),
}


@pytest.fixture(scope="module")
def plans(answer_of: Any) -> Any:
    """`plans(name)`: the answer to one of the orders."""
    return cache(lambda name: answer_of("booking.assessment", (ORDERS | STOPPED)[name]))


@pytest.fixture(scope="module")
def sheets(registry: Registry, plans: Any) -> Any:
    """`sheets(name, "crew")`: a page of it, read as text."""

    def made(name: str, kind: Literal["", "crew"] = "") -> tuple[Sheet, str]:
        local = registry.served["booking.assessment"].local
        occasion = Occasion(revision=1, printed="2027-01-08", sheet=kind)
        page = page_of(local, json.dumps(plans(name)).encode(), occasion)
        assert page is not None
        sheet = lay_out(page, plans(name), sources_of(registry), printed="2027-01-08")
        return sheet, " ".join(as_text(sheet, width=240).split())

    return cache(made)


@pytest.mark.parametrize("name", ORDERS)
def test_whoever_settles_a_check_is_called_as_people_call_him(plans: Any, name: str) -> None:
    for found in plans(name)["findings"]:
        assert "_" not in found.get("cleared_by", ""), found


def test_the_crew_sees_to_the_relief_valve_at_the_sites_pump(plans: Any, sheets: Any) -> None:
    (valve,) = (f for f in plans("the site's pump")["findings"] if f["code"] == "relief_would_lift")
    assert (valve["severity"], valve["cleared_by"]) == ("check", "the site's mechanic")
    sheet, _ = sheets("the site's pump", "crew")
    parts = {part.title: part for part in sheet.sections}
    crew = [task.do for task in parts["Crew on site"].blocks[0].items]
    assert any(text.startswith("Fit them on the suction of the site's pump") for text in crew)


@pytest.mark.parametrize("name", ORDERS)
def test_one_is_not_many(plans: Any, name: str) -> None:
    words = r"\b1 (containers|machines|loads|stops|checks|days|people|boxes|pieces of|runs)\b"
    for found in plans(name)["findings"]:
        for text in (found["statement"], found.get("do") or "", found.get("resolve") or ""):
            assert not re.search(words, text), text


@pytest.mark.parametrize(("name", "containers"), [("on a set", 4), ("one machine", 1)])
def test_containers_hold_what_comes_out(plans: Any, name: str, containers: int) -> None:
    """Of a cubic metre each; the premix tank is one of them."""
    (back,) = (f["statement"] for f in plans(name)["findings"] if f["code"] == "glycol_goes_back")
    litres, count, verb = re.findall(r"At the end ([\d.]+) L .* (\d+) containers? of 1000 L (takes?) it back", back)[0]
    assert int(count) == -(-float(litres) // 1000) == containers
    assert verb == ("takes" if containers == 1 else "take")


def test_a_plan_that_turns_down_is_not_asked_to_look_at_its_least_load_again(answer_of: Any, plans: Any) -> None:
    """The selection alone says that its rule decides; in a plan machines that keep it leave nobody anything to settle."""
    plan = plans("two sizes")
    alone = answer_of("refrigeration.selection", plan["results"]["asked"]["selection"])
    assert [(m["type"], m["count"]) for m in plan["results"]["machines"]] == [("middle", 2)]
    assert "turndown_costs" in {f["code"] for f in alone["findings"]}
    assert "turndown_costs" not in {f["code"] for f in plan["findings"]}


@pytest.mark.parametrize("name", ORDERS)
def test_no_line_begins_with_what_is_missing(sheets: Any, name: str) -> None:
    sheet, text = sheets(name, "crew")
    named = ORDERS[name]["site"].get("name", "")
    hired = "Hire" if ORDERS[name]["practice"] == "iec" else "Rental"
    assert sheet.lead[0] == (f"{named}. " if named else "") + f"{hired} 2027-06-01 to 2027-06-14."
    assert " . " not in text


@pytest.mark.parametrize("name", ORDERS)
def test_the_breaker_of_a_page_is_one_that_can_be_fitted(plans: Any, sheets: Any, name: str) -> None:
    """What must be carried is never said beside a greatest breaker below it: NEC 430.62(B) lets the device of a feeder
    follow larger conductors, as reproduced.
    """
    _, text = sheets(name)
    feeder = plans(name)["results"]["supply"]["service"]["feeder"]
    must, most = feeder["minimum_circuit_ampacity"]["value"], feeder.get("maximum_overcurrent_standard")
    if most is None:
        assert "breaker at most" not in text
    elif most["value"] >= must:
        assert f"breaker at most {most['value']:g} A" in text
        assert f"Largest breaker allowed {most['value']:g} A" in text
    else:
        least = feeder["smallest_workable_standard"]["value"]
        assert least >= must
        assert f"breaker of {least:g} A or more, on conductors that carry it" in text
        assert f"Largest on conductors sized by the load {most['value']:g} A" in text
        assert "breaker at most" not in text


@pytest.mark.parametrize("name", [*ORDERS, *STOPPED])
def test_no_page_speaks_of_fields(sheets: Any, name: str) -> None:
    """A pointer, a calculator by its id, or a word of the answer that nobody on paper can look up."""
    for kind in ("", "crew"):
        _, text = sheets(name, kind)
        assert not re.search(r"(?<![\w.])/[a-z_]+\b", text)
        assert not re.findall(r"\b(?:electrical|hydronic|refrigeration|site|readiness)\.[a-z_]+", text)
        assert "limits nearest" not in text
        assert "open questions names" not in text


def test_what_could_turn_a_plan_is_named_in_words(plans: Any, sheets: Any) -> None:
    _, text = sheets("little known")
    fields = [x["field"] for x in plans("little known")["results"]["open_questions"] if x.get("decides")]
    words = ", ".join(" ".join(re.split(r"[_/]+", field)).strip() for field in fields)
    assert len(fields) > 2
    assert f"The answers to {words} could turn this plan." in text


def test_each_interruption_has_its_own_time(plans: Any, sheets: Any) -> None:
    _, text = sheets("on a set")
    stops = plans("on a set")["results"]["restart"]["interruptions"]
    assert len(stops) > 1
    for stop in stops:
        (told,) = re.findall(rf"{stop['name']}: cold for (\d+) (s|min)\b", text)
        assert float(told[0]) * (60 if told[1] == "min" else 1) == pytest.approx(
            60 * stop["holds"]["value"], abs=30 if told[1] == "min" else 1
        )


@pytest.mark.parametrize("name", ORDERS)
def test_the_nearest_limit_is_said_on_its_side(plans: Any, sheets: Any, name: str) -> None:
    _, text = sheets(name)
    first = plans(name)["results"]["limits_nearest"][0]
    room = first["headroom"]["value"] if "headroom" in first else 100 * first["headroom_fraction"]
    unit = {"dB": "dB", "K": "K"}.get(first.get("headroom", {}).get("unit", ""), "%")
    words = f"{room:.1f} {unit} left" if room >= 0 else f"beyond it by {-room:.1f} {unit}"
    assert f"Nearest: {first['what']}, {words}" in text
    assert (name == "loud") == (room < 0)


@pytest.mark.parametrize("name", ORDERS)
def test_filling_takes_as_long_as_its_step(plans: Any, sheets: Any, name: str) -> None:
    """The water that is left beside the antifreeze, through the tap."""
    results = plans(name)["results"]
    (step,) = (s for s in results["arrival_plan"]["steps"] if s["id"] == "fill_loop")
    mixture = results["fluid"].get("antifreeze")
    water = mixture["water_volume"] if mixture else results["fill"]["total_volume"]
    assert step["duration"]["value"] == pytest.approx(water["value"] / 0.8 / 60, rel=1e-6)
    assert f"Time to fill {quantity(step['duration'])} " in sheets(name)[1]


def test_a_buffer_is_counted_with_its_hose(plans: Any) -> None:
    (said,) = (f["statement"] for f in plans("a small loop")["findings"] if f["code"] == "buffer_added")
    results = plans("a small loop")["results"]
    (line,) = (x for x in results["pick_list"] if x["kind"] == "buffer_vessel")
    assert f"with {line['count']} x {line['item']} and the hose to it, " in said
    held, least, total = (float(x) for x in re.findall(r"([\d.]+) L", said))
    assert held < least <= total == pytest.approx(results["fill"]["total_volume"]["value"], rel=1e-4)


def some(count: int, one: str) -> str:
    return f"{count} {one}" + ("" if count == 1 else "s")


@pytest.mark.parametrize("name", ORDERS)
def test_the_head_of_a_plan_counts_what_stands_below(plans: Any, sheets: Any, name: str) -> None:
    """Stops, checks, notes and questions as the answer has them; combinations of machines beside this one."""
    answer, (_, text) = plans(name), sheets(name)
    of = {s: sum(f["severity"] == s for f in answer["findings"]) for s in ("stop", "check", "note")}
    tally = ", ".join(some(count, s) for s, count in of.items() if count)
    questions = some(len(answer["results"]["open_questions"]), "open question")
    assert f"{tally}, {questions}. " in text
    assert ("OK subject to " in text) == (of["stop"] == 0 < of["check"])
    others, failed = (len(answer["results"][k]) for k in ("alternatives", "failed_combinations"))
    if others:
        assert f"{others} also suitable" in text
    words = f"{failed} with enough capacity {'breaks' if failed == 1 else 'break'} a rule"
    assert (words in text) == bool(failed)
    assert ("with enough capacity" in text) == bool(failed)


def test_one_combination_breaks_a_rule(plans: Any, sheets: Any) -> None:
    assert len(plans("two sizes")["results"]["failed_combinations"]) == 1
    assert "1 with enough capacity breaks a rule" in sheets("two sizes")[1]
