"""The crew sheet of plans of many kinds, each line beside the order and the plan that it was taken from.

Derived: counts, sums and differences worked out anew from the numbers of the plan. What is common practice says so there.
"""

import itertools
import json
import math
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from plans_anew import CASES, Json, Plan, si

from coldwright.contract.page import Blanks, Drawing, Facts, Lines, Occasion, Page, Section, Slot, Table, Task, Tasks
from coldwright.contract.people import quantity
from coldwright.engine.pages import page_of
from coldwright.registry import Registry

pytestmark = pytest.mark.check
ONCE = {
    "start_generator",
    "charge_antifreeze",
    "fill_loop",
    "purge_high_point",
    "repressurise",
    "read_antifreeze",
    "handover",
}
"""Steps of a plant and not of a machine: common practice, no source."""


class Sheet:
    """A page, by its sections."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.parts = {part.title: part for part in page.sections if isinstance(part, Section)}

    def blocks(self, title: str, kind: type) -> list[Any]:
        return [block for block in self.parts[title].blocks if isinstance(block, kind)]

    @property
    def facts(self) -> dict[str, str]:
        return dict(self.blocks("Numbers", Facts)[0].rows)

    @property
    def work(self) -> tuple[Task, ...]:
        tasks: tuple[Task, ...] = self.blocks("Order of work, in hours after arrival", Tasks)[0].items
        return tasks


@pytest.fixture(scope="session")
def sheets(registry: Registry, plans_anew: dict[str, Plan]) -> Any:
    """`sheets(name, ...)`: the crew sheet of one of the plans, for an occasion."""
    local = registry.served["booking.assessment"].local

    @cache
    def made(name: str, number: int = 0, serials: tuple[tuple[str, str], ...] = ()) -> Sheet:
        body = json.dumps(plans_anew[name].answer).encode()
        page = page_of(local, body, Occasion(sheet="crew", number=number, serials=serials))
        assert page is not None
        return Sheet(page)

    return made


@pytest.fixture(params=list(CASES))
def named(request: Any) -> str:
    return str(request.param)


def glycol(plan: Plan) -> bool:
    return not plan.water


def steps_of(plan: Plan) -> dict[str, Json]:
    return {step["title"]: step for step in plan.results["arrival_plan"]["steps"]}


def expected(task: Task, start: str) -> list[str]:
    return [blank.expected for blank in task.blanks if blank.name.startswith(start)]


def test_numbers_of_the_plant(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan, sheet = plans_anew[named], sheets(named)
    told, results = sheet.facts, plan.results
    assert told["Set point"] == quantity({"value": plan.leaving - 273.15, "unit": "degC"})
    assert told["Liquid"] == results["fluid"]["kind"].replace("_", " ")
    assert told["Loop holds"] == quantity(results["fill"]["total_volume"])
    assert told["Flow"] == quantity(results["loop"]["duty_flow"])
    assert told["Hose"].startswith(f"{quantity(results['loop']['hose_inner_diameter'])} bore, {plan.runs} each way")
    assert told["All machines running"] == quantity(results["supply"]["service"]["feeder"]["running_current"])
    assert told["Cold water after arrival"] == quantity(results["cold_water_after"])
    vessels = [x for x in results["pick_list"] if x["kind"] == "expansion_vessel"]
    assert told["Expansion vessels"] == ", ".join(f"{x['count']} x {x['item']}" for x in vessels)
    low = si(results["asked"]["procedure"]["configuration"]["fill_pressure_minimum"]) / 1000
    high = si(results["asked"]["procedure"]["configuration"]["fill_pressure_maximum"]) / 1000
    assert told["Fill, pump off"] == f"{low:.0f} to {high:.0f} kPa"
    assert ("Refuel every" in told) == ("Load bank set to" in told or plan.on_set) == plan.on_set
    who = [blank.name for blank in sheet.blocks("Who and where", Blanks)[0].items]
    assert ("Who refuels the set" in who) == plan.on_set
    assert len(who) == 8 + plan.on_set
    if plan.on_set:
        hours = si(results["supply"]["generator"]["refuel_interval"]) / 3600
        assert told["Refuel every"] == f"{math.floor(hours)} h"
        bank = plan.asked["generator"].get("load_bank_power", {"value": 0})
        assert told.get("Load bank set to", "") == (quantity(bank) if bank["value"] else "")
    own = results["loop"]["pump_owner"] == "machine"
    assert ("before valve 1" in told["Relief valve and vessel"]) == own
    assert ("site's pump" in told["Relief valve and vessel"]) == (not own)


def test_machines_with_what_they_weigh(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan = plans_anew[named]
    lifts = {x["type"]: x["lift"] for x in plan.results["site"].get("lift", [])}
    given = [
        all(x.get(m, {"value": 0})["value"] for m in ("rigging_mass", "hook_block_mass")) for x in plan.asked["lifts"]
    ]
    lines = sheets(named).blocks("Machines", Tasks)[0].items
    assert len(lines) == len(plan.picked)
    for line, (row, count, _) in zip(lines, plan.picked, strict=True):
        weighs = f"{'each ' if count > 1 else ''}weighs {quantity(row['body']['mass_operating'])} ready to run"
        assert line.do.startswith(f"{count} x {row['type']}, {weighs}")
        hook = lifts.get(row["type"], {}).get("hook_load")
        assert ("on the hook" in line.do) == (hook is not None)
        if hook:
            assert quantity(hook["mass"]) in line.do
            assert ("NOT included" in line.do) == (not all(given))
        assert [blank.name for blank in line.blanks] == ["Serial numbers"]
    doors = sheets(named).blocks("Machines", Slot)
    assert bool(doors) == (plan.units > 1)


def test_serial_numbers_that_are_known_leave_no_blank(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan = plans_anew[named]
    all_of_them = tuple((row["type"], f"{row['type']}-{n}") for row, count, _ in plan.picked for n in range(count))
    for serials in (all_of_them, all_of_them[:-1], (*all_of_them, ("another type", "X-9"))):
        known = {name: [s for t, s in serials if t == name] for name in (row["type"] for row, _, _ in plan.picked)}
        lines = sheets(named, 0, serials).blocks("Machines", Tasks)[0].items
        for line, (row, count, _) in zip(lines, plan.picked, strict=True):
            own = known[row["type"]]
            assert line.do.startswith(f"{count} x {row['type']}" + (f": {', '.join(own)}" if own else "") + ",")
            assert bool(line.blanks) == (len(own) < count)
            assert "X-9" not in line.do


def test_cable_in_pieces(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    """Pieces for each machine times machines are those of the pick list, whose reason names the machines; single
    conductors, or sets of four.
    """
    plan = plans_anew[named]
    lines = [line for block in sheets(named).blocks("Cable", Lines) for line in block.items]
    feeders = {f["type"]: f["feeder"] for f in plan.results["cable"]["machines"]}
    assert len(lines) == len(feeders) + 1  # and the order in which they are joined
    for row, count, _ in plan.picked:
        feeder = feeders[row["type"]]
        (line,) = (x for x in lines if x.startswith(f"{row['type']}: "))
        each = feeder["pick_list"]["cable_pieces"]
        pieces = f"{each} for each of {count} machines, {each * count} in all" if count > 1 else f"{each}"
        start = f"{row['type']}: {feeder['conductor_size']}, sets: {feeder['sets']}"
        assert line == f"{start}, carries {quantity(feeder['ampacity_deciding'])}, pieces: {pieces}"
        (picked,) = (
            x
            for x in plan.results["pick_list"]
            if x["kind"] == "cable" and f"for {count} x {row['type']}" in x["reason"]
        )
        assert picked["count"] == each * count


def test_liquid_goes_in_once(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan, sheet = plans_anew[named], sheets(named)
    tasks = sheet.blocks("Liquid, in this order", Tasks)[0].items
    total = plan.results["fill"]["total_volume"]
    if glycol(plan):
        mixture = plan.results["fluid"]["antifreeze"]
        assert [task.do for task in tasks] == [
            f"Concentrate: {quantity(mixture['concentrate_volume'])}",
            f"Water, by meter: {quantity(mixture['water_volume'])}",
        ]
        (how,) = (line for block in sheet.blocks("Liquid, in this order", Lines) for line in block.items)
        strong = plan.asked["antifreeze"]["concentrate_mass_fraction"]
        assert how.endswith(f"the concentrate is {100 * strong:.3g} % glycol.")
        assert f"{100 * mixture['volume_fraction']:.3g} % by volume" in how
    else:
        assert [task.do for task in tasks] == [f"Water: {quantity(total)}"]
    assert all(task.blanks[0].unit == "L" for task in tasks)


def test_glycol_is_caught_where_a_hose_bursts(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    rows = dict(sheets(named).blocks("What to do if", Facts)[0].rows)
    assert [when for when, do in rows.items() if "Catch the glycol" in do] == ["Hose bursts"] * glycol(
        plans_anew[named]
    )


def test_work_in_the_order_of_time(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    """Leaks are looked for once the pressure is back; of what begins together, that comes first."""
    plan = plans_anew[named]
    steps, work = steps_of(plan), sheets(named).work
    begins = {title: si(step["earliest_start"]) for title, step in steps.items()}
    for title, step in steps.items():
        if step["id"] == "leak_check":
            begins[title] = next(si(s["earliest_finish"]) for s in steps.values() if s["id"] == "repressurise")
    assert sorted(task.do for task in work) == sorted(steps)
    for task in work:
        minutes = round(begins[task.do] / 60)
        assert task.when == f"{minutes // 60}:{minutes % 60:02d}"
        role = steps[task.do]["role"]
        assert task.who == ("" if role == "none" else role.replace("_", " "))
    times = [begins[task.do] for task in work]
    assert times == sorted(times)
    ids = [steps[task.do]["id"] for task in work]
    place = ids.index("leak_check")
    assert times[place] > times[place - 1] or ids[place - 1] == "repressurise"
    for place, (one, other) in enumerate(itertools.pairwise(work)):
        if times[place] == times[place + 1] and "leak_check" not in ids[place : place + 2]:
            ends = [si(steps[task.do]["earliest_finish"]) for task in (one, other)]
            assert ends == sorted(ends)
    fill = next(task for task in work if steps[task.do]["id"] == "fill_loop")
    assert ("never from the tap" in fill.caution) == glycol(plan)
    assert sum("never from the tap" in task.caution for task in work) == glycol(plan)


def readings(sheet: Sheet, plan: Plan) -> dict[str, Task]:
    steps = steps_of(plan)
    return {steps[task.do]["id"]: task for task in sheet.work}


def test_plates_are_compared_one_by_one(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan = plans_anew[named]
    blanks = readings(sheets(named), plan)["read_data_plate"].blanks
    told = iter(blanks)
    for machine in plan.results["supply"]["service"]["machines"]:
        for n in range(machine["quantity"]):
            cable, breaker = next(told), next(told)
            several = machine["quantity"] > 1
            assert cable.name == machine["machine_id"] + (f" {n + 1}" if several else "") + ": cable"
            assert cable.expected == f"at least {quantity(machine['minimum_circuit_ampacity'])}"
            most = machine.get("maximum_overcurrent_standard")
            assert breaker.expected == (f"at most {quantity(most)}" if most else "")
    assert list(told) == []


def test_pressure_mixture_and_flow_to_read(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    plan, work = plans_anew[named], readings(sheets(named), plans_anew[named])
    set_up = plan.asked["procedure"]["configuration"]
    band = [si(set_up[f"fill_pressure_{end}"]) / 1000 for end in ("minimum", "maximum")]
    for step in ("fill_loop", "repressurise", "leak_check", "prove_flow_again"):
        assert expected(work[step], "gauge") == [f"{band[0]:.0f} to {band[1]:.0f} kPa"]
    for step in ("repressurise", "prove_flow_again"):
        assert any("no tap water" in blank.name for blank in work[step].blanks) == glycol(plan)
    assert ("read_antifreeze" in work) == glycol(plan)
    if glycol(plan):
        frost = si(set_up["required_freeze_point"]) if "required_freeze_point" in set_up else math.inf
        most = min(plan.leaving - si(set_up["freeze_margin"]), frost) - 273.15
        (must,) = expected(work["read_antifreeze"], "freezes at")
        planned = plan.results["fluid"]["antifreeze"]["freezing_temperature"]
        assert must == f"must read {quantity({'value': most, 'unit': 'degC'})} or colder; planned {quantity(planned)}"
        assert planned["value"] <= most + 1e-6
    volts = si(set_up["rated_voltage"])
    assert expected(work["check_phase_and_voltage"], "lines 1-2") == [f"{volts:g} V within 10 %"]
    by_crane = set_up["lifted_by"] == "crane"
    assert any(blank.name == "power lines at" for blank in work["ground_check"].blanks) == by_crane
    drops = [blank for blank in work["prove_flow"].blanks if blank.name.startswith("drop, evaporator")]
    assert len(drops) == len(plan.picked)
    assert all(blank.expected.startswith("about ") for blank in drops)
    assert all(" to " in blank.expected for blank in drops)
    for blank, drop in zip(drops, evaporators(plan.loop["elements"]), strict=True):
        assert f"about {quantity(drop)}" in blank.expected
    assert work["stage_next_compressors"].blanks[0].expected == quantity(
        plan.results["supply"]["service"]["feeder"]["running_current"]
    )


def evaporators(elements: list[Json]) -> Iterator[Json]:
    """Drops of the evaporators, one for each type."""
    for element in elements:
        if "branches" in element:
            seen = [list(evaporators(path)) for path in element["branches"]]
            yield from (drop for path in seen for drop in path)
        elif element["name"].startswith("evaporator"):
            yield element["pressure_drop"]


def test_valves_are_numbered_as_in_the_sketch(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    """Each valve of the table stands in the drawing by its number, those that the machine's own pump has besides."""
    plan, sheet = plans_anew[named], sheets(named)
    rows = sheet.blocks("Valves", Table)[0].rows
    (drawn,) = sheet.blocks("Which way it flows", Drawing)
    shown = set(re.findall(r">([1-8BR])<", drawn.svg))
    numbered = {number: name for number, name, _, _ in rows}
    assert set(numbered) <= shown
    places = {"1": "Pump suction", "2": "Pump discharge", "3": "Pump bypass", "4": "Supply", "5": "Return", "6": "Fill",
              "7": "Drain", "8": "Vent"}  # fmt: skip
    for number, name in numbered.items():
        assert number == "B" or name.startswith(places[number]), rows
    assert {"4", "5", "6", "7", "8"} <= set(numbered)
    assert ("B" in numbered) == ("balancing_kv" in plan.loop or len(plan.picked) > 1)
    lines = [line.partition(":")[0] for block in sheet.blocks("Valves", Lines) for line in block.items]
    each = [f"B, {row['type']}" for row, _, _ in plan.picked] if len(plan.picked) > 1 else ["B"]
    assert lines == each * ("B" in numbered)
    tank = "from the tank" in {number: stands for number, _, stands, _ in rows}["6"]
    assert tank == glycol(plan)
    own = plan.asked["procedure"]["configuration"]["pump_mode"] == "own_pump"
    fitted = plan.asked["procedure"]["configuration"]["pump_fitted"]
    bypass = [stands for number, _, stands, _ in rows if number == "3"]
    assert bypass == (["SHUT" if own else "OPEN"] if fitted else [])
    if own and plan.loop["pump_owner"] == "machine":
        assert {"1": "OPEN", "2": "OPEN"}.items() <= {n: s for n, _, s, _ in rows}.items()


