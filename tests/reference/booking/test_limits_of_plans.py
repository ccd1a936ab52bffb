"""The limits of a plan, each from the block that it belongs to. Derived; the orders are invented."""

import math
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from plans_anew import Plan, si
from quantity import q

from coldwright.contract.quantities import kind_of_unit

pytestmark = pytest.mark.check


# --- limits ----------------------------------------------------------------------------------------------------------


def limits_of(plan: Plan) -> dict[str, tuple[float, float, int]]:
    """What each limit compares, in base units, and whether it is an upper one (1) or a lower one (-1)."""
    results, asked, loop = plan.results, plan.asked, plan.loop
    found = {"capacity above the design load": (plan.capacity, si(results["design_load"]), -1)}
    for row, _, _ in plan.picked:
        name, bounds = row["type"], row["envelope"]
        found[f"{name}: hottest air"] = (plan.ambient, si(bounds["ambient_maximum"]), 1)
        if plan.coldest is not None:
            found[f"{name}: coldest air"] = (plan.coldest, si(bounds["ambient_minimum"]), -1)
        least = "leaving_minimum" if plan.water else "leaving_minimum_with_antifreeze"
        found[f"{name}: coldest leaving liquid"] = (plan.leaving, si(bounds[least]), -1)
    supply, feeder = plan.order["supply"], results["supply"]["service"]["feeder"]
    if "available_current" in supply and "transformer" not in results["supply"]:
        ampacity = si(feeder["minimum_circuit_ampacity"])
        found["circuit ampacity on the current of the site"] = (ampacity, si(supply["available_current"]), 1)
    if plan.on_set:
        told, given = results["supply"]["generator"], asked["generator"]
        found["load of the generating set"] = (told["load_fraction"], given["maximum_load_fraction"], 1)
        light = "light load of the generating set" + (", with the load bank" if "load_bank_power" in given else "")
        found[light] = (told["reduced_load_fraction"], given["minimum_load_fraction"], -1)
        found["voltage dip at a start"] = (told["worst_dip_fraction"], given["dip_limit_fraction"], 1)
    if transformer := results["supply"].get("transformer"):
        load = si(asked["transformer"]["load_apparent_power"])
        found["load of the transformer"] = (load, si(transformer["rated_apparent_power"]), 1)
        drawn = si(feeder["minimum_circuit_ampacity"]) * si(results["supply"]["voltage"]) / si(supply["voltage"])
        name = "site supply: circuit ampacity before the transformer"
        found[name] = (drawn, si(supply["available_current"]), 1)
    for told, given in zip(results["cable"]["machines"], asked["feeders"], strict=True):
        name, cable = told["type"], told["feeder"]
        found[f"{name}: ampacity of the cable"] = (si(cable["ampacity_deciding"]), si(given["minimum_ampacity"]), -1)
        found[f"{name}: length of the cable"] = (si(given["length"]), si(cable["longest_run"]), 1)
        if "fault" in told:
            row = next(r for r, _, _ in plan.picked if r["type"] == name)
            bears = si(row["electrical"]["short_circuit_rating"])
            found[f"{name}: fault current"] = (si(told["fault"]["fault_current_with_motors"]), bears, 1)
    flow = si(loop["duty_flow"])
    least, most = (
        sum(si(row["evaporator"][f]) * n for row, n, _ in plan.picked) for f in ("flow_minimum", "flow_maximum")
    )
    found["above evaporator minimum flow"] = (flow, least, -1)
    found["below evaporator maximum flow"] = (flow, most, 1)
    found |= opened_limit(plan)
    if "breaker_rating" in supply and "transformer" not in results["supply"]:
        ampacity = si(feeder["minimum_circuit_ampacity"])
        found["circuit ampacity on the breaker of the site"] = (ampacity, si(supply["breaker_rating"]), 1)
    found |= sound_limits(plan)
    speeds = [si(e["velocity"]) for e in loop["elements"] if "velocity" in e]
    found["velocity in the hose"] = (max(speeds), si(asked["loop"]["velocity_maximum"]), 1)
    hose = next(x for x in plan.order["fleet"]["accessories"] if x["item"] == loop["hose_item"])
    found["pressure in the hose"] = (si(loop["highest_pressure"]["value"]), si(hose["working_pressure"]), 1)
    for told in results["site"]["ground"]:
        if "utilisation" in told["ground"]:
            found[f"{told['type']}: ground"] = (told["ground"]["utilisation"], 1.0, 1)
    return found


