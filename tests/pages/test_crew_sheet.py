"""The sheet that a crew carries: both sides of one paper, the plan's own numbers beside blanks, a caution at its step."""

import json
import re
from typing import Any

import pytest
from read_pages import PROGRAMS_WORDS, pages_of, shown_in

from coldwright.contract.page import Bars, Tasks
from coldwright.contract.people import fraction, quantity
from coldwright.contract.quantities import Duration, Mass
from coldwright.sheets import render
from coldwright.sheets.text import as_text
from coldwright_booking.answer.crew_valves import relief_place


def tasks_of(sheet: Any) -> list[Any]:
    """Of the whole sheet."""
    return [
        task for part in sheet.sections for block in part.blocks if isinstance(block, Tasks) for task in block.items
    ]


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_it_is_one_sheet_of_either_paper_in_the_words_of_people(order: str, sheet_for: Any) -> None:
    sheet = sheet_for(order, sheet="crew")
    a4, letter = (render(sheet, "application/pdf", paper) for paper in ("a4", "letter"))
    assert pages_of(a4) <= 2
    assert pages_of(letter) <= 2
    assert b"612 792" in letter
    assert b"612 792" not in a4
    text = as_text(sheet, width=200).replace("_", "").replace(sheet.foot[-1].replace("_", ""), "")
    assert not PROGRAMS_WORDS.search(text), PROGRAMS_WORDS.search(text)
    assert "size: letter" in render(sheet, "text/html", "letter").decode()


