"""Every finding of the booking family is raised by an order that deserves it. Invented data."""

import re
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from quantity import q

from coldwright.registry import Registry
from coldwright_booking.answer.limits import room
from coldwright_booking.answer.results import Headroom, NearLimit

ONE = fleet(machine("middle", 150, 3))


def scarce(item: str, count: int = 0) -> list[dict[str, Any]]:
    """The stock with one row nearly empty."""
    return [row | {"count": count} if row["item"] == item else row for row in stock()]


def without(kind: str) -> list[dict[str, Any]]:
    """The stock without a kind."""
    return [row for row in stock() if row["kind"] != kind]


def point(flow: float, head: float) -> dict[str, Any]:
    """A point of a pump's curve."""
    return {"flow": q(flow, "L/s"), "head": q(head, "m")}


PANEL = {"kind": "panel", "item": "panel 400", "rated_current": q(400, "A"), "outlets": 6, "count": 2}
UNLIMITED = machine("alone", 330, 1, voltage=400, frequency=50)
del UNLIMITED["electrical"]["maximum_overcurrent_device"], UNLIMITED["electrical"]["minimum_circuit_ampacity"]
SWINGING = fleet(
    changed(machine("one", 236, 1), pump__curve=[point(0, 70), point(10, 66), point(18, 52)]),
    changed(machine("pair", 130, 2), pump__curve=[point(0, 25), point(6, 21), point(10, 12)]),
)
"""One is just enough until its strong pump heats the loop; the weak pumps of the pair then leave too little heat for it."""


