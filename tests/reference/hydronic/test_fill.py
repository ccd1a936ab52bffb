"""hydronic.fill against sums by hand, CoolProp, and the form of the ASHRAE handbook."""

import math

import pytest

pytestmark = pytest.mark.check


def _q(value, unit):
    return {"value": value, "unit": unit}


def _water(celsius):
    return {"kind": "water", "temperature": _q(celsius, "degC")}


def _results(answer_of, units="metric", **given):
    return answer_of("hydronic.fill", {"fluid": _water(10), **given}, units=units)["results"]


def _loop(value, unit="L"):
    return [{"name": "loop", "volume": _q(value, unit)}]


def test_volume_of_hose(answer_of):
    """972.9 L in 120 m of 101.6 mm; 65.28 and 146.9 gal in 100 ft of 4 and 6 in: by hand [derived]."""
    line = {"name": "hose", "inner_diameter": _q(101.6, "mm"), "length": _q(120, "m")}
    assert _results(answer_of, lines=[line])["total_volume"]["value"] == pytest.approx(972.9, rel=0.001)
    for inches, gallons in ((4, 65.28), (6, 146.9)):
        line = {"name": "hose", "inner_diameter": _q(inches, "in"), "length": _q(100, "ft")}
        volume = _results(answer_of, units="us", lines=[line])["total_volume"]
        assert volume == {"value": pytest.approx(gallons, rel=0.001), "unit": "gal"}


def test_fill_pressure(answer_of):
    """Water 10 degC, top 18 m above the fill point, 35 kPa: by hand [derived]."""
    results = _results(answer_of, vessels=_loop(1000), high_point_elevation=_q(18, "m"))
    assert results["static_pressure"]["value"] == pytest.approx(176.5, rel=0.002)
    assert results["required_fill_pressure"]["value"] == pytest.approx(211.5, rel=0.002)
    us = _results(answer_of, units="us", vessels=_loop(1000), high_point_elevation=_q(18, "m"))
    assert us["required_fill_pressure"] == {"value": pytest.approx(30.7, rel=0.002), "unit": "psi"}


@pytest.mark.parametrize(("psi", "metres", "feet"), [(40, 24.6, 81), (50, 31.7, 104)])
def test_height_that_the_usual_pressures_serve(answer_of, psi, metres, feet):
    """40 to 50 psi at the machine is common practice; the heights, 15 degC and 5 psi on top, by hand [derived]."""
    given = {
        "fluid": _water(15),
        "vessels": _loop(1000),
        "fill_pressure": _q(psi, "psi"),
        "minimum_top_pressure": _q(5, "psi"),
    }
    assert _results(answer_of, **given)["height_served"]["value"] == pytest.approx(metres, rel=0.003)
    assert _results(answer_of, units="us", **given)["height_served"]["value"] == pytest.approx(feet, rel=0.005)


def _expansion(**more):
    return {
        "lowest_temperature": _q(4, "degC"),
        "highest_temperature": _q(40, "degC"),
        "minimum_pressure": _q(250, "kPa"),
        "maximum_pressure": _q(450, "kPa"),
        **more,
    }


def test_expansion_vessels_metric(answer_of):
    """2,000 L of water, 4 to 40 degC, 250 to 450 kPa gauge: CoolProp 8.0.0 (IAPWS-95) [library]; vessel by the form of
    the ASHRAE handbook, HVAC Systems and Equipment [seen in a reprint]."""
    results = _results(answer_of, vessels=_loop(2000), expansion=_expansion())
    assert results["expansion_fraction"] == pytest.approx(0.00783, rel=0.007)
    assert results["expansion_volume"]["value"] == pytest.approx(15.66, rel=0.007)
    assert results["vessel_volume"]["value"] == pytest.approx(43.2, rel=0.007)
    assert results["precharge_pressure"]["value"] == pytest.approx(250)
    plain = _results(answer_of, vessels=_loop(2000), expansion=_expansion(vessel_type="air_water"))
    assert plain["vessel_volume"]["value"] == pytest.approx(149.7, rel=0.007)


