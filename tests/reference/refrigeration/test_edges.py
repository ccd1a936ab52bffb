"""Where each finding of the refrigeration family begins, by the limit that its source names."""

from typing import Any

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from edges import Edge, edges, example, hold_to
from quantity import q

pytestmark = pytest.mark.check

CIRCUIT, CYCLE, AIR, LOAD, MEASURED, SAFETY, CAPACITY, SELECTION, ROOM = (
    f"refrigeration.{name}"
    for name in (
        "circuit_check",
        "cycle",
        "air_side",
        "load",
        "performance",
        "refrigerant_safety",
        "capacity",
        "selection",
        "room_heat",
    )
)
DEGF = 5 / 9
FLUID = "R134a"


def dew(kilopascals: float) -> float:
    """degC, by CoolProp; a pure refrigerant has no glide."""
    return float(PropsSI("T", "P", kilopascals * 1e3, "Q", 1, FLUID) - 273.15)


def circuit(**changes: Any) -> dict[str, Any]:
    """R-134a, evaporating at 350 kPa and condensing at 1200 kPa absolute."""
    usual = {
        "refrigerant": "R-134a",
        "suction_pressure": None,
        "discharge_pressure": None,
        "suction_pressure_absolute": q(350, "kPa"),
        "discharge_pressure_absolute": q(1200, "kPa"),
        "suction_line_temperature": q(dew(350) + 6, "degC"),
        "liquid_line_temperature": q(dew(1200) - 5, "degC"),
        "discharge_line_temperature": q(dew(1200) + 25, "degC"),
        "condenser_air_temperature": q(dew(1200) - 12, "degC"),
        "leaving_liquid_temperature": q(dew(350) + 3, "degC"),
        "entering_liquid_temperature": q(dew(350) + 8, "degC"),
    }
    return example(CIRCUIT, **(usual | changes))


def compressed(ratio: float) -> dict[str, Any]:
    return circuit(discharge_pressure_absolute=q(350 * ratio, "kPa"), discharge_line_temperature=None)


CIRCUITS = (
    # common practice, as the finding says: delta_degF of superheat and of discharge superheat, ratios, 105 and 120 degC
    Edge(CIRCUIT, "running_backwards", 1.3, compressed, below=True),
    Edge(CIRCUIT, "compression_ratio_low", 1.6, compressed, below=True),
    Edge(CIRCUIT, "compression_ratio_high", 6.0, compressed),
    Edge(CIRCUIT, "compression_ratio_high", 8.0, compressed, severity="stop"),
    Edge(
        CIRCUIT, "liquid_to_compressor", 2.0, lambda f: circuit(suction_line_temperature=q(dew(350) + f * DEGF, "degC")),
        below=True, step=0.05,
    ),
    Edge(CIRCUIT, "readings_contradict", 1.0, lambda k: circuit(liquid_line_temperature=q(dew(1200) - 12 - k, "degC")), step=0.02),
    Edge(CIRCUIT, "readings_contradict", 2.0, lambda k: circuit(suction_line_temperature=q(dew(350) - k, "degC")), step=0.02),
    Edge(CIRCUIT, "readings_contradict", 1.03, lambda r: circuit(liquid_line_pressure_absolute=q(1200 * r, "kPa")), step=0.002),
    Edge(CIRCUIT, "discharge_too_hot", 105, lambda t: circuit(discharge_line_temperature=q(t, "degC")), step=0.2),
    Edge(
        CIRCUIT, "discharge_too_hot", 120, lambda t: circuit(discharge_line_temperature=q(t, "degC")), step=0.2, severity="stop"
    ),
    Edge(
        CIRCUIT, "discharge_superheat_low", 20,
        lambda f: circuit(discharge_line_temperature=q(dew(1200) + f * DEGF, "degC")), below=True,
    ),
    Edge(
        CIRCUIT, "discharge_superheat_high", 80, lambda f: circuit(discharge_line_temperature=q(dew(1200) + f * DEGF, "degC"))
    ),
    # water freezes at 0 degC, 2 delta_degF above it is near
    Edge(
        CIRCUIT, "suction_near_freezing", 2.0,
        lambda f: circuit(suction_pressure_absolute=q(PropsSI("P", "T", 273.15 + f * DEGF, "Q", 1, FLUID) / 1e3, "kPa")),
        below=True, step=0.1,
    ),
)  # fmt: skip


