"""Where each finding of the hydronic family begins, by the limit that its source names."""

import math
from typing import Any

import pytest
from edges import Edge, edges, example, hold_to
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

pytestmark = pytest.mark.check

EXCHANGER, BALANCE, AIR, DRAIN, LOOP, SURGE, FILL, GLYCOL = (
    f"hydronic.{name}"
    for name in ("exchanger_flow", "heat_balance", "air_removal", "drain_down", "loop", "surge", "fill", "antifreeze")
)


def at_ratio(r: float, **changes: Any) -> dict[str, Any]:
    """Water at the rated state: the flow is the root of the drop over the rated one, here 15 L/s and 60 kPa."""
    return example(EXCHANGER, proof=None, flow_minimum=q(0.1, "L/s"), pressure_drop=q(60 * r * r, "kPa"), **changes)


def over_trip(margin: float) -> dict[str, Any]:
    return example(EXCHANGER, pressure_drop=q(20 * margin * margin, "kPa"), flow_minimum=q(1, "L/s"))


def strained(ratio: float) -> dict[str, Any]:
    """At 15 L/s a clean drop of 10 kPa."""
    strainer = {
        "rated_flow": q(15, "L/s"),
        "rated_pressure_drop": q(10, "kPa"),
        "measured_pressure_drop": q(10 * ratio, "kPa"),
    }
    return at_ratio(1, strainer=strainer)


def warmed(kilowatts: float) -> dict[str, Any]:
    return at_ratio(1, heat=q(kilowatts, "kW"), temperature_difference=q(5, "delta_degC"))


EXCHANGERS = (
    # common practice: the square law from 0.3 to 1.5 of the rating; a tenth over the trip; gauges to a tenth of the flow
    Edge(EXCHANGER, "outside_trusted_range", 0.3, at_ratio, below=True),
    Edge(EXCHANGER, "outside_trusted_range", 1.5, at_ratio),
    Edge(EXCHANGER, "trip_margin_small", 1.10, over_trip, below=True),
    Edge(EXCHANGER, "flow_uncertain", 0.10, lambda u: at_ratio(1, gauge_error=q(u * 2 * 60, "kPa"))),
    # common practice: flow and heat within 15 % of each other; water of 10 degC carries 314.5 kW at 15 L/s over 5 K
    Edge(EXCHANGER, "flow_and_heat_disagree", 1.15, lambda r: warmed(314.5 / r)),
    Edge(EXCHANGER, "flow_and_heat_disagree", 0.85, lambda r: warmed(314.5 / r), below=True),
    # common practice: a strainer to watch above 1.5 of its clean drop, dirty above 2.5
    Edge(EXCHANGER, "strainer_to_watch", 1.5, strained),
    Edge(EXCHANGER, "strainer_dirty", 2.5, strained),
    # derived: the flow is that of the rating
    Edge(EXCHANGER, "flow_below_minimum", 15, lambda f: at_ratio(1) | {"flow_minimum": q(f, "L/s")}),
    Edge(EXCHANGER, "flow_above_maximum", 15, lambda f: at_ratio(1, flow_maximum=q(f, "L/s")), below=True),
)


def liquid(constant: float, **changes: Any) -> dict[str, Any]:
    """A liquid of so many Btu/h for each gpm and degF: 1 gpm of it weighs 60 gallons an hour."""
    density = 1000.0
    specific = constant / 60 / (0.003785411784 * density) * 1.05505585262 / (5 / 9)
    fluid = {"kind": "custom", "density": q(density, "kg/m3"), "specific_heat": q(specific, "kJ/kg.K")}
    return example(BALANCE, fluid=fluid, **changes)


def per_ton(gpm: float) -> dict[str, Any]:
    """12 000 Btu/h a ton and 500 for each gpm and degF: 24 over the difference."""
    return liquid(500, leaving_temperature=q(54 - 24 / gpm, "degF"))


def sensed(difference: float, error: float) -> dict[str, Any]:
    return example(
        BALANCE,
        entering_temperature=q(12, "degC"),
        leaving_temperature=q(12 - difference, "degC"),
        temperature_error=q(error, "delta_degC"),
    )


