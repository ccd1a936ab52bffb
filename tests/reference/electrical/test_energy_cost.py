"""Energy, fuel and carbon dioxide held against published factors and charts."""

import pytest
from quantity import q

from coldwright.contract import load_table

pytestmark = pytest.mark.check


def money(value, currency="USD"):
    return {"value": value, "currency": currency}


# 40 CFR Part 98, Table C-1, distillate fuel oil No. 2: 0.138 MMBtu/gal x 73.96 kg/MMBtu (seen).
def test_emission_factor_follows_from_its_parts():
    rows = load_table("coldwright_electrical", "diesel_emission").rows
    per_gallon = rows["heat_content_mmbtu_per_gal"] * rows["kg_per_mmbtu"]
    assert per_gallon == pytest.approx(10.206, abs=1e-3)
    assert rows["kg_per_gal"] == pytest.approx(per_gallon, abs=0.005)
    assert rows["kg_per_litre"] == pytest.approx(rows["kg_per_gal"] / 3.785411784, abs=5e-4)


# Derived: 95 kW x 0.72 x 720 h, priced.
def test_a_month_on_the_utility(answer_of):
    results = answer_of(
        "electrical.energy_cost",
        {
            "practice": "nec",
            "active_power": q(95, "kW"),
            "load_factor": 0.72,
            "duration": q(720, "h"),
            "source": "utility",
            "energy_price": money(0.134),
            "demand_price": money(18.5),
            "demand_power": q(95, "kW"),
        },
    )["results"]
    assert results["energy"] == q(pytest.approx(49248), "kWh")
    assert results["energy_cost"]["value"] == pytest.approx(6599.23, abs=0.005)
    assert results["demand_cost"]["value"] == pytest.approx(1757.50)
    assert results["total_cost"] == money(pytest.approx(8356.73, abs=0.005))


# Rows of the open page "Diesel Fuel Consumption Chart (Approximate)" (seen), interpolated by hand (derived).
def test_a_month_on_a_generating_set(answer_of):
    results = answer_of(
        "electrical.energy_cost",
        {
            "practice": "nec",
            "active_power": q(95, "kW"),
            "load_factor": 0.72,
            "duration": q(720, "h"),
            "source": "generator",
            "generator": {"rated_active_power": q(150, "kW")},
        },
    )["results"]
    assert results["load_fraction"] == pytest.approx(0.456)
    assert results["fuel_rate"] == q(pytest.approx(20.80, abs=0.005), "L/h")
    assert results["fuel_volume"] == q(pytest.approx(14979, abs=0.5), "L")
    assert results["carbon_dioxide_mass"] == q(pytest.approx(40398, abs=2), "kg")


# The chart's own cells (seen) come back unchanged.
@pytest.mark.parametrize(
    ("rated", "load", "rate"), [(500, 0.5, 70.0), (100, 0.75, 22.0), (20, 1.0, 6.1), (2000, 0.25, 162.0)]
)
def test_cells_of_the_chart(answer_of, rated, load, rate):
    results = answer_of(
        "electrical.energy_cost",
        {
            "practice": "iec",
            "active_power": q(rated * load, "kW"),
            "load_factor": 1,
            "duration": q(1, "h"),
            "source": "generator",
            "generator": {"rated_active_power": q(rated, "kW")},
        },
    )["results"]
    assert results["fuel_rate"]["value"] == pytest.approx(rate)
