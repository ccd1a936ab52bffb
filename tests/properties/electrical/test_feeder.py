"""How a feeder behaves: laws that hold with the choice held, refusals, findings."""

import cmath
import math
from typing import Any

import msgspec
import pytest
from hypothesis import given as for_all
from hypothesis import strategies as st
from scipy.optimize import brentq

from coldwright.contract import Refused
from coldwright_electrical import plugin
from coldwright_electrical.feeder.ampacity import PORTABLE_SIZES, RACEWAY_SIZES, RUBBER_SIZES
from coldwright_electrical.feeder.drop import Load, exact_drop, longest_run_starting, starting_drop_fraction

Json = dict[str, Any]


def amps(value: float) -> Json:
    return {"value": value, "unit": "A"}


def metres(value: float) -> Json:
    return {"value": value, "unit": "m"}


def celsius(value: float) -> Json:
    return {"value": value, "unit": "degC"}


def request(load: float = 100, device: float = 125, length: float = 30, practice: str = "nec", **more: Any) -> Json:
    nec = practice == "nec"
    return {
        "practice": practice,
        "system_voltage": {"value": 480 if nec else 400, "unit": "V"},
        "frequency": {"value": 60 if nec else 50, "unit": "Hz"},
        "load_current": amps(load),
        "minimum_ampacity": amps(load),
        "overcurrent_device": amps(device),
        "length": metres(length),
        **more,
    }


def held(practice: str = "nec", **more: Any) -> Json:
    size = "4/0 AWG" if practice == "nec" else "95 mm2"
    return request(practice=practice, **{"conductor_size": size, "sets": 1, **more})


def codes(answer: Json, severity: str = "") -> set[str]:
    return {f["code"] for f in answer["findings"] if severity in ("", f["severity"])}


practices = st.sampled_from(["nec", "iec"])


@for_all(practices, st.floats(1, 590), st.floats(0.1, 10), st.sampled_from([None, 600]))
def test_longer_run_never_drops_less(answer_of: Any, practice: str, length: float, more: float, start: float) -> None:
    extra = {} if start is None else {"starting_current": amps(start)}
    short, long = (
        answer_of("electrical.feeder", held(practice, length=run, **extra))["results"]
        for run in (length, length + more)
    )
    assert long["drop_running"]["value"] >= short["drop_running"]["value"]
    assert long.get("starting_drop_fraction", 0) >= short.get("starting_drop_fraction", 0)
    assert long["longest_run"] == short["longest_run"]


@for_all(practices, st.floats(-40, 54), st.floats(0, 5), st.sampled_from([60, 75, 90]))
def test_hotter_never_more_ampacity(answer_of: Any, practice: str, ambient: float, more: float, column: int) -> None:
    extra = {"insulation_temperature": column} if practice == "nec" else {}
    cool, hot = (
        answer_of("electrical.feeder", held(practice, ambient_temperature=celsius(t), **extra))["results"]
        for t in (ambient, min(ambient + more, 55))
    )
    for key in ("ampacity_each", "ampacity_total", "ampacity_deciding"):
        assert hot[key]["value"] <= cool[key]["value"]


@for_all(practices, st.integers(1, 9), st.floats(50, 300))
def test_parallel_sets_never_carry_less(answer_of: Any, practice: str, sets: int, load: float) -> None:
    few, many = (
        answer_of("electrical.feeder", held(practice, load=load, device=400, sets=n))["results"]
        for n in (sets, sets + 1)
    )
    assert many["ampacity_total"]["value"] >= few["ampacity_total"]["value"]
    assert many["drop_running"]["value"] <= few["drop_running"]["value"]
    assert many["longest_run"]["value"] >= few["longest_run"]["value"]


