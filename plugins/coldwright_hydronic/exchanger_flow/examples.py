"""Invented readings."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "one_gauge_moved",
        "Invented evaporator, 15 L/s at 60 kPa, read at 45 kPa with a minimum of 8 L/s.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
            "rated_flow": {"value": 15, "unit": "L/s"},
            "rated_pressure_drop": {"value": 60, "unit": "kPa"},
            "pressure_drop": {"value": 45, "unit": "kPa"},
            "flow_minimum": {"value": 8, "unit": "L/s"},
            "proof": {"proof_kind": "pressure_switch", "trip_pressure_drop": {"value": 20, "unit": "kPa"}},
        },
    ),
    Example(
        "two_gauges_and_strainer",
        "Invented readings of two gauges at different heights, with glycol and a strainer that fills up.",
        {
            "fluid": {
                "kind": "propylene_glycol",
                "volume_fraction": 0.3,
                "temperature": {"value": 6, "unit": "degC"},
            },
            "rated_flow": {"value": 240, "unit": "gpm"},
            "rated_pressure_drop": {"value": 20, "unit": "ft_water"},
            "exponent": 1.85,
            "inlet_gauge_pressure": {"value": 45, "unit": "psi"},
            "outlet_gauge_pressure": {"value": 36, "unit": "psi"},
            "inlet_gauge_elevation": {"value": 1, "unit": "ft"},
            "outlet_gauge_elevation": {"value": 4, "unit": "ft"},
            "flow_minimum": {"value": 150, "unit": "gpm"},
            "strainer": {
                "rated_flow": {"value": 240, "unit": "gpm"},
                "rated_pressure_drop": {"value": 1.5, "unit": "psi"},
                "measured_pressure_drop": {"value": 3, "unit": "psi"},
            },
        },
    ),
)