def found(**changes: Any) -> dict[str, Any]:
    return example(CYCLE, 1, **changes)


CYCLES = (
    # common practice: 105 and 120 degC at the compressor outlet, a ratio of 6
    Edge(CYCLE, "discharge_too_hot", 105, lambda t: found(compressor_outlet_temperature=q(t, "degC")), step=0.2),
    Edge(CYCLE, "discharge_too_hot", 120, lambda t: found(compressor_outlet_temperature=q(t, "degC")), step=0.2, severity="stop"),
    Edge(
        CYCLE, "pressure_ratio_high", 6.0,
        lambda r: found(condensing={"pressure": q(3 * r, "bar")}, compressor_outlet_temperature=q(100, "degC")),
    ),
)  # fmt: skip


def density() -> float:
    """kg/m3 of the air of the example: 36 degC, 35 % and 600 m, by psychrolib; dry air and vapour."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = psychrolib.GetStandardAtmPressure(600)
    return float(psychrolib.GetMoistAirDensity(36, psychrolib.GetHumRatioFromRelHum(36, 0.35, pressure), pressure))


def rising(kelvins: float) -> dict[str, Any]:
    """455 kW of heat in dry air of 1.006 kJ/kg.K."""
    return example(AIR, airflow=q(455 / (density() * 1.006 * kelvins), "m3/s"))


def gap(share: float) -> dict[str, Any]:
    """An entry loss of 1.5 velocity heads (common practice) for 20 m3/s through 5 by 0.9 m, as a share of the fans' 100 Pa."""
    drop = 1.5 * density() * (20 / 5 / 0.9) ** 2 / 2
    return example(AIR, gap__fan_static=q(drop / share, "Pa"), recirculated_fraction=0.01)


def clearance(side: str) -> Any:
    return lambda metres: example(AIR, clearances=[{"side": side, "distance": q(metres, "m")}])


AIRS = (
    # common practice: clearances of 1.2 m, coil to coil 3 m; a rise of 8 to 14 K; 2 K of recirculation; 0.3 of the fans
    Edge(AIR, "clearance_short", 1.2, clearance("coil"), below=True),
    Edge(AIR, "clearance_short", 1.2, clearance("control"), below=True),
    Edge(AIR, "clearance_short", 3.0, clearance("facing_coil"), below=True),
    Edge(AIR, "air_rise_unusual", 8.0, rising, below=True),
    Edge(AIR, "air_rise_unusual", 14.0, rising),
    Edge(AIR, "recirculation_high", 3.6, lambda f: example(AIR, 1, measured_inlet_temperature=q(95 + f, "degF"))),
    Edge(AIR, "gap_pressure_high", 0.3, gap),
)


def us(charge: float, mass: float, **changes: Any) -> dict[str, Any]:
    return example(
        SAFETY,
        1,
        circuits=[{"charge": q(charge, "lb")}],
        additions=[{"mass": q(mass, "lb")}],
        relief_discharge=None,
        **changes,
    )


def relief(height: float, distance: float) -> dict[str, Any]:
    return example(
        SAFETY, 1, relief_discharge={"height_above_grade": q(height, "ft"), "distance_to_opening": q(distance, "ft")}
    )


def indoors(kilograms_per_m3: float, refrigerant: str = "R-410A") -> dict[str, Any]:
    return example(SAFETY, refrigerant=refrigerant, space_volume=q(24 / kilograms_per_m3, "m3"))


