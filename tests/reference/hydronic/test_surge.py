"""hydronic.surge against a published worked figure and closed forms."""

import math

import pytest

from coldwright.contract import Refused

pytestmark = pytest.mark.check

WATER_10 = {"kind": "water", "temperature": {"value": 10, "unit": "degC"}}


def _q(value, unit):
    return {"value": value, "unit": unit}


def _hose(fraction, kilopascals, metres):
    return {
        "name": "hose",
        "length": _q(metres, "m"),
        "inner_diameter": _q(101.6, "mm"),
        "volumetric_expansion_fraction": fraction,
        "volumetric_expansion_pressure": _q(kilopascals, "kPa"),
    }


STEEL = {
    "name": "steel",
    "length": _q(50, "m"),
    "inner_diameter": _q(102.26, "mm"),
    "wall_thickness": _q(6.02, "mm"),
    "elastic_modulus": _q(200, "GPa"),
}


def _results(answer_of, **given):
    return answer_of("hydronic.surge", {"fluid": WATER_10, **given})["results"]


def test_published_pump_discharge(answer_of):
    """TM 5-813-9, Water supply: pumping stations, Figure 4-5 [seen]. It takes g as 32 ft/s2: exact g gives 541.8 ft."""
    given = {
        "fluid": {"kind": "water", "temperature": _q(15, "degC")},
        "segments": [{"name": "main", "length": _q(3400, "ft"), "wave_speed": _q(2690, "ft/s")}],
        "velocity": _q(6.48, "ft/s"),
        "static_pressure": _q(8.67, "psi"),
    }
    results = answer_of("hydronic.surge", given, units="us")["results"]
    assert results["head_rise"]["unit"] == "ft"
    assert results["head_rise"]["value"] == pytest.approx(545, rel=0.01)
    assert results["head_rise"]["value"] == pytest.approx(541.8, rel=0.001)
    assert results["critical_time"]["value"] == pytest.approx(2.53, rel=0.01)
    assert results["peak_pressure"]["value"] == pytest.approx(245, rel=0.01)


def test_steel(answer_of):
    """By hand, with the bulk modulus of CoolProp 8.0.0 [derived]."""
    results = _results(answer_of, segments=[STEEL], velocity=_q(2, "m/s"))
    assert results["equivalent_wave_speed"]["value"] == pytest.approx(1333.8, rel=0.005)
    assert results["pressure_rise"]["value"] == pytest.approx(2667, rel=0.005)


def test_hose_that_swells_8_percent(answer_of):
    """By hand [derived]."""
    results = _results(answer_of, segments=[_hose(0.08, 1000, 60)], velocity=_q(2.5, "m/s"))
    assert results["equivalent_wave_speed"]["value"] == pytest.approx(111.5, rel=0.005)
    assert results["critical_time"]["value"] == pytest.approx(1.076, rel=0.005)
    assert results["pressure_rise"]["value"] == pytest.approx(278.7, rel=0.005)


def test_hose_that_swells_5_percent(answer_of):
    """By hand [derived]."""
    results = _results(answer_of, segments=[_hose(0.05, 700, 120)], velocity=_q(2, "m/s"), closure_time=_q(1, "s"))
    assert results["equivalent_wave_speed"]["value"] == pytest.approx(117.9, rel=0.005)
    assert results["critical_time"]["value"] == pytest.approx(2.035, rel=0.005)
    assert results["regime"] == "fast"
    assert results["pressure_rise"]["value"] == pytest.approx(235.8, rel=0.005)


def test_water_modulus_against_iapws_95():
    """Speed of sound 1447.6 m/s at 10 degC and 300 kPa, and 2.095 GPa: CoolProp 8.0.0, PropsSI('A') [library]."""
    from CoolProp.CoolProp import PropsSI

    from coldwright_basis import coolprop

    state = coolprop.state("IF97", "Water")
    for celsius in (1, 10, 25, 60):
        state.update(coolprop.core().PT_INPUTS, 3e5, 273.15 + celsius)
        sound = PropsSI("A", "T", 273.15 + celsius, "P", 3e5, "Water")
        assert state.speed_sound() == pytest.approx(sound, rel=3e-3)
    sound = PropsSI("A", "T", 283.15, "P", 3e5, "Water")
    assert sound == pytest.approx(1447.6, abs=0.1)
    assert sound**2 * PropsSI("D", "T", 283.15, "P", 3e5, "Water") / 1e9 == pytest.approx(2.095, rel=5e-4)


@pytest.mark.parametrize("closure", [0.5, 2.0, 3.0, 10.0, 60.0])
def test_slow_closing_against_michauds_closed_form(answer_of, closure):
    """2 rho L V / t, and rho a V within the critical time [derived]; rho from IAPWS-95 by CoolProp [library]."""
    from CoolProp.CoolProp import PropsSI

    rho = PropsSI("D", "T", 283.15, "P", 3e5, "Water")
    results = _results(
        answer_of,
        segments=[{"name": "main", "length": _q(800, "m"), "wave_speed": _q(600, "m/s")}],
        velocity=_q(1.5, "m/s"),
        velocity_change_fraction=0.8,
        closure_time=_q(closure, "s"),
    )
    critical = 2 * 800 / 600
    expected = rho * 600 * 1.2 if closure <= critical else 2 * rho * 800 * 1.2 / closure
    assert results["regime"] == ("fast" if closure <= critical else "slow")
    assert results["pressure_rise"]["value"] == pytest.approx(expected / 1e3, rel=1e-4)


