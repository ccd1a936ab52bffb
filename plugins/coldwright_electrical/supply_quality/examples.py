"""Invented readings."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "first loading",
        "Invented readings of an invented machine at first loading, slightly uneven.",
        {
            "practice": "nec",
            "nominal_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "measured_frequency": {"value": 59.9, "unit": "Hz"},
            "line_voltages": {
                "ab": {"value": 474, "unit": "V"},
                "bc": {"value": 479, "unit": "V"},
                "ca": {"value": 468, "unit": "V"},
            },
            "line_currents": {
                "a": {"value": 118, "unit": "A"},
                "b": {"value": 126, "unit": "A"},
                "c": {"value": 113, "unit": "A"},
            },
            "loaded": True,
            "rotation": "correct",
            "sequence_relay": "healthy",
            "supply_state": "live",
            "measured_by_qualified_person": True,
        },
    ),
    Example(
        "reversed at energising",
        "Invented readings before the first start: two lines change places.",
        {
            "practice": "iec",
            "nominal_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "line_voltages": {
                "ab": {"value": 402, "unit": "V"},
                "bc": {"value": 404, "unit": "V"},
                "ca": {"value": 401, "unit": "V"},
            },
            "loaded": False,
            "rotation": "reversed",
            "sequence_relay": "tripped",
            "supply_state": "live",
            "measured_by_qualified_person": True,
        },
    ),
)
