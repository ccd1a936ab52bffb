"""Examples of `refrigeration.air_side`, invented."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        "beside a wall",
        "An invented 350 kW machine 0.9 m from a wall on a hot day at 600 m.",
        {
            "capacity": {"value": 350, "unit": "kW"},
            "power": {"value": 105, "unit": "kW"},
            "airflow": {"value": 40, "unit": "m3/s"},
            "ambient_temperature": {"value": 36, "unit": "degC"},
            "relative_humidity": 0.35,
            "altitude": {"value": 600, "unit": "m"},
            "recirculated_fraction": 0.1,
            "clearances": [
                {"side": "coil", "distance": {"value": 0.9, "unit": "m"}},
                {"side": "control", "distance": {"value": 1.5, "unit": "m"}},
            ],
            "gap": {
                "airflow_through": {"value": 20, "unit": "m3/s"},
                "length": {"value": 5, "unit": "m"},
                "distance": {"value": 0.9, "unit": "m"},
            },
        },
    ),
    Example(
        "from a thermometer at the coil",
        "An invented machine whose coil gets warmer air than the yard.",
        {
            "heat_rejected": {"value": 130, "unit": "ton"},
            "ambient_temperature": {"value": 95, "unit": "degF"},
            "measured_inlet_temperature": {"value": 100, "unit": "degF"},
        },
    ),
)
"""Invented."""