BALANCES = (
    # common practice: 1.5 to 3 gpm for each ton; the rule of 500 to 3 %; 2 K from freezing; 4.4 degC of plain water
    Edge(BALANCE, "unusual_flow_per_capacity", 3.0, per_ton),
    Edge(BALANCE, "unusual_flow_per_capacity", 1.5, per_ton, below=True),
    Edge(BALANCE, "rule_of_thumb_misleads", 500 / 1.03, liquid, below=True, step=1),
    Edge(BALANCE, "rule_of_thumb_misleads", 500 / 0.97, liquid, step=1),
    Edge(BALANCE, "near_freezing", 2, lambda t: example(BALANCE, leaving_temperature=q(t, "degC")), below=True, step=0.02),
    Edge(BALANCE, "cold_plain_water", 4.4, lambda t: example(BALANCE, leaving_temperature=q(t, "degC")), below=True, step=0.03),
    Edge(BALANCE, "small_difference", 3.0, lambda d: sensed(d, 0.45), below=True),
    Edge(BALANCE, "small_difference", 0.14, lambda e: sensed(2.5, e * 2.5 / math.sqrt(2))),
)  # fmt: skip


def falling(speed: float) -> dict[str, Any]:
    """A bore of 40 mm, level: sqrt(g D) 0.825 is 0.517 m/s, under the 0.6 m/s that bubbles need anyway."""
    flow = speed * math.pi / 4 * 0.04**2 * 1000
    return example(
        AIR, lines=[{"name": "l", "inner_diameter": q(40, "mm"), "slope_angle": 0.1, "flow": q(flow, "L/s")}]
    )


def topped_up(share: float) -> dict[str, Any]:
    """Boyle: 6 L from 150 to 250 kPa gauge at 101.325 kPa are the shrinking of this volume; the loop is larger by its share."""
    trapped = 6 / (1 - (150 + 101.325) / (250 + 101.325))
    return example(AIR, loop_volume=q(trapped / share, "L"))


def drained(share: float) -> dict[str, Any]:
    """What stays behind of a tank of 1 m across, filled to 1 m, and of places that do not drain."""
    tank = math.pi / 4 * 1000
    places = [{"name": "sump", "volume": q(tank * share / (1 - share), "L")}]
    vessel = {"name": "t", "shape": "upright", "diameter": q(1, "m"), "height": q(2, "m"), "initial_level": q(1, "m")}
    return example(DRAIN, vessels=[vessel], lines=None, residual_volumes=places)


AIRS = (
    # ASHRAE, as quoted (seen): 0.6 m/s; common practice: a hundredth of the loop
    Edge(AIR, "line_does_not_clear", 0.6, falling, below=True),
    Edge(AIR, "air_left", 0.01, topped_up),
    # common practice: a twentieth stays behind, a fall of 7 m
    Edge(DRAIN, "residual_large", 0.05, drained),
    Edge(DRAIN, "tall_outlet", 7.0, lambda h: example(DRAIN, head_below_vessel=q(h, "m"))),
)


def flowing(speed: float, bore: float = 0.1, kind: str = "steel", **of_line: Any) -> dict[str, Any]:
    flow = speed * math.pi / 4 * bore**2 * 1000
    line = {
        "name": "l",
        "type": "line",
        "line_kind": kind,
        "inner_diameter": q(bore * 1000, "mm"),
        "length": q(10, "m"),
        **of_line,
    }
    return example(
        LOOP, 2, fluid={"kind": "water", "temperature": q(10, "degC")}, elements=[line], fixed_flow=q(flow, "L/s")
    )


def viscous(stokes: float) -> dict[str, Any]:
    fluid = {
        "kind": "custom",
        "density": q(1000, "kg/m3"),
        "dynamic_viscosity": q(stokes, "mPa.s"),
        "specific_heat": q(4, "kJ/kg.K"),
    }
    return flowing(1.5) | {"fluid": fluid}


def reynolds(number: float) -> dict[str, Any]:
    """A liquid of 1000 kg/m3 and 1 mPa.s, so that Re = 100 000 v for a bore of 100 mm."""
    return viscous(1) | {"fixed_flow": q(number / 1e5 * math.pi / 4 * 0.1**2 * 1000, "L/s")}