CASES: list[tuple[str, str, dict[str, Any]]] = [
    ("no_machine_suits", "stop", {"site__design_ambient_temperature": q(53, "degC")}),
    ("no_combination", "stop", {"duty__load": q(4000, "kW")}),
    ("antifreeze_needed", "stop", {"fluid": {"kind": "water"}, "duty__leaving_temperature": q(2, "degC")}),
    (
        "antifreeze_needed",
        "stop",
        {"fluid": {"kind": "water"}, "site__lowest_ambient_temperature": q(-10, "degC")},
    ),
    (
        "antifreeze_needed",
        "stop",
        {
            "fluid": {"kind": "propylene_glycol", "mass_fraction": 0.1},
            "site__lowest_ambient_temperature": q(-10, "degC"),
        },
    ),
    ("frost_not_known", "check", {"site__lowest_ambient_temperature": None}),
    ("stock_short", "stop", {"fleet": fleet(machine("middle", 150, 3), accessories=scarce("whip check"))}),
    ("not_in_fleet", "check", {"fleet": fleet(machine("middle", 150, 3), accessories=without("whip_check"))}),
    ("capacity_estimated", "check", {"fleet": fleet(machine("middle", 150, 3, table=False))}),
    ("open_questions_decide", "check", {"load_side__rated_pressure_drop": None}),
    ("turndown_not_kept", "check", {"duty__lowest_load_fraction": 0.01}),
    (
        "flow_rule_not_kept",
        "check",
        {"fleet": fleet(machine("large", 330, 2)), "duty__temperature_difference": q(14, "delta_degC")},
    ),
    ("mixed_machines", "check", {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1))}),
    (
        "head_throttled",
        "check",
        {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1)), "load_side__rated_pressure_drop": q(5, "kPa")},
    ),
    (
        "pump_head_short",
        "stop",
        {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1)), "load_side__rated_pressure_drop": q(270, "kPa")},
    ),
    (
        "pump_head_not_known",
        "check",
        {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1, own_pump=False))},
    ),
    ("glycol_goes_back", "note", {"site__lowest_ambient_temperature": q(-10, "degC")}),
    ("stop_in_frost", "note", {"site__lowest_ambient_temperature": q(-10, "degC")}),
    ("buffer_added", "note", {"duty__lowest_load_fraction": 0.01, "load_side__volume": q(10, "L")}),
    ("site_pump_needed", "check", {"load_side__pump": "site"}),
    ("relief_would_lift", "note", {}),
    (
        "loop_above_entering",
        "check",
        {"fleet": fleet(changed(machine("a", 330, 2), envelope__entering_maximum=q(25, "degC")))},
    ),
    (
        "return_above_entering",
        "check",
        {"fleet": fleet(changed(machine("a", 330, 2), envelope__entering_maximum=q(11, "degC")))},
    ),
    ("light_load", "check", {"supply": {"source": "generator"}, "duty__lowest_load_fraction": 0.1}),
    ("refuelling_rota", "check", {"supply": {"source": "generator"}}),
    ("transformer_between", "check", {"supply__voltage": q(600, "V")}),
    (
        "set_below_plates",
        "stop",
        {
            "supply": {"source": "generator"},
            "duty__load": q(3600, "kW"),
            "fleet": fleet(machine("thirsty", 1400, 3, efficiency=1.7)),
        },
    ),
    ("primary_supply_short", "stop", {"supply__voltage": q(600, "V"), "supply__available_current": q(30, "A")}),
    ("primary_supply_short", "stop", {"supply__voltage": q(600, "V"), "supply__breaker_rating": q(30, "A")}),
    ("primary_device_needed", "check", {"supply__voltage": q(600, "V"), "supply__breaker_rating": q(1200, "A")}),
    (
        "panel_behind_larger_breaker",
        "check",
        {
            "fleet": fleet(
                machine("middle", 150, 3), accessories=[*(r for r in stock() if r["kind"] != "panel"), PANEL]
            ),
            "supply__breaker_rating": q(800, "A"),
        },
    ),
    (
        "set_breaker_to_be_set",
        "check",
        {
            "practice": "iec",
            "fleet": fleet(UNLIMITED),
            "supply": {"source": "generator", "voltage": q(400, "V"), "frequency": q(50, "Hz")},
        },
    ),
    ("panel_not_known", "check", {"fleet": fleet(machine("middle", 150, 3))}),
    (
        "residual_current_device_needed",
        "check",
        {
            "practice": "iec",
            "fleet": fleet(machine("middle", 150, 3, voltage=400, frequency=50)),
            "routes__cable_length": q(120, "m"),
            "supply": {"source": "generator", "voltage": q(400, "V"), "frequency": q(50, "Hz")},
        },
    ),
    ("us_rules_taken", "note", {"practice": "iec"}),
    (
        "refrigerant_not_compared",
        "check",
        {
            "site__indoors": True,
            "fleet": fleet(changed(machine("middle", 150, 3), refrigerant__designation="R-454C")),
        },
    ),
    ("fork_truck_not_known", "note", {"access__lift": "fork_truck"}),
    ("access_not_used", "note", {"access__lift": "fork_truck", "access__rigging_mass": q(90, "kg")}),
    ("no_fork_pockets", "check", {"access__lift": "fork_truck"}),
    ("for_the_crane_company", "note", {"access__lift": "crane"}),
    ("rigging_not_given", "note", {"access__lift": "crane", "access__crane_chart_capacity": q(40, "t")}),
    ("thin_headroom", "check", {"fleet": ONE, "duty__load": q(257, "kW")}),
    (
        "sound_not_told",
        "check",
        {
            "fleet": fleet(changed(machine("middle", 150, 3), sound_power_level=None)),
            "site__sound_limits": [{"distance": q(30, "m"), "limit_day": q(60, "dBA")}],
        },
    ),
    (
        "sound_not_told",
        "check",
        {
            "supply": {"source": "generator"},
            "site__sound_limits": [{"distance": q(90, "m"), "limit_day": q(70, "dBA")}],
        },
    ),
    ("outside_a_method", "stop", {"load_side__rated_flow": q(0.05, "L/s"), "load_side__pump": "site"}),
    (
        "first_choice_passed_over",
        "note",
        {
            "supply__available_current": q(150, "A"),
            "fleet": fleet(machine("hungry", 300, 1, efficiency=1.7), machine("thrifty", 160, 2, efficiency=3.6)),
        },
    ),
    (
        "evaporator_flow_high",
        "stop",
        {
            "duty__load": q(286, "kW"),
            "duty__margin_fraction": 0,
            "fleet": fleet(
                machine("a", 200, 1), changed(machine("b", 110, 1), evaporator__rated_pressure_drop=q(3, "kPa"))
            ),
        },
    ),
    (
        # Where nothing else can be carried out either, the choice that swings is shown.
        "plan_does_not_settle",
        "stop",
        {"fleet": SWINGING, "supply__available_current": q(30, "A")},
    ),
    ("every_plan_stops", "note", {"supply__available_current": q(30, "A")}),
    ("not_all_priced", "note", {}),
    (
        # The machines differ by less than the crew costs, so that any of many combinations could cost less in all.
        "least_cost_not_proved",
        "note",
        {
            "fleet": fleet(*(machine(f"type {n}", 120 + 2 * n, 2) for n in range(5))),
            "preferences": "lowest_cost",
            "rates": {"crew_hour": {"value": "900.00", "currency": "USD"}},
        },
    ),
]


