"""Examples of `refrigeration.circuit_check`, invented."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        "healthy circuit",
        "Invented readings of an R-410A circuit on a 95 degF day.",
        {
            "refrigerant": "R-410A",
            "suction_pressure": {"value": 112, "unit": "psi"},
            "discharge_pressure": {"value": 402, "unit": "psi"},
            "suction_line_temperature": {"value": 49, "unit": "degF"},
            "liquid_line_temperature": {"value": 105, "unit": "degF"},
            "discharge_line_temperature": {"value": 176, "unit": "degF"},
            "condenser_air_temperature": {"value": 95, "unit": "degF"},
            "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
            "entering_liquid_temperature": {"value": 54, "unit": "degF"},
            "altitude": {"value": 900, "unit": "ft"},
        },
    ),
    Example(
        "high superheat and little subcooling",
        "Invented readings of an R-454B circuit that has lost refrigerant.",
        {
            "refrigerant": "R-454B",
            "suction_pressure": {"value": 6.4, "unit": "bar"},
            "discharge_pressure": {"value": 21.5, "unit": "bar"},
            "suction_line_temperature": {"value": 16, "unit": "degC"},
            "liquid_line_temperature": {"value": 36, "unit": "degC"},
            "condenser_air_temperature": {"value": 32, "unit": "degC"},
            "leaving_liquid_temperature": {"value": 9, "unit": "degC"},
            "entering_liquid_temperature": {"value": 13, "unit": "degC"},
            "altitude": {"value": 100, "unit": "m"},
        },
    ),
)
"""Invented."""
