"""How a service behaves: what it refuses, finds, and keeps in proportion."""

import copy
from typing import Any

import pytest
from hypothesis import given as for_all
from hypothesis import strategies as st

from coldwright.contract import Refused

Json = dict[str, Any]


def amps(value: float) -> Json:
    return {"value": value, "unit": "A"}


def compressor(rated: float, quantity: int = 1, **more: Any) -> Json:
    return {"role": "compressor", "quantity": quantity, "rated_load_current": amps(rated), **more}


def fan(current: float) -> Json:
    return {"role": "fan", "full_load_current": amps(current)}


def request(*machines: Json, practice: str = "nec", volts: float = 480, hertz: float = 60, **more: Any) -> Json:
    return {
        "practice": practice,
        "system_voltage": {"value": volts, "unit": "V"},
        "frequency": {"value": hertz, "unit": "Hz"},
        "machines": [{"machine_id": f"m{i}", **machine} for i, machine in enumerate(machines)],
        **more,
    }


def codes(answer: Json, severity: str = "") -> set[str]:
    return {f["code"] for f in answer["findings"] if severity in ("", f["severity"])}


SMALL = {"motors": [compressor(20), fan(2.5)]}
PLATE = {"minimum_circuit_ampacity": amps(31.4), "maximum_overcurrent_device": amps(50)}


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"machines": [{"machine_id": "m0"}]}, "#/machines/0/motors"),
        ({"machines": [{"machine_id": "m0", "motors": [fan(3)]}]}, "#/machines/0/motors"),
        (
            {"machines": [{"machine_id": "m0", **PLATE}, {"machine_id": "m1", "motors": [fan(3)]}]},
            "#/machines/1/motors",
        ),
        ({"machines": []}, "#/machines"),
        ({"machines": [{"machine_id": "m0", "quantity": 0, **PLATE}]}, "#/machines/0/quantity"),
        ({"power_factor": 0.49}, "#/power_factor"),
        ({"power_factor": 1.01}, "#/power_factor"),
        ({"system_voltage": {"value": 179, "unit": "V"}}, "#/system_voltage"),
        ({"system_voltage": {"value": 691, "unit": "V"}}, "#/system_voltage"),
        ({"frequency": {"value": 55, "unit": "Hz"}}, "#/frequency"),
        ({"overcurrent_factor": 2.0}, "#/overcurrent_factor"),
        ({"practice": "other"}, "#/practice"),
        ({"phases": 1}, "#/phases"),
        ({"available": {"supply_current_in_use": amps(10)}}, "#/available/supply_current"),
        (
            {"machines": [{"machine_id": "a", "nameplate_frequency": {"value": 55, "unit": "Hz"}, **PLATE}]},
            "#/machines/0/nameplate_frequency",
        ),
        (
            {
                "machines": [
                    {
                        "machine_id": "a",
                        "minimum_circuit_ampacity": amps(51),
                        "maximum_overcurrent_device": amps(50),
                    }
                ]
            },
            "#/machines/0/maximum_overcurrent_device",
        ),
        (
            {"machines": [{"machine_id": "a", **PLATE, "interlocked_with": ["b"]}]},
            "#/machines/0/interlocked_with/0",
        ),
        (
            {"machines": [{"machine_id": "a", **PLATE, "interlocked_with": ["a"]}]},
            "#/machines/0/interlocked_with/0",
        ),
        ({"machines": [{"machine_id": "a", **PLATE}, {"machine_id": "a", **PLATE}]}, "#/machines/1/machine_id"),
    ],
)
def test_refusals(answer_of: Any, change: Json, pointer: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("electrical.service", {**request(SMALL), **change})
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize(
    ("motor", "field"),
    [
        ({"role": "compressor"}, "rated_load_current"),
        ({"role": "compressor", "full_load_current": amps(5)}, "full_load_current"),
        ({"role": "compressor", "rated_power": {"value": 5, "unit": "hp"}}, "rated_power"),
        ({"role": "fan"}, "full_load_current"),
        ({"role": "pump", "rated_load_current": amps(5)}, "rated_load_current"),
        ({"role": "pump", "rated_power": {"value": 11, "unit": "hp"}}, "full_load_current"),
        (compressor(-1), "rated_load_current"),
        (compressor(0), "rated_load_current"),
        (compressor(20, locked_rotor_current=amps(29)), "locked_rotor_current"),
        (compressor(20, locked_rotor_current=amps(241)), "locked_rotor_current"),
    ],
)
def test_refused_motors(answer_of: Any, motor: Json, field: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("electrical.service", request({"motors": [compressor(10), motor]}))
    assert f"#/machines/0/motors/1/{field}" in [e.pointer for e in refused.value.errors]


def test_every_contradiction_is_named(answer_of: Any) -> None:
    bad = request({"motors": [fan(3)]}, {"motors": [{"role": "compressor"}]}, hertz=55)
    with pytest.raises(Refused) as refused:
        answer_of("electrical.service", bad)
    assert {e.pointer for e in refused.value.errors} == {
        "#/frequency",
        "#/machines/0/motors",
        "#/machines/1/motors/0/rated_load_current",
    }


MANY = {"motors": [compressor(1500, 2)], "quantity": 4}
RAISED = [
    ("breaker_above_maximum", request(SMALL, available={"breaker_rating": amps(60)})),
    ("breaker_below_smallest", request(SMALL, available={"breaker_rating": amps(25)})),
    ("supply_short", request(SMALL, available={"supply_current": amps(100), "supply_current_in_use": amps(80)})),
    ("nameplate_voltage_mismatch", request({**SMALL, "nameplate_voltage": {"value": 415, "unit": "V"}})),
    (
        "nameplate_frequency_mismatch",
        request({**SMALL, "nameplate_frequency": {"value": 50, "unit": "Hz"}}),
    ),
    (
        "feeder_device_by_conductors",
        request(SMALL | {"quantity": 2}, feeder_conductors="by_device", available={"breaker_rating": amps(1200)}),
    ),
    ("overcurrent_factor_unusable", request({"quantity": 2, "motors": [compressor(58, 2), fan(13.6), fan(14)]})),
    (
        "no_standard_device_between",
        request({"minimum_circuit_ampacity": amps(46), "maximum_overcurrent_device": amps(48)}),
    ),
    ("starting_factor_needs_reason", request(SMALL, overcurrent_factor=2.25)),
    (
        "fuse_only_plate",
        request({**PLATE, "maximum_overcurrent_device_kind": "fuse"}, available={"breaker_rating": amps(50)}),
    ),
    ("plate_differs_from_calculated", request({**SMALL, "minimum_circuit_ampacity": amps(31)})),
    ("breaker_near_running_current", request({"motors": [compressor(29)]}, available={"breaker_rating": amps(35)})),
    ("breaker_loading_not_tested", request(PLATE, available={"breaker_rating": amps(50)})),
    ("ground_fault_protection", request(MANY)),
    ("arc_energy_reduction", request(MANY)),
    ("slash_rated_breaker", request(SMALL, supply_grounding="high_leg_delta")),
    ("maximum_device_unknown", request({"minimum_circuit_ampacity": amps(31)})),
    ("maximum_device_unknown", request({"rated_current": amps(31)}, practice="iec", hertz=50, volts=400)),
    ("above_standard_ratings", request(MANY)),
    ("bounds_from_plates", request(SMALL, PLATE)),
    ("other_loads_in_plate", request({**PLATE, "other_loads": [{"name": "heater", "current": amps(2)}]})),
    ("rated_current_not_used", request({**PLATE, "rated_current": amps(28)})),
    ("own_branch_device", request(SMALL, PLATE)),
    ("disconnect_at_machine", request(SMALL)),
    ("heaters_stay_live", request(SMALL)),
    ("frequency_unusual_for_practice", request(SMALL, hertz=50)),
]


@pytest.mark.parametrize(("code", "given"), RAISED)
def test_finding_is_raised(answer_of: Any, code: str, given: Json) -> None:
    assert code in codes(answer_of("electrical.service", given))


def test_every_finding_is_raised_by_some_test(registry: Any) -> None:
    assert {code for code, _ in RAISED} == set(registry.lookup("electrical.service").findings)


def test_a_quiet_case_is_acceptable(answer_of: Any) -> None:
    answer = answer_of("electrical.service", request(SMALL, available={"breaker_rating": amps(35)}))
    assert answer["outcome"] == "acceptable"
    assert answer["results"]["fit"] == {"verdict": "fits", "reasons": []}
    assert len(answer["cautions"]) == 11


@pytest.mark.parametrize(("plate", "stops"), [(460, False), (437, False), (436, True), (528, False), (529, True)])
def test_nameplate_limits(answer_of: Any, plate: float, stops: bool) -> None:
    """MG 1: at most 1.10 of the plate at the motor; 480 V / 1.10 = 436.4 V."""
    machine = {**SMALL, "nameplate_voltage": {"value": plate, "unit": "V"}}
    answer = answer_of("electrical.service", request(machine, available={"breaker_rating": amps(35)}))
    assert ("nameplate_voltage_mismatch" in codes(answer, "stop")) is stops
    assert answer["results"]["fit"]["verdict"] == ("does_not_fit" if stops else "fits")


def test_what_is_made_for_another_system_does_not_fit(answer_of: Any) -> None:
    """What a program reads is what the sentence beside it says, whatever breaker and supply are offered."""
    machine = {
        **SMALL,
        "nameplate_frequency": {"value": 50, "unit": "Hz"},
        "nameplate_voltage": {"value": 415, "unit": "V"},
    }
    for available in ({}, {"breaker_rating": amps(35)}, {"supply_current": amps(400)}):
        answer = answer_of("electrical.service", request(machine, available=available))
        stops = [f["statement"] for f in answer["findings"] if f["severity"] == "stop"]
        assert answer["results"]["fit"]["verdict"] == "does_not_fit"
        assert answer["results"]["fit"]["reasons"] == stops
        assert len(stops) == 2


def test_far_nameplate_points_to_a_transformer(answer_of: Any) -> None:
    far = request({**SMALL, "nameplate_voltage": {"value": 230, "unit": "V"}})
    statements = [f["statement"] for f in answer_of("electrical.service", far)["findings"] if f["severity"] == "stop"]
    assert any("electrical.transformer" in s for s in statements)


def test_every_failed_test_has_its_own_stop_and_reason(answer_of: Any) -> None:
    answer = answer_of(
        "electrical.service", request(SMALL, available={"breaker_rating": amps(25), "supply_current": amps(20)})
    )
    assert codes(answer, "stop") == {"breaker_below_smallest", "supply_short"}
    assert len(answer["results"]["fit"]["reasons"]) == 2
    assert answer["results"]["fit"]["spare_supply"]["value"] == pytest.approx(20 - 27.5)


def test_fit_is_unknown_without_offer(answer_of: Any) -> None:
    assert answer_of("electrical.service", request(SMALL))["results"]["fit"]["verdict"] == "unknown"


def test_plate_only_machine_leaves_out_what_motors_would_tell(answer_of: Any) -> None:
    results = answer_of("electrical.service", request({**PLATE, "quantity": 3}))["results"]
    machine = results["machines"][0]
    assert set(machine) == {
        "machine_id",
        "quantity",
        "minimum_circuit_ampacity",
        "minimum_circuit_ampacity_source",
        "maximum_overcurrent_standard",
        "smallest_workable_standard",
    }
    assert results["feeder"]["minimum_circuit_ampacity"]["value"] == pytest.approx(3 * 31.4)
    # largest plate device + two other machines at MCA / 1.25, rounded down
    assert results["feeder"]["maximum_overcurrent_calculated"]["value"] == pytest.approx(50 + 2 * 31.4 / 1.25)
    assert results["feeder"]["maximum_overcurrent_standard"]["value"] == 100
    assert "apparent_power" not in results


def test_mixed_group_counts_plates_by_their_bounds(answer_of: Any) -> None:
    feeder = answer_of("electrical.service", request(SMALL, PLATE))["results"]["feeder"]
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(27.5 + 31.4)
    # the greater of two lower bounds: 1.75 x 20 + 2.5 + 31.4/1.25, and 50 + 22.5
    assert feeder["maximum_overcurrent_calculated"]["value"] == pytest.approx(72.5)
    assert feeder["minimum_circuit_ampacity_source"] == "plate"


def test_plate_and_motors_together(answer_of: Any) -> None:
    both = {**SMALL, "minimum_circuit_ampacity": amps(28), "maximum_overcurrent_device": amps(40)}
    machine = answer_of("electrical.service", request(both))["results"]["machines"][0]
    assert machine["minimum_circuit_ampacity"]["value"] == 28
    assert machine["maximum_overcurrent_calculated"]["value"] == 37.5
    assert machine["maximum_overcurrent_standard"]["value"] == 40
    pair = answer_of("electrical.service", request({**both, "quantity": 2}))["results"]["feeder"]
    assert pair["minimum_circuit_ampacity"]["value"] == pytest.approx(45 + 5)


def test_other_loads(answer_of: Any) -> None:
    loads = [{"name": "heater", "current": amps(4)}, {"name": "control", "current": amps(2), "continuous": False}]
    feeder = answer_of("electrical.service", request({**SMALL, "other_loads": loads}))["results"]["feeder"]
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(27.5 + 1.25 * 4 + 2)
    assert feeder["maximum_overcurrent_calculated"]["value"] == pytest.approx(37.5 + 6)
    assert feeder["running_current"]["value"] == pytest.approx(28.5)
    assert feeder["disconnect_minimum_current"]["value"] == pytest.approx(1.15 * 28.5)


def test_locked_rotor_takes_the_worst_single_start(answer_of: Any) -> None:
    motors = [compressor(20, 2, locked_rotor_current=amps(100)), {**fan(5), "locked_rotor_current": amps(50)}]
    machine = answer_of("electrical.service", request({"motors": motors}))["results"]["machines"][0]
    assert machine["locked_rotor_with_largest_starting"]["value"] == pytest.approx(45 - 20 + 100)


def test_tie_makes_the_compressor_the_largest(answer_of: Any) -> None:
    for motors in ([compressor(20), fan(20)], [fan(20), compressor(20)]):
        machine = answer_of("electrical.service", request({"motors": motors}))["results"]["machines"][0]
        assert machine["maximum_overcurrent_calculated"]["value"] == pytest.approx(1.75 * 20 + 20)


def test_device_is_never_below_the_smallest_made(answer_of: Any) -> None:
    machine = answer_of("electrical.service", request({"motors": [compressor(3)]}))["results"]["machines"][0]
    assert machine["maximum_overcurrent_calculated"]["value"] == 5.25
    assert machine["maximum_overcurrent_standard"]["value"] == 15


def test_iec_adds_rated_currents_without_margin(answer_of: Any) -> None:
    plate = {"rated_current": amps(91), "maximum_overcurrent_device": amps(160)}
    machines = ({**plate, "quantity": 2}, {"motors": [compressor(30)], "maximum_overcurrent_device": amps(63)})
    results = answer_of("electrical.service", request(*machines, practice="iec", volts=400, hertz=50))["results"]
    feeder = results["feeder"]
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(212)
    assert feeder["smallest_workable_standard"]["value"] == 250
    assert feeder["disconnect_minimum_current"]["value"] == 250
    assert "maximum_overcurrent_standard_at_2_25" not in feeder
    assert results["machines"][0]["smallest_workable_standard"]["value"] == 100
    assert results["machines"][0]["maximum_overcurrent_standard"]["value"] == 160


def test_interlocked_machines_count_once(answer_of: Any) -> None:
    big, small = {"motors": [compressor(60)]}, {"motors": [compressor(40)]}
    alone = answer_of("electrical.service", request(big))["results"]["feeder"]
    either = answer_of("electrical.service", request(big, {**small, "interlocked_with": ["m0"]}))["results"]["feeder"]
    assert either == alone
    both = answer_of("electrical.service", request(big, small))["results"]["feeder"]
    assert both["minimum_circuit_ampacity"]["value"] == pytest.approx(115)


def test_interlocks_take_the_worst_of_the_sets_that_may_run(answer_of: Any) -> None:
    """m0 excludes m1 and m2, which may run together: the pair of 40 A outweighs the 60 A machine."""
    machines = (
        {"motors": [compressor(60)], "interlocked_with": ["m1", "m2"]},
        {"motors": [compressor(40)]},
        {"motors": [compressor(40)]},
    )
    feeder = answer_of("electrical.service", request(*machines))["results"]["feeder"]
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(90)
    assert feeder["running_current"]["value"] == pytest.approx(80)


def test_equal_sets_take_the_smaller_device(answer_of: Any) -> None:
    """50 A alone and a pair of 25 A with 12.5 A of fans: equal ampacity 62.5 A, the smaller limit stands."""
    machines = (
        {"motors": [compressor(50)], "interlocked_with": ["m1"]},
        {"motors": [compressor(25), compressor(25), fan(6.25)]},
    )
    feeder = answer_of("electrical.service", request(*machines))["results"]["feeder"]
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(62.5)
    assert feeder["maximum_overcurrent_calculated"]["value"] == pytest.approx(1.75 * 25 + 31.25)


def test_too_many_interlocked_sets_are_refused(answer_of: Any) -> None:
    pairs = [{**PLATE, "interlocked_with": [f"m{i ^ 1}"]} for i in range(40)]
    with pytest.raises(Refused) as refused:
        answer_of("electrical.service", request(*pairs))
    assert refused.value.errors[0].pointer == "#/machines"


currents = st.floats(1, 500).map(lambda x: round(x, 2))
machines = st.lists(
    st.fixed_dictionaries(
        {
            "quantity": st.integers(1, 4),
            "motors": st.tuples(
                st.builds(compressor, currents, st.integers(1, 4)),
                st.builds(fan, st.floats(0.5, 300).map(lambda x: round(x, 2))),
            ).map(list),
        }
    ),
    min_size=1,
    max_size=4,
)


@for_all(machines, currents)
def test_adding_a_machine_never_needs_less(answer_of: Any, listed: list[Json], more: float) -> None:
    before = answer_of("electrical.service", request(*listed))["results"]["feeder"]
    after = answer_of("electrical.service", request(*listed, {"motors": [compressor(more)]}))["results"]["feeder"]
    for key in ("minimum_circuit_ampacity", "running_current", "disconnect_minimum_current"):
        assert after[key]["value"] >= before[key]["value"]


@for_all(machines)
def test_units_change_neither_question_nor_numbers(answer_of: Any, listed: list[Json]) -> None:
    given = request(*listed, available={"breaker_rating": amps(400), "supply_current": amps(500)})
    metric, us = (answer_of("electrical.service", given, units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert metric == us  # amperes, volt-amperes and watts are the same in both


@for_all(machines)
def test_kiloamperes_are_the_same_question_in_other_words(answer_of: Any, listed: list[Json]) -> None:
    scaled = copy.deepcopy(listed)
    for machine in scaled:
        for motor in machine["motors"]:
            for key in ("rated_load_current", "full_load_current"):
                if key in motor:
                    motor[key] = {"value": motor[key]["value"] / 1000, "unit": "kA"}
    plain, other = (answer_of("electrical.service", request(*m))["results"] for m in (listed, scaled))
    for key, value in plain["feeder"].items():
        if isinstance(value, dict):
            assert other["feeder"][key]["value"] == pytest.approx(value["value"], rel=1e-9)


@for_all(machines, st.sampled_from(["nec", "iec"]))
def test_feeder_is_at_least_the_largest_machine(answer_of: Any, listed: list[Json], practice: str) -> None:
    results = answer_of("electrical.service", request(*listed, practice=practice))["results"]
    greatest = max(m["minimum_circuit_ampacity"]["value"] for m in results["machines"])
    assert results["feeder"]["minimum_circuit_ampacity"]["value"] >= greatest


@for_all(machines)
def test_a_fitting_breaker_lies_between_the_limits(answer_of: Any, listed: list[Json]) -> None:
    feeder = answer_of("electrical.service", request(*listed))["results"]["feeder"]
    if "smallest_workable_standard" not in feeder:
        return
    least, most = feeder["smallest_workable_standard"], feeder["maximum_overcurrent_standard"]
    for rating in (least, most):
        verdict = answer_of("electrical.service", request(*listed, available={"breaker_rating": rating}))["results"][
            "fit"
        ]
        assert (verdict["verdict"] == "fits") is (least["value"] <= most["value"])


def test_working_of_a_feeder_can_be_followed(answer_of):
    motors = [
        {"role": "compressor", "quantity": 2, "rated_load_current": {"value": 58, "unit": "A"}},
        {"role": "fan", "quantity": 4, "full_load_current": {"value": 3.4, "unit": "A"}},
        {"role": "pump", "full_load_current": {"value": 14, "unit": "A"}},
    ]
    sent = {
        "practice": "nec",
        "system_voltage": {"value": 480, "unit": "V"},
        "frequency": {"value": 60, "unit": "Hz"},
        "machines": [{"machine_id": "pair", "quantity": 2, "motors": motors}],
    }
    lines = {line["meaning"]: line for line in answer_of("electrical.service", sent)["working"]}
    assert lines["Running current, pair"]["expression"] == "2 x 58 + 4 x 3.4 + 14"
    assert lines["Ampacity of the feeder"]["expression"] == "287.2 running + 0.25 x 58, the largest motor once"
    assert lines["Greatest device of the feeder"]["expression"] == "1.75 x 58 + 229.2"


def test_a_current_from_the_table_is_told_with_its_source(answer_of):
    by_power = {"role": "pump", "rated_power": {"value": 10, "unit": "hp"}}
    by_plate = {"role": "pump", "full_load_current": amps(28)}
    told, untold = (
        answer_of("electrical.service", request({"motors": [compressor(26), pump]}, volts=230))
        for pump in (by_power, by_plate)
    )
    (assumed,) = (a for a in told["assumptions"] if a["code"] == "tabulated_current")
    assert (assumed["basis"], assumed["references"]) == ("standard", ["nec_table_430_250"])
    assert "tabulated_current" not in {a["code"] for a in untold["assumptions"]}
    assert next(w for w in told["working"] if w["symbol"] == "I")["expression"] == "26 + 28"
    assert told["working"] == untold["working"]


@pytest.mark.parametrize("count", [2, 5, 9])
def test_a_feeder_device_may_follow_larger_conductors_and_no_less_than_the_load(answer_of: Any, count: int) -> None:
    """NEC 2017 430.62(B), read in a public reproduction: the device may be based on the ampacity of larger conductors."""
    machine = {"quantity": count, "motors": [compressor(58, 2), fan(13.6), fan(14)]}
    least = answer_of("electrical.service", request(machine))["results"]["feeder"]["smallest_workable_standard"][
        "value"
    ]
    for rating, verdict in ((least, "fits"), (max(least, 1200), "fits"), (4000, "fits"), (0.8 * least, "does_not_fit")):
        asked = request(machine, feeder_conductors="by_device", available={"breaker_rating": amps(rating)})
        assert answer_of("electrical.service", asked)["results"]["fit"]["verdict"] == verdict
    none = answer_of("electrical.service", request(machine, feeder_conductors="by_device"))
    assert none["results"]["fit"]["verdict"] == "unknown"


def test_one_machine_alone_has_its_branch_device_whatever_the_conductors(answer_of: Any) -> None:
    asked = request(SMALL, feeder_conductors="by_device", available={"breaker_rating": amps(60)})
    assert "breaker_above_maximum" in codes(answer_of("electrical.service", asked), "stop")
