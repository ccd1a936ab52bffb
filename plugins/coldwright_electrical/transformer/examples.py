"""Invented transformers."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "stepping down to a 208 V machine",
        "An invented machine of 88 kVA on an invented 480 V building.",
        {
            "practice": "nec",
            "primary_voltage": {"value": 480, "unit": "V"},
            "secondary_voltage": {"value": 208, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "load_apparent_power": {"value": 88, "unit": "kVA"},
            "starting_current": {"value": 640, "unit": "A"},
            "primary_device_rating": {"value": 200, "unit": "A"},
            "secondary_grounding": "bonded",
        },
    ),
    Example(
        "feeding a step-down unit backwards",
        "An invented step-up from 230 V to 400 V with a unit that was built to step down.",
        {
            "practice": "iec",
            "primary_voltage": {"value": 230, "unit": "V"},
            "secondary_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "load_apparent_power": {"value": 60, "unit": "kVA"},
            "rated_apparent_power": {"value": 100, "unit": "kVA"},
            "fed_as_built": False,
            "inrush_multiple": 18,
            "secondary_grounding": "monitored",
        },
    ),
)
