"""Where a finding of a plan begins, on both sides of its limit: parts of a plan built by hand instead of whole plans.

Limits are those that the finding itself names, or common practice where it says so.
"""

import math
import re
from types import SimpleNamespace as Made
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from quantity import q

from coldwright.contract import Allowed, Notes, Refused, finding, say
from coldwright.contract.quantities import GaugePressure, Length, PressureDifference, kind_of_unit
from coldwright_booking.answer.circuit_names import of_circuit
from coldwright_booking.answer.limits import MOST_LISTED
from coldwright_booking.answer.relief_findings import report_relief
from coldwright_booking.answer.settled import unsettled
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.loop import LoopPlan

KINDS = {
    kind.code: kind
    for kind in (
        finding("transition", "check", "Between laminar and turbulent."),
        finding("velocity_high", "check", "Too fast."),
        finding("relief_would_lift", ("note", "check"), "A valve would lift."),
    )
}


def loop_plan(**parts: Any) -> LoopPlan:
    """A loop of which only these parts are looked at."""
    loop = object.__new__(LoopPlan)
    for name, part in parts.items():
        object.__setattr__(loop, name, part)
    return loop


# --- a doubt about the drop of what lies between headers and machines --------------------------------------------------


def doubtful(between: float, statement: str) -> list[str]:
    """Checks of a loop of 100 kPa that are left, with so many kPa in what headers bring along."""
    notes = Notes(KINDS)
    notes.check("transition", statement)
    notes.check("velocity_high", "supply hose: too fast.")
    drops = {
        "supply hose": 40, "headers to machine": 0.25 * between, "hose from header to machine": 0.75 * between,
        "return hose": 60 - between,
    }  # fmt: skip
    elements = [Made(name=n, pressure_drop=PressureDifference(d, "kPa")) for n, d in drops.items()]
    results = Made(loop_pressure_drop=PressureDifference(100, "kPa"), elements=elements)
    asked: Any = Asked("hydronic.loop", None, results, notes)
    plan: Any = Made(loop=loop_plan(asked=asked))
    return [f.code for f in unsettled(asked, plan).findings]


@pytest.mark.parametrize(("between", "settled"), [(0.1, True), (3.33, True), (3.34, False), (40.0, False)])
def test_a_doubt_of_thirty_percent_is_settled_below_a_hundredth_of_the_loop(between: float, settled: bool) -> None:
    """Common practice: 30 % of 3.333 kPa is 1 kPa, a hundredth of 100 kPa."""
    left = doubtful(between, "hose from header to machine: between laminar and turbulent.")
    assert left == (["velocity_high"] if settled else ["transition", "velocity_high"])


@pytest.mark.parametrize("hose", ["supply hose", "return hose"])
def test_a_doubt_about_the_hose_itself_stays(hose: str) -> None:
    assert "transition" in doubtful(0.1, f"{hose}, hose from header to machine: between laminar and turbulent.")


# --- relief valves -----------------------------------------------------------------------------------------------------


def relief(
    highest: float, *, valves: int = 3, own: bool = False, ratings: tuple[float | None, ...] = (1000, 900)
) -> Any:
    """The finding of valves set to 480 kPa in a loop that reaches so many kPa; the first rating is that of the hose."""
    from msgspec import UNSET

    bears = [UNSET if r is None else GaugePressure(r, "kPa") for r in ratings]
    results = Made(highest_pressure=Made(value=GaugePressure(highest, "kPa")))
    loop = loop_plan(
        asked=Asked("hydronic.loop", None, results, Notes(KINDS)), hose=Made(working_pressure=bears[0]), own_pumps=own,
        mixed=False, site_pump=not own,
    )  # fmt: skip
    machines = [Made(machine=Made(evaporator=Made(working_pressure=one))) for one in bears[1:]]
    filling = Made(
        relief_setting=GaugePressure(480, "kPa"), relief_valves=valves, required=GaugePressure(276, "kPa"), booster=True
    )
    notes, plan = Notes(KINDS), Made(loop=loop, filling=filling, combination=machines)
    report_relief(plan, notes)  # type: ignore[arg-type]
    return notes.findings[0] if notes.findings else None


