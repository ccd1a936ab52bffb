"""Published checks of `hydronic.loop`."""

import pytest
from loops import BASE_POINTS, WATER_7, base, base_elements, device, line, pump
from quantity import q

pytestmark = pytest.mark.check


def results(answer_of, given, units="metric"):
    return answer_of("hydronic.loop", given, units=units)["results"]


def value(quantity, unit):
    assert quantity["unit"] == unit
    return quantity["value"]


def test_base_loop(answer_of):
    """Library: fluids 1.3.1 and CoolProp 8.0.0; EPANET gives 18.358 L/s."""
    r = results(answer_of, base())
    assert value(r["duty_flow"], "L/s") == pytest.approx(18.360, rel=0.005)
    assert value(r["pump_head"], "m") == pytest.approx(24.61, rel=0.005)
    supply = r["elements"][2]
    assert value(supply["velocity"], "m/s") == pytest.approx(2.265, rel=0.005)
    assert supply["reynolds"] == pytest.approx(161300, rel=0.005)
    assert supply["friction_factor"] == pytest.approx(0.01918, rel=0.005)
    assert value(supply["pressure_drop"], "kPa") == pytest.approx(29.05, rel=0.005)
    assert value(r["elements"][4]["pressure_drop"], "kPa") == pytest.approx(29.05, rel=0.005)
    assert value(r["elements"][1]["pressure_drop"], "kPa") == pytest.approx(89.91, rel=0.005)
    assert value(r["hydraulic_power"], "kW") == pytest.approx(4.431, rel=0.005)
    assert value(r["elements"][0]["pressure_in"], "kPa") == pytest.approx(441.3, rel=0.005)
    assert value(supply["pressure_out"], "kPa") == pytest.approx(208.9, rel=0.005)
    assert value(r["npsh_available"], "m") == pytest.approx(30.62, rel=0.005)


def test_base_loop_at_fifty_hertz(answer_of):
    """Library: fluids 1.3.1 and CoolProp 8.0.0; EPANET gives 15.272 L/s."""
    r = results(answer_of, base(pumps=[pump(*BASE_POINTS, frequency=q(50, "Hz"))]))
    assert value(r["duty_flow"], "L/s") == pytest.approx(15.274, rel=0.005)
    assert value(r["pump_head"], "m") == pytest.approx(17.11, rel=0.005)
    assert value(r["hydraulic_power"], "kW") == pytest.approx(2.563, rel=0.005)


def test_base_loop_with_cold_propylene_glycol(answer_of):
    """Library: fluids 1.3.1 and CoolProp 8.0.0 (MPG); EPANET gives 19.742 L/s."""
    elements = base_elements()
    for i in (0, 2, 4):
        elements[i]["parallel_runs"] = 2
    glycol = {"kind": "propylene_glycol", "mass_fraction": 0.35, "temperature": q(-5, "degC")}
    r = results(answer_of, base(fluid=glycol, elements=elements))
    assert value(r["duty_flow"], "L/s") == pytest.approx(19.740, rel=0.007)
    assert value(r["pump_head"], "m") == pytest.approx(23.03, rel=0.007)
    hose = r["elements"][2]
    assert hose["reynolds"] == pytest.approx(10505, rel=0.007)
    assert hose["friction_factor"] == pytest.approx(0.03125, rel=0.007)
    assert value(hose["pressure_drop"], "kPa") == pytest.approx(14.21, rel=0.007)
    assert value(r["elements"][1]["pressure_drop"], "kPa") == pytest.approx(107.98, rel=0.007)


def test_throttling_the_base_loop(answer_of):
    """Library: fluids 1.3.1 and CoolProp 8.0.0."""
    r = results(answer_of, base(required={"flow": q(15.0, "L/s")}))
    assert value(r["throttling_pressure_drop"], "kPa") == pytest.approx(112.6, rel=0.01)
    assert r["throttling_kv"] == pytest.approx(50.9, rel=0.01)


def test_crane_7_1(answer_of):
    """Seen: Crane TP-410, Example 7.1, as given in the documentation of fluids (which itself gets 100 971 and 0.01811)."""
    given = {
        "fluid": {"kind": "water", "temperature": q(30, "degC")},
        "elements": [line("line", 52.5, 20, 0.0015, kind="plastic")],
        "fixed_flow": q(200, "L/min"),
    }
    r = results(answer_of, given)["elements"][0]
    assert r["reynolds"] == pytest.approx(100600, rel=0.015)
    assert r["friction_factor"] == pytest.approx(0.0179, rel=0.015)