def opened_limit(plan: Plan) -> dict[str, tuple[float, float, int]]:
    """By hand: the drop of a loop goes with the square of its flow; the valve may be opened and leaves its head to the rest."""
    if not plan.asked["loop"].get("pumps"):
        return {}
    total = si(plan.loop["loop_pressure_drop"])
    valve = sum(si(e["pressure_drop"]) for e in plan.loop["elements"] if e["name"] == "balancing valve")
    opened = si(plan.loop["duty_flow"]) * math.sqrt(total / (total - valve))
    return {"above design flow": (opened, si(plan.loop["wanted_flow"]), -1)}


def sound_limits(plan: Plan) -> dict[str, tuple[float, float, int]]:
    found = {}
    if sound := plan.results["site"].get("sound"):
        for place, stated in zip(sound["receivers"], plan.asked["sound"]["receivers"], strict=True):
            for when in ("day", "night"):
                if f"limit_{when}" in stated:
                    limit = stated[f"limit_{when}"]["value"]
                    found[f"sound by {when} at {place['id']}"] = (limit - place[f"margin_{when}"]["value"], limit, 1)
    return found


def test_limits_are_those_of_the_blocks(plan: Plan) -> None:
    """Room left is what the limit lacks of the value, by hand: in K for temperatures, else as a share of the limit."""
    listed = {x["what"]: x for x in plan.results["limits_nearest"]}
    expected = limits_of(plan)
    assert len(listed) == len(plan.results["limits_nearest"])
    if len(listed) < 40:
        assert set(expected) <= set(listed)
    for what, (value, limit, side) in expected.items():
        if (entry := listed.get(what)) is None:
            continue
        kind = kind_of_unit(entry["unit"])
        told = [
            entry[m] if kind is None or entry["unit"] == "1" else si(q(entry[m], entry["unit"]))
            for m in ("value", "limit")
        ]
        assert told == pytest.approx([value, limit], rel=1e-6), what
        if "headroom" in entry:
            assert entry["headroom"]["value"] == pytest.approx(side * (limit - value), abs=1e-6), what
        else:
            assert entry["headroom_fraction"] == pytest.approx(side * (1 - value / limit), abs=1e-6), what


def nearness(entry: dict[str, Any]) -> float:
    return float(entry["headroom"]["value"] / 10 if "headroom" in entry else entry["headroom_fraction"])


def test_what_is_near_its_limit_is_said(plan: Plan) -> None:
    """Common practice: of the plan a twentieth, or half a K or dB; beside the machine that it is of a tenth, or 1 K or dB."""
    thin = [x for x in plan.results["limits_nearest"] if nearness(x) < 0.05]
    near = [x for x in plan.results["limits_nearest"] if nearness(x) < 0.10]
    said = " ".join(plan.statements("thin_headroom"))
    for entry in plan.results["limits_nearest"]:
        assert (f"{entry['what']} (" in said or f"{entry['what']} by" in said) == (entry in thin), entry
        unit = entry.get("headroom", {}).get("unit", "%")
        if entry in thin:
            told = said.partition(f"{entry['what']} (")[2].partition(" left)")[0]
            assert told.endswith(unit), entry
    for row in plan.results["machines"]:
        own = [x["what"] for x in near if x["what"].startswith(f"{row['type']}: ")]
        assert [text.rpartition(": ")[0] for text in row.get("limits", [])] == own


@pytest.mark.parametrize(("room", "of_plan", "of_machine"), [(0.48, 1, 1), (0.52, 0, 1), (0.98, 0, 1), (1.02, 0, 0)])
def test_where_a_limit_counts_as_near(answer_of: Any, room: float, of_plan: int, of_machine: int) -> None:
    """Common practice: half a K of room is said of the plan, a K beside its machine; this one runs in air up to 52 degC."""
    hot = order(site__design_ambient_temperature=q(52 - room, "degC"), fleet=fleet(machine("hardy", 330, 2)))
    answer = answer_of("booking.assessment", hot)
    said = " ".join(f["statement"] for f in answer["findings"] if f["code"] == "thin_headroom")
    (row,) = answer["results"]["machines"]
    assert ("hardy: hottest air" in said) == bool(of_plan)
    assert sum("hottest air" in text for text in row.get("limits", [])) == of_machine