@pytest.mark.parametrize(("highest", "said"), [(479.0, False), (480.0, False), (480.01, True)])
def test_a_valve_lifts_above_its_setting(highest: float, said: bool) -> None:
    assert (relief(highest) is not None) == said


@pytest.mark.parametrize(("valves", "own", "severity"), [(1, False, "note"), (2, False, "check"), (2, True, "note")])
def test_valves_of_machines_stand_behind_the_sites_pump(valves: int, own: bool, severity: str) -> None:
    """One for the loop, on the suction, and from the second on those of what can be shut off; behind no pump of its own."""
    found = relief(500, valves=valves, own=own)
    assert found.severity == severity
    assert (found.do or found.resolve).startswith("Fit them" if severity == "check" else "Keep them")


@pytest.mark.parametrize(
    ("highest", "ratings", "words"),
    [
        (540.0, (1000, 900), "or valves of 600 kPa, within the 900 kPa of the weakest part;"),
        (540.01, (1000, 900), "or valves of 610 kPa, within the 900 kPa of the weakest part;"),
        (540.0, (1000, 600), "or valves of 600 kPa, within the 600 kPa of the weakest part;"),
        (540.0, (599, 900), "no valve of 600 kPa, since the weakest part bears 599 kPa;"),
        (540.0, (None, 900), "within the 900 kPa of the weakest part, as far as ratings are given;"),
        (540.0, (700, None), "within the 700 kPa of the weakest part, as far as ratings are given;"),
        (540.0, (None, None), "or valves of 600 kPa, if hose and machine bear that;"),
    ],
)
def test_a_higher_setting_keeps_a_tenth_of_room_and_what_the_weakest_bears(
    highest: float, ratings: tuple[float | None, ...], words: str
) -> None:
    """A tenth of the setting above what the pump makes, to the next 10 kPa: common practice."""
    found = relief(highest, ratings=ratings)
    assert words in found.do


# --- lifting -------------------------------------------------------------------------------------------------------------


def test_the_angle_of_slings_is_that_at_which_they_hang(answer_of: Any) -> None:
    """Geometry: the hook stands above the centre of gravity, the farthest point is 1.4 m from it."""
    corners = [(x, y) for x in (0.0, 2.8) for y in (0.2, 1.0)]
    points = [{"id": f"{x} {y}", "x": q(x, "m"), "y": q(y, "m"), "z": q(2, "m")} for x, y in corners]
    row = changed(
        machine("large", 330, 1),
        body__lifting_points=points,
        body__centre_of_gravity={"x": q(1.4, "m"), "y": q(0.6, "m"), "z": q(0.9, "m")},
    )
    answer = answer_of("booking.assessment", order(fleet=fleet(row)))
    (asked,) = answer["results"]["asked"]["lifts"]
    above = asked["hook_z"]["value"] - 2
    angle = math.degrees(math.atan2(above, math.hypot(1.4, 0.4)))
    (told,) = (a for a in answer["assumptions"] if a["code"] == "sling_legs")
    assert told["value"] == {"value": pytest.approx(angle, abs=0.01), "unit": "deg"}
    legs = answer["results"]["site"]["lift"][0]["lift"]["legs"]
    assert [leg["angle_from_horizontal"]["value"] for leg in legs] == pytest.approx([angle] * 4, abs=0.01)


# --- order ---------------------------------------------------------------------------------------------------------------


def test_a_mean_load_is_asked_for_between_the_least_and_all(answer_of: Any) -> None:
    with pytest.raises(Refused) as caught:
        answer_of("booking.assessment", order(duty__average_load_fraction=0.3))
    (error,) = caught.value.errors
    assert isinstance(error.allowed, Allowed)
    assert (error.allowed.minimum, error.allowed.maximum) == (0.4, 1)


@pytest.mark.parametrize("hertz", [50, 60])
def test_both_frequencies_are_taken(answer_of: Any, hertz: float) -> None:
    document = order(fleet=fleet(machine("one", 330, 1, frequency=hertz)), supply__frequency=q(hertz, "Hz"))
    assert answer_of("booking.assessment", document)["results"]["machines"]


# --- alternatives --------------------------------------------------------------------------------------------------------