def test_crane_7_33(answer_of):
    """Seen: Crane TP-410, Example 7.33 (the documentation of fluids states the match)."""
    point = {"flow": q(400, "gpm"), "head": q(126, "ft"), "brake_power": q(17.5, "hp")}
    given = {
        "fluid": {"kind": "water", "temperature": q(60, "degF")},
        "pumps": [{"point": point, "frequency": q(60 * 1700 / 3500, "Hz"), "rated_frequency": q(60, "Hz")}],
        "pump_owner": "machine",
    }
    scaled = results(answer_of, given, units="us")["scaled_point"]
    assert value(scaled["flow"], "gpm") == pytest.approx(194.3, rel=0.005)
    assert value(scaled["head"], "ft") == pytest.approx(29.7, rel=0.005)
    assert value(scaled["brake_power"], "hp") == pytest.approx(2.0, rel=0.005)


def test_crane_7_34(answer_of):
    """Seen: Crane TP-410, Example 7.34, as worked in the documentation of fluids."""
    given = {
        "fluid": {"kind": "custom", "density": q(62.364, "lb/ft3")},
        "pumps": [
            {
                "point": {"flow": q(700, "gpm"), "head": q(428, "ft")},
                "efficiency": 0.707,
                "motor_efficiency": 0.95,
                "drive_efficiency": 0.96,
            }
        ],
        "pump_owner": "machine",
    }
    r = results(answer_of, given, units="us")
    assert value(r["brake_power"], "hp") == pytest.approx(107.06, rel=0.003)
    assert value(r["motor_input_power"], "hp") == pytest.approx(117.39, rel=0.003)


def test_crane_7_32(answer_of):
    """Seen: Crane TP-410, Example 7.32, as worked in the documentation of fluids."""
    density = 62.364
    drop = 6 * density / 144  # psi of 6 ft of the liquid
    given = {
        "fluid": {"kind": "custom", "density": q(density, "lb/ft3"), "vapor_pressure": q(0.256, "psi")},
        "pumps": [
            {
                "point": {"flow": q(400, "gpm"), "head": q(126, "ft")},
                "npsh_required_curve": [{"flow": q(400, "gpm"), "npsh_required": q(20, "ft")}],
            }
        ],
        "pump_owner": "machine",
        "atmospheric_pressure": q(101.325, "kPa"),
        "open_source": {
            "surface_gauge_pressure": q(5, "psi"),
            "surface_elevation": q(-25, "ft"),
            "suction_pressure_drop": q(drop, "psi"),
        },
    }
    answer = answer_of("hydronic.loop", given, units="us")
    r = answer["results"]
    assert value(r["npsh_available"], "ft") == pytest.approx(13.89, rel=0.003)
    assert value(r["npsh_required"], "ft") == pytest.approx(20)
    assert value(r["npsh_wanted"], "ft") == pytest.approx(26.0, rel=0.003)
    assert ("cavitation", "stop") in [(f["code"], f["severity"]) for f in answer["findings"]]


def test_choice_of_hose(answer_of):
    """Library: fluids 1.3.1 and CoolProp 8.0.0."""
    given = {
        "fluid": {"kind": "water", "temperature": q(9.444, "degC")},
        "required": {"load": q(100, "ton"), "temperature_difference": q(10, "delta_degF")},
        "hose_options": [{"inner_diameter": q(d, "mm"), "roughness": q(0.05, "mm")} for d in (76.2, 101.6, 152.4)],
        "run_length": q(60, "m"),
        "max_runs": 2,
    }
    r = results(answer_of, given)
    assert r["required_flow"]["value"] == pytest.approx(239.2 * 0.0630902, rel=0.01)
    rows = {(h["inner_diameter"]["value"], h["runs"]): h for h in r["hose_selection"]}
    assert list(rows) == [(d, n) for d in (76.2, 101.6, 152.4) for n in (1, 2)]
    for key, speed, drop, acceptable in (
        ((76.2, 1), 3.31, 84.7, False),
        ((76.2, 2), 1.655, 22.7, True),
        ((101.6, 1), 1.861, 19.9, True),
        ((152.4, 1), 0.827, 2.66, True),
    ):
        row = rows[key]
        assert value(row["velocity"], "m/s") == pytest.approx(speed, rel=0.01)
        assert value(row["pressure_drop"], "kPa") == pytest.approx(drop, rel=0.01)
        assert row["acceptable"] is acceptable
    assert (r["hose_choice"]["inner_diameter"]["value"], r["hose_choice"]["runs"]) == (101.6, 1)


