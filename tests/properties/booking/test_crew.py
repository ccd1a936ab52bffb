"""People by the hour, laying by length, taking away, glycol and frost. Invented data.

Metres a minute and hands at a step are common practice, no source; the sums over them are done here anew.
"""

from itertools import pairwise
from typing import Any

import pytest
from orders import fleet, machine, order
from quantity import q

ONE = fleet(machine("large", 330, 1))
TWO = fleet(machine("middle", 150, 3))
COLD = {"site__lowest_ambient_temperature": q(-10, "degC")}
HANDS = {
    "place_machine": 3, "lift": 3, "lay_cables": 2, "lay_hoses": 2, "connect_hoses": 2, "disconnect_hoses": 2,
    "coil_cables": 2, "tie_down": 2, "place_generator": 3, "lift_generator": 3,
}  # fmt: skip
IN_MINUTES = {"s": 1 / 60, "min": 1.0, "h": 60.0}


def planned(answer_of: Any, **changes: Any) -> dict[str, Any]:
    """Results of a plan."""
    results: dict[str, Any] = answer_of("booking.assessment", order(**{"fleet": ONE} | changes))["results"]
    return results


def minutes(duration: dict[str, Any]) -> float:
    """A duration in min."""
    return duration["value"] * IN_MINUTES[duration["unit"]]


def took(plan: dict[str, Any]) -> dict[str, float]:
    """Minutes of each step."""
    return {s["id"]: minutes(s["duration"]) for s in plan["steps"]}


def laid(results: dict[str, Any], kind: str) -> float:
    """Metres of hose, or of single conductors, on the pick list; the sections of the stock of these tests."""
    sections: dict[str, float] = {"hose 51": 15, "hose 76": 15, "hose 102": 10, "hose 152": 6, "hose 203": 6}
    sections |= {"cable 2 AWG": 15.24, "cable 4/0 AWG": 15.24}
    return sum(x["count"] * sections[x["item"]] for x in results["pick_list"] if x["kind"] == kind)


@pytest.mark.parametrize("hose", [10, 40, 90, 200])
def test_hose_is_laid_by_its_length(answer_of: Any, hose: float) -> None:
    results = planned(answer_of, routes__hose_length=q(hose, "m"))
    bore = results["loop"]["hose_inner_diameter"]["value"]
    rate = 4.0 if bore <= 60 else 2.5 if bore <= 110 else 1.5
    lasting = took(results["arrival_plan"])["lay_hoses"]
    assert lasting == pytest.approx(3 + laid(results, "hose") / rate, rel=1e-9)


def test_cable_is_laid_by_its_length_and_not_by_the_machine(answer_of: Any) -> None:
    for length in (20, 80):
        results = planned(answer_of, fleet=TWO, routes__cable_length=q(length, "m"))
        lasting = took(results["arrival_plan"])["lay_cables"]
        assert lasting == pytest.approx(3 + laid(results, "cable") / 20, rel=1e-9)
        assert took(results["removal"]["stop"])["coil_cables"] == pytest.approx(lasting, rel=1e-9)


@pytest.mark.parametrize("changes", [{}, {"fleet": TWO}, COLD | {"supply": {"source": "generator"}}])
def test_people_by_the_hour_are_those_of_the_steps(answer_of: Any, changes: dict[str, Any]) -> None:
    """Minute by minute: who is at work in its middle; an hour has its greatest number, and the sum of its minutes."""
    results = planned(answer_of, **changes)
    phases = (
        (results["arrival_plan"], results["crew"]["arrival"]),
        (results["removal"]["stop"], results["crew"]["removal"]),
    )
    for plan, phase in phases:
        work = [
            (s["role"], HANDS.get(s["id"], 1), minutes(s["earliest_start"]), minutes(s["earliest_finish"]))
            for s in plan["steps"]
            if s["role"] != "none"
        ]
        together = sum(hands * (end - start) for _, hands, start, end in work)
        assert minutes(phase["person_time"]) == pytest.approx(together, rel=1e-9)
        assert sum(minutes(h["person_time"]) for h in phase["hours"]) == pytest.approx(together, rel=1e-9)
        moments = sorted({t for *_, start, end in work for t in (start, end)})
        middles = [(a + b) / 2 for a, b in pairwise(moments)]

        def at_work(role: str | None, t: float, work: Any = work) -> int:
            return sum(hands for r, hands, start, end in work if start < t < end and role in (None, r))

        assert phase["people_at_most"] == max(at_work(None, t) for t in middles)
        for hour in phase["hours"]:
            begin = 60 * (hour["hour"] - 1)
            edges = sorted({begin, begin + 60, *(t for t in moments if begin < t < begin + 60)})
            inside = [(a + b) / 2 for a, b in pairwise(edges)]
            for key, role in (
                ("electricians", "electrician"),
                ("technicians", "technician"),
                ("lift_team", "lift_team"),
            ):
                assert hour[key] == max((at_work(role, t) for t in inside), default=0), (hour["hour"], key)


