"""Published checks of `hydronic.exchanger_flow`."""

import pytest
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check

RATED = {
    "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
    "rated_flow": {"value": 15, "unit": "L/s"},
    "rated_pressure_drop": {"value": 60, "unit": "kPa"},
}


def kpa(value):
    return {"value": value, "unit": "kPa"}


def results(answer_of, units="metric", **more):
    return answer_of("hydronic.exchanger_flow", RATED | more, units=units)["results"]


def test_square_law(answer_of):
    """Derived: 15 sqrt(45/60)."""
    r = results(answer_of, pressure_drop=kpa(45))
    assert r["flow"]["value"] == pytest.approx(12.990, rel=0.001)
    assert r["flow_fraction_of_rated"] == pytest.approx(0.866, rel=0.001)


def test_exponent_below_two(answer_of):
    """Derived: 15 (45/60)^(1/1.85)."""
    r = results(answer_of, pressure_drop=kpa(45), exponent=1.85)
    assert r["flow"]["value"] == pytest.approx(12.840, rel=0.001)


def test_gauges_at_different_heights(answer_of):
    """Derived: 310 - 240 - rho g 1.2 m of water at 10 degC."""
    r = results(
        answer_of,
        inlet_gauge_pressure=kpa(310),
        outlet_gauge_pressure=kpa(240),
        inlet_gauge_elevation={"value": 0.4, "unit": "m"},
        outlet_gauge_elevation={"value": 1.6, "unit": "m"},
    )
    assert r["corrected_pressure_drop"]["value"] == pytest.approx(58.23, rel=0.002)


def test_strainer(answer_of):
    """Derived: 12 (13/15)^2; the drop of the exchanger is the one that 13 L/s makes."""
    r = results(
        answer_of,
        pressure_drop=kpa(60 * (13 / 15) ** 2),
        strainer={
            "rated_flow": {"value": 15, "unit": "L/s"},
            "rated_pressure_drop": kpa(12),
            "measured_pressure_drop": kpa(25),
        },
    )
    assert r["flow"]["value"] == pytest.approx(13.0, rel=1e-4)
    assert r["strainer_clean_pressure_drop"]["value"] == pytest.approx(9.013, rel=0.005)
    assert r["strainer_ratio"] == pytest.approx(2.77, rel=0.005)
    assert r["strainer_state"] == "dirty"


def test_flow_from_heat(answer_of):
    """Library: CoolProp 8.0.0, IAPWS-95."""
    r = results(
        answer_of,
        pressure_drop=kpa(45),
        heat={"value": 300, "unit": "kW"},
        temperature_difference={"value": 5.2, "unit": "delta_degC"},
    )
    assert r["flow_from_heat"]["value"] == pytest.approx(13.757, rel=0.003)


def test_us_units(answer_of):
    """Derived: 240 sqrt(14/20)."""
    r = results(
        answer_of,
        units="us",
        rated_flow={"value": 240, "unit": "gpm"},
        rated_pressure_drop={"value": 20, "unit": "ft_water"},
        pressure_drop={"value": 14, "unit": "ft_water"},
    )
    assert r["flow"]["unit"] == "gpm"
    assert r["flow"]["value"] == pytest.approx(200.8, rel=0.002)


@pytest.mark.parametrize("exponent", [2.0, 1.8])
@pytest.mark.parametrize(("density", "viscosity"), [(1000, 1.0), (1120, 6.0), (860, 0.4)])
def test_the_greatest_drop_is_that_of_twice_the_rated_flow(answer_of, exponent, density, viscosity):
    """By hand, of another liquid than the rated one: rated drop times density to n - 1, viscosity to 2 - n and 2 to n."""

    def liquid(rho, mu):
        return {"kind": "custom", "density": q(rho, "kg/m3"), "dynamic_viscosity": q(mu, "mPa.s")}

    greatest = 40 * (density / 1000) ** (exponent - 1) * viscosity ** (2 - exponent) * 2**exponent
    asked = {
        "fluid": liquid(density, viscosity),
        "rated_fluid": liquid(1000, 1.0),
        "rated_flow": q(15, "L/s"),
        "rated_pressure_drop": q(40, "kPa"),
        "exponent": exponent,
    }
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.exchanger_flow", asked | {"pressure_drop": q(greatest * 1.001, "kPa")})
    (error,) = refused.value.errors
    assert error.allowed
    assert error.allowed.maximum == pytest.approx(greatest, rel=1e-3)
    ratio = answer_of("hydronic.exchanger_flow", asked | {"pressure_drop": q(greatest * 0.999, "kPa")})["results"]
    assert ratio["flow_fraction_of_rated"] == pytest.approx(2, rel=1e-3)