def test_valve_by_kv_and_cv(answer_of):
    """Library: fluids 1.3.1, `Cv_to_Kv`; derived: dp[bar] = (Q[m3/h]/Kv)^2 rho/1000."""
    from fluids.control_valve import Cv_to_Kv

    def drop(**coefficient):
        valve = {"name": "valve", "type": "valve"} | coefficient
        given = {"fluid": WATER_7, "elements": [valve], "fixed_flow": q(36, "m3/h")}
        return results(answer_of, given)["elements"][0]["pressure_drop"]["value"]

    assert drop(flow_coefficient_kv=36) == pytest.approx(100.0, rel=1e-4)
    assert drop(flow_coefficient_cv=41.6) == pytest.approx(drop(flow_coefficient_kv=Cv_to_Kv(41.6)), rel=1e-3)


def test_device_by_its_exponent(answer_of):
    """Derived: 60 (12/15)^1.8."""
    given = {
        "fluid": {"kind": "water", "temperature": q(10, "degC")},
        "elements": [device("exchanger", 60, exponent=1.8)],
        "fixed_flow": q(12, "L/s"),
    }
    assert results(answer_of, given)["elements"][0]["pressure_drop"]["value"] == pytest.approx(60 * 0.8**1.8, rel=1e-9)


@pytest.mark.parametrize(("hertz", "factor"), [(50, 1.0), (60, 1.0), (66, 1.21)])
def test_suction_need_at_another_speed(answer_of, hertz, factor):
    """Affinity, by hand: a pump at N/N0 with flow Q needs what its curve says at Q N0/N, times (N/N0)^2 where that is
    above 1; slower, the curve's own figure, on the safe side.
    """
    curve_of_need = [
        {"flow": q(0.1, "L/s"), "npsh_required": q(1, "m")},
        {"flow": q(30, "L/s"), "npsh_required": q(7, "m")},
    ]
    given = base(pumps=[pump(*BASE_POINTS, frequency=q(hertz, "Hz"), npsh_required_curve=curve_of_need)])
    r = results(answer_of, given)
    at_rated = value(r["duty_flow"], "L/s") * 60 / hertz
    assert value(r["npsh_required"], "m") == pytest.approx(factor * (1 + 6 * (at_rated - 0.1) / 29.9), rel=1e-6)


@pytest.mark.parametrize(
    ("height", "rated", "over"), [(20, 346.0, True), (20, 348.5, False), (-15, 690, True), (-15, 693, False)]
)
def test_a_shut_valve_puts_the_whole_head_on_what_stands_low(answer_of, height, rated, over):
    """By hand, water at 7 degC (999.9 kg/m3): 200 kPa at the pump, 35 m of shut-off head, less the height of the coil:
    200 + 9.8055 (35 - 20) = 347.1 kPa, and 200 + 9.8055 (35 + 15) = 690.3 kPa.
    """
    elements = [
        line("supply", elevation_out=q(height, "m")),
        device("coil", 40, "coil", working_pressure=q(rated, "kPa"), elevation_out=q(height, "m")),
        line("return", elevation_out=q(0, "m")),
    ]
    answer = answer_of("hydronic.loop", base(elements=elements))
    stops = {f["code"] for f in answer["findings"]}
    # 690.3 lies between 690 and 693
    assert ("over_working_pressure" in stops) == over


@pytest.mark.parametrize(("height", "boils"), [(9.9, False), (10.6, True)])
def test_a_loop_that_is_too_high_for_its_fill_parts_at_rest(answer_of, height, boils):
    """By hand: at no gauge pressure water at 7 degC stands (101.3 - 1.0) / 9.8055 = 10.2 m high, and not higher."""
    elements = [
        line("supply", elevation_out=q(height, "m")),
        device("coil", 40, "coil", elevation_out=q(height, "m")),
        line("return", elevation_out=q(0, "m")),
    ]
    reference = {"location": "pump_suction", "gauge_pressure": q(0, "kPa")}
    answer = answer_of("hydronic.loop", base(elements=elements, pressure_reference=reference))
    parted = [f for f in answer["findings"] if f["code"] == "liquid_boils" and "stopped" in f["statement"]]
    assert bool(parted) == boils