@pytest.mark.parametrize(("code", "severity", "changes"), CASES, ids=[f"{c[0]}-{i}" for i, c in enumerate(CASES)])
def test_finding(answer_of: Any, code: str, severity: str, changes: dict[str, Any]) -> None:
    answer = answer_of("booking.assessment", order(**changes))
    found = {(f["code"], f["severity"]) for f in answer["findings"]}
    assert (code, severity) in found, sorted(found)


def test_the_breaker_of_a_set_is_set_for_the_cable(answer_of: Any) -> None:
    """IEC 60364-4-43, 433.1 (from memory): the device is not above what the cable carries. A plate with a limit is read."""
    (changes,) = (c for code, _, c in CASES if code == "set_breaker_to_be_set")
    answer = answer_of("booking.assessment", order(**changes))
    (said,) = [f for f in answer["findings"] if f["code"] == "set_breaker_to_be_set"]
    (cable,) = answer["results"]["cable"]["machines"]
    amps = float(re.findall(r"at most ([\d.]+) A", said["do"])[0])
    assert f"sized for {amps:g} A" in said["statement"]
    assert cable["feeder"]["ampacity_total"]["value"] >= amps
    assert amps >= answer["results"]["supply"]["service"]["machines"][0]["running_current"]["value"]
    limited = changes | {"fleet": fleet(machine("alone", 330, 1, voltage=400, frequency=50))}
    assert "set_breaker_to_be_set" not in {
        f["code"] for f in answer_of("booking.assessment", order(**limited))["findings"]
    }


def test_of_two_choices_that_swing_the_one_that_stands_alone_is_taken(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order(fleet=SWINGING))
    assert [(m["type"], m["count"]) for m in answer["results"]["machines"]] == [("pair", 2)]
    assert "plan_does_not_settle" not in {f["code"] for f in answer["findings"]}


def test_a_sound_order_meets_none_of_them(answer_of: Any, registry: Registry) -> None:
    own = set(registry.lookup("booking.assessment").findings)
    free = fleet(
        *(changed(machine(*m), hire_rate=None) for m in (("small", 60, 4), ("middle", 150, 3), ("large", 330, 2)))
    )
    hook = {"hook_block_mass": q(300, "kg"), "rigging_mass": q(150, "kg")}
    crane = {"crane_chart_capacity": q(40, "t"), "radius": q(9, "m"), "lift": "crane"} | hook
    ground, drop = {"soil_class": "sand", "services_known": True}, q(110, "kPa")
    document = order(site__ground=ground, access=crane, load_side__rated_pressure_drop=drop, fleet=free)
    answer = answer_of("booking.assessment", document)
    quiet = {
        "relief_would_lift"
    }  # where the valves stand is said of every loop whose pump lifts it above their setting
    assert not own & {f["code"] for f in answer["findings"] if "calculator" not in f} - quiet
    assert answer["outcome"] == "acceptable"


def test_every_declared_finding_is_raised_here(registry: Registry) -> None:
    declared = set(registry.lookup("booking.assessment").findings)
    joined = {"part_failed"}  # raised where a stranger's part is joined: tests/service/test_joined_parts.py
    assert declared - joined == {code for code, _, _ in CASES if code != "no_combination"}


def test_findings_of_others_carry_their_calculator(answer_of: Any, registry: Registry) -> None:
    answer = answer_of("booking.assessment", order())
    own = registry.lookup("booking.assessment")
    for found in answer["findings"]:
        if "calculator" in found:
            assert found["calculator"] in own.uses
            assert found["code"] in registry.lookup(found["calculator"]).findings
        else:
            assert found["code"] in own.findings


@pytest.mark.parametrize("redundancy", ["spare_machine", "spare_circuit"])
def test_redundancy_takes_more_machines(answer_of: Any, redundancy: str) -> None:
    def capacity(document: dict[str, Any]) -> float:
        rows = answer_of("booking.assessment", document)["results"]["machines"]
        return sum(m["capacity_total"]["value"] for m in rows)

    plain, spare = order(fleet=ONE), order(fleet=ONE, redundancy=redundancy)
    assert capacity(spare) > capacity(plain)
    assert answer_of("booking.assessment", spare)["results"]["redundancy_met"]