def test_each_machine_has_a_sheet_of_its_own(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    """Counted in the order of the plan; a plant of one machine has none besides."""
    plan, whole = plans_anew[named], sheets(named)
    types = [row["type"] for row, count, _ in plan.picked for _ in range(count)]
    serials = tuple((name, f"S-{n}") for n, name in enumerate(types, 1))
    for number, name in enumerate(types, 1):
        sheet = sheets(named, number, serials)
        if len(types) == 1:
            assert "machine 1 of" not in sheet.page.title
            continue
        assert f"machine {number} of {len(types)}, {name} S-{number}" in sheet.page.title
        (line,) = sheet.blocks("Machines", Tasks)[0].items
        assert line.do.startswith(f"{name}: S-{number}, weighs ")
        assert line.blanks == ()
        assert "Liquid, in this order" not in sheet.parts
        (cable,) = [x for b in sheet.blocks("Cable", Lines) for x in b.items if "sets:" in x]
        assert cable.startswith(f"{name}: ")
        assert "in all" not in cable
        assert [t.when for t in sheet.work] == [t.when for t in whole.work]
        ids = {t.do: steps_of(plan)[t.do]["id"] for t in sheet.work}
        assert {ids[t.do] for t in sheet.work if t.who == "once for the plant"} == ONCE & set(ids.values())
        plates = readings(sheet, plan)["read_data_plate"].blanks
        assert [blank.name for blank in plates] == [f"{name}: cable", "breaker"]
    beyond = sheets(named, len(types) + 1, serials)
    assert "machine" not in beyond.page.title.split(", ", 1)[-1].replace(plan.order["reference"], "")


def test_what_stands_above_all(plans_anew: dict[str, Plan], sheets: Any, named: str) -> None:
    """How many things the office has to settle: stops and checks that nobody on site clears, each asked for once."""
    plan, page = plans_anew[named], sheets(named).page
    stops = [f for f in plan.findings if f["severity"] == "stop"]
    assert page.verdict.startswith("DOES NOT GO") == bool(stops)
    if stops:
        return
    on_site = {
        "the site's mechanic",
        "the person who places the machines",
        "the lift supervisor",
        "the technician at the machine",
    }
    office = {
        f.get("do") or f.get("resolve") or f["statement"]
        for f in plan.findings
        if f["severity"] == "check" and f.get("cleared_by") not in on_site
    }
    assert page.verdict.startswith(f"NOT RELEASED, {len(office)} for the office. Set point ") == bool(office)
    period = plan.order["period"]
    assert page.lead[0].endswith(f" {period['from']} to {period['to']}.")
