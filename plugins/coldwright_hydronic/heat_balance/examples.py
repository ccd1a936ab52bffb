"""Invented readings."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "tons_of_a_machine",
        "Invented readings: what does this machine take out of the water?",
        {
            "fluid": {"kind": "water"},
            "entering_temperature": {"value": 54, "unit": "degF"},
            "leaving_temperature": {"value": 44, "unit": "degF"},
            "flow": {"value": 240, "unit": "gpm"},
        },
    ),
    Example(
        "flow_for_a_load",
        "Invented load: which flow of glycol carries 300 kW at 5 K?",
        {
            "fluid": {"kind": "propylene_glycol", "volume_fraction": 0.3},
            "leaving_temperature": {"value": 2, "unit": "degC"},
            "temperature_difference": {"value": 5, "unit": "delta_degC"},
            "heat": {"value": 300, "unit": "kW"},
        },
    ),
)