def test_expansion_vessel_us(answer_of):
    """1,000 gal, 40 to 100 degF, steel, 12 to 45 psi gauge: formula and CoolProp 8.0.0 [library]."""
    plan = {
        "lowest_temperature": _q(40, "degF"),
        "highest_temperature": _q(100, "degF"),
        "linear_expansion_coefficient": 11.7e-6,
        "minimum_pressure": _q(12, "psi"),
        "maximum_pressure": _q(45, "psi"),
    }
    results = _results(answer_of, units="us", vessels=_loop(1000, "gal"), expansion=plan)
    assert results["expansion_fraction"] == pytest.approx(0.005814, rel=0.01)
    assert results["vessel_volume"] == {"value": pytest.approx(10.52, rel=0.01), "unit": "gal"}
    metric = _results(answer_of, vessels=_loop(1000, "gal"), expansion=plan)
    assert metric["vessel_volume"]["value"] == pytest.approx(39.8, rel=0.01)


@pytest.mark.parametrize(("cold", "hot"), [(4, 40), (1, 12), (10, 30), (3, 90)])
def test_growth_against_iapws_95(answer_of, cold, hot):
    """CoolProp 8.0.0, Water: greatest over least specific volume [library]."""
    from CoolProp.CoolProp import PropsSI

    densities = [PropsSI("D", "T", 273.15 + cold + i * (hot - cold) / 400, "P", 3e5, "Water") for i in range(401)]
    plan = _expansion(lowest_temperature=_q(cold, "degC"), highest_temperature=_q(hot, "degC"))
    results = _results(answer_of, vessels=_loop(2000), expansion=plan)
    assert results["expansion_fraction"] == pytest.approx(max(densities) / min(densities) - 1, rel=0.005, abs=2e-6)


@pytest.mark.parametrize(("kind", "name"), [("ethylene_glycol", "MEG"), ("propylene_glycol", "MPG")])
def test_growth_of_glycol(answer_of, kind, name):
    """CoolProp 8.0.0, incompressible liquids [library]."""
    from CoolProp.CoolProp import PropsSI

    cold, hot = (PropsSI("D", "T", 273.15 + t, "P", 3e5, f"INCOMP::{name}[0.35]") for t in (-8, 40))
    fluid = {"kind": kind, "mass_fraction": 0.35, "temperature": _q(5, "degC")}
    plan = _expansion(lowest_temperature=_q(-8, "degC"))
    results = answer_of("hydronic.fill", {"fluid": fluid, "vessels": _loop(2000), "expansion": plan})["results"]
    assert results["expansion_fraction"] == pytest.approx(cold / hot - 1, rel=1e-6)
    assert "trapped_liquid_pressure_rise" not in results


def test_least_volume_by_run_time(answer_of):
    """Step 50 ton, load 20 ton, 6 min, 5 degF, water about 49 degF: 861 gal, by hand with CoolProp [derived]."""
    results = _results(
        answer_of,
        units="us",
        fluid={"kind": "water", "temperature": _q(49, "degF")},
        vessels=_loop(500, "gal"),
        cycling={
            "step_capacity": _q(50, "ton"),
            "minimum_load": _q(20, "ton"),
            "minimum_run_time": _q(6, "min"),
            "dead_band": _q(5, "delta_degF"),
        },
    )
    assert results["minimum_loop_volume"] == {"value": pytest.approx(861, rel=0.005), "unit": "gal"}
    assert results["governing_rule"] == "run_time"
    assert results["buffer_volume"]["value"] == pytest.approx(361, rel=0.01)


def test_least_volume_by_starts(answer_of):
    """Step 50 kW, 6 starts an hour, band 3 K, water 9.5 degC: 596 L, by hand [derived]."""
    cycling = {"step_capacity": _q(50, "kW"), "starts_per_hour": 6, "dead_band": _q(3, "delta_degC")}
    results = _results(answer_of, fluid=_water(9.5), vessels=_loop(100), cycling=cycling)
    assert results["minimum_loop_volume"]["value"] == pytest.approx(596, rel=0.005)
    assert results["governing_rule"] == "starts_per_hour"