def test_an_alternative_that_a_part_ruled_out_says_what_the_part_said(answer_of: Any) -> None:
    """And no other does."""
    plan = order(fleet=fleet(machine("middle", 150, 4), machine("large", 330, 2)))
    first = answer_of("booking.assessment", plan)["results"]["machines"]
    ruled = [{"machines": [{"type": m["type"], "count": m["count"]} for m in first], "why": "no room for it"}]
    results = answer_of("booking.assessment", plan | {"ruled_out": ruled})["results"]
    assert results["machines"][0]["type"] != first[0]["type"]
    why = {tuple((m["type"], m["count"]) for m in a["machines"]): a["why_not_first"] for a in results["alternatives"]}
    own = tuple((m["type"], m["count"]) for m in first)
    assert why.pop(own) == "no room for it"
    assert why
    assert not any("no room" in text for text in why.values())


@pytest.mark.parametrize("amperes", [30, 2000])
def test_where_every_plan_stops_what_was_ruled_out_before_is_named_too(answer_of: Any, amperes: float) -> None:
    """The plan shown is then one of those that were tried, and is not among the others."""
    ruled = [{"machines": [{"type": "large", "count": 1}], "why": "no room for it"}]
    answer = answer_of("booking.assessment", order(supply__available_current=q(amperes, "A"), ruled_out=ruled))
    said = {f["code"]: f["statement"] for f in answer["findings"]}
    stops = amperes == 30
    assert ("every_plan_stops" in said) == stops
    assert ("first_choice_passed_over" in said) == (not stops)
    text = said["every_plan_stops" if stops else "first_choice_passed_over"]
    assert "no room for it" in text
    shown = " + ".join(f"{m['count']} x {m['type']}" for m in answer["results"]["machines"])
    assert f"{shown}: " not in text


def test_a_list_of_limits_has_room_for_every_limit_of_one_machine() -> None:
    """What is nearest is never cut: a plan of one machine has fewer than twenty."""
    assert MOST_LISTED >= 20


# --- words and questions -------------------------------------------------------------------------------------------------

ONE = fleet(machine("middle", 150, 3))
TRUCK = {"rated_capacity": q(9, "t"), "rated_load_centre": q(0.6, "m")}


def statements(answer: Any, code: str) -> list[str]:
    return [f["statement"] for f in answer["findings"] if f["code"] == code]


@pytest.mark.parametrize("lowest", [0.01, 0.125])
def test_the_least_load_is_named_in_percent(answer_of: Any, lowest: float) -> None:
    answer = answer_of(
        "booking.assessment", order(fleet=fleet(machine("large", 330, 1)), duty__lowest_load_fraction=lowest)
    )
    (said,) = statements(answer, "turndown_not_kept")
    assert f"turns down to {100 * lowest:.3g} % of the load" in said


def test_the_face_to_the_wind_is_the_long_side(answer_of: Any) -> None:
    """Of a box: length times height."""
    answer = answer_of("booking.assessment", order(fleet=fleet(machine("large", 330, 1))))
    (said,) = statements(answer, "for_the_crane_company")
    body = machine("large", 330, 1)["body"]
    face = body["length"]["value"] * body["height"]["value"]
    assert f"{face:.5g} m2 to the wind" in said


@pytest.mark.parametrize(
    ("lift", "given", "unused"),
    [
        ("crane", {"fork_truck": TRUCK}, {"/access/fork_truck"}),
        ("crane", {"rigging_mass": q(90, "kg"), "crane_mass": q(30, "t")}, set()),
        ("fork_truck", {"fork_truck": TRUCK}, set()),
        ("fork_truck", {"fork_truck": TRUCK, "rigging_mass": q(90, "kg")}, {"/access/rigging_mass"}),
        ("roll_off", {"fork_truck": TRUCK, "crane_mass": q(30, "t")}, {"/access/fork_truck", "/access/crane_mass"}),
    ],
)
def test_what_no_lift_uses_is_named(answer_of: Any, lift: str, given: dict[str, Any], unused: set[str]) -> None:
    answer = answer_of("booking.assessment", order(fleet=ONE, access={"lift": lift} | given))
    assert {f["field"] for f in answer["findings"] if f["code"] == "access_not_used"} == unused
    codes = {f["code"] for f in answer["findings"]}
    assert ("fork_truck_not_known" in codes) == (lift == "fork_truck" and "fork_truck" not in given)
    assert ("for_the_crane_company" in codes) == (lift == "crane")


