"""Results of the hydronic family, worked out anew from the published rule by other means, over the whole range."""

import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from fluids.friction import Colebrook
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

pytestmark = pytest.mark.check

GRAVITY = 9.80665


@given(st.floats(20, 60), st.integers(1, 4), st.floats(1, 30), st.floats(5, 60), st.floats(0.4, 0.85))
def test_a_known_point_at_another_speed(
    answer_of: Any, hertz: float, count: int, flow: float, head: float, efficiency: float
) -> None:
    """Affinity: flow with speed and count, head with its square; power rho g Q H over the efficiency; water by CoolProp."""
    pump = {
        "point": {"flow": q(flow, "L/s"), "head": q(head, "m")},
        "frequency": q(hertz, "Hz"),
        "rated_frequency": q(50, "Hz"),
        "parallel_count": count,
        "efficiency": efficiency,
        "motor_efficiency": 0.9,
    }
    case = {"fluid": {"kind": "water", "temperature": q(12, "degC")}, "pumps": [pump]}
    results = answer_of("hydronic.loop", case)["results"]
    density, r = PropsSI("D", "T", 285.15, "P", 2e5, "Water"), hertz / 50
    assert results["duty_flow"]["value"] == pytest.approx(r * count * flow)
    assert results["pump_head"]["value"] == pytest.approx(r * r * head)
    assert results["pump_pressure_rise"]["value"] == pytest.approx(density * GRAVITY * r * r * head / 1e3, rel=1e-4)
    hydraulic = density * GRAVITY * r**3 * count * flow * head / 1e6
    assert results["hydraulic_power"]["value"] == pytest.approx(hydraulic, rel=1e-4)
    assert results["brake_power"]["value"] == pytest.approx(hydraulic / efficiency, rel=1e-4)
    assert results["motor_input_power"]["value"] == pytest.approx(hydraulic / efficiency / 0.9, rel=1e-4)


# Crane TP-410 steel and Moody's drawn tubing (seen); hoses by common practice, no source. m
ROUGHNESS = {"steel": 4.6e-5, "copper": 1.5e-6, "plastic": 1.5e-6, "rubber_hose": 5e-5, "lay_flat_hose": 5e-5}


@pytest.mark.parametrize("kind", sorted(ROUGHNESS))
def test_roughness_of_lines(answer_of: Any, kind: str) -> None:
    """Darcy and Weisbach by the friction library, at 2.5 m/s in a bore of 100 mm, of a liquid of 1000 kg/m3 and 1 mPa.s."""
    flow = 2.5 * math.pi / 4 * 0.01 * 1e3
    line = {"name": "l", "type": "line", "line_kind": kind, "inner_diameter": q(100, "mm"), "length": q(50, "m")}
    fluid = {
        "kind": "custom",
        "density": q(1000, "kg/m3"),
        "dynamic_viscosity": q(1, "mPa.s"),
        "specific_heat": q(4, "kJ/kg.K"),
    }
    case = example("hydronic.loop", 2, fluid=fluid, elements=[line], fixed_flow=q(flow, "L/s"))
    results = answer_of("hydronic.loop", case)["results"]
    factor = Colebrook(2.5e5, ROUGHNESS[kind] / 0.1)
    drop = factor * 500 * 1000 * 2.5**2 / 2 / 1e3
    assert results["elements"][0]["pressure_drop"]["value"] == pytest.approx(drop, rel=1e-4)


@given(st.floats(900, 1200), st.floats(0.5, 20), st.floats(1.6, 2.0), st.floats(0.3, 1.5))
def test_another_liquid_in_an_exchanger(
    answer_of: Any, density: float, viscosity: float, n: float, share: float
) -> None:
    """Between Blasius and the square law: dp ~ rho^(n-1) mu^(2-n) Q^n, held against the rating with 1000 kg/m3, 1 mPa.s."""
    fluids = [
        {
            "kind": "custom",
            "density": q(rho, "kg/m3"),
            "dynamic_viscosity": q(mu, "mPa.s"),
            "specific_heat": q(4, "kJ/kg.K"),
        }
        for rho, mu in ((density, viscosity), (1000, 1))
    ]
    drop = 60 * (density / 1000) ** n / (density / 1000) * viscosity**2 / viscosity**n * share**n
    case = example(
        "hydronic.exchanger_flow",
        fluid=fluids[0],
        rated_fluid=fluids[1],
        exponent=n,
        pressure_drop=q(drop, "kPa"),
        flow_minimum=q(0.01, "L/s"),
        proof=None,
    )
    assert answer_of("hydronic.exchanger_flow", case)["results"]["flow"]["value"] == pytest.approx(15 * share, rel=1e-6)