def test_thin_headroom_is_said_in_the_unit_of_its_limit(answer_of: Any) -> None:
    limits = [{"id": "hotel", "distance": q(10, "m"), "limit_night": q(40, "dBA")}]
    document = order(site__sound_limits=limits, site__design_ambient_temperature=q(51.8, "degC"))
    answer = answer_of("booking.assessment", document)
    told = next(f["statement"] for f in answer["findings"] if f["code"] == "thin_headroom")
    over = next(e for e in answer["results"]["limits_nearest"] if e["what"] == "sound by night at hotel")
    assert f"Over the limit: sound by night at hotel by {over['value'] - over['limit']:.1f} dB." in told
    assert ": hottest air (0.2 delta_degC left)" in told
    assert "-0.0" not in told


@pytest.mark.parametrize(
    ("headroom", "unit", "words"),
    [
        (-12.97, "dBA", "-13.0 dB"),
        (0.3, "degC", "0.3 K"),
        (0.0, "1", "0.0 %"),
        (-0.0001, "A", "-0.01 %"),
        (-0.0005, "A", "-0.05 %"),
        (-0.00051, "A", "-0.1 %"),
        (0.0123, "kW", "1.2 %"),
    ],
)
def test_headroom_in_words(headroom: float, unit: str, words: str) -> None:
    measured = {"dBA": "dB", "degC": "K"}.get(unit)
    left: dict[str, Any] = {"headroom_fraction": headroom}
    if measured:
        left = {"headroom": Headroom(value=headroom, unit=measured)}  # type: ignore[arg-type]
    entry = NearLimit(what="what", value=1.0, limit=1.0, unit=unit, calculator="site.sound", **left)
    assert room(entry) == words


def test_critical_without_redundancy_is_asked(answer_of: Any) -> None:
    results = answer_of("booking.assessment", order(critical=True))["results"]
    assert "/redundancy" in [entry["field"] for entry in results["open_questions"]]