SAFETIES = (
    # ASHRAE 34 (from memory): 420 g/m3 of R-410A; ASHRAE 15: a quarter of the lower flammability limit, 0.307 kg/m3 of R-32
    Edge(SAFETY, "concentration_over_limit", 0.42, indoors),
    Edge(SAFETY, "flammable_over_quarter_lfl", 0.25 * 0.307, lambda c: indoors(c, "R-32")),
    # 40 CFR 82 F and 84 C (seen as quoted): 10 % of comfort cooling a year, 20 % commercial, 30 % industrial; from 15 lb
    Edge(SAFETY, "leak_rate_over_limit", 0.10, lambda r: us(50, 50 * r)),
    Edge(SAFETY, "leak_rate_over_limit", 0.30, lambda r: us(50, 50 * r, use="industrial_process")),
    Edge(SAFETY, "leak_rate_over_limit", 15, lambda lb: us(lb, 10)),
    # ASHRAE 15 9.7.8 (seen as quoted): 15 ft above grade, 20 ft from openings
    Edge(SAFETY, "relief_outlet_too_near", 15, lambda ft: relief(ft, 40), below=True),
    Edge(SAFETY, "relief_outlet_too_near", 20, lambda ft: relief(20, ft), below=True),
    # Regulation (EU) 2024/573 art. 6 (seen as quoted): 500 t of carbon dioxide; R-410A 2088 by the fourth report
    Edge(
        SAFETY, "detection_compulsory", 500,
        lambda t: example(SAFETY, circuits=[{"charge": q(t / 2.088, "kg")}], space_volume=q(5000, "m3")),
    ),
)  # fmt: skip


def changing(fahrenheit: float) -> dict[str, Any]:
    leaving = q(64 - fahrenheit, "degF")
    return example(LOAD, loads__0__entering_temperature=q(64, "degF"), loads__0__leaving_temperature=leaving)


def coil(kelvins: float) -> dict[str, Any]:
    """Air that is to leave so much above the liquid that leaves the machines at 7 degC."""
    air = {
        "kind": "air_coil",
        "name": "coil",
        "airflow": q(5, "m3/s"),
        "airflow_basis": "standard",
        "entering_dry_bulb": q(30, "degC"),
        "entering_relative_humidity": 0.5,
        "leaving_dry_bulb": q(7 + kelvins, "degC"),
    }
    return {"loads": [air], "leaving_liquid_temperature": q(7, "degC")}


LOADS = (
    # common practice: air leaves 2 K above the liquid at least
    Edge(LOAD, "coil_cannot_reach", 2.0, coil, below=True),
    # common practice; a liquid that changes by 4 to 20 delta_degF, as the finding says
    Edge(LOAD, "margin_high", 0.25, lambda m: example(LOAD, margin=m)),
    Edge(LOAD, "liquid_difference_doubtful", 4, changing, below=True),
    Edge(LOAD, "liquid_difference_doubtful", 20, changing),
)


def at_rest(pounds: float) -> dict[str, Any]:
    """So many psi below the pressure of R-134a at 20 degC; air of 101.325 kPa."""
    pressure = PropsSI("P", "T", 293.15, "Q", 1, FLUID) / 1e3 - 101.325 - pounds * 6.894757
    return circuit(altitude=None, standstill={"pressure": q(pressure, "kPa"), "temperature": q(20, "degC")})


def poorly_compressed(efficiency: float) -> dict[str, Any]:
    """From 3 bar and 7 degC to 12 bar, by the definition of isentropic efficiency."""
    h1, s1 = (PropsSI(k, "T", 280.15, "P", 3e5, FLUID) for k in "HS")
    h2 = h1 + (PropsSI("H", "P", 12e5, "S", s1, FLUID) - h1) / efficiency
    return found(compressor_outlet_temperature=q(PropsSI("T", "P", 12e5, "H", h2, FLUID) - 273.15, "degC"))


def near_critical(share: float) -> dict[str, Any]:
    """R-404A, whose saturation is known nearly to its critical point."""
    return {
        "refrigerant": "R-404A",
        "evaporating": {"pressure": q(10, "bar")},
        "condensing": {"pressure": q(share * PropsSI("PCRIT", "R404A") / 1e3, "kPa")},
        "capacity": q(100, "kW"),
    }


