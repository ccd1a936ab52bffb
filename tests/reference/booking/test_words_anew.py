"""Sentences of a plan beside the numbers that they speak of: alternatives, working, relief valves, questions, cost.

Derived. What counts as the same (1 %) and how much of a list is named (8) is common practice, no source.
"""

import math
import re
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from plans_anew import Plan, close, si
from quantity import q

pytestmark = pytest.mark.check


def ground_of(plan: Plan, counts: dict[str, int]) -> float:
    rows = {r["type"]: r["body"] for r in plan.order["fleet"]["machines"]}
    return sum(n * si(rows[name]["length"]) * si(rows[name]["width"]) for name, n in counts.items())


def compared(what: str, ours: float, theirs: float) -> tuple[str, str]:
    """Which heading it stands under, and the words."""
    if abs(theirs / ours - 1) < 0.01:
        return "same", f"same {what}"
    side = "more" if theirs > ours else "less"
    return side, f"{abs(theirs / ours - 1):.0%} {side} {what}"


def test_alternatives_say_how_they_compare(plan: Plan) -> None:
    """The next two at the most, each compared by machines, power and ground."""
    entries = plan.results["alternatives"]
    assert len(entries) <= 2
    own = {m["type"]: m["count"] for m in plan.results["machines"]}
    for entry in entries:
        counts = {m["type"]: m["count"] for m in entry["machines"]}
        assert counts != own
        if "instead of" not in entry["why_not_first"] and "power" not in entry["why_not_first"]:
            continue  # ruled out by a stop, whose own words stand there
        told = [compared("power", plan.power, si(entry["power"]))]
        told.append(compared("ground", ground_of(plan, own), ground_of(plan, counts)))
        units = sum(counts.values())
        if units != plan.units:
            words = f"{units} machine{'s' if units > 1 else ''} instead of {plan.units}"
            told.insert(0, ("more" if units > plan.units else "less", words))
        for side in ("same", "more", "less"):
            for words in (w for s, w in told if s == side):
                assert words in entry["why_not_first"].casefold(), (entry["why_not_first"], words)
        order_of = [
            entry["why_not_first"].casefold().index(w)
            for side in ("same", "more", "less")
            for s, w in told
            if s == side
        ]
        assert order_of == sorted(order_of)
        none_more = not any(side == "more" for side, _ in told)
        assert ("no better by" in entry["why_not_first"]) == none_more
        assert ("but" in entry["why_not_first"]) == (not none_more and any(side == "same" for side, _ in told))
    if (
        plan.order.get("preferences", "fewest_machines") == "fewest_machines"
        and len(plan.order["fleet"]["machines"]) > 2
    ):
        assert len(entries) == 2


def test_working_of_load_and_capacity(plan: Plan) -> None:
    """The parts in kW, and counts times capacities."""
    lines = {line["symbol"]: line for line in plan.working}
    load = plan.results["load"]
    parts = [si(load[p]) / 1000 for p in ("net", "hose_heat", "pump_heat")]
    told = [float(x) for x in re.findall(r"[\d.]+(?:e[+-]\d+)?", lines["Q"]["expression"].partition(" kW")[0])]
    assert told == pytest.approx(parts, rel=1e-3)
    assert lines["sum Q"]["value"] == close(plan.capacity / 1000)
    terms = re.findall(r"(\d+) x ([\d.]+) kW", lines["sum Q"]["expression"])
    assert sum(int(n) * float(each) for n, each in terms) == pytest.approx(plan.capacity / 1000, rel=1e-3)


def test_area_that_is_asked_for_holds_the_least(plan: Plan) -> None:
    """To the next centimetre."""
    questions = {x["field"]: x["assumed"] for x in plan.results["open_questions"]}
    if "/site/area" not in questions:
        return
    least = plan.results["site"]["placement"]["least_area"]
    told = [float(x) for x in re.findall(r"([\d.]+) m\b", questions["/site/area"])]
    assert told == pytest.approx([math.ceil(100 * si(least[s]) - 1e-6) / 100 for s in ("length", "width")])