@pytest.mark.parametrize(("practice", "words"), [("nec", "Rent them elsewhere"), ("iec", "Hire them elsewhere")])
def test_what_is_short_is_found_elsewhere_in_the_words_of_the_place(answer_of: Any, practice: str, words: str) -> None:
    hertz = 60 if practice == "nec" else 50
    rows = [r | {"count": 1} if r["kind"] == "whip_check" else r for r in stock()]
    plain = machine("one", 330, 1, voltage=460 if hertz == 60 else 400, frequency=hertz)
    supply = {"source": "site", "voltage": q(480 if hertz == 60 else 400, "V"), "frequency": q(hertz, "Hz")}
    document = order(practice=practice, supply=supply, fleet=fleet(plain, accessories=rows))
    (short,) = (f for f in answer_of("booking.assessment", document)["findings"] if f["code"] == "stock_short")
    assert short["resolve"].startswith(words)


@pytest.mark.parametrize(("practice", "truck"), [("nec", "forklift"), ("iec", "fork truck")])
def test_what_takes_goods_off_is_asked_in_the_words_of_the_place(answer_of: Any, practice: str, truck: str) -> None:
    """Pallets come off by truck, machines as they are lifted."""
    hertz = 60 if practice == "nec" else 50
    plain = machine("one", 330, 1, voltage=460 if hertz == 60 else 400, frequency=hertz)
    supply = {"source": "generator"}
    document = order(practice=practice, supply=supply, fleet=fleet(plain), access={"lift": "roll_off"})
    questions = {x["field"]: x for x in answer_of("booking.assessment", document)["results"]["open_questions"]}
    assert questions["/access/unloading"]["assumed"] == f"{truck} and roll off"
    kinds = [row["kind"] for row in document["fleet"]["accessories"]]
    sized = [f for f in questions if f.startswith("/fleet/accessories/") and f.endswith("/size")]
    assert [kinds[int(field.split("/")[3])] for field in sized] == ["generator"]


WIDE = [changed(machine(f"wide {n}", 150, 2), body__width=q(4.9, "m")) for n in range(12)]
SLIM = changed(machine("slim", 30, 12), body__width=q(0.3, "m"), body__length=q(0.5, "m"))


@pytest.mark.parametrize(
    "document",
    [
        order(fleet=fleet(machine("middle", 150, 3), machine("large", 330, 1)), duty__lowest_load_fraction=0.2),
        order(fleet=fleet(*WIDE, SLIM), preferences="smallest_footprint"),
    ],
)
def test_combinations_that_fail_are_those_of_the_selection(answer_of: Any, document: dict[str, Any]) -> None:
    """With the rules that they break; a limit of ground that no order has is none of them."""
    results = answer_of("booking.assessment", document)["results"]
    alone = answer_of("refrigeration.selection", results["asked"]["selection"])["results"]
    rejected = [(r["units"], [f for f in r["failed"] if f != "footprint_available"]) for r in alone["rejected"]]
    listed = [({m["type"]: m["count"] for m in r["machines"]}, r["failed"]) for r in results["failed_combinations"]]
    assert listed == [(units, failed) for units, failed in rejected if failed]
    assert any(r["failed"] for r in alone["rejected"])


@pytest.mark.parametrize(
    ("types", "words"), [("a", "a takes liquid up to 25 degC."), ("ab", "a and b take liquid up to 25 degC.")]
)
def test_one_machine_takes_and_two_take(answer_of: Any, types: str, words: str) -> None:
    rows = [
        changed(machine(name, size, 1), envelope__entering_maximum=q(25, "degC"))
        for name, size in zip(types, (150, 90), strict=False)
    ]
    answer = answer_of(
        "booking.assessment", order(fleet=fleet(*rows), duty__load=q(100 if types == "a" else 190, "kW"))
    )
    (said,) = statements(answer, "loop_above_entering")
    assert said.endswith(words)


# --- units ---------------------------------------------------------------------------------------------------------------


def in_us(value: Any) -> Any:
    """The same order, written in US units."""
    if isinstance(value, dict) and set(value) == {"value", "unit"} and (kind := kind_of_unit(value["unit"])):
        there = kind(float(value["value"]), value["unit"]).in_us()
        return {"value": there.value, "unit": there.unit}
    if isinstance(value, dict):
        return {name: in_us(member) for name, member in value.items()}
    return [in_us(member) for member in value] if isinstance(value, list) else value