def test_its_numbers_are_those_of_the_plan(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, answer in plans.items():
        results = answer["results"]
        text = " ".join(as_text(sheet_for(order, sheet="crew"), width=200).split())
        assert f"Set point {quantity(results['fluid']['leaving_temperature'])}" in text
        assert quantity(results["supply"]["service"]["feeder"]["running_current"]) in text
        assert quantity(results["loop"]["duty_flow"]) in text
        for machine in results["supply"]["service"]["machines"]:
            assert f"(at most {quantity(machine['maximum_overcurrent_standard'])})" in text
        mixture = results["fluid"].get("antifreeze")
        if mixture:
            concentrate, water = quantity(mixture["concentrate_volume"]), quantity(mixture["water_volume"])
            mixed = f"Mix in the tank, {fraction(mixture['volume_fraction'])} by volume"
            assert text.index(mixed) < text.index(f"Concentrate: {concentrate}") < text.index(f"by meter: {water}")
            margin = results["asked"]["procedure"]["configuration"]["freeze_margin"]["value"] / 1.8
            frost = answer["given"]["site"]["lowest_ambient_temperature"]["value"] - 5 / 1.8  # as the start asks it
            most = min(results["fluid"]["leaving_temperature"]["value"] - margin, frost)
            assert most == frost, "the frost of this order rules"
            assert f"must read {most:.1f} °C or colder; planned" in text
            assert "at least 4.4" not in text


def test_the_voltage_beside_the_blanks_is_that_of_the_step(sheet_for: Any, plans: dict[str, Any]) -> None:
    (step,) = (s for s in plans["process"]["results"]["arrival_plan"]["steps"] if s["id"] == "check_phase_and_voltage")
    low, high = map(float, re.findall(r"([\d.]+) V", step["acceptance"]))
    (task,) = (t for t in tasks_of(sheet_for("process", sheet="crew")) if t.do == step["title"])
    rated = float(task.blanks[0].expected.partition(" V within 10 %")[0])
    assert (low, high) == pytest.approx((0.9 * rated, 1.1 * rated))


def test_every_step_has_a_box_in_the_order_of_time_and_few_cautions(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, answer in plans.items():
        steps = answer["results"]["arrival_plan"]["steps"]
        tasks = tasks_of(sheet_for(order, sheet="crew"))
        shown = [t for t in tasks if t.when]
        assert sorted(t.do for t in shown) == sorted(s["title"] for s in steps)
        minutes = [int(t.when.split(":")[0]) * 60 + int(t.when.split(":")[1]) for t in shown]
        assert minutes == sorted(minutes)
        assert 5 <= sum(bool(t.caution) for t in tasks) <= 15


def test_what_could_hurt_stands_beside_its_number(sheet_for: Any, plans: dict[str, Any]) -> None:
    """Practice of the trade: the hook load is not the whole of it, a full vessel gives nothing, a dry pump is kept off."""
    for order, answer in plans.items():
        results, text = answer["results"], " ".join(as_text(sheet_for(order, sheet="crew"), width=300).split())
        lifts = results["asked"].get("lifts", [])
        bare = any(not x["rigging_mass"]["value"] or not x["hook_block_mass"]["value"] for x in lifts)
        assert ("slings, beams and hook block NOT included" in text) == (
            bare and any("hook_load" in x["lift"] for x in results["site"]["lift"])
        )
        assert f"Its precharge {quantity(results['fill']['precharge_pressure'])}, vessel empty" in text
        vessels = [x for x in results["pick_list"] if x["kind"] == "expansion_vessel"]
        listed = ", ".join(f"{x['count']} x {x['item'].removeprefix('expansion vessel ')}" for x in vessels)
        assert listed
        assert listed in text
        hours = results["asked"]["procedure"]["configuration"]["warm_up_duration"]
        assert f"Oil heat {quantity(hours)} without a break" in text
        assert "machine's own stop in, compressors and pump disabled" in text
        for row in results["cable"]["machines"]:
            count = next(m["count"] for m in results["machines"] if m["type"] == row["type"])
            pieces = row["feeder"]["pick_list"]["cable_pieces"]
            several = f"pieces: {pieces} for each of {count} machines, {pieces * count} in all"
            assert (several in text) == (count > 1)


def test_the_plan_names_the_load_that_its_capacity_is_over(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, answer in plans.items():
        text = " ".join(as_text(sheet_for(order), width=300).split())
        gross = quantity(answer["results"]["load"]["gross"])
        assert f"over the load of {gross} with the heat of hoses and pumps" in text
        if "Slow the pumps" in text:
            assert "by their own drives, never by the supply" in text


def test_what_the_order_does_not_give_is_a_blank(sheet_for: Any) -> None:
    shown = shown_in(render(sheet_for("process", sheet="crew"), "text/html"))
    text = as_text(sheet_for("process", sheet="crew"))
    for name in ("Night number of the rental company", "Emergency stop is at", "Contact on site, phone"):
        assert name in shown
        assert f"{name}: ____" in text
    for case in ("Hose bursts", "Flow lost", "Trip", "Power lost, and back"):
        assert case in shown


def test_a_plan_that_has_nothing_to_do_says_so_and_draws_no_empty_part(
    sheet_for: Any, plans: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = {
        k: v
        for k, v in plans["indoor"]["results"].items()
        if k not in ("arrival_plan", "fill", "loop", "supply", "cable")
    }
    monkeypatch.setitem(plans["indoor"], "results", kept | {"machines": [], "asked": {}})
    monkeypatch.setitem(plans["indoor"], "outcome", "unacceptable")
    sheet = sheet_for("indoor", sheet="crew")
    assert sheet.verdict == "DOES NOT GO: the plan has a stop"
    assert not {"Order of work, in hours after arrival", "Machines", "Cable"} & {part.title for part in sheet.sections}
    assert pages_of(render(sheet, "application/pdf")) == 1


def test_the_order_of_work_is_one_that_a_start_accepts(sheet_for: Any, plans: dict[str, Any]) -> None:
    """Pump off while venting, pressure back before it turns; leaks last, at full standing pressure and with it on."""
    for order, answer in plans.items():
        ids = {s["title"]: s["id"] for s in answer["results"]["arrival_plan"]["steps"]}
        shown = [t for t in tasks_of(sheet_for(order, sheet="crew")) if t.when]
        order_of = [ids[t.do] for t in shown]
        rest = order_of[order_of.index("fill_loop") :]
        before_start = [
            "purge_high_point",
            "repressurise",
            "leak_check",
            "start_pump",
            "prove_flow",
            "blow_down_strainer",
        ]
        assert [i for i in rest if i in before_start] == before_start
        titles = {ids[t.do]: t.do for t in shown}
        assert titles["second_purge"].startswith("Stop the pump, then vent the casing and high point")
        again = titles["prove_flow_again"]
        assert (
            again.index("pressure back") < again.index("start the pump") < again.index("prove") < again.index("leaks")
        )
        blank = next(t.blanks[0] for t in shown if ids[t.do] == "blow_down_strainer")
        turnover = answer["results"]["asked"]["procedure"]["configuration"]["loop_turnover_time"]
        assert blank.expected == f"at least {quantity(turnover)}"


def test_plan_and_crew_sheet_say_the_same_time_of_each_step(sheet_for: Any) -> None:
    for order in ("process", "indoor"):
        tasks = {t.do: t.when for t in tasks_of(sheet_for(order, sheet="crew")) if t.when}
        (bars,) = (b for part in sheet_for(order).sections for b in part.blocks if isinstance(b, Bars))
        spans = {span.text: span for lane in bars.lanes for span in lane.spans}
        minutes = {do: int(when.split(":")[0]) * 60 + int(when.split(":")[1]) for do, when in tasks.items()}
        assert {do: round(span.start * 60) for do, span in spans.items()} == minutes
        assert all(span.start <= span.end for span in spans.values())


def test_it_prints_what_the_job_has_and_no_more(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, answer in plans.items():
        text = " ".join(as_text(sheet_for(order, sheet="crew"), width=200).split())
        configuration = answer["results"]["asked"]["procedure"]["configuration"]
        assert ("glycol" in text) == (configuration["fluid_kind"] != "water")
        by_crane = configuration["lifted_by"] == "crane"
        assert ("crane" in text) == ("power lines" in text) == by_crane
        own = answer["results"]["loop"]["pump_owner"] == "machine"
        assert ("on the pump's suction, before valve 1" in text) == own
        evaporator = next(e for e in answer["results"]["loop"]["elements"] if e["name"].startswith("evaporator"))
        assert f"throttle to {quantity(evaporator['pressure_drop'])} drop over evaporator" in text
        assert "Kv" not in text


def test_the_relief_valve_is_where_the_pump_that_runs_adds_nothing() -> None:
    """On the pressure side of the pump a valve for the standing pressure would lift all day."""
    assert "before valve 1" in relief_place("machine")
    assert "site's pump" in relief_place("site")
    assert "valve 1" not in relief_place("site")


def test_what_the_office_decides_has_no_box_and_holds_the_sheet_back(sheet_for: Any, plans: dict[str, Any]) -> None:
    sheet = sheet_for("comfort", sheet="crew")
    parts = {part.title: part for part in sheet.sections}
    office = parts["Office before dispatch"].blocks[0].items
    assert sheet.verdict.startswith(f"NOT RELEASED, {len(office)} for the office. Set point ")
    boxes = [task.do for task in tasks_of(sheet)]
    assert not set(office) & set(boxes)
    (crew,) = (f for f in plans["comfort"]["findings"] if f["code"] == "loop_above_entering")
    assert crew["do"] in boxes
    assert any(line.startswith("No buffer bridges") and "Keep the oil heaters fed" in line for line in office)


def test_a_set_too_lightly_loaded_is_told_what_to_connect(plans: dict[str, Any]) -> None:
    (light,) = (f for f in plans["process"]["findings"] if f["code"] == "light_load")
    listed = [line["item"] for line in plans["process"]["results"]["pick_list"] if "load bank" in line["item"]]
    bank = plans["process"]["results"]["asked"]["generator"]["load_bank_power"]
    assert light["resolve"] == f"Connect the {listed[0]}, set to {quantity(bank)}, or send a smaller set."
    assert "Set too lightly loaded" in light["statement"]


def test_a_buffer_that_is_counted_is_not_asked_for_again(plans: dict[str, Any]) -> None:
    (least,) = (f for f in plans["indoor"]["findings"] if f["code"] == "turndown_not_kept")
    assert "counted already" in least["resolve"]
    assert "Add volume" not in least["resolve"]


def test_a_job_with_a_set_says_who_fills_it_how_often_and_what_its_load_bank_is_set_to(
    sheet_for: Any, plans: dict[str, Any]
) -> None:
    for order, answer in plans.items():
        text = " ".join(as_text(sheet_for(order, sheet="crew"), width=200).split())
        stated = answer["results"]["supply"].get("generator")
        assert ("Who refuels the set" in text) == (stated is not None)
        if stated is not None:
            hours = int(Duration(**stated["refuel_interval"]).to("h"))
            assert f"Refuel every {hours} h " in text, "rounded down: later the tank may be dry"
            assert f"then every {hours} h)" in text
            bank = answer["results"]["asked"]["generator"]["load_bank_power"]
            assert f"Load bank set to {quantity(bank)}" in text
            for step in (
                "Set the generating set down",
                "Ground the generating set",
                "Wire in the load bank",
                "Start the set",
            ):
                assert step in text
            assert "Check oil, coolant and fuel of the set" in text
            assert "Agree who refuels, and when" in text
        fleet = {m["type"]: m for m in answer["given"]["fleet"]["machines"]}
        for machine in answer["results"]["machines"]:
            mass = Mass(**fleet[machine["type"]]["body"]["mass_operating"])
            assert f"weighs {quantity(mass.as_unit('kg'))} ready to run" in text
        assert not re.search(r"[1-9]\d*\.\d{3,} (Hz|mm|L|min|h)\b", text)


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_each_machine_of_a_plant_has_one_sheet_of_its_own(
    order: str, sheet_for: Any, plans: dict[str, dict[str, Any]]
) -> None:
    answer = plans[order]
    types = [m["type"] for m in answer["results"]["machines"] for _ in range(m["count"])]
    serials = tuple((t, f"S-{n}") for n, t in enumerate(types, 1))
    whole = sheet_for(order, sheet="crew", serials=serials)
    for number, type_ in enumerate(types, 1):
        sheet = sheet_for(order, sheet="crew", serials=serials, number=number)
        for paper in ("a4", "letter"):
            assert pages_of(render(sheet, "application/pdf", paper)) <= 2
        if len(types) == 1:
            assert sheet == whole
            continue
        assert f"machine {number} of {len(types)}, {type_} S-{number}" in sheet.title
        text = " ".join(as_text(sheet, width=200).split())
        assert f"S-{number}" in text
        others = {t for t in types if t != type_}
        assert not any(f"{t}: cable" in text or f"drop, evaporator {t}" in text for t in others)
        assert f"{type_}: cable" in text
        steps = [t for t in tasks_of(sheet) if t.when]
        once = [t.do for t in steps if t.who == "once for the plant"]
        assert [t.do for t in steps] == [t.do for t in tasks_of(whole) if t.when]
        assert {"Fill the loop", "Hand over"} <= set(once)
        assert not {"Connect the lines", "Prove the flow", "Start the first compressor"} & set(once)
        assert not any(t.blanks for t in steps if t.who == "once for the plant")


def test_a_plant_of_two_types_gives_each_machine_what_is_its_own(
    sheet_for: Any, plans: dict[str, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two machines where there was one, of two types that the plan tells apart."""
    answer = json.loads(json.dumps(plans["indoor"]))
    results = answer["results"]
    (machine,) = results["machines"]
    old = machine["type"]
    results["machines"] = [machine | {"count": 1}, machine | {"count": 2, "type": "other, invented"}]
    feeders = results["supply"]["service"]["machines"]
    feeders.append(
        feeders[0] | {"machine_id": "other, invented", "minimum_circuit_ampacity": {"value": 77, "unit": "A"}}
    )
    monkeypatch.setitem(plans, "indoor", answer)
    first, third = (as_text(sheet_for("indoor", sheet="crew", number=n), width=200) for n in (1, 3))
    assert f"machine 1 of 3, {old}" in first
    assert "machine 3 of 3, other, invented" in third
    assert "77 A" in third
    assert "77 A" not in first
    assert f"{old}: cable" not in third


@pytest.mark.parametrize("order", ["process", "indoor"])
def test_a_plan_that_does_not_go_gives_nothing_to_follow_and_only_what_must_be_settled(
    order: str, sheet_for: Any, plans: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    goes = {part.title for part in sheet_for(order, sheet="crew").sections}
    monkeypatch.setitem(plans[order], "outcome", "unacceptable")
    sheet = sheet_for(order, sheet="crew")
    left = {"Who and where", "Office before dispatch", "Crew on site"}
    assert {part.title for part in sheet.sections} == goes & left
    assert not any(task.when or task.blanks for task in tasks_of(sheet))
    assert "no work to do by this sheet" in sheet.lead[-1]


def test_a_loop_with_glycol_is_filled_from_the_tank_alone_and_a_strainer_blown_through_a_hose(
    sheet_for: Any, plans: dict[str, Any]
) -> None:
    for order, answer in plans.items():
        ids = {s["title"]: s["id"] for s in answer["results"]["arrival_plan"]["steps"]}
        sheet = sheet_for(order, sheet="crew")
        steps = {ids[t.do]: t for t in tasks_of(sheet) if t.when}
        glycol = answer["results"]["fluid"]["kind"] != "water"
        assert ("never from the tap" in steps["fill_loop"].caution) == glycol
        for step in ("repressurise", "prove_flow_again"):
            assert any("no tap water" in blank.name for blank in steps[step].blanks) == glycol
        assert ("open only to fill, from the tank" in as_text(sheet, width=200)) == glycol
        assert steps["blow_down_strainer"].blanks[-1].name.startswith("slowly, by its valve and a hose, nobody in line")


@pytest.mark.parametrize("count", [8, 9])
@pytest.mark.parametrize("who", ["somebody in the office", "the site's mechanic"])
def test_a_long_list_is_cut_at_eight_and_counted(
    count: int, who: str, sheet_for: Any, plans: dict[str, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stops before checks; notes are settled."""
    answer = json.loads(json.dumps(plans["indoor"]))
    (pattern, *_) = [f for f in answer["findings"] if f["severity"] == "check"]
    made = [
        {k: v for k, v in pattern.items() if k not in ("do", "resolve")}
        | {"statement": f"Thing {n} is open.", "severity": severity, "cleared_by": who}
        for n, severity in enumerate(["check"] * (count - 1) + ["stop"])
    ]
    answer["findings"] = [*made, pattern | {"statement": "A note.", "severity": "note", "resolve": ""}]
    monkeypatch.setitem(plans, "indoor", answer)
    text = " ".join(as_text(sheet_for("indoor", sheet="crew"), width=200).split())
    told = [int(n) for n in re.findall(r"Thing (\d+) is open", text)]
    assert told == [count - 1, *range(min(count, 8) - 1)]
    assert re.findall(r"(\d+) more are in the plan", text) == ([str(count - 8)] if count > 8 else [])
    assert "A note." not in text


@pytest.mark.parametrize("count", [1, 6, 7])
def test_plates_of_a_type_are_read_one_by_one_up_to_six(
    count: int, sheet_for: Any, plans: dict[str, dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = json.loads(json.dumps(plans["indoor"]))
    (machine,) = answer["results"]["machines"]
    (circuit,) = answer["results"]["supply"]["service"]["machines"]
    machine["count"] = circuit["quantity"] = count
    monkeypatch.setitem(plans, "indoor", answer)
    name = circuit["machine_id"]
    blanks = [
        b.name for t in tasks_of(sheet_for("indoor", sheet="crew")) for b in t.blanks if b.name.endswith(": cable")
    ]
    wanted = [name] if count == 1 else [f"{name} {n}" for n in range(1, min(count, 6) + 1)]
    assert blanks == [f"{one}: cable" for one in wanted]
