"""Invented lines and top-ups."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "falling_hose_and_top_up",
        "Invented: does the return hose clear, and is the purge done?",
        {
            "fluid": {"kind": "water", "temperature": {"value": 15, "unit": "degC"}},
            "lines": [
                {
                    "name": "return drop",
                    "inner_diameter": {"value": 101.6, "unit": "mm"},
                    "slope_angle": 90,
                    "flow": {"value": 12, "unit": "L/s"},
                }
            ],
            "loop_volume": {"value": 3000, "unit": "L"},
            "top_up": {
                "volume_added": {"value": 6, "unit": "L"},
                "pressure_before": {"value": 150, "unit": "kPa"},
                "pressure_after": {"value": 250, "unit": "kPa"},
            },
            "reference_gauge_pressure": {"value": 250, "unit": "kPa"},
            "high_point_elevation": {"value": 18, "unit": "m"},
        },
    ),
    Example(
        "air_from_solution",
        "Invented: cold fill water warms in an idle loop on a summer's day.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 50, "unit": "degF"}},
            "loop_volume": {"value": 900, "unit": "gal"},
            "supply_temperature": {"value": 50, "unit": "degF"},
            "operating_temperature": {"value": 86, "unit": "degF"},
            "operating_gauge_pressure": {"value": 5, "unit": "psi"},
        },
    ),
)