def test_reservoir_pipe_valve_against_the_method_of_characteristics(answer_of):
    """A frictionless pipe from a reservoir to a valve whose velocity is brought to rest linearly, solved on a grid
    [derived]: the greatest pressure is Joukowsky's when fast, and not above Michaud's when slow."""
    length, a, v0, rho = 300.0, 300.0, 1.0, 999.8
    n = 60
    dt = length / n / a
    for closure in (1.0, 6.0):
        pressure, velocity = [0.0] * (n + 1), [v0] * (n + 1)
        peak = 0.0
        for step in range(1, int(3 * closure / dt) + 200):
            t = step * dt
            new_p, new_v = pressure[:], velocity[:]
            for i in range(1, n):
                plus = pressure[i - 1] + rho * a * velocity[i - 1]
                minus = pressure[i + 1] - rho * a * velocity[i + 1]
                new_p[i], new_v[i] = (plus + minus) / 2, (plus - minus) / (2 * rho * a)
            new_p[0], new_v[0] = 0.0, velocity[1] - pressure[1] / (rho * a)
            new_v[n] = v0 * max(0.0, 1 - t / closure)
            new_p[n] = pressure[n - 1] + rho * a * (velocity[n - 1] - new_v[n])
            pressure, velocity = new_p, new_v
            peak = max(peak, pressure[n])
        rise = _results(
            answer_of,
            segments=[{"name": "pipe", "length": _q(length, "m"), "wave_speed": _q(a, "m/s")}],
            velocity=_q(v0, "m/s"),
            closure_time=_q(closure, "s"),
        )["pressure_rise"]["value"]
        assert peak / 1e3 == pytest.approx(rise, rel=2e-3)


def test_series_line_by_hand(answer_of):
    """Hose and steel in series: travel times add; sum L V counts each bore's own velocity [derived]."""
    hose = _hose(0.05, 700, 100)
    results = _results(answer_of, segments=[hose, STEEL], velocity=_q(2, "m/s"), closure_time=_q(20, "s"))
    a_hose, a_steel = (s["wave_speed"]["value"] for s in results["segments"])
    assert results["equivalent_wave_speed"]["value"] == pytest.approx(150 / (100 / a_hose + 50 / a_steel), rel=1e-9)
    steel_velocity = 2 * (101.6 / 102.26) ** 2
    assert results["segments"][1]["velocity"]["value"] == pytest.approx(steel_velocity, rel=1e-9)
    momentum = 999.8 * (100 * 2 + 50 * steel_velocity)
    assert results["pressure_rise"]["value"] == pytest.approx(2 * momentum / 20 / 1e3, rel=1e-4)
    assert results["head_rise"]["value"] == pytest.approx(results["pressure_rise"]["value"] / 9.8046, rel=1e-3)


def test_free_gas_by_hand(answer_of):
    """Gas as stiff as its absolute pressure (isothermal): a = 1/sqrt(rho (1/K + phi/p)) in a rigid pipe [derived]."""
    stiff = STEEL | {"elastic_modulus": _q(1000, "GPa"), "wall_thickness": _q(100, "mm")}
    results = _results(
        answer_of,
        segments=[stiff],
        velocity=_q(1, "m/s"),
        static_pressure=_q(200, "kPa"),
        free_gas_fraction=0.01,
    )
    expected = 1 / math.sqrt(999.8 * (1 / 2.0956e9 + 0.10226 / (1e12 * 0.1) + 0.01 / 301325))
    assert results["equivalent_wave_speed"]["value"] == pytest.approx(expected, rel=1e-4)
    assert results["pressure_rise_without_gas"]["value"] > 5 * results["pressure_rise"]["value"]


def test_worked_example_of_a_slow_closure(answer_of):
    """Seen: a public page on water hammer: 1,000 m of steel at 1,191.4 m/s and 2 m/s, shut in 5 s: 2 L/a 1.679 s, 242.9 m
    if shut at once, 81.5 m by (2 L/a)/t, 8.00 bar. Ours: 1.679 s, 242.9 m and 81.6 m (+0.1 %, g as 9.80665).
    """
    main = {"name": "main", "length": _q(1000, "m"), "wave_speed": _q(1191.4, "m/s")}
    slow = _results(answer_of, segments=[main], velocity=_q(2, "m/s"), closure_time=_q(5, "s"))
    assert slow["critical_time"]["value"] == pytest.approx(1.679, abs=5e-4)
    assert slow["head_rise"]["value"] == pytest.approx(81.5, rel=2e-3)
    assert slow["pressure_rise"]["value"] == pytest.approx(800, rel=2e-3)
    fast = _results(answer_of, segments=[main], velocity=_q(2, "m/s"), closure_time=_q(1, "s"))
    assert fast["head_rise"]["value"] == pytest.approx(242.9, rel=1e-3)


def test_a_column_that_boils_is_refused_with_both_pressures(answer_of):
    """CoolProp 8.0.0 (IAPWS-95): water of 90 degC boils at 70.2 kPa; 40 kPa below the air of 101.325 kPa are 61.33 kPa."""
    from CoolProp.CoolProp import PropsSI

    boils = PropsSI("P", "T", 363.15, "Q", 0, "Water") / 1e3
    with pytest.raises(Refused) as refused:
        _results(
            answer_of,
            fluid={"kind": "water", "temperature": _q(90, "degC")},
            segments=[{"name": "main", "length": _q(100, "m"), "wave_speed": _q(400, "m/s")}],
            velocity=_q(1, "m/s"),
            static_pressure=_q(-40, "kPa"),
        )
    (error,) = refused.value.errors
    assert f"boils at {boils:.2f} kPa absolute; this pressure is 61.33 kPa absolute" in error.detail