@pytest.mark.parametrize(
    "changes",
    [
        {"fluid": {"kind": "water"}, "site__lowest_ambient_temperature": q(-10, "degC"), "critical": True},
        {
            "supply": {"source": "generator"},
            "site__sound_limits": [{"distance": q(30, "m"), "limit_day": q(60, "dBA")}],
        },
    ],
)
def test_an_order_in_us_units_is_answered_in_those_that_are_asked_for(answer_of: Any, changes: dict[str, Any]) -> None:
    """Word by word as the same order in metric ones."""
    document = order(fleet=ONE, **changes)
    metric, us = (answer_of("booking.assessment", one) for one in (document, in_us(document)))
    for name in ("statement", "do", "resolve"):
        assert [f.get(name) for f in us["findings"]] == [f.get(name) for f in metric["findings"]]
    said = [[(x["field"], x["assumed"]) for x in a["results"]["open_questions"]] for a in (metric, us)]
    assert said[0] == said[1]
    assert [x["reason"] for x in us["results"]["pick_list"]] == [x["reason"] for x in metric["results"]["pick_list"]]


@pytest.mark.parametrize(
    ("kilowatts", "count", "offer", "begins"),
    [(60, 3, "breaker_rating", "feed of the panel: By the"), (150, 1, "available_current", "By the")],
)
def test_a_circuit_is_named_where_there_are_two(
    answer_of: Any, kilowatts: float, count: int, offer: str, begins: str
) -> None:
    """The cable of a machine alone needs no name; with the feed of a panel there are two."""
    cables = [
        {
            "kind": "cable",
            "item": f"cable {size}",
            "conductor_size": f"{size} mm2",
            "section_length": q(25, "m"),
            "count": 99,
        }
        for size in (16, 25, 95)
    ]
    rows = [*(row for row in stock() if row["kind"] != "cable"), *cables]
    document = order(
        practice="iec",
        fleet=fleet(machine("one", kilowatts, count, voltage=400, frequency=50), accessories=rows),
        supply={"source": "site", "voltage": q(400, "V"), "frequency": q(50, "Hz"), offer: q(250, "A")},
        duty__load=q(120, "kW"),
    )
    said = statements(answer_of("booking.assessment", document), "touching_single_cores")
    assert said
    assert all(text.startswith(begins) for text in said)


@pytest.mark.parametrize(("most", "moves"), [(9.0, False), (10.0, True)])
def test_more_flow_is_the_cure_as_far_as_the_evaporators_take_it(answer_of: Any, most: float, moves: bool) -> None:
    """Two machines of 11.1 L/s at the most each: 2 K ask for more than both take, 3 K for less than both and more than one."""
    row = changed(machine("middle", 150, 2), envelope__entering_maximum=q(most, "degC"))
    answer = answer_of("booking.assessment", order(fleet=fleet(row)))
    assert answer["results"]["machines"][0]["count"] == 2
    (found,) = (f for f in answer["findings"] if f["code"] == "return_above_entering")
    flows = [float(n) for n in re.findall(r"Move ([\d.]+) L/s or more", found["do"])]
    assert bool(flows) == moves
    both = 2 * row["evaporator"]["flow_maximum"]["value"]
    assert all(both / 2 < flow < both for flow in flows)
    assert ("or agree on a smaller difference" in found["do"]) == (not moves)


def test_what_a_named_circuit_asks_for_keeps_its_values() -> None:
    """They are shown in other units as well: the name is put before the statement, and nothing else is changed."""
    notes = Notes(KINDS)
    notes.check("velocity_high", say("It runs {run}.", run=Length(3, "m")), do=say("Lay {less}.", less=Length(2, "m")))
    (before,), (found,) = notes.findings, of_circuit(notes, "feed of the panel").findings
    assert found.statement == "feed of the panel: It runs 3 m."
    assert found.do == before.do
    assert set(found.said) == set(before.said) > {"statement"}
    assert {key: words for key, words in found.said.items() if key != "statement"} == {
        key: words for key, words in before.said.items() if key != "statement"
    }