def device(ratio: float) -> dict[str, Any]:
    coil = {
        "name": "d",
        "type": "device",
        "device_kind": "coil",
        "rated_flow": q(15, "L/s"),
        "rated_pressure_drop": q(40, "kPa"),
        "flow_minimum": q(0.1, "L/s"),
    }
    return example(LOOP, 2, elements=[coil], fixed_flow=q(15 * ratio, "L/s"))


def friction(per_metre: float) -> dict[str, Any]:
    """64 / Re by hand: 32 mu v / D^2 in a bore of 20 mm, so that the speed gives the drop of a metre."""
    speed = per_metre * 0.02**2 / 32 / 0.01
    thick = {
        "kind": "custom",
        "density": q(1000, "kg/m3"),
        "dynamic_viscosity": q(10, "mPa.s"),
        "specific_heat": q(4, "kJ/kg.K"),
    }
    return flowing(speed, 0.02, place="inside") | {"fluid": thick}


LOOPS = (
    # common practice: 0.6 m/s least; 2.4 m/s inside and 1.2 m/s where people are (ASHRAE, seen as quoted); 4 ft / 100 ft
    Edge(LOOP, "velocity_low", 0.6, flowing, below=True),
    Edge(LOOP, "velocity_high_inside", 2.4, lambda v: flowing(v, place="inside")),
    Edge(LOOP, "velocity_high_inside", 1.2, lambda v: flowing(v, place="occupied")),
    Edge(LOOP, "friction_high", 392, friction),
    # derived: laminar to Re 2040 (as the friction library has it), turbulent from 4000; common practice: 10 cSt
    Edge(LOOP, "transition", 2040, reynolds),
    Edge(LOOP, "transition", 4000, reynolds, below=True),
    Edge(LOOP, "viscous_liquid", 10.0, viscous),
    Edge(LOOP, "device_outside_rating", 1.5, device),
    Edge(LOOP, "device_outside_rating", 0.3, device, below=True),
)


FILLED = math.pi / 4 * 0.1016**2 * 120 * 1000 + 180 + 2 * 60
"""L: the hose, the machine and the two coils of the example."""


def precharged(ratio: float, **changes: Any) -> dict[str, Any]:
    """A vessel whose precharge is such a share of its greatest pressure, absolute."""
    least = ratio * (450 + 101.325) - 101.325
    return example(FILL, expansion__minimum_pressure=q(least, "kPa"), fill_pressure=None, **changes)


def filled_over(ratio: float) -> dict[str, Any]:
    """At the vessel, level with the fill point: the precharge is 250 kPa gauge."""
    return example(FILL, fill_pressure=q(ratio * (250 + 101.325) - 101.325, "kPa"))


def two_segments(ratio: float) -> dict[str, Any]:
    both = [
        {"name": name, "length": q(20, "m"), "inner_diameter": q(100, "mm"), "wave_speed": q(speed, "m/s")}
        for name, speed in (("soft", 300), ("stiff", 300 * ratio))
    ]
    return example(SURGE, segments=both)


def suction(needed: float) -> dict[str, Any]:
    """No more than 20.2 m of suction head stand there: 100 kPa gauge and 101.325 of air over water of 10 degC."""
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 30), (10, 25), (20, 10))]
    flat = [{"flow": q(f, "L/s"), "npsh_required": q(needed, "m")} for f in (0.1, 20)]
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(80, "mm"), "length": q(60, "m")}
    return example(
        LOOP,
        fluid={"kind": "water", "temperature": q(10, "degC")},
        elements=[line],
        pumps=[{"curve": curve, "npsh_required_curve": flat}],
        required=None,
        pressure_reference={"location": "pump_suction", "gauge_pressure": q(100, "kPa")},
        atmospheric_pressure=q(101.325, "kPa"),
    )