def test_no_more_than_forty_limits_are_listed(answer_of: Any) -> None:
    """The nearest of them; here are seven of each of eight types, and more."""
    eight = fleet(*(machine(f"m{n}", 60 + n, 1) for n in range(8)))
    document = order(fleet=eight, duty__load=q(400, "kW"), site__ground={"allowable_bearing_pressure": q(90, "kPa")})
    listed = answer_of("booking.assessment", document)["results"]["limits_nearest"]
    assert len(listed) == 40
    assert [nearness(x) for x in listed] == sorted(nearness(x) for x in listed)


def test_a_doubtful_drop_is_settled_where_it_is_nothing_beside_the_loop(answer_of: Any) -> None:
    """Common practice: 30 % of what lies between headers and machines, against a hundredth of the loop. Wide short hoses of
    slow glycol run between laminar and turbulent; long narrow ones to the load take all of the head.
    """
    rows = [r for r in stock() if r["kind"] != "hose"]
    for bore, section in ((76, 15), (203, 3)):
        row = {
            "kind": "hose",
            "item": f"hose {bore}",
            "inner_diameter": q(bore, "mm"),
            "section_length": q(section, "m"),
        }
        rows.append(row | {"working_pressure": q(1200, "kPa"), "count": 400})
    wide = machine("wide", 60, 2) | {"connection": {"inner_diameter": q(203, "mm"), "coupling": "grooved"}}
    document = order(
        site__lowest_ambient_temperature=q(-10, "degC"), duty__load=q(90, "kW"), fleet=fleet(wide, accessories=rows),
        load_side__rated_flow=q(2, "L/s"),
    )  # fmt: skip
    answer = answer_of("booking.assessment", document)
    asked = answer["results"]["asked"]["loop"]
    alone = answer_of("hydronic.loop", asked)
    (doubtful,) = [f["statement"] for f in alone["findings"] if f["code"] == "transition"]
    assert "header" in doubtful
    drops = {e["name"]: si(e["pressure_drop"]) for e in alone["results"]["elements"]}
    between = sum(drop for name, drop in drops.items() if "header" in name)
    assert 0.3 * between < 0.01 * si(alone["results"]["loop_pressure_drop"])
    assert "transition" not in {f["code"] for f in answer["findings"]}


def weak() -> dict[str, Any]:
    row = machine("weak", 330, 1)
    for point in row["pump"]["curve"]:
        point["head"] = q(point["head"]["value"] / 2.5, "m")
    return row


BROKEN: dict[str, dict[str, Any]] = {
    "a small breaker": {"supply__breaker_rating": q(100, "A")},
    "a weak pump": {"fleet": fleet(weak()), "load_side__rated_pressure_drop": q(110, "kPa")},
    "loud": {"site__sound_limits": [{"id": "flats", "distance": q(6, "m"), "limit_day": q(50, "dBA")}]},
    "a fault": {"supply__fault_current": q(80, "kA"), "routes__cable_length": q(2, "m")},
}


@pytest.mark.parametrize("what", list(BROKEN))
def test_a_broken_limit_is_said_on_its_side(answer_of: Any, what: str) -> None:
    """What is above a limit that it must stay below stands over it; what is below a minimum stands below it; the rest is
    close.
    """
    answer = answer_of("booking.assessment", order(**({"fleet": fleet(machine("large", 330, 1))} | BROKEN[what])))
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "thin_headroom"]
    parts = dict.fromkeys(("Over the limit", "Below the minimum", "Close to the limit"), "")
    for head in parts:
        _, found, rest = said.partition(f"{head}: ")
        if found:
            parts[head] = min((rest.partition(f"{other}: ")[0] for other in parts), key=len)
    listed = answer["results"]["limits_nearest"]
    assert any(nearness(x) < 0 for x in listed)
    for entry in listed:
        head = ""
        if nearness(entry) < 0:
            head = "Over the limit" if entry["value"] > entry["limit"] else "Below the minimum"
        elif nearness(entry) < 0.05:
            head = "Close to the limit"
        for name, text in parts.items():
            assert (entry["what"] in text) == (name == head), (entry, name)