def two_machines(spare: float) -> dict[str, Any]:
    """One of two machines of 100 kW lost: the other carries a load that leaves it so much to spare."""
    given = example(SELECTION, limits=None, minimum_load=None, design={"load": q(100 / (1 + spare), "kW")})
    row = given["fleet"][0] | {"count_available": 2, "capacity": q(100, "kW"), "minimum_capacity": q(20, "kW")}
    return given | {"fleet": [row]}


MACHINES = (
    # NEMA MG 1 12.44 (seen condensed): a tenth of the voltage; common practice: 6 to 18 delta_degF of range
    Edge(CAPACITY, "voltage_outside_tolerance", 1.1, lambda r: example(CAPACITY, conditions__voltage_ratio=r), step=0.002),
    Edge(
        CAPACITY, "voltage_outside_tolerance", 0.9, lambda r: example(CAPACITY, conditions__voltage_ratio=r),
        below=True, step=0.002,
    ),
    Edge(
        CAPACITY, "range_far_from_rating", 18,
        lambda d: example(CAPACITY, conditions__temperature_difference=q(d, "delta_degF")),
    ),
    Edge(
        CAPACITY, "range_far_from_rating", 6,
        lambda d: example(CAPACITY, conditions__temperature_difference=q(d, "delta_degF")), below=True,
    ),
    # common practice: 5 psi below the dew pressure; 0.3 of efficiency; 0.95 of the critical pressure; 3 % to spare
    Edge(CIRCUIT, "standstill_all_vapour", 5, at_rest, step=0.1),
    Edge(CYCLE, "efficiency_unusual", 0.3, poorly_compressed, below=True),
    Edge(CYCLE, "near_critical", 0.95, near_critical, step=0.002),
    Edge(SELECTION, "small_margin_after_loss", 0.03, two_machines, below=True, step=0.001),
)  # fmt: skip


@edges((*CIRCUITS, *CYCLES, *AIRS, *SAFETIES, *LOADS, *MACHINES))
def test_a_finding_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


def test_a_capacity_short_of_what_is_expected(answer_of: Any) -> None:
    """Common practice: under nine tenths, where the readings' doubt is smaller; and 6 % of an open balance."""
    sure: dict[str, Any] = {"uncertainty": {"flow": 0.001, "temperature": q(0.01, "delta_degC"), "power": 0.001}}
    case = example(MEASURED, **sure, expected__uncertainty=0.001)
    watts = answer_of(MEASURED, case)["results"]["capacity"]["value"]

    def expected(share: float) -> dict[str, Any]:
        return example(MEASURED, **sure, expected__uncertainty=0.001, expected__capacity=q(watts / share, "kW"))

    def rejected(off: float) -> dict[str, Any]:
        return example(MEASURED, readings__heat_rejected=q((watts + 108) / (1 + off), "kW"))

    hold_to(Edge(MEASURED, "capacity_short", 0.90, expected, below=True), answer_of)
    hold_to(Edge(MEASURED, "heat_balance_open", 0.06, rejected), answer_of)
    hold_to(
        Edge(
            MEASURED,
            "sensors_dominate",
            3.0,
            lambda f: example(MEASURED, readings__leaving_temperature=q(12.1 - f * DEGF, "degC")),
            below=True,
        ),
        answer_of,
    )


def test_estimates_and_gains_of_a_load(answer_of: Any) -> None:
    """Common practice: estimates above three tenths, hoses and pumps above a twentieth, of a flow that is measured."""
    flow = {
        "kind": "liquid_flow",
        "name": "plant",
        "flow": q(10, "L/s"),
        "entering_temperature": q(12, "degC"),
        "leaving_temperature": q(7, "degC"),
    }
    known = (
        10e-3 * PropsSI("D", "T", 283.15, "P", 2e5, "Water") * PropsSI("C", "T", 282.65, "P", 2e5, "Water") * 5 / 1e3
    )

    def lit(share: float) -> dict[str, Any]:
        kilowatts = known * share / (1 - share)
        guess = {"kind": "space_estimate", "name": "hall", "lighting_power": q(kilowatts, "kW")}
        return example(LOAD, loads=[flow, guess])

    def pumped(share: float) -> dict[str, Any]:
        watts = 1e3 * known * share / (1 - share)
        head = watts * 0.7 / (999.7 * 9.80665 * 0.1)
        pump = {"kind": "pump", "name": "p", "flow": q(100, "L/s"), "head": q(head, "m"), "pump_efficiency": 0.7}
        return example(LOAD, loads=[flow, pump])

    hold_to(Edge(LOAD, "estimate_share_high", 0.3, lit), answer_of)
    hold_to(Edge(LOAD, "loop_gains_high", 0.05, pumped), answer_of)