def asked_of(answer_of: Any, document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Open questions of a plan by their field."""
    return {e["field"]: e for e in answer_of("booking.assessment", document)["results"]["open_questions"]}


def test_what_an_order_leaves_out_is_asked(answer_of: Any) -> None:
    silent = {
        "load_side__rated_flow": "site_mechanic",
        "duty__temperature_difference": "customer",
        "site__ground": "customer",
    }
    bare = changed(order(), **dict.fromkeys(silent))
    for name, who in silent.items():
        entry = asked_of(answer_of, bare)["/" + name.replace("__", "/")]
        assert entry["who"] == who
        assert entry["assumed"]
        assert entry["effect"]
    told = order(
        duty__temperature_difference=q(6, "delta_degC"), site__ground={"soil_class": "sand", "slope": {"x": 0, "y": 0}}
    )
    assert not [f for f in asked_of(answer_of, told) if f.startswith(("/duty", "/site/ground", "/load_side/rated"))]
    frost = changed(told, site__lowest_ambient_temperature=q(-10, "degC"))
    assert asked_of(answer_of, frost)["/fluid/kind"]["assumed"] == "propylene glycol"


def test_a_hired_set_is_not_asked_of_the_site(answer_of: Any) -> None:
    questions = asked_of(answer_of, order(supply={"source": "generator"}))
    supply = {field: e["who"] for field, e in questions.items() if field.startswith("/supply")}
    assert supply == dict.fromkeys(
        ("/supply/frequency", "/supply/voltage", "/supply/starting_dip_limit_fraction"), "hire_company"
    )
    told = order(supply={"source": "generator", "starting_dip_limit_fraction": 0.25})
    assert "/supply/starting_dip_limit_fraction" not in asked_of(answer_of, told)


def loaded(answer_of: Any, stock_strength: float | None = None, **fluid: Any) -> tuple[dict[str, Any], float, float]:
    """The liquid of a plan in frost, the concentrate on its pick list and the volume of its loop, L."""
    drum: dict[str, Any] = {"kind": "antifreeze", "item": "can", "fluid": "propylene_glycol", "volume": q(1, "L")}
    drum["count"] = 9000
    if stock_strength is not None:
        drum["concentrate_mass_fraction"] = stock_strength
    rows = [*without("antifreeze"), drum]
    cold: dict[str, Any] = {"fleet": fleet(machine("middle", 150, 3), accessories=rows)}
    if fluid:
        cold["fluid"] = {"kind": "propylene_glycol", **fluid}
    results = answer_of("booking.assessment", order(site__lowest_ambient_temperature=q(-10, "degC"), **cold))["results"]
    litres = next(line["count"] for line in results["pick_list"] if line["kind"] == "antifreeze")
    return results["fluid"], litres, results["fill"]["total_volume"]["value"]


def test_the_antifreeze_that_is_loaded_makes_the_mixture_of_the_plan(answer_of: Any) -> None:
    """Pure glycol and water add up by volume: by mass 0.45 is stronger than -10 degC asks for, and is loaded all the same."""
    fluid, needed, _ = loaded(answer_of)
    assert fluid["mass_fraction"] == pytest.approx(0.30, abs=0.01)
    fluid, litres, volume = loaded(answer_of, mass_fraction=0.45)
    assert fluid["mass_fraction"] == 0.45
    assert fluid["antifreeze"]["mass_fraction"] == pytest.approx(0.45, abs=1e-6)
    assert litres == pytest.approx(volume * 0.4408 / 0.9482, rel=0.01)
    assert litres > 1.4 * needed


def test_a_weaker_concentrate_is_loaded_in_more_drums(answer_of: Any) -> None:
    _, strong, _ = loaded(answer_of, 1.0)
    _, usual, _ = loaded(answer_of)
    _, weak, volume = loaded(answer_of, 0.5)
    assert strong < usual < weak < volume
    assert weak == pytest.approx(strong / 0.4907, rel=0.01)


def test_a_weak_mixture_is_drawn_as_strong_as_the_cold_asks(answer_of: Any) -> None:
    fluid, litres, _ = loaded(answer_of, mass_fraction=0.1)
    needed, enough, _ = loaded(answer_of)
    assert (fluid["mass_fraction"], litres) == (needed["mass_fraction"], enough)
    warm = order(fluid={"kind": "propylene_glycol", "mass_fraction": 0.06})
    answer = answer_of("booking.assessment", warm)
    assert answer["results"]["fluid"]["mass_fraction"] == 0.06  # where plain water would do, any mixture does
    assert "antifreeze_needed" not in {f["code"] for f in answer["findings"]}


def test_antifreeze_follows_the_cold(answer_of: Any) -> None:
    fluid = answer_of("booking.assessment", order(site__lowest_ambient_temperature=q(-10, "degC")))["results"]["fluid"]
    assert fluid["kind"] == "propylene_glycol"
    assert fluid["antifreeze"]["freezing_temperature"]["value"] == pytest.approx(-13, abs=0.01)
    warm = answer_of("booking.assessment", order())["results"]["fluid"]
    assert warm["kind"] == "water"
    edge = answer_of("booking.assessment", order(duty__leaving_temperature=q(40, "degF")))["results"]["fluid"]
    assert edge["kind"] == "water"  # 40 degF and 4.4 degC are one limit


@pytest.mark.parametrize(("preference", "best"), [("fewest_machines", "large"), ("lowest_cost", "cheap")])
def test_preference_decides(answer_of: Any, preference: str, best: str) -> None:
    dear = changed(machine("large", 330, 2), hire_rate={"value": 9000, "currency": "USD", "per": "week"})
    cheap = changed(machine("cheap", 150, 3), hire_rate={"value": 900, "currency": "USD", "per": "week"})
    answer = answer_of("booking.assessment", order(preferences=preference, fleet=fleet(dear, cheap)))
    assert answer["results"]["machines"][0]["type"] == best


def test_smallest_footprint_takes_least_ground(answer_of: Any) -> None:
    wide = changed(machine("wide", 330, 2), body__width=q(4.9, "m"))
    slim = changed(machine("slim", 150, 3), body__width=q(1.2, "m"))
    document = order(preferences="smallest_footprint", fleet=fleet(wide, slim))
    assert [m["type"] for m in answer_of("booking.assessment", document)["results"]["machines"]] == ["slim"]


def test_smallest_footprint_keeps_its_alternatives_and_invents_no_limit(answer_of: Any) -> None:
    wide = changed(machine("wide", 330, 2), body__width=q(4.9, "m"))
    slim = changed(machine("slim", 150, 3), body__width=q(1.2, "m"))
    results = answer_of("booking.assessment", order(preferences="smallest_footprint", fleet=fleet(wide, slim)))[
        "results"
    ]
    assert [m["type"] for m in results["machines"]] == ["slim"]
    assert ["wide"] in [[m["type"] for m in a["machines"]] for a in results["alternatives"]]
    assert "footprint_available" not in results["asked"]["selection"].get("limits", {})


def test_findings_of_the_selection_are_of_the_least_ground(answer_of: Any) -> None:
    """By count a large and a small machine come first; by ground three small ones, which are of one size."""
    large = changed(machine("large", 200, 1), body__width=q(4.9, "m"))
    small = changed(machine("small", 90, 3), body__width=q(1.0, "m"))
    mixed = order(fleet=fleet(large, small))
    plans = [answer_of("booking.assessment", changed(mixed, preferences=p)) for p in (None, "smallest_footprint")]
    assert [[(m["type"], m["count"]) for m in plan["results"]["machines"]] for plan in plans] == [
        [("large", 1), ("small", 1)],
        [("small", 3)],
    ]
    by_count = answer_of("refrigeration.selection", plans[0]["results"]["asked"]["selection"])
    assert "mixed_sizes_in_parallel" in {f["code"] for f in by_count["findings"]}, "the trap is there"
    assert "mixed_sizes_in_parallel" not in {f["code"] for f in plans[1]["findings"]}


def test_unlike_machines_are_one_check_with_their_valves_on_the_pick_list(answer_of: Any) -> None:
    """The selection asks for balancing valves: they are listed, and the plan's own check says who sets them."""
    answer = answer_of("booking.assessment", order(fleet=fleet(machine("a", 150, 1), machine("b", 90, 1))))
    valves = [x["count"] for x in answer["results"]["pick_list"] if x.get("purpose") == "balancing of each machine"]
    assert valves == [2]
    about = [f["code"] for f in answer["findings"] if f["code"].startswith("mixed_")]
    assert about == ["mixed_machines"]


def test_ground_that_a_long_list_hides_is_found_and_the_limit_told(answer_of: Any) -> None:
    """78 pairs of wide machines come before eight slim ones by count."""
    wide = [changed(machine(f"wide {n}", 150, 2), body__width=q(4.9, "m")) for n in range(12)]
    slim = changed(machine("slim", 30, 12), body__width=q(0.3, "m"), body__length=q(0.5, "m"))
    answer = answer_of("booking.assessment", order(preferences="smallest_footprint", fleet=fleet(*wide, slim)))
    results = answer["results"]
    chosen = answer_of("refrigeration.selection", results["asked"]["selection"])["results"]
    listed = [chosen["best"], *chosen["alternatives"]]
    assert min(c["footprint"]["value"] for c in listed) == pytest.approx(8 * 0.15)
    assert results["alternatives"]
    limit = results["asked"]["selection"]["limits"]["footprint_available"]
    assert limit["value"] == pytest.approx(
        4 * 8 * 0.15
    )  # others take up to four times the least, where both are listed
    assert [a["value"] for a in answer["assumptions"] if a["code"] == "ground_held_to"] == [limit]
    assert "footprint_available" not in {rule for f in results["failed_combinations"] for rule in f["failed"]}


def test_ground_is_held_to_no_less_than_it_takes_to_list_the_least(answer_of: Any) -> None:
    """Seven small ones take 8.4 m2. Of all that take no more than four times that, more than are listed need fewer machines;
    of all that take no more than twice that, they are listed, and others that take more beside them.
    """
    areas = {"a": 12.0, "b": 11.5, "c": 11.0, "d": 10.0, "s": 1.2}
    sizes = {"a": (200, 4), "b": (190, 4), "c": (180, 4), "d": (170, 4), "s": (60, 9)}
    rows = [
        changed(machine(name, *sizes[name], table=False), body__length=q(area / 1.5, "m"), body__width=q(1.5, "m"))
        for name, area in areas.items()
    ]
    document = order(
        preferences="smallest_footprint",
        fleet=fleet(*rows),
        duty__load=q(330, "kW"),
        duty__lowest_load_fraction=0.9,
        load_side__rated_flow=q(15, "L/s"),
    )
    results = answer_of("booking.assessment", document)["results"]
    assert [(m["type"], m["count"]) for m in results["machines"]] == [("s", 7)]
    asked = results["asked"]["selection"]
    limit = asked["limits"]["footprint_available"]["value"]
    assert limit == pytest.approx(2 * 7 * areas["s"])
    least = {}
    for factor in (1, 2):
        limits = {"footprint_available": q(factor * limit, "m2")}
        chosen = answer_of("refrigeration.selection", asked | {"limits": limits})["results"]
        least[factor] = min(c["footprint"]["value"] for c in (chosen["best"], *chosen["alternatives"]))
    assert least[1] == pytest.approx(7 * areas["s"])
    assert least[2] > 7 * areas["s"] + 1
    assert [[(m["type"], m["count"]) for m in a["machines"]] for a in results["alternatives"]] == [
        [("s", 8)],
        [("s", 9)],
    ]


def test_a_set_is_chosen_from_the_stock_and_counted(answer_of: Any) -> None:
    document = changed(order(supply={"source": "generator"}), supply__voltage=q(480, "V"))
    results = answer_of("booking.assessment", document)["results"]
    lines = [line for line in results["pick_list"] if line["kind"] == "generator"]
    assert [(line["item"], line["count"], line["stock_short"]) for line in lines] == [
        (results["supply"]["generator_item"], 1, False)
    ]


def reason_of(answer_of: Any, document: dict[str, Any]) -> str:
    """Why the only type of a fleet is left out."""
    (left,) = answer_of("booking.assessment", document)["results"]["types_left_out"]
    reason: str = left["reason"]
    return reason


def test_a_type_is_left_out_for_its_own_limit_first(answer_of: Any) -> None:
    table = [{"mass_fraction": x, "capacity_factor": 1 - 0.15 * x, "power_factor": 1.0} for x in (0, 0.2)]
    row = changed(machine("one", 330, 2), corrections__antifreeze=table)
    document = order(site__lowest_ambient_temperature=q(-30, "degC"), fleet=fleet(row))
    assert reason_of(answer_of, document) == "It runs in air down to -20 degC; the order names -30 degC."
    reason = reason_of(answer_of, changed(document, site__lowest_ambient_temperature=q(-15, "degC")))
    assert reason.startswith("Its capacity here is not known. Antifreeze by mass: 0.")
    assert "/" not in reason


def test_several_machines_take_longer_to_set_up(answer_of: Any) -> None:
    """Minutes of hands grow with the machines; what passes by itself does not."""
    document = order(fleet=fleet(machine("middle", 150, 3)))
    answer = answer_of("booking.assessment", document)
    (row,) = answer["results"]["machines"]
    one = answer_of("booking.assessment", order(fleet=fleet(machine("large", 330, 1))))
    assert row["count"] > 1
    several, single = (
        {s["id"]: s["duration"]["value"] for s in a["results"]["arrival_plan"]["steps"]} for a in (answer, one)
    )
    for step in ("place_machine", "connect_lines", "connect_hoses"):
        assert several[step] == pytest.approx(row["count"] * single[step])
    for step in ("oil_warm_up", "lock_source", "purge_high_point", "start_first_compressor"):
        assert several[step] == single[step]
    assert "machines_set_up_in_turn" in {a["code"] for a in answer["assumptions"]}
    assert "machines_set_up_in_turn" not in {a["code"] for a in one["assumptions"]}


def heard_from(answer_of: Any, level: float | None) -> tuple[dict[str, Any], set[str]]:
    """What is heard 90 m from a plan on a generating set of that sound power, and the findings."""
    rows = [r | {"sound_power_level": q(level, "dBA")} if r["kind"] == "generator" and level else r for r in stock()]
    document = order(
        supply={"source": "generator"},
        site__sound_limits=[{"distance": q(90, "m"), "limit_day": q(70, "dBA")}],
        fleet=fleet(machine("middle", 150, 3), accessories=rows),
    )
    answer = answer_of("booking.assessment", document)
    return answer["results"]["site"]["sound"]["receivers"][0], {f["code"] for f in answer["findings"]}


def test_the_generating_set_is_heard_beside_the_machines(answer_of: Any) -> None:
    alone, findings = heard_from(answer_of, None)
    assert "sound_not_told" in findings
    quiet, findings = heard_from(answer_of, 60)
    assert "sound_not_told" not in findings
    loud, _ = heard_from(answer_of, 110)
    assert alone["margin_day"]["value"] > quiet["margin_day"]["value"] > loud["margin_day"]["value"] + 10


def test_a_set_from_elsewhere_is_named_where_the_stock_has_none(answer_of: Any) -> None:
    document = order(supply={"source": "generator"})
    document["fleet"]["accessories"] = without("generator")
    answer = answer_of("booking.assessment", document)
    assert answer["results"]["supply"]["generator"]["verdict"] == "ok"
    line = next(line for line in answer["results"]["pick_list"] if line["kind"] == "generator")
    assert line["stock_short"]
    assert not line["from_stock"]


def test_hose_lines_cover_the_way_and_come_from_stock(answer_of: Any) -> None:
    results = answer_of("booking.assessment", order())["results"]
    line = next(line for line in results["pick_list"] if line["kind"] == "hose")
    section = next(r for r in stock() if r["item"] == line["item"])["section_length"]["value"]
    assert line["count"] * section >= 2 * 40 * results["loop"]["hose_runs"]
    assert line["from_stock"]
    assert not line["stock_short"]


ON_A_SET = {"supply": {"source": "generator"}}
GLYCOL = {"fluid": {"kind": "propylene_glycol"}, "site__lowest_ambient_temperature": q(-10, "degC")}
LOUD_SETS = [row | {"sound_power_level": q(95, "dBA")} if row["kind"] == "generator" else row for row in stock()]
HEARD = {"site__sound_limits": [{"distance": q(60, "m"), "limit_day": q(70, "dBA")}]}
LIFTED = changed(
    machine("middle", 150, 3),
    body__lifting_points=[
        {"id": f"{x} {y}", "x": q(x, "m"), "y": q(y, "m"), "z": q(0, "m")} for x in (0, 2.5) for y in (0, 1.2)
    ],
    body__centre_of_gravity={"x": q(1.2, "m"), "y": q(0.6, "m"), "z": q(1, "m")},
)
PRACTICES: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "usual_hose": ({"fleet": fleet(machine("middle", 150, 3), accessories=without("hose"))}, {}),
    "sets_elsewhere": (
        ON_A_SET | {"fleet": fleet(machine("middle", 150, 3), accessories=without("generator"))},
        ON_A_SET,
    ),
    "antifreeze_charging": (GLYCOL, {}),
    "drum_size": (
        GLYCOL | {"fleet": fleet(machine("middle", 150, 3), accessories=without("antifreeze"))},
        GLYCOL,
    ),
    "sling_legs": ({"fleet": fleet(LIFTED)}, {}),
    "height_of_set": (
        ON_A_SET | HEARD | {"fleet": fleet(machine("middle", 150, 3), accessories=LOUD_SETS)},
        ON_A_SET | HEARD | {"fleet": fleet(changed(machine("middle", 150, 3), body__height=q(2, "m")))},
    ),
}