def test_relief_valves_that_would_lift_are_said_with_both_pressures(plan: Plan) -> None:
    setting_line = next(x for x in plan.results["pick_list"] if x["item"] == "relief valve")
    setting = float(re.findall(r"set to ([\d,.]+) kPa", setting_line["reason"])[0].replace(",", ""))
    highest = si(plan.loop["highest_pressure"]["value"]) / 1000
    said = [f for f in plan.findings if f["code"] == "relief_would_lift"]
    assert bool(said) == (highest > setting * (1 + 1e-9))
    for found in said:
        pressures = [float(x.replace(",", "")) for x in re.findall(r"([\d,.]+) kPa", found["statement"])]
        assert pressures == pytest.approx([setting, highest], rel=1e-3)
        cures = found.get("resolve") or found["do"]
        higher = 10 * math.ceil(highest / 0.9 / 10 - 1e-9)
        hose = next(x for x in plan.order["fleet"]["accessories"] if x["item"] == plan.loop["hose_item"])
        weakest = (
            min(si(hose["working_pressure"]), *(si(r["evaporator"]["working_pressure"]) for r, _, _ in plan.picked))
            / 1000
        )
        told = [float(x.replace(",", "")) for x in re.findall(r"([\d,.]+) kPa", cures)]
        assert told == pytest.approx([si(plan.results["fill_pressure"]) / 1000, higher, weakest], rel=1e-3)
        assert ("within the" in cures) == (higher <= weakest * (1 + 1e-9))
        assert ("no valve of" in cures) == (higher > weakest * (1 + 1e-9))
        own = plan.loop["pump_owner"] == "machine"
        assert ("the pump's suction" in cures) == own
        assert (found["severity"] == "check") == (setting_line["count"] > 1 and not own)


def test_a_long_list_of_what_has_no_price_is_cut_at_eight(answer_of: Any) -> None:
    """The rest is counted."""
    usd = {"currency": "USD"}
    rows = [row | {"hire_rate": usd | {"value": 1, "per": "day"}} for row in stock()]
    plan = order(fleet=fleet(machine("large", 330, 1), accessories=rows), rates={"crew_hour": usd | {"value": "50.00"}})
    answer = answer_of("booking.assessment", plan)
    names = list(dict.fromkeys(x["item"] for x in answer["results"]["cost"]["not_priced"]))
    (found,) = [f for f in answer["findings"] if f["code"] == "not_all_priced"]
    listed = found["statement"].partition(": ")[2].removesuffix(".")
    for name in names[:8]:
        assert name in listed
    rest = len(names) - 8
    assert rest > 0
    assert listed.endswith(f" and {rest} more")
    assert all(name not in listed for name in names[8:])