def test_a_room_that_heats_within_a_quarter_of_an_hour(answer_of: Any) -> None:
    """Common practice: 15 min; with nothing exchanged the time goes with the volume."""
    shut = answer_of(ROOM, example(ROOM))["results"]["time_to_limit_shut"]
    each = shut["value"] * {"s": 1 / 60, "min": 1}[shut["unit"]] / 1200
    hold_to(
        Edge(ROOM, "room_heats_fast", 15, lambda m: example(ROOM, room_volume=q(m / each, "m3")), below=True), answer_of
    )


def test_a_loss_beyond_any_estimate(answer_of: Any) -> None:
    """Common practice: where half of the capacity would be gone no estimate holds; 0.6 % for each delta_degF."""
    begun = set()
    for share in (0.1, 0.2, 0.3, 0.4, 0.45, 0.5, 0.55, 0.59):
        answer = answer_of(AIR, example(AIR, recirculated_fraction=share, airflow=q(15, "m3/s"), gap=None))
        effect = answer["results"].get("capacity_effect")
        there = "loss_beyond_estimate" in {f["code"] for f in answer["findings"]}
        assert there == (effect is None or effect < -0.5), effect
        begun.add(there)
    assert begun == {True, False}


def test_figures_that_follow_from_others(answer_of: Any) -> None:
    """By hand: differences of the states; what is cold already, the supply and the share of the buffer that serves, over the
    flow of the load.
    """
    told = answer_of(CYCLE, example(CYCLE))["results"]
    h1, h2, h3, _ = (state["enthalpy"]["value"] for state in told["states"])
    assert told["specific_work"]["value"] == pytest.approx(h2 - h1, rel=1e-9)
    assert told["specific_heat_rejected"]["value"] == pytest.approx(h2 - h3, rel=1e-9)
    through = answer_of("refrigeration.ride_through", example("refrigeration.ride_through"))["results"]
    heat = PropsSI("D", "T", 286.15, "P", 3e5, "Water") * PropsSI("C", "T", 286.15, "P", 3e5, "Water")
    flow = 350e3 / (heat * 6)
    assert through["turnover"]["value"] == pytest.approx(8 / flow / 60, rel=2e-3)
    assert through["cold_time"]["value"] == pytest.approx((2 + 0.8 * 3) / flow / 60, rel=2e-3)


@pytest.mark.parametrize(
    ("redundancy", "words", "load"),
    [
        ({"rule": "one_unit"}, "one machine", 298),
        ({"rule": "one_circuit"}, "one circuit", 348),
        ({"rule": "several_units", "units": 2}, "the 2 largest machines", 198),
    ],
)
def test_what_may_be_out_of_service(answer_of: Any, redundancy: dict[str, Any], words: str, load: float) -> None:
    """By hand: of four machines of 100 kW and two circuits each, less what is lost, and what that spares."""
    given = example(SELECTION, limits=None, minimum_load=None, design={"load": q(load, "kW")}, redundancy=redundancy)
    row = given["fleet"][0] | {"count_available": 4, "capacity": q(100, "kW"), "circuits": 2}
    answer = answer_of(SELECTION, given | {"fleet": [row]})
    left = {"one_unit": 300, "one_circuit": 350, "several_units": 200}[redundancy["rule"]]
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "small_margin_after_loss"]
    assert said.startswith(f"With {words} out of service only {left / load - 1:.1%} spare: {left} kW for {load} kW")
