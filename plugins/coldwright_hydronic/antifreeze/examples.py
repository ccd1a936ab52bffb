"""Invented loops and colds."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "new_fill",
        "Invented: 3,000 L of propylene glycol mixture for a winter job at -15 degC.",
        {
            "kind": "propylene_glycol",
            "lowest_temperature": {"value": -15, "unit": "degC"},
            "loop_volume": {"value": 3000, "unit": "L"},
            "leaving_temperature": {"value": 2, "unit": "degC"},
        },
    ),
    Example(
        "correction",
        "Invented: a loop read at -6 degC on the refractometer is brought to -18 degC.",
        {
            "kind": "ethylene_glycol",
            "lowest_temperature": {"value": 5, "unit": "degF"},
            "loop_volume": {"value": 800, "unit": "gal"},
            "concentrate_mass_fraction": 1.0,
            "present": {"measured_freezing_temperature": {"value": 21.2, "unit": "degF"}},
        },
    ),
    Example(
        "idle_in_winter",
        "Invented: burst protection of an idle loop at -25 degC.",
        {
            "kind": "ethylene_glycol",
            "lowest_temperature": {"value": -25, "unit": "degC"},
            "protection": "burst",
            "loop_volume": {"value": 1500, "unit": "L"},
        },
    ),
)