SUCTION = (100 + 101.325 - 1.228) / (999.7 * 9.80665e-3)
FILLS = (
    # common practice: 345 kPa (50 psi) at the machine for a job under 20 m; 4 h of filling; a tenth by the meter
    Edge(FILL, "pressure_high_for_height", 345, lambda p: example(FILL, fill_pressure=q(p, "kPa"))),
    Edge(
        FILL, "pressure_high_for_height", 20,
        lambda h: example(FILL, fill_pressure=q(400, "kPa"), high_point_elevation=q(h, "m")), below=True,
    ),
    Edge(FILL, "long_fill", 4, lambda h: example(FILL, tap__flow=q(FILLED / h / 3600, "L/s"))),
    Edge(FILL, "meter_differs", 1.1, lambda r: example(FILL, meter={"start": q(0, "L"), "end": q(r * FILLED, "L")})),
    Edge(
        FILL, "meter_differs", 0.9, lambda r: example(FILL, meter={"start": q(0, "L"), "end": q(r * FILLED, "L")}), below=True
    ),
    # common practice: a vessel that works with less than a fifth; a precharge more than a fifth below the fill
    Edge(FILL, "vessel_barely_works", 0.8, precharged),
    Edge(FILL, "vessel_already_full", 1.2, filled_over),
    # common practice: 40 degF (4.4 degC) of plain water; one segment twice as stiff as another
    Edge(
        GLYCOL, "water_set_point_too_cold", 4.4,
        lambda t: example(
            GLYCOL, leaving_temperature=q(t, "degC"), present={"measured_freezing_temperature": q(0, "degC")}
        ), below=True, step=0.03,
    ),
    Edge(SURGE, "stiff_segment", 2.0, two_segments),
    # common practice: 1.3 times the suction head that is needed, and 1 m more than it
    Edge(LOOP, "npsh_margin_small", SUCTION / 1.3, suction),
)  # fmt: skip


@edges((*EXCHANGERS, *BALANCES, *AIRS, *LOOPS, *FILLS))
def test_a_finding_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


@given(st.floats(10, 900), st.floats(0.02, 0.9))
def test_two_gauges_and_their_error(answer_of: Any, high: float, drop: float) -> None:
    """EN 837-1 (from memory): spans 1 1.6 2.5 4 6 bar and their decades, read below three quarters; class 1; two gauges."""
    case = example(
        EXCHANGER,
        pressure_drop=None,
        proof=None,
        flow_minimum=q(0.01, "L/s"),
        rated_pressure_drop=q(max(drop * high, 2), "kPa"),
        inlet_gauge_pressure=q(high + 2, "kPa"),
        outlet_gauge_pressure=q((high + 2) - max(drop * high, 2), "kPa"),
        inlet_gauge_elevation=q(1, "m"),
        outlet_gauge_elevation=q(1, "m"),
    )
    answer = answer_of(EXCHANGER, case)
    spans = [step * 10**decade for decade in range(2, 5) for step in (1, 1.6, 2.5, 4, 6)]
    span = min(s for s in spans if 0.75 * s >= high + 2)
    error = next(a["value"] for a in answer["assumptions"] if a["code"] == "gauge_error_of_two_gauges")
    assert error["value"] == pytest.approx(0.01 * span * math.sqrt(2))
    assert answer["results"]["flow_uncertainty_fraction"] == pytest.approx(error["value"] / 2 / max(drop * high, 2))


@given(st.floats(25, 60), st.floats(2, 6), st.floats(5, 20))
def test_a_pump_at_another_speed_needs_its_suction_head(answer_of: Any, hertz: float, flow: float, at: float) -> None:
    """Affinity: the head needed is read at the flow over the speed; that of a slower pump is not taken as less."""
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 40), (20, 38), (60, 20))]
    needed = [{"flow": q(f, "L/s"), "npsh_required": q(h, "m")} for f, h in ((1, 1), (20, 4), (60, 12))]
    pump = {
        "curve": curve,
        "npsh_required_curve": needed,
        "rated_frequency": q(50, "Hz"),
        "frequency": q(hertz, "Hz"),
        "efficiency": 0.6,
    }
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(80, "mm"), "length": q(10 * at, "m")}
    answer = answer_of(
        LOOP,
        example(
            LOOP, fluid={"kind": "water", "temperature": q(20, "degC")}, elements=[line], pumps=[pump], required=None
        ),
    )
    results, r = answer["results"], hertz / 50
    each = results["duty_flow"]["value"] / r
    points = [(1, 1), (20, 4), (60, 12)]
    (x0, y0), (x1, y1) = points[:2] if each <= 20 else points[1:]
    wanted = max(1, r * r) * (y0 + (y1 - y0) * (max(each, 1) - x0) / (x1 - x0))
    assert results["npsh_required"]["value"] == pytest.approx(wanted, rel=1e-6)
    assert results["npsh_wanted"]["value"] == pytest.approx(max(1.3 * wanted, wanted + 1), rel=1e-6)


