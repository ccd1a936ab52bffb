"""Examples of `refrigeration.pull_down`, invented."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        "warm_loop",
        "An invented loop of 8,000 litres, warm after a weekend, pulled down by a machine of four stages under load.",
        {
            "loop": {"volume": {"value": 8000, "unit": "L"}, "metal_mass": {"value": 1800, "unit": "kg"}},
            "initial_temperature": {"value": 26, "unit": "degC"},
            "set_point": {"value": 12, "unit": "degC"},
            "load": {"value": 120, "unit": "kW"},
            "heat_gain": {
                "coefficient": {"value": 250, "unit": "W/K"},
                "ambient_temperature": {"value": 34, "unit": "degC"},
            },
            "machine": {
                "capacity": {"value": 350, "unit": "kW"},
                "capacity_slope": 0.02,
                "capacity_limit_temperature": {"value": 20, "unit": "degC"},
                "stages": 4,
                "maximum_entering_temperature": {"value": 24, "unit": "degC"},
            },
            "low_load": {"value": 40, "unit": "kW"},
            "oil_heated_since": {"value": 9, "unit": "h"},
        },
    ),
    Example(
        "too_small",
        "An invented machine that is too small for its load: where the loop settles, and what is missing.",
        {
            "loop": {"volume": {"value": 1500, "unit": "gal"}},
            "initial_temperature": {"value": 75, "unit": "degF"},
            "set_point": {"value": 48, "unit": "degF"},
            "load": {"value": 62, "unit": "ton"},
            "machine": {"capacity": {"value": 60, "unit": "ton"}, "capacity_slope": 0.018, "stages": 2},
        },
    ),
)