@for_all(st.floats(180, 690), st.floats(1, 3000), st.floats(0.3, 1), st.floats(1e-5, 0.05), st.floats(0, 0.05))
def test_exact_drop_against_a_complex_solution(volts: float, amperes: float, cosine: float, r: float, x: float) -> None:
    """Find by bracketing the receiving voltage whose phasor sum with the drop has the length of the sending one."""
    load = Load(volts, amperes, cosine, 0.0, 0.0)
    drop = exact_drop(r, x, load)
    phase_volts = volts / math.sqrt(3)
    across = cmath.rect(amperes, -math.acos(cosine)) * complex(r, x)

    def excess(received: float) -> float:
        return abs(received + across) - phase_volts

    if drop is None:
        # at unity or lagging load the sum grows with the received voltage: no voltage is left where it starts too long
        assert excess(0.0) >= -1e-9
        return
    received = brentq(excess, 0.0, 2 * phase_volts, xtol=1e-12)
    assert volts - math.sqrt(3) * received == pytest.approx(drop, abs=1e-7)


@for_all(
    st.floats(180, 690),
    st.floats(10, 5000),
    st.floats(0.1, 0.8),
    st.floats(1e-6, 1e-3),
    st.floats(0, 1e-3),
    st.floats(0.05, 0.3),
    st.floats(0, 0.02),
)
def test_longest_run_by_the_start_is_where_the_drop_is_used_up(
    volts: float, amperes: float, cosine: float, r: float, x: float, allowed: float, source: float
) -> None:
    start = Load(volts, amperes, cosine, source, source)
    run = longest_run_starting(complex(r, x), start, allowed)
    if run == 0:
        assert starting_drop_fraction(0, 0, start) >= allowed - 1e-12
    else:
        assert starting_drop_fraction(r * run, x * run, start) == pytest.approx(allowed, rel=1e-6)


@for_all(practices, st.floats(10, 900), st.floats(1, 500), st.booleans())
def test_choice_carries_the_load_and_units_change_nothing(
    answer_of: Any, practice: str, load: float, length: float, starts: bool
) -> None:
    extra = {"starting_current": amps(2 * load)} if starts else {}
    given = request(load, 1.1 * load, length, practice, **extra)
    answer = answer_of("electrical.feeder", given)
    results = answer["results"]
    if results["verdict"] == "ok":
        assert results["ampacity_deciding"]["value"] >= load * (1 - 1e-9)
    assert (results["verdict"] == "ok") is (answer["outcome"] != "unacceptable")
    us = answer_of("electrical.feeder", given, units="us")
    assert us["digest"] == answer["digest"]
    assert us["results"]["longest_run"]["value"] * 0.3048 == pytest.approx(results["longest_run"]["value"], rel=1e-9)
    assert us["results"]["drop_running"] == results["drop_running"]
    assert us["results"]["pick_list"] == results["pick_list"]


@for_all(practices, st.floats(10, 600), st.floats(1, 300))
def test_choice_needs_no_fewer_pieces(answer_of: Any, practice: str, load: float, length: float) -> None:
    """No smaller number of sets of any size of the table would have met everything."""
    given = request(load, 1.1 * load, length, practice)
    chosen = answer_of("electrical.feeder", given)
    if codes(chosen) & {"running_drop_high", "voltage_too_low", "ampacity_short"} or chosen["results"]["sets"] == 1:
        return
    sizes = RUBBER_SIZES if practice == "iec" else PORTABLE_SIZES
    fewer = chosen["results"]["sets"] - 1
    for size in sizes:
        try:
            other = answer_of("electrical.feeder", {**given, "conductor_size": size, "sets": fewer})
        except Refused:  # so thin and long that no voltage would be left
            continue
        assert other["results"]["verdict"] == "not_ok" or "running_drop_high" in codes(other)