def test_strengths_and_peaks_that_ask(answer_of: Any) -> None:
    """Common practice: under 0.20 by volume, over 0.50 by mass, over 1.03 of the flow of water; eight tenths of the working
    pressure. Each is asked of the figure that the answer itself gives, from warm to cold and from weak to strong parts.
    """
    begun = set()
    for celsius in range(-45, -2):
        answer = answer_of(GLYCOL, example(GLYCOL, lowest_temperature=q(celsius, "degC"), leaving_temperature=None))
        codes, r = {f["code"] for f in answer["findings"]}, answer["results"]
        for code, there in (
            ("thin_mixture", r["volume_fraction"] < 0.20),
            ("strong_mixture", r["mass_fraction"] > 0.50),
            ("rerate_capacity_and_pump", r["flow_ratio"] > 1.03),
        ):
            assert (code in codes) == there, (celsius, code)
            begun.add((code, there))
    assert len(begun) >= 5
    peak = answer_of(SURGE, example(SURGE))["results"]["peak_pressure"]["value"]
    for share in (0.79, 0.81, 0.99, 1.01):
        answer = answer_of(SURGE, example(SURGE, working_pressure=q(peak / share, "kPa")))
        assert ("peak_near_working" in {f["code"] for f in answer["findings"]}) == (0.8 < share < 1)


def test_figures_that_follow_from_others(answer_of: Any) -> None:
    """By hand, each from what was given or from its definition; 12,000 Btu/h are a ton, water of 10 degC is 999.7 kg/m3."""
    told = answer_of(BALANCE, example(BALANCE))["results"]
    assert told["rule_heat"]["value"] == pytest.approx(500 * 240 * 10 * 0.29307107e-3)
    assert told["mass_flow"]["value"] == pytest.approx(told["flow"]["value"] * told["density"]["value"] / 1e3)
    assert told["flow_per_capacity"] == pytest.approx(240 * 3.516853 / told["heat"]["value"])
    heated = answer_of(EXCHANGER, warmed(250))["results"]
    assert heated["disagreement_fraction"] == pytest.approx(
        heated["flow"]["value"] / heated["flow_from_heat"]["value"] - 1
    )
    high: dict[str, Any] = {"machine_elevation": q(4, "m"), "relief_valve_elevation": q(4, "m")}
    filled = answer_of(FILL, example(FILL, meter={"start": q(100, "L"), "end": q(1500, "L")}, **high))["results"]
    assert filled["meter_volume"] == q(pytest.approx(1400), "L")
    assert filled["meter_difference_fraction"] == pytest.approx(1400 / FILLED - 1)
    assert filled["machine_pressure"]["value"] == pytest.approx(250 - 999.7 * 9.80665e-3 * 4, abs=0.05)
    drawn = answer_of(LOOP, suction(10))["results"]
    assert drawn["npsh_margin_ratio"] == pytest.approx(drawn["npsh_available"]["value"] / 10)
    told = answer_of(LOOP, example(LOOP))["results"]
    names = [element["name"] for element in told["elements"]]
    after_coil = [e["pressure_drop"]["value"] for e in told["elements"][names.index("coil") + 1 :]]
    lowest, highest = told["lowest_pressure"], told["highest_pressure"]
    assert (lowest["name"], highest["name"]) == ("coil", "evaporator")
    assert highest["value"]["value"] == pytest.approx(200 + told["pump_pressure_rise"]["value"])
    assert lowest["value"]["value"] == pytest.approx(200 + sum(after_coil) - 999.9 * 9.80665e-3 * 10, abs=0.05)
