"""Examples of `refrigeration.cycle`, invented."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        "air-cooled circuit",
        "An invented 350 kW circuit with R-410A on a hot day.",
        {
            "refrigerant": "R-410A",
            "evaporating": {"temperature": {"value": 2, "unit": "degC"}},
            "condensing": {"temperature": {"value": 50, "unit": "degC"}},
            "superheat": {"value": 6, "unit": "delta_degC"},
            "subcooling": {"value": 6, "unit": "delta_degC"},
            "isentropic_efficiency": 0.7,
            "capacity": {"value": 350, "unit": "kW"},
        },
    ),
    Example(
        "efficiency from readings",
        "Invented readings at an R-134a compressor: how good is it?",
        {
            "refrigerant": "R-134a",
            "evaporating": {"pressure": {"value": 3.0, "unit": "bar"}},
            "condensing": {"pressure": {"value": 12.0, "unit": "bar"}},
            "compressor_inlet_temperature": {"value": 7, "unit": "degC"},
            "compressor_outlet_temperature": {"value": 68, "unit": "degC"},
            "condenser_outlet_temperature": {"value": 41, "unit": "degC"},
        },
    ),
)
"""Invented."""
