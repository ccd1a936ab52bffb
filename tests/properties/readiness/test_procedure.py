"""Behaviour of `readiness.procedure`: invariants, refusals, findings."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from msgspec.structs import replace

from coldwright.contract import Defect, Refused
from coldwright_readiness.procedure import procedure
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.schedule import crew_schedule, timings
from coldwright_readiness.shared.steps import MINUTE, Step, in_order, procedure_steps

LASTING = {
    "warm_up_duration": 60 * MINUTE,
    "filling": 30 * MINUTE,
    "antifreeze_duration": 20 * MINUTE,
    "staging": 5 * MINUTE,
    "pull_down": 30 * MINUTE,
}
BASE = {"supply_source": "site", "pump_mode": "own_pump", "fluid_kind": "water", "compressors": 2}


def minutes(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "min"}


def plan(configuration: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    whole = {
        "configuration": {**BASE, **(configuration or {})},
        "fill_duration": minutes(30),
        "pull_down_duration": minutes(30),
        **more,
    }
    return {k: v for k, v in whole.items() if v is not None}


def base_steps() -> tuple[Step, ...]:
    return procedure_steps(
        Configuration(supply_source="generator", pump_mode="own_pump", fluid_kind="propylene_glycol", compressors=2),
        LASTING,
    )


@pytest.mark.parametrize("gone", [s.id for s in base_steps() if s.id != "cold_water"])
def test_removing_a_step_never_lengthens(gone):
    steps = base_steps()
    rest = tuple(replace(s, depends_on=tuple(d for d in s.depends_on if d != gone)) for s in steps if s.id != gone)
    assert timings(rest, "cold_water")["cold_water"].finish <= timings(steps, "cold_water")["cold_water"].finish


@forall(st.dictionaries(st.sampled_from([s.id for s in base_steps()]), st.integers(0, 300)), st.integers(0, 3))
def test_schedule_keeps_order_hands_and_roles(changed, helpers):
    steps = tuple(replace(s, duration=changed.get(s.id, s.duration // MINUTE) * MINUTE) for s in base_steps())
    crew = [("a", frozenset({"electrician", "technician"})), ("l", frozenset({"lift_team"}))]
    crew += [(f"t{i}", frozenset({"technician"})) for i in range(helpers)]
    assignments = crew_schedule(steps, crew)
    at = {a.step: a for a in assignments}
    roles = dict(crew)
    assert len(at) == len(steps)
    for step in steps:
        mine = at[step.id]
        assert all(at[d].finish <= mine.start for d in step.depends_on)
        assert mine.finish == mine.start + step.duration
        assert (mine.person is None) == (step.role == "none")
        assert mine.person is None or step.role in roles[mine.person]
    for person in roles:
        turns = sorted((a.start, a.finish) for a in assignments if a.person == person)
        assert all(before[1] <= after[0] for before, after in pairwise(turns))
    early = timings(steps, "cold_water")
    assert all(at[i].start >= early[i].start for i in at), "people never make it faster than hands without end"


def test_more_people_leave_the_unlimited_pass_alone(answer_of):
    crew = [{"id": "a", "roles": ["electrician", "technician", "lift_team"]}]
    one = answer_of("readiness.procedure", plan(crew=crew))["results"]
    two = answer_of("readiness.procedure", plan(crew=[*crew, {"id": "b", "roles": ["technician"]}]))["results"]
    assert one["time_to_cold_water"] == two["time_to_cold_water"]
    assert two["crew_schedule"]["time_to_cold_water"]["value"] <= one["crew_schedule"]["time_to_cold_water"]["value"]


def test_a_cycle_is_a_defect():
    steps = base_steps()
    looped = tuple(replace(s, depends_on=("handover",)) if s.id == "arrival_inspection" else s for s in steps)
    with pytest.raises(Defect):
        in_order(looped)


def test_order_of_steps_and_parallel_groups(answer_of):
    results = answer_of("readiness.procedure", plan())["results"]
    ids = [s["id"] for s in results["steps"]]
    assert ids[0] == "arrival_inspection"
    assert ids[-1] == "handover"
    assert "start_generator" not in ids
    assert "read_antifreeze" not in ids
    assert "stage_next_compressors" in ids
    groups = results["parallel_groups"]
    assert ["arrival_inspection", "ground_check"] in groups
    assert all(g == sorted(g) and len(g) > 1 for g in groups)
    assert not any(set(a) < set(b) for a in groups for b in groups)


def test_what_undoes_a_step(answer_of):
    steps = {s["id"]: s for s in answer_of("readiness.procedure", plan())["results"]["steps"]}
    assert steps["oil_warm_up"]["undone_by"] == ["V1", "V2", "V3", "V10"]
    assert steps["leak_check"]["undone_by"] == ["V4", "V10"]
    assert steps["set_valves"]["undone_by"] == ["V6", "V10"]
    assert steps["read_data_plate"]["undone_by"] == []
    site = {s["id"]: s for s in answer_of("readiness.procedure", plan({"pump_mode": "site_pump"}))["results"]["steps"]}
    assert "V1" not in site["prove_flow"]["undone_by"], "a pump of the site does not hang on the machine's supply"
    assert site["start_pump"]["role"] == "none"


def test_arrival_gives_stamps(answer_of):
    results = answer_of("readiness.procedure", plan(arrival_at="2026-05-04T09:00:00.5+02:00"))["results"]
    assert results["first_compressor_at"] == "2026-05-04T10:09:00.5Z"
    assert results["cold_water_at"] == "2026-05-04T10:41:00.5Z"


def test_own_durations(answer_of):
    results = answer_of("readiness.procedure", plan(step_durations={"place_machine": {"value": 1, "unit": "h"}}))
    assert results["results"]["time_to_cold_water"] == minutes(236)
    longer = answer_of("readiness.procedure", plan(step_durations={"oil_warm_up": {"value": 8, "unit": "h"}}))
    assert longer["results"]["warm_up_slack"] == minutes(0)
    assert [f["code"] for f in longer["findings"]] == ["warm_up_is_critical"]


def test_pull_down_is_worked_out(answer_of):
    loop = {
        "leaving_temperature": {"value": 25, "unit": "degC"},
        "set_point": {"value": 7, "unit": "degC"},
        "compressors": [{"id": "1", "capacity": {"value": 200, "unit": "kW"}}],
        "loop_volume": {"value": 5, "unit": "m3"},
        "load": {"value": 50, "unit": "kW"},
    }
    results = answer_of("readiness.procedure", plan(pull_down=loop, pull_down_duration=None))["results"]
    cold = next(s for s in results["steps"] if s["id"] == "cold_water")
    assert cold["duration"]["value"] == pytest.approx(2510 / 60, rel=0.005)
    too_much = {**loop, "load": {"value": 200, "unit": "kW"}}
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", plan(pull_down=too_much, pull_down_duration=None))
    assert refused.value.errors[0].pointer == "#/pull_down"


FOUND = {
    "fill_is_critical": (plan(), "note"),
    "warm_up_is_critical": (plan({"second_start": True}, fill_duration=None), "note"),
    "role_without_person": (plan(crew=[{"id": "t", "roles": ["technician", "lift_team"]}]), "stop"),
    "generator_starting_current": (plan({"supply_source": "generator"}), "check"),
    "input_not_used": (plan(antifreeze_duration=minutes(5)), "note"),
}


def test_every_declared_finding_is_tried():
    assert set(FOUND) == set(procedure.findings)


@pytest.mark.parametrize("code", FOUND)
def test_finding(to_the_word, code):
    given, severity = FOUND[code]
    found = [f for f in to_the_word("readiness.procedure", given)["findings"] if f["code"] == code]
    assert [f["severity"] for f in found] == [severity]


def test_a_missing_role_leaves_its_times_out(answer_of):
    given = plan(crew=[{"id": "t", "roles": ["technician", "lift_team"]}])
    schedule = answer_of("readiness.procedure", given)["results"]["crew_schedule"]
    assert "time_to_cold_water" not in schedule
    done = {s["id"] for s in schedule["steps"]}
    assert "lay_hoses" in done
    assert not {"lock_source", "energise", "handover"} & done


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (plan(fill_duration=None), "#/fill_duration"),
        (plan(loop_volume={"value": 1, "unit": "m3"}), "#/loop_volume"),
        (plan(fill_duration=None, loop_volume={"value": 1, "unit": "m3"}), "#/fill_flow"),
        (plan(pull_down_duration=None), "#/pull_down_duration"),
        (plan({"fluid_kind": "ethylene_glycol"}), "#/antifreeze_duration"),
        (plan(step_durations={"oil_warm_up": minutes(59)}), "#/step_durations/oil_warm_up"),
        (plan(step_durations={"dance": minutes(1)}), "#/step_durations/dance"),
        (plan(step_durations={"lay_hoses": minutes(-1)}), "#/step_durations/lay_hoses"),
        (plan({"warm_up_duration": minutes(30)}), "#/configuration/warm_up_duration"),
        (plan({"circuits": 3}), "#/configuration/circuits"),
        (plan({"pump_fitted": False}), "#/configuration/pump_fitted"),
        (plan({"set_point_minimum_water": {"value": 34, "unit": "degF"}}), "#/configuration/set_point_minimum_water"),
        (plan({"fill_pressure_minimum": {"value": 60, "unit": "psi"}}), "#/configuration/fill_pressure_minimum"),
        (plan(arrival_at="2026-05-04T07:00:00"), "#/arrival_at"),
        (plan(arrival_at="2026-02-30T07:00:00Z"), "#/arrival_at"),
        (plan(crew=[{"id": "a", "roles": ["technician"]}] * 2), "#/crew/1/id"),
        (
            plan(
                fill_duration=None, loop_volume={"value": 1e4, "unit": "m3"}, fill_flow={"value": 1e-3, "unit": "L/s"}
            ),
            "#/fill_flow",
        ),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", given)
    assert pointer in [e.pointer for e in refused.value.errors]


STAGED = {
    "leaving_temperature": {"value": 25, "unit": "degC"},
    "set_point": {"value": 7, "unit": "degC"},
    "loop_volume": {"value": 5, "unit": "m3"},
    "load": {"value": 50, "unit": "kW"},
}


@pytest.mark.parametrize(("count", "apart"), [(1, 5), (2, 5), (3, 5), (4, 12), (6, 3)])
def test_compressors_cool_from_their_own_starts_on(answer_of, count, apart):
    """Conservation of energy, counted in another way: cooling less load since the first start is heat out of the loop."""
    each = 240 / count
    loop = STAGED | {"compressors": [{"id": str(n), "capacity": {"value": each, "unit": "kW"}} for n in range(count)]}
    asked = plan({"compressors": count, "anti_recycle": minutes(apart)}, pull_down=loop, pull_down_duration=None)
    results = answer_of("readiness.procedure", asked)["results"]
    taken = next(s for s in results["steps"] if s["id"] == "cold_water")["duration"]["value"] * 60
    cooled = sum(each * max(0.0, taken - n * apart * 60) for n in range(count)) - 50 * taken
    # 5 m3 of water from 25 to 7 degC at 4.19 kJ/(kg K) and 999 kg/m3 (ordinary figures of water, 0.3 %)
    assert cooled == pytest.approx(5 * 999 * 4.19 * 18, rel=3e-3)


def test_a_load_that_the_first_compressor_does_not_carry_warms_the_loop_meanwhile(answer_of):
    compressors = [{"id": str(n), "capacity": {"value": 60, "unit": "kW"}} for n in range(4)]
    asked = plan(
        {"compressors": 4},
        pull_down=STAGED | {"load": {"value": 100, "unit": "kW"}, "compressors": compressors},
        pull_down_duration=None,
    )
    results = answer_of("readiness.procedure", asked)["results"]
    cold = next(s for s in results["steps"] if s["id"] == "cold_water")["duration"]["value"] * 60
    stored = 5 * 999 * 4.19 * 18
    assert cold == pytest.approx((stored + 60 * (300 + 600 + 900)) / 140, rel=3e-3), (
        "heat over the net cooling of all four"
    )


def test_antifreeze_is_charged_before_the_water_which_alone_takes_the_time(answer_of):
    litres = {"value": 453, "unit": "L"}, {"value": 872, "unit": "L"}
    asked = plan(
        {"fluid_kind": "propylene_glycol"},
        fill_duration=None,
        loop_volume={"value": 1320, "unit": "L"},
        fill_flow={"value": 0.8, "unit": "L/s"},
        concentrate_volume=litres[0],
        water_volume=litres[1],
        antifreeze_duration=minutes(20),
    )
    steps = {s["id"]: s for s in answer_of("readiness.procedure", asked)["results"]["steps"]}
    order = list(steps)
    assert order.index("charge_antifreeze") < order.index("fill_loop")
    assert "charge_antifreeze" in steps["fill_loop"]["depends_on"]
    assert steps["charge_antifreeze"]["earliest_finish"]["value"] <= steps["fill_loop"]["earliest_start"]["value"]
    assert steps["fill_loop"]["duration"]["value"] == pytest.approx(872 / 0.8 / 60)
    assert "453 L concentrate, then 872 L water" in steps["charge_antifreeze"]["acceptance"]
    assert "no room" in steps["charge_antifreeze"]["why"]


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"concentrate_volume": {"value": 10, "unit": "L"}}, "#/water_volume"),
        (
            {"concentrate_volume": {"value": 10, "unit": "L"}, "water_volume": {"value": 90, "unit": "m3"}},
            "#/loop_volume",
        ),
    ],
)
def test_parts_of_a_mixture_that_do_not_belong_together_are_refused(answer_of, more, pointer):
    asked = plan(
        {"fluid_kind": "propylene_glycol"},
        fill_duration=None,
        loop_volume={"value": 1320, "unit": "L"},
        fill_flow={"value": 0.8, "unit": "L/s"},
        antifreeze_duration=minutes(20),
        **more,
    )
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", asked)
    assert refused.value.errors[0].pointer == pointer


def days(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "d"}


@pytest.mark.parametrize(("value", "taken"), [(30, True), (30.5, False)])
def test_a_step_takes_thirty_days_at_the_most(answer_of, value, taken):
    """Common practice: what takes longer is no step of a start. By hand: 986 m3 at 0.374 L/s are 30.5 d."""
    flow, volume = {"value": 0.374, "unit": "L/s"}, {"value": 0.374e-3 * 86400 * value, "unit": "m3"}
    filled = plan(fill_duration=None, loop_volume=volume, fill_flow=flow)
    flushed = plan(fill_duration=None, loop_volume=minutes_of_water(1), fill_flow=flow, flush_volume=volume)
    own = plan(step_durations={"lay_hoses": days(value)})
    if taken:
        assert answer_of("readiness.procedure", own)["results"]["time_to_cold_water"]["value"] > 30 * 24 * 60
        assert answer_of("readiness.procedure", filled)["results"]["time_to_cold_water"]["value"] > 30 * 24 * 60
        return
    for asked, pointer in ((filled, "#/fill_flow"), (flushed, "#/flush_volume"), (own, "#/step_durations/lay_hoses")):
        with pytest.raises(Refused) as refused:
            answer_of("readiness.procedure", asked)
        (error,) = refused.value.errors
        assert error.pointer == pointer
        assert "30.5" in error.detail
    assert error.allowed
    assert (error.allowed.maximum, error.allowed.unit) == (30, "d")


def minutes_of_water(minutes: float) -> dict[str, Any]:
    return {"value": 0.374e-3 * 60 * minutes, "unit": "m3"}


def test_flushing_takes_its_water_and_ten_minutes_for_the_basket(answer_of):
    """Common practice: 10 min to empty the hoses and clean the basket; 600 L at 1 L/s are 10 min more."""
    asked = plan(
        fill_duration=None,
        loop_volume={"value": 1200, "unit": "L"},
        fill_flow={"value": 1, "unit": "L/s"},
        flush_volume={"value": 600, "unit": "L"},
    )
    steps = {s["id"]: s for s in answer_of("readiness.procedure", asked)["results"]["steps"]}
    assert steps["flush_hoses"]["duration"]["value"] == pytest.approx(20)
    assert steps["fill_loop"]["duration"]["value"] == pytest.approx(20)
    assert (
        "600 L" in steps["flush_hoses"]["acceptance"] + steps["flush_hoses"]["look_at"] + steps["flush_hoses"]["title"]
    )


@pytest.mark.parametrize(("compressors", "rest"), [(2, 5), (3, 5), (6, 8)])
def test_compressors_are_staged_one_rest_apart(answer_of, compressors, rest):
    asked = plan({"compressors": compressors, "anti_recycle": minutes(rest)})
    steps = {s["id"]: s for s in answer_of("readiness.procedure", asked)["results"]["steps"]}
    assert steps["stage_next_compressors"]["duration"] == minutes((compressors - 1) * rest)


def test_the_figures_of_a_set_up_stand_in_its_steps(answer_of):
    """By hand: a tenth below and above 400 V; 35 and 45 psi are 241.3 and 310.3 kPa; 42 degF is 5.556 degC."""
    configuration = {
        "rated_voltage": {"value": 400, "unit": "V"},
        "voltage_unbalance_limit": 0.015,
        "warm_up_duration": {"value": 90, "unit": "min"},
        "fill_pressure_minimum": {"value": 35, "unit": "psi"},
        "fill_pressure_maximum": {"value": 45, "unit": "psi"},
        "set_point_minimum_water": {"value": 42, "unit": "degF"},
        "freeze_margin": {"value": 18, "unit": "delta_degF"},
        "fluid_kind": "propylene_glycol",
    }
    steps = {
        s["id"]: s["acceptance"]
        for s in answer_of("readiness.procedure", plan(configuration, antifreeze_duration=minutes(20)))["results"][
            "steps"
        ]
    }
    assert "each line voltage from 360 V to 440 V; unbalance at most 1.5 %" in steps["check_phase_and_voltage"]
    assert "rated (400 V)" in steps["read_data_plate"]
    assert "for 90 min" in steps["oil_warm_up"]
    assert "From 241.3 kPa to 310.3 kPa" in steps["fill_loop"]
    assert "at least 10 delta_degC below the set point" in steps["read_antifreeze"]
    assert "at least 5.556 degC with water" in steps["enter_set_point"]
    whole = {s["id"]: s["acceptance"] for s in answer_of("readiness.procedure", plan())["results"]["steps"]}
    assert "for 1 h" in whole["oil_warm_up"]


GLYCOL: dict[str, Any] = {"fluid_kind": "propylene_glycol"}
LITRES: dict[str, Any] = {"value": 10, "unit": "L"}
OF_A_SET: dict[str, Any] = {
    "load_bank_power": {"value": 50, "unit": "kW"},
    "refuel_interval": {"value": 8, "unit": "h"},
    "generator_brought": True,
}
PULLED: dict[str, Any] = {
    "pull_down": {
        "leaving_temperature": {"value": 20, "unit": "degC"},
        "set_point": {"value": 7, "unit": "degC"},
        "loop_volume": {"value": 1, "unit": "m3"},
        "compressors": [{"id": "1", "capacity": {"value": 100, "unit": "kW"}}],
    }
}


@pytest.mark.parametrize(
    ("given", "pointers"),
    [
        *((plan(**{name: value}), [f"#/{name}"]) for name, value in OF_A_SET.items()),
        (plan(flush_volume=LITRES), ["#/fill_flow"]),
        (plan(concentrate_volume=LITRES, water_volume=LITRES), ["#/concentrate_volume", "#/water_volume"]),
        (plan(GLYCOL, antifreeze_duration=minutes(5), water_volume=LITRES), ["#/concentrate_volume"]),
        (plan(fill_flow={"value": 1, "unit": "L/s"}), ["#/fill_flow"]),
        (plan(fill_duration=None, fill_flow={"value": 1, "unit": "L/s"}), ["#/loop_volume"]),
        (plan(**PULLED), ["#/pull_down_duration"]),
    ],
)
def test_what_does_not_belong_together_is_refused_at_each_place(answer_of, given, pointers):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", given)
    assert [e.pointer for e in refused.value.errors] == pointers


def test_what_belongs_to_a_set_is_taken_where_a_set_feeds(answer_of):
    plain = answer_of("readiness.procedure", plan({"supply_source": "generator"}))["results"]
    whole = answer_of("readiness.procedure", plan({"supply_source": "generator"}, **OF_A_SET))["results"]
    new = {s["id"] for s in whole["steps"]} - {s["id"] for s in plain["steps"]}
    assert new == {"place_generator", "ground_generator", "check_generator", "connect_load_bank", "agree_refuelling"}
    second = answer_of("readiness.procedure", plan({"second_start": True}, fill_duration=None, flush_volume=LITRES))[
        "results"
    ]
    assert "flush_hoses" not in {s["id"] for s in second["steps"]}


def test_refusals_say_how_long_and_how_much(answer_of):
    """First law, by hand: 10,000 m3 of water by 18 K are 7.54e11 J; 100 kW take 87 d, and 200 kW carry a load of 200 kW never."""
    loop = STAGED | {
        "loop_volume": {"value": 10_000, "unit": "m3"},
        "load": {"value": 0, "unit": "kW"},
        "compressors": [{"id": "1", "capacity": {"value": 100, "unit": "kW"}}],
    }
    small = loop | {
        "loop_volume": {"value": 1, "unit": "m3"},
        "load": {"value": 200, "unit": "kW"},
        "compressors": [{"id": "1", "capacity": {"value": 200, "unit": "kW"}}],
    }
    for asked, words in ((loop, "87."), (small, "cooling of 200 kW never brings")):
        with pytest.raises(Refused) as refused:
            answer_of("readiness.procedure", plan(pull_down=asked, pull_down_duration=None))
        (error,) = refused.value.errors
        assert error.pointer == "#/pull_down"
        assert words in error.detail
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", plan({"set_point_minimum_water": {"value": 34, "unit": "degF"}}))
    (error,) = refused.value.errors
    assert error.allowed
    assert (error.allowed.minimum, error.allowed.unit) == (35, "degF")
    assert answer_of("readiness.procedure", plan({"set_point_minimum_water": {"value": 35, "unit": "degF"}}))


def test_a_role_that_nobody_has_names_its_steps_and_no_others(answer_of):
    crew = [{"id": "t", "roles": ["technician", "lift_team"]}]
    answer = answer_of("readiness.procedure", plan(crew=crew))
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "role_without_person"]
    electric = [s["id"] for s in answer["results"]["steps"] if s["role"] == "electrician"]
    assert f"is electrician: {', '.join(electric)} cannot be done" in said