@for_all(st.floats(0, 1), st.integers(1, 10))
def test_source_adds_to_drop_only(answer_of: Any, milliohm: float, sets: int) -> None:
    plain = answer_of("electrical.feeder", held(sets=sets))["results"]
    source: dict[str, Any] = {"source_resistance": {"value": milliohm, "unit": "mohm"}}
    behind = answer_of("electrical.feeder", held(sets=sets, **source))["results"]
    assert behind["drop_running"]["value"] >= plain["drop_running"]["value"]
    assert behind["longest_run"] == plain["longest_run"]
    assert behind["loss"] == plain["loss"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"length": metres(0)}, "#/length"),
        ({"length": metres(-5)}, "#/length"),
        ({"length": metres(601)}, "#/length"),
        ({"power_factor": 0}, "#/power_factor"),
        ({"sets": 11}, "#/sets"),
        ({"allowed_drop_running_fraction": 0.11}, "#/allowed_drop_running_fraction"),
        ({"frequency": {"value": 55, "unit": "Hz"}}, "#/frequency"),
        ({"minimum_ampacity": amps(99)}, "#/minimum_ampacity"),
        ({"conductor_material": "aluminium"}, "#/conductor_material"),
        ({"conductor_size": "1 AWG"}, "#/conductor_size"),
        ({"conductor_size": "250 kcmil"}, "#/conductor_size"),
        ({"conductor_size": "120 mm2"}, "#/conductor_size"),
        ({"conductor_size": "4/0"}, "#/conductor_size"),
        ({"conductor_size": "8 AWG", "insulation_temperature": 60}, "#/conductor_size"),
        (
            {
                "conductor_size": "1000 kcmil",
                "ampacity_each": amps(500),
                "ampacity_source": "maker",
                "resistance_per_length": {"value": 0.05, "unit": "ohm/km"},
                "reactance_per_length": {"value": 0.1, "unit": "ohm/km"},
            },
            "#/conductor_size",
        ),
        ({"construction": "wire_in_raceway", "conductor_size": "500 kcmil"}, "#/resistance_per_length"),
        ({"conductor_size": "1 AWG", "ampacity_each": amps(140)}, "#/ampacity_source"),
        ({"conductor_size": "1 AWG", "ampacity_source": "maker"}, "#/ampacity_each"),
        ({"ampacity_each": amps(140), "ampacity_source": "maker"}, "#/conductor_size"),
        ({"resistance_per_length": {"value": 0.2, "unit": "ohm/km"}}, "#/conductor_size"),
        ({"conductor_size": "1/0 AWG", "termination_basis": "connector_rating"}, "#/connector_rating"),
        ({"ambient_temperature": celsius(71)}, "#/ambient_temperature"),
        ({"ambient_temperature": celsius(60), "insulation_temperature": 75}, "#/ambient_temperature"),
        ({"ambient_temperature": celsius(60), "insulation_temperature": 60}, "#/ambient_temperature"),
        ({"ambient_temperature": celsius(56), "insulation_temperature": 60}, "#/ambient_temperature"),
        ({"ampacity_each": amps(-1)}, "#/ampacity_each"),
    ],
)
def test_refusals(answer_of: Any, change: Json, pointer: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("electrical.feeder", {**request(), **change})
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"construction": "wire_in_raceway"}, "#/construction"),
        ({"insulation_temperature": 90}, "#/insulation_temperature"),
        ({"ambient_temperature": celsius(60)}, "#/ambient_temperature"),
        ({"conductor_size": "4/0 AWG"}, "#/conductor_size"),
        ({"conductor_size": "400 mm2"}, "#/conductor_size"),
    ],
)
def test_iec_refusals(answer_of: Any, change: Json, pointer: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("electrical.feeder", {**request(practice="iec"), **change})
    assert pointer in [e.pointer for e in refused.value.errors]


def test_a_run_that_leaves_no_voltage_is_refused(answer_of: Any) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("electrical.feeder", request(2000, 2000, 600, conductor_size="8 AWG", sets=1))
    assert refused.value.errors[0].pointer == "#/length"


OWN: dict[str, Any] = {
    "conductor_size": "250 kcmil",
    "ampacity_each": amps(300),
    "ampacity_source": "cable maker's sheet",
}
RAISED = [
    ("ampacity_short", request(300, 300, conductor_size="4/0 AWG", sets=1)),
    ("device_not_protecting", request(200, 300, conductor_size="4/0 AWG", sets=1)),
    ("small_wire_device", request(15, 25, construction="wire_in_raceway", conductor_size="12 AWG", sets=1)),
    ("parallel_too_small", request(conductor_size="2 AWG", sets=2)),
    ("phases_grouped", held(arrangement="conductors_of_a_phase_grouped")),
    ("voltage_too_low", request(115, 125, 600, conductor_size="2 AWG", sets=1)),
    ("running_drop_high", request(100, 125, 400, conductor_size="4/0 AWG", sets=1)),
    ("starting_drop_high", held(length=150, starting_current=amps(2500))),
    ("connector_basis", held(termination_basis="connector_rating")),
    ("connector_basis_not_allowed", held(termination_basis="connector_rating", ends="mixed")),
    ("ampacity_from_caller", request(**OWN)),
    ("touching_single_cores", request(182, 200, practice="iec", conductor_size="70 mm2", sets=1)),
    ("spacing_assumed", held(arrangement="spaced")),
    ("long_run", held(length=301)),
    ("device_below_load", held(load=150, device=125)),
    ("ground_not_tabulated", held(sets=10, device=2500)),
    ("frequency_unusual_for_practice", held(frequency={"value": 50, "unit": "Hz"})),
    ("next_rating_up", held(load=220, device=250)),
    ("motor_rule_not_applied", held()),
    ("source_drop_not_included", held()),
    ("ground_enlarged", request(100, 110, 300)),
    ("not_used_under_iec", request(practice="iec", termination_temperature=75)),
    ("ramps_needed", held(crossings=1)),
    ("drop_is_advice", held()),
    ("measured_run_prevails", held()),
]


@pytest.mark.parametrize(("code", "given"), RAISED)
def test_finding_is_raised(answer_of: Any, code: str, given: Json) -> None:
    assert code in codes(answer_of("electrical.feeder", given))


def test_every_finding_is_raised_by_some_test(registry: Any) -> None:
    assert {code for code, _ in RAISED} == set(registry.lookup("electrical.feeder").findings)


def test_drops_over_the_allowed_fraction_leave_the_verdict(answer_of: Any) -> None:
    answer = answer_of("electrical.feeder", request(100, 125, 400, conductor_size="4/0 AWG", sets=1))
    assert codes(answer, "check") >= {"running_drop_high"}
    assert answer["results"]["verdict"] == "ok"


def test_step_up_is_only_against_terminations_of_portable_cable(answer_of: Any) -> None:
    """4/0 AWG in a bundle carries 287.56 A, its terminations 230 A: 250 A is the next rating above those."""
    ok = answer_of("electrical.feeder", held(load=220, device=250))
    assert ok["results"]["verdict"] == "ok"
    # 2/0 AWG: terminations 175 A, conductors 237 x 0.71 = 168.27 A at 60 degC ambient: 200 A is no step up for them
    hot = request(160, 200, conductor_size="2/0 AWG", sets=1, ambient_temperature=celsius(60))
    assert codes(answer_of("electrical.feeder", hot), "stop") == {"device_not_protecting"}
    # in raceway the conductors too may be stepped up from: 1/0 AWG of the 75 degC class carries 150 x 0.94 = 141 A
    raceway = request(
        140,
        150,
        construction="wire_in_raceway",
        conductor_size="1/0 AWG",
        sets=1,
        insulation_temperature=75,
        ambient_temperature=celsius(35),
    )
    assert answer_of("electrical.feeder", raceway)["results"]["verdict"] == "ok"


def test_no_step_up_above_800_amperes(answer_of: Any) -> None:
    given = request(900, 1000, conductor_size="4/0 AWG", sets=4)
    assert codes(answer_of("electrical.feeder", given), "stop") == {"device_not_protecting"}


@pytest.mark.parametrize("sets", [1, 2, 3])
@pytest.mark.parametrize(("wanted", "device"), [(900, 600), (500, 1150), (1500, 1400)])
def test_as_many_sets_as_a_stop_names_carry_it_and_one_fewer_do_not(
    answer_of: Any, sets: int, wanted: float, device: float
) -> None:
    """Asked again with the sets that its cure names, whatever stood there before: the stop is gone, and not with fewer."""
    given = request(wanted, device, conductor_size="4/0 AWG", sets=sets) | {"load_current": amps(400)}
    cured = 0
    for finding in answer_of("electrical.feeder", given)["findings"]:
        code = finding["code"]
        if code in ("ampacity_short", "device_not_protecting"):
            named = int(finding["resolve"].partition(" sets of 4/0 AWG would carry it")[0])
            assert named > sets
            assert code not in codes(answer_of("electrical.feeder", given | {"sets": named}))
            assert code in codes(answer_of("electrical.feeder", given | {"sets": named - 1}))
            cured += 1
    assert cured


@pytest.mark.parametrize(("device", "limit"), [(100, 195), (110, 230)])
def test_termination_default_follows_the_device(answer_of: Any, device: float, limit: float) -> None:
    results = answer_of("electrical.feeder", held(load=90, device=device))["results"]
    assert results["termination_limit_each"]["value"] == limit


@pytest.mark.parametrize(("conductors", "factor"), [(3, 1.0), (4, 0.8), (7, 0.7), (20, 0.5), (60, 0.35)])
@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_bundling(answer_of: Any, practice: str, conductors: int, factor: float) -> None:
    results = answer_of("electrical.feeder", held(practice, current_carrying_conductors=conductors))["results"]
    plain = answer_of("electrical.feeder", held(practice))["results"]
    assert results["bundling_factor"] == factor
    assert results["ampacity_each"]["value"] == pytest.approx(plain["ampacity_each"]["value"] * factor)


def test_a_fraction_of_a_degree_counts_as_the_next_one(answer_of: Any) -> None:
    results = [
        answer_of("electrical.feeder", held(ambient_temperature={"value": f, "unit": "degF"}))["results"]
        for f in (104, 104.1)
    ]
    assert [r["temperature_factor"] for r in results] == [0.91, 0.87]


@pytest.mark.parametrize(
    ("ends", "neutral", "construction", "pieces", "pairs"),
    [
        ("connectors", False, "single_conductor_portable", 16, 20),
        ("connectors", True, "single_conductor_portable", 20, 25),
        ("mixed", False, "single_conductor_portable", 16, 16),
        ("tails_to_lugs", False, "single_conductor_portable", 16, 12),
        ("connectors", True, "multi_conductor_portable", 4, 5),
    ],
)
def test_pick_list(answer_of: Any, ends: str, neutral: bool, construction: str, pieces: int, pairs: int) -> None:
    given = held(length=60, ends=ends, neutral=neutral, construction=construction, crossings=2)
    picked = answer_of("electrical.feeder", given)["results"]["pick_list"]
    assert (picked["sections"], picked["cable_pieces"], picked["mated_pairs"], picked["ramps"]) == (
        4,
        pieces,
        pairs,
        10,
    )


def test_own_figures_replace_the_tables(answer_of: Any) -> None:
    own: dict[str, Any] = {
        **OWN,
        "sets": 1,
        "resistance_per_length": {"value": 0.2, "unit": "ohm/km"},
        "reactance_per_length": {"value": 0.1, "unit": "ohm/km"},
    }
    results = answer_of("electrical.feeder", request(200, 225, 100, **own))["results"]
    assert results["ampacity_each"]["value"] == 300
    assert results["ampacity_table"] == "cable maker's sheet"
    assert results["resistance"]["value"] == pytest.approx(0.02)
    assert results["reactance"]["value"] == pytest.approx(0.01)
    assert "contact_limit_each" not in results


def test_ground_grows_with_lines_enlarged_for_drop_only(answer_of: Any) -> None:
    short = answer_of("electrical.feeder", request(100, 110, 20))["results"]
    long = answer_of("electrical.feeder", request(100, 110, 300))["results"]
    assert short["equipment_ground_size"] == "6 AWG"
    order = list(RACEWAY_SIZES)
    assert order.index(long["equipment_ground_size"]) > order.index("6 AWG")
    assert order.index(long["equipment_ground_size"]) <= order.index(long["conductor_size"])
    same = {"conductor_size": long["conductor_size"], "sets": long["sets"]}
    assert answer_of("electrical.feeder", request(100, 110, 300, **same))["results"]["equipment_ground_size"] == "6 AWG"


def test_reactance_follows_the_frequency_under_nec(answer_of: Any) -> None:
    at_60, at_50 = (
        answer_of("electrical.feeder", held(frequency={"value": hz, "unit": "Hz"}))["results"] for hz in (60, 50)
    )
    assert at_50["reactance"]["value"] / at_60["reactance"]["value"] == pytest.approx(50 / 60)
    assert at_50["resistance"] == at_60["resistance"]


def test_nothing_carries_it(answer_of: Any) -> None:
    """The nearest candidate is reported as short: ten sets of the largest."""
    results = answer_of("electrical.feeder", request(4000, 4000, 10))["results"]
    assert (results["conductor_size"], results["sets"], results["verdict"]) == ("4/0 AWG", 10, "not_ok")


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_weak_source_does_not_buy_cable_in_vain(answer_of: Any, practice: str) -> None:
    """No cable can mend a drop inside the source: the choice is that of ampacity."""
    source: dict[str, Any] = {"source_reactance": {"value": 1, "unit": "ohm"}}
    weak = answer_of("electrical.feeder", request(practice=practice, **source))
    assert codes(weak, "stop") == {"voltage_too_low"}
    assert weak["results"]["sets"] == 1


free = st.fixed_dictionaries(
    {
        "practice": practices,
        "load": st.floats(1, 4000),
        "device": st.floats(1, 6000),
        "length": st.floats(0.1, 600),
    },
    optional={
        "power_factor": st.floats(0.3, 1),
        "starting_current": st.floats(1, 30000).map(amps),
        "source_reactance": st.floats(0, 10).map(lambda x: {"value": x, "unit": "ohm"}),
        "ambient_temperature": st.floats(-40, 70).map(celsius),
        "construction": st.sampled_from(["single_conductor_portable", "multi_conductor_portable", "wire_in_raceway"]),
        "conductor_size": st.sampled_from(["12 AWG", "2 AWG", "4/0 AWG", "350 kcmil", "10 mm2", "300 mm2"]),
        "sets": st.integers(1, 10),
        "insulation_temperature": st.sampled_from([60, 75, 90]),
        "termination_basis": st.sampled_from(["table_310_16", "connector_rating"]),
        "connector_rating": st.floats(1, 1000).map(amps),
        "current_carrying_conductors": st.integers(1, 60),
        "arrangement": st.sampled_from(["bundled_per_set", "spaced", "conductors_of_a_phase_grouped"]),
        "reactance_per_length": st.floats(0, 5).map(lambda x: {"value": x, "unit": "ohm/km"}),
    },
)


@for_all(free)
def test_any_valid_input_is_answered_or_refused(answer_of: Any, parts: Json) -> None:
    """Encoding the answer refuses what is not finite, so an answer here is a finite one."""
    try:
        answer = answer_of("electrical.feeder", request(**parts))
    except Refused:
        return
    results = answer["results"]
    assert (results["verdict"] == "not_ok") is (answer["outcome"] == "unacceptable")
    assert 0 < results["voltage_at_machine"]["value"] <= answer["given"]["system_voltage"]["value"] + 1e-9
    assert results["longest_run"]["value"] >= 0


@pytest.mark.parametrize("calculator", plugin.calculators, ids=lambda calculator: calculator.id)
def test_every_answer_of_the_family_ends_with_what_prevails(answer_of, calculator):
    for example in calculator.examples:
        answer = answer_of(calculator.id, msgspec.to_builtins(dict(example.given)))
        assert answer["cautions"][-1]["code"] == "local_prevails"


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_reactance_grows_with_the_frequency(answer_of: Any, practice: str) -> None:
    at = {
        hertz: answer_of("electrical.feeder", held(practice) | {"frequency": {"value": hertz, "unit": "Hz"}})
        for hertz in (50, 60)
    }
    ratio = at[60]["results"]["reactance"]["value"] / at[50]["results"]["reactance"]["value"]
    assert ratio == pytest.approx(1.2, rel=1e-9)