def test_least_volume_against_the_thermostat_simulated(answer_of):
    """A step that a thermostat switches at both ends of its band, followed in time at every load [derived]: with the
    volume given, the shortest cycle of all loads is 3600/n."""
    cycling = {"step_capacity": _q(50, "kW"), "starts_per_hour": 6, "dead_band": _q(3, "delta_degC")}
    litres = _results(answer_of, fluid=_water(9.5), vessels=_loop(100), cycling=cycling)["minimum_loop_volume"]["value"]
    capacity = litres / 1e3 * 999.77 * 4195.0  # J/K
    shortest = min(
        3 * capacity / (50e3 - load) + 3 * capacity / load for load in (50e3 * i / 200 for i in range(1, 200))
    )
    assert shortest == pytest.approx(600, rel=0.002)


def test_fill_time(answer_of):
    """3,000 L at 0.8 L/s: by hand [derived]."""
    results = _results(answer_of, vessels=_loop(3000), tap={"flow": _q(0.8, "L/s")})
    assert results["fill_time"]["value"] == pytest.approx(62.5, rel=0.001)


@pytest.mark.parametrize(("cold", "hot", "megapascals"), [(15, 25, 4.59), (10, 30, 9.20)])
def test_water_shut_in(answer_of, cold, hot, megapascals):
    """CoolProp 8.0.0, Water, warmed at constant density from 300 kPa absolute [library]."""
    from CoolProp.CoolProp import PropsSI

    plan = {"lowest_temperature": _q(cold, "degC"), "highest_temperature": _q(hot, "degC")}
    rise = _results(answer_of, vessels=_loop(3000), expansion=plan)["trapped_liquid_pressure_rise"]["value"]
    assert rise / 1e3 == pytest.approx(megapascals, rel=0.02)
    density = PropsSI("D", "T", 273.15 + cold, "P", 3e5, "Water")
    library = PropsSI("P", "T", 273.15 + hot, "D", density, "Water") - 3e5
    assert rise == pytest.approx(library / 1e3, rel=0.01)


def test_backflow_rules(answer_of):
    """IPC 608.17.2 as quoted in a trade forum [seen second-hand]; IRC 2018 P2902.3.3 [seen]: the vented intermediate
    type does not do for a loop with chemicals; a reduced-pressure assembly or an air gap does."""
    glycol = {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": _q(10, "degC")}

    def answer(fluid, device):
        return answer_of(
            "hydronic.fill", {"fluid": fluid, "vessels": _loop(100), "tap": {"backflow_preventer": device}}
        )

    def severity(fluid, device):
        found = [f["severity"] for f in answer(fluid, device)["findings"] if f["code"] == "backflow_not_enough"]
        return found[0] if found else None

    assert [severity(glycol, d) for d in ("none", "hose_vacuum_breaker", "vented_intermediate")] == ["stop"] * 3
    assert [severity(glycol, d) for d in ("reduced_pressure", "air_gap")] == [None, None]
    assert severity(_water(10), "vented_intermediate") is None
    assert severity(_water(10), "hose_vacuum_breaker") == "stop"  # it does not hold back-pressure
    assert answer(glycol, "none")["results"]["proposed_backflow_preventer"] == "reduced_pressure"
    assert answer(_water(10), "none")["results"]["proposed_backflow_preventer"] == "vented_intermediate"


def test_gallons_in_a_hundred_feet_by_hand():
    """The figures of the first check, from pi/4 D^2 and 231 in3 to the gallon [derived]."""
    assert math.pi / 4 * 4**2 * 1200 / 231 == pytest.approx(65.28, abs=0.005)
    assert math.pi / 4 * 6**2 * 1200 / 231 == pytest.approx(146.9, abs=0.05)


def test_expansion_tank_of_a_public_worksheet(answer_of):
    """Seen: a public worksheet for chilled water after the ASHRAE form: 1,463.53 gal, 44 to 110 degF with specific volumes
    of 0.01602 and 0.01617 ft3/lb, 20 to 45.01 psi absolute: 24.66 gal. Ours 23.97 gal, -2.8 %: its volumes have two digits
    in their difference.
    """
    plan = {
        "lowest_temperature": _q(44, "degF"),
        "highest_temperature": _q(110, "degF"),
        "minimum_pressure": _q(20 - 14.696, "psi"),
        "maximum_pressure": _q(45.01 - 14.696, "psi"),
    }
    results = _results(answer_of, units="us", vessels=_loop(1463.53, "gal"), expansion=plan)
    assert results["vessel_volume"]["value"] == pytest.approx(24.66, rel=0.03)