def test_twice_the_speed(answer_of):
    """Seen: DOE Fundamentals Handbook, Thermodynamics, Heat Transfer and Fluid Flow, DOE-HDBK-1012/3-92, HT-03 p. 50, in
    reproduction: 400 gpm at 48 ft with 45 kW at 1800 rpm are 800 gpm at 3600 rpm; by its proportions 192 ft and 360 kW.
    Ours: as it, the motor's speed being that of its frequency.
    """
    # 45 kW for 400 gpm over 48 ft are an efficiency of 0.08; the curve passes through that point
    gpm, foot, power = 0.0630901964, 0.3048, 45.0
    curve = [{"flow": q(f * gpm, "L/s"), "head": q(h * foot, "m")} for f, h in ((0, 60), (200, 57), (400, 48))]
    efficiency = 999.9 * 9.80665 * 400 * gpm / 1e3 * 48 * foot / (power * 1e3)
    fast = {"curve": curve, "rated_frequency": q(30, "Hz"), "frequency": q(60, "Hz"), "efficiency": efficiency}
    need = device("system", 999.9 * 9.80665 * 192 * foot / 1e3, flow=800 * gpm)
    r = results(answer_of, base(elements=[need], pumps=[fast]))
    assert value(r["duty_flow"], "L/s") / gpm == pytest.approx(800, rel=2e-3)
    assert value(r["pump_head"], "m") / foot == pytest.approx(192, rel=2e-3)
    assert value(r["brake_power"], "kW") == pytest.approx(360, rel=2e-3)


def test_power_of_a_pump(answer_of):
    """Seen: a forum of an engineering exam, p. 106 of its handbook: 5 ft3/s over 25 ft at 0.72 are 10,833 ft lb/s, 19.69
    hp, with 62.4 lb/ft3. Ours: 0.1 % more, as water of 7 degC is 62.42 lb/ft3.
    """
    flow = 5 * 0.3048**3
    points = [{"flow": q(f, "m3/s"), "head": q(h, "ft")} for f, h in ((0, 40), (flow, 25), (2 * flow, 5))]
    need = device("system", 999.9 * 9.80665 * 25 * 0.3048 / 1e3, flow=flow * 1e3)
    r = results(answer_of, base(elements=[need], pumps=[{"curve": points, "efficiency": 0.72}]))
    assert value(r["brake_power"], "kW") / 0.745699872 == pytest.approx(19.69, rel=2e-3)


@pytest.mark.parametrize(
    ("atmosphere", "above", "fahrenheit", "vapour", "told"),
    [(33.9, 6.0 - 2.0 - 2.0, 70, 0.839, 35.061), (26.2, -8.0 - 1.0 - 2.0, 50, 0.411, 14.789)],
)
def test_suction_head_of_two_tanks(answer_of, atmosphere, above, fahrenheit, vapour, told):
    """Seen: a chapter on centrifugal pumps of a public handbook of civil engineering: 33.9 + 6.0 - 0.839 - 2.0 - 2.0 =
    35.061 ft; and at 7,000 ft 26.2 ft of air, a lift of 8.0 ft, water of 50 degF (0.411 ft), losses of 1.0 and 2.0 ft,
    which makes 14.789 ft. Ours: within 0.1 % of both, its feet being of water at 998 kg/m3.
    """
    foot = 0.3048 * 9.80665 * 998.0 / 1e3  # kPa
    fluid = {"kind": "water", "temperature": q(fahrenheit, "degF")}
    reference = {"location": "pump_suction", "gauge_pressure": q(above * foot, "kPa")}
    air = q(atmosphere * foot, "kPa")
    r = results(answer_of, base(fluid=fluid, pressure_reference=reference, atmospheric_pressure=air))
    assert value(r["npsh_available"], "m") / 0.3048 == pytest.approx(told, rel=2e-3)
    assert atmosphere + above - vapour == pytest.approx(told)


@pytest.mark.parametrize("metres", [-7.0, 11.0])
@pytest.mark.parametrize(("height", "gauge"), [(9.9, 0), (10.6, 0), (10, 200), (-15, 200)])
def test_a_loop_that_is_lifted_as_a_whole(answer_of, metres, height, gauge):
    """Hydrostatics: only differences of height count, so that pump and parts lifted together change nothing."""

    def asked(above):
        elements = [
            line("supply", elevation_out=q(height + above, "m")),
            device("coil", 40, "coil", elevation_out=q(height + above, "m"), working_pressure=q(690, "kPa")),
            line("return", elevation_out=q(above, "m")),
        ]
        reference = {"location": "pump_suction", "gauge_pressure": q(gauge, "kPa")}
        return base(elements=elements, pressure_reference=reference, pump_elevation=q(above, "m"))

    low, high = (answer_of("hydronic.loop", asked(above)) for above in (0.0, metres))
    assert {(f["code"], f["statement"]) for f in low["findings"]} == {
        (f["code"], f["statement"]) for f in high["findings"]
    }
    for name in ("duty_flow", "npsh_available"):
        assert high["results"][name]["value"] == pytest.approx(low["results"][name]["value"], rel=1e-9)
    for name in ("lowest_pressure", "highest_pressure"):
        assert high["results"][name]["value"]["value"] == pytest.approx(
            low["results"][name]["value"]["value"], abs=1e-6
        )