@pytest.mark.parametrize("changes", [{}, {"fleet": TWO}, {"fleet": TWO, "access__lift": "roll_off"}])
def test_one_lift_team_handles_one_thing_at_a_time(answer_of: Any, changes: dict[str, Any]) -> None:
    """Machines and set hang from one hook: no two steps of the lift team overlap but looking at the ground before it."""
    results = planned(answer_of, supply={"source": "generator"}, **changes)
    for plan in (results["arrival_plan"], results["removal"]["stop"]):
        work = sorted(
            (minutes(s["earliest_start"]), minutes(s["earliest_finish"]))
            for s in plan["steps"]
            if s["role"] == "lift_team"
        )
        assert len(work) > 2
        assert all(before[1] <= after[0] for before, after in pairwise(work)), work
    assert max(h["lift_team"] for phase in results["crew"].values() for h in phase["hours"]) == 3


def test_a_set_that_came_along_goes_back(answer_of: Any) -> None:
    """It cools before it stops and is locked after that; it is loaded after the machines, before the record is closed."""
    results = planned(answer_of, supply={"source": "generator"})
    steps = {s["id"]: s for s in results["removal"]["stop"]["steps"]}
    order_of = ["open_source", "stop_generator", "lock_source", "prove_dead"]
    order_of += ["disconnect_lines", "lift", "tie_down", "lift_generator", "close_record"]
    for before, after in pairwise(order_of):
        assert minutes(steps[before]["earliest_finish"]) <= minutes(steps[after]["earliest_start"]), (before, after)
    assert not {"stop_generator", "lift_generator"} & set(took(planned(answer_of)["removal"]["stop"]))


def test_every_machine_is_taken_off_in_its_own_time(answer_of: Any) -> None:
    one, two = planned(answer_of), planned(answer_of, fleet=TWO)
    count = two["machines"][0]["count"]
    assert count > 1
    single, several = took(one["removal"]["stop"]), took(two["removal"]["stop"])
    for step in ("disconnect_lines", "lift", "tie_down"):
        assert several[step] == pytest.approx(count * single[step])
    assert several["notify_site"] == single["notify_site"]


def test_what_runs_out_is_what_hoses_and_machines_hold(answer_of: Any) -> None:
    """By hand: of hoses lying flat a tenth stays; machines run out; the load side stays with the site where it is water."""
    results = planned(answer_of)
    elements = {e["name"]: e["volume"]["value"] for e in results["fill"]["elements"]}
    hoses = sum(v for n, v in elements.items() if "hose" in n)
    machines = sum(v for n, v in elements.items() if n.startswith("evaporator"))
    drained = results["removal"]["drained"]
    assert drained["drained_volume"]["value"] == pytest.approx(0.9 * hoses + machines, rel=1e-6)
    assert "glycol" not in results["removal"]


def test_glycol_goes_back_in_containers_with_that_of_the_load_side(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order(fleet=ONE, **COLD))
    results = answer["results"]
    back = results["removal"]["glycol"]
    elements = {e["name"]: e["volume"]["value"] for e in results["fill"]["elements"]}
    hoses = sum(v for n, v in elements.items() if "hose" in n)
    assert back["volume"]["value"] == pytest.approx(results["fill"]["total_volume"]["value"] - 0.1 * hoses, rel=1e-6)
    assert back["totes"] == -(-back["volume"]["value"] // 1000)
    assert "licensed" in back["becomes"]
    totes = [x for x in results["pick_list"] if x["item"].startswith("tote")]
    assert sum(x["count"] for x in totes) == back["totes"] - 1  # and the premix tank
    assert "glycol_goes_back" in {f["code"] for f in answer["findings"]}


def test_a_stop_in_frost_is_in_the_plan_where_frost_is_expected(answer_of: Any) -> None:
    results = planned(answer_of, **COLD)
    frost = results["removal"]["frost"]
    assert frost["lay_up"] == "stays_filled"
    assert [s["id"] for s in frost["steps"]][-1] == "close_site_valves"
    assert "frost" not in planned(answer_of)["removal"]
    assert "frost" not in planned(answer_of, site__indoors=True, **COLD)["removal"]


def test_the_crew_is_priced_for_both_ends_of_the_hire(answer_of: Any) -> None:
    rates = {"crew_hour": {"value": "50.00", "currency": "USD"}}
    results = planned(answer_of, rates=rates)
    lines = {x["item"]: x for x in results["cost"]["lines"] if x["kind"] == "crew"}
    for item, phase in (("crew, setting up", "arrival"), ("crew, taking away", "removal")):
        hours = minutes(results["crew"][phase]["person_time"]) / 60
        assert lines[item]["count"] == pytest.approx(hours, abs=1e-4)
        assert float(lines[item]["amount"]) == pytest.approx(50 * hours, abs=0.01)
