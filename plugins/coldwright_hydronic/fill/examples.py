"""Invented fills."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "hose_loop",
        "Invented: 120 m of 4 in hose, a machine on the ground and a coil on the roof.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
            "lines": [
                {
                    "name": "hose",
                    "inner_diameter": {"value": 101.6, "unit": "mm"},
                    "length": {"value": 120, "unit": "m"},
                    "working_pressure": {"value": 1000, "unit": "kPa"},
                }
            ],
            "vessels": [
                {"name": "machine", "volume": {"value": 180, "unit": "L"}},
                {"name": "coil", "volume": {"value": 60, "unit": "L"}, "count": 2},
            ],
            "high_point_elevation": {"value": 18, "unit": "m"},
            "fill_pressure": {"value": 250, "unit": "kPa"},
            "relief_valve_setting": {"value": 600, "unit": "kPa"},
            "tap": {
                "static_pressure": {"value": 400, "unit": "kPa"},
                "flow": {"value": 0.8, "unit": "L/s"},
                "backflow_preventer": "reduced_pressure",
            },
            "expansion": {
                "lowest_temperature": {"value": 4, "unit": "degC"},
                "minimum_pressure": {"value": 250, "unit": "kPa"},
                "maximum_pressure": {"value": 450, "unit": "kPa"},
            },
        },
    ),
    Example(
        "is_a_buffer_needed",
        "Invented: a process load that falls to 20 ton on a step of 50 ton.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 49, "unit": "degF"}},
            "vessels": [{"name": "loop", "volume": {"value": 500, "unit": "gal"}}],
            "can_be_shut_in": False,
            "cycling": {
                "step_capacity": {"value": 50, "unit": "ton"},
                "minimum_load": {"value": 20, "unit": "ton"},
                "minimum_run_time": {"value": 6, "unit": "min"},
                "dead_band": {"value": 5, "unit": "delta_degF"},
            },
        },
    ),
)