@pytest.mark.parametrize("code", PRACTICES)
def test_what_is_taken_from_practice_is_told_where_it_is_used(answer_of: Any, code: str) -> None:
    used, other = PRACTICES[code]
    told, untold = (
        {a["code"]: a for a in answer_of("booking.assessment", order(**{"fleet": ONE} | changes))["assumptions"]}
        for changes in (used, other)
    )
    assert told[code]["basis"] == "common_practice"
    assert code not in untold
    assert {"plain_water", "one_nominal_size", "fill_pressure_band", "flat_trailer"} <= told.keys() & untold.keys()


def test_temperature_and_sound_have_their_room_in_kelvin_and_decibels(answer_of: Any) -> None:
    """What is left is limit less value, or value less limit, in the unit of the thing itself."""
    limited = order(site__sound_limits=[{"id": "hotel", "distance": q(40, "m"), "limit_day": q(60, "dBA")}])
    listed = answer_of("booking.assessment", limited)["results"]["limits_nearest"]
    seen = set()
    for entry in listed:
        measured = {"dBA": "dB", "degC": "K"}.get(entry["unit"])
        assert ("headroom_fraction" in entry) == (measured is None)
        assert ("headroom" in entry) == (measured is not None)
        if measured:
            seen.add(measured)
            assert entry["headroom"]["unit"] == measured
            assert abs(entry["headroom"]["value"]) == pytest.approx(abs(entry["limit"] - entry["value"]), abs=1e-6)
    assert seen == {"K", "dB"}
