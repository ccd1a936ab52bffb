"""Invented feeders."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "choose_cable",
        "Choose cable for an invented 395 A load 250 ft away, starting current included.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "load_current": {"value": 394.8, "unit": "A"},
            "minimum_ampacity": {"value": 424.8, "unit": "A"},
            "overcurrent_device": {"value": 450, "unit": "A"},
            "length": {"value": 250, "unit": "ft"},
            "starting_current": {"value": 1100, "unit": "A"},
            "crossings": 1,
        },
    ),
    Example(
        "check_iec_cable",
        "Check one set of 70 mm2 over an invented run of 60 m.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "load_current": {"value": 182, "unit": "A"},
            "minimum_ampacity": {"value": 182, "unit": "A"},
            "overcurrent_device": {"value": 200, "unit": "A"},
            "length": {"value": 60, "unit": "m"},
            "conductor_size": "70 mm2",
            "sets": 1,
            "neutral": True,
        },
    ),
)