@pytest.mark.parametrize("count", [1, 8, 9, 10])
def test_a_long_list_of_what_was_ruled_out_is_cut_at_eight(answer_of: Any, count: int) -> None:
    ruled = [
        {
            "machines": [{"type": "small", "count": n % 4 + 1}, {"type": "middle", "count": n // 4 + 1}],
            "why": f"reason {n}",
        }
        for n in range(count)
    ]
    answer = answer_of("booking.assessment", order(ruled_out=ruled, duty__load=q(300, "kW")))
    (found,) = [f for f in answer["findings"] if f["code"] == "first_choice_passed_over"]
    told = re.findall(r"reason (\d+)", found["statement"])
    assert [int(n) for n in told] == list(range(min(count, 8)))
    more = re.findall(r"and (\d+) more", found["statement"])
    assert [int(n) for n in more] == ([count - 8] if count > 8 else [])


@pytest.mark.parametrize("litres", [200, 450, 900, 1400])
def test_how_often_a_set_is_filled(answer_of: Any, litres: float) -> None:
    """By hand: the hire is 14 days of 24 h; every so many hours is so many times a day; at night where it is below 12 h."""
    rows = [r | {"tank_volume": q(litres, "L")} if r["kind"] == "generator" else r for r in stock()]
    document = order(supply={"source": "generator"}, fleet=fleet(machine("only", 250, 2), accessories=rows))
    answer = answer_of("booking.assessment", document)
    told = answer["results"]["supply"]["generator"]
    (found,) = [f for f in answer["findings"] if f["code"] == "refuelling_rota"]
    filling, every = (si(told[k]) / 3600 for k in ("time_per_fill", "refuel_interval"))
    assert "the set runs for 336 h" in found["statement"]
    assert f"A full tank lasts {filling:.4g}"[:21] in found["statement"]
    assert ("at night too" in found["statement"]) == (every < 12)
    if every < 12:
        (times,) = re.findall(r"([\d.]+) times a day", found["statement"])
        assert float(times) == pytest.approx(24 / every, rel=0.06)


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0.0"), (0.04, "0.0"), (0.06, "0.1"), (-0.04, "-0.04"), (-0.05, "-0.05"), (-0.052, "-0.1"), (12.34, "12.3")],
)  # fmt: skip
def test_what_lies_beyond_a_limit_keeps_its_digit(value: float, words: str) -> None:
    """A minus never stands before 0.0: that is no number; percent of a share, K or dB as they are."""
    from coldwright_booking.answer.limits import excess, room
    from coldwright_booking.answer.results import Headroom, NearLimit

    share = NearLimit(what="x", value=1, limit=1, unit="1", headroom_fraction=value / 100, calculator="site.ground")
    level = NearLimit(
        what="x", value=1, limit=1, unit="dBA", headroom=Headroom(value=value, unit="dB"), calculator="site.sound"
    )
    assert room(share) == f"{words} %"
    assert room(level) == f"{words} dB"
    assert excess(level) == f"{words.removeprefix('-')} dB"


def test_what_is_assumed_is_what_was_used(plan: Plan) -> None:
    """Each number of an assumption beside the question that it went into."""
    told = {code: a.get("value") for code, a in plan.assumed.items()}
    if "sling_legs" in told:
        row, lift = next(
            (r, a) for (r, _, _), a in zip(plan.picked, plan.asked["lifts"], strict=False) if "hook_z" in a
        )
        points, centre = row["body"]["lifting_points"], row["body"]["centre_of_gravity"]
        reach = max(math.hypot(si(p["x"]) - si(centre["x"]), si(p["y"]) - si(centre["y"])) for p in points)
        above = si(lift["hook_z"]) - max(si(p["z"]) for p in points)
        assert told["sling_legs"] == {
            "value": pytest.approx(math.degrees(math.atan2(above, reach)), abs=0.1),
            "unit": "deg",
        }
    assert ("shape_of_vessels" in told) == (plan.buffers > 0)
    if plan.buffers:
        (vessel,) = [x for x in plan.asked["condensation"]["surfaces"] if "area" in x]
        row = next(x for x in plan.order["fleet"]["accessories"] if x["item"] == vessel["name"])
        ratio = told["shape_of_vessels"]  # height over width of the cylinders whose walls and ends sweat
        across = (4 * si(row["volume"]) / (ratio * math.pi)) ** (1 / 3)
        assert si(vessel["area"]) == close(plan.vessels * math.pi * across**2 * (ratio + 0.5))
    assert ("flow_as_cold_as_it_runs" in told) == (not plan.water)
    if not plan.water:
        assert "flow at 10 degC" in plan.assumed["flow_as_cold_as_it_runs"]["statement"].replace("°C", "degC")
    assert ("source_angle" in told) == ("fault_current" in plan.order["supply"] and not plan.on_set)
    if "source_angle" in told and "transformer" not in plan.results["supply"]:
        assert all(f["source"]["x_over_r"] == told["source_angle"] for f in plan.asked["faults"])
    assert ("machines_set_up_in_turn" in told) == (plan.units > 1)
    if plan.units > 1:
        assert told["machines_set_up_in_turn"] == plan.units
        assert f"the {plan.units} machines" in plan.assumed["machines_set_up_in_turn"]["statement"]
    assert ("loss_of_headers" in told) == (plan.work["headers_at_machines"] > 0)
    hoses = [x for x in plan.asked["load"]["loads"] if x["kind"] == "hose"]
    assert all(si(x["outside_diameter"]) == close(told["hose_wall"] * si(x["inside_diameter"])) for x in hoses)
    if "surge" in plan.asked:
        assert told["hose_wave_speed"] == plan.asked["surge"]["segments"][0]["wave_speed"]
    if "antifreeze_charging" in told:
        litres = si(plan.results["fluid"]["antifreeze"]["concentrate_volume"]) / si(told["antifreeze_charging"])
        assert si(plan.asked["procedure"]["antifreeze_duration"]) == close(600 + litres)
    for name, told_by in (("usual_difference", "temperature_difference"),):
        if name in told:
            assert si(told[name]) == close(si(plan.asked["load"][told_by]))


def test_slings_are_rated_for_the_hardest_pull(plan: Plan) -> None:
    """In steps of half a tonne: common practice."""
    lifts = [x["lift"] for x in plan.results["site"].get("lift", [])]
    pulls = [si(x["required_leg_rated_load"]) / 1000 for x in lifts if "required_leg_rated_load" in x and x.get("legs")]
    lines = [x["item"] for x in plan.results["pick_list"] if x["item"].startswith("sling set")]
    assert bool(lines) == bool(pulls)
    for item in lines:
        legs, rated = re.findall(r"(\d+) legs of ([\d.]+) t ", item)[0]
        assert float(rated) == 0.5 * math.ceil(max(pulls) / 0.5 - 1e-9)
        assert int(legs) == max(len(x["legs"]) for x in lifts if x.get("legs"))
