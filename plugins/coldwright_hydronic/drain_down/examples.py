"""Invented vessels and lay-ups."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "buffer_and_hose",
        "Invented: a buffer tank and two hoses of propylene glycol mixture go to a tanker.",
        {
            "fluid": {
                "kind": "propylene_glycol",
                "mass_fraction": 0.3,
                "temperature": {"value": 10, "unit": "degC"},
            },
            "vessels": [
                {
                    "name": "buffer tank",
                    "shape": "upright",
                    "diameter": {"value": 1.2, "unit": "m"},
                    "height": {"value": 2.2, "unit": "m"},
                    "initial_level": {"value": 2, "unit": "m"},
                }
            ],
            "lines": [
                {
                    "inner_diameter": {"value": 101.6, "unit": "mm"},
                    "length": {"value": 120, "unit": "m"},
                    "drains_by_gravity": True,
                }
            ],
            "drain_orifice_diameter": {"value": 50, "unit": "mm"},
            "discharge_to": "tanker",
            "receiver_flow_limit": {"value": 10, "unit": "L/s"},
        },
    ),
    Example(
        "winter_lay_up",
        "Invented: a machine left outdoors is drained and what stays is protected to -20 degC.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 50, "unit": "degF"}},
            "residual_volumes": [
                {"name": "evaporator", "volume": {"value": 8, "unit": "gal"}},
                {"name": "pump casing", "volume": {"value": 2, "unit": "gal"}},
            ],
            "lay_up": {
                "kind": "propylene_glycol",
                "lowest_temperature": {"value": -4, "unit": "degF"},
                "concentrate_volume_fraction": 1.0,
            },
            "discharge_to": "sanitary",
        },
    ),
)
