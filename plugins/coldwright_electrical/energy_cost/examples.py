"""Invented machines and periods."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "a month on the utility",
        "An invented month of an invented machine, with a demand charge.",
        {
            "practice": "nec",
            "active_power": {"value": 110, "unit": "kW"},
            "load_factor": 0.65,
            "duration": {"value": 30, "unit": "d"},
            "source": "utility",
            "energy_price": {"value": 0.118, "currency": "USD"},
            "demand_price": {"value": 14.5, "currency": "USD"},
            "demand_power": {"value": 118, "unit": "kW"},
            "grid_emission_factor": 0.37,
            "cooling_energy": {"value": 165000, "unit": "kWh"},
        },
    ),
    Example(
        "a fortnight on a generating set",
        "An invented set that carries an invented load, cycling between two states.",
        {
            "practice": "iec",
            "active_power": {"value": 92, "unit": "kW"},
            "duration": {"value": 14, "unit": "d"},
            "source": "generator",
            "generator": {"rated_active_power": {"value": 160, "unit": "kW"}},
            "fuel_price": {"value": 1.42, "currency": "EUR"},
            "bins": [
                {"load_fraction": 0.575, "hours": {"value": 190, "unit": "h"}},
                {"load_fraction": 0.31, "hours": {"value": 146, "unit": "h"}},
            ],
        },
    ),
)
