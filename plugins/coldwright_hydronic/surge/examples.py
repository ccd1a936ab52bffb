"""Invented lines and valves."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "hose_and_fast_valve",
        "Invented: 60 m of hose in front of a valve that snaps shut.",
        {
            "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
            "segments": [
                {
                    "name": "supply hose",
                    "length": {"value": 60, "unit": "m"},
                    "inner_diameter": {"value": 101.6, "unit": "mm"},
                    "volumetric_expansion_fraction": 0.08,
                    "volumetric_expansion_pressure": {"value": 1000, "unit": "kPa"},
                }
            ],
            "velocity": {"value": 2.5, "unit": "m/s"},
            "static_pressure": {"value": 300, "unit": "kPa"},
            "working_pressure": {"value": 1000, "unit": "kPa"},
        },
    ),
    Example(
        "steel_and_hose_slow",
        "Invented: steel riser behind hose, glycol, valve closed in 6 s.",
        {
            "fluid": {
                "kind": "propylene_glycol",
                "mass_fraction": 0.3,
                "temperature": {"value": 40, "unit": "degF"},
            },
            "segments": [
                {
                    "name": "hose",
                    "length": {"value": 300, "unit": "ft"},
                    "inner_diameter": {"value": 4, "unit": "in"},
                    "volumetric_expansion_fraction": 0.05,
                    "volumetric_expansion_pressure": {"value": 100, "unit": "psi"},
                },
                {
                    "name": "riser",
                    "length": {"value": 80, "unit": "ft"},
                    "inner_diameter": {"value": 102.26, "unit": "mm"},
                    "wall_thickness": {"value": 6.02, "unit": "mm"},
                    "elastic_modulus": {"value": 200, "unit": "GPa"},
                },
            ],
            "flow": {"value": 250, "unit": "gpm"},
            "closure_time": {"value": 6, "unit": "s"},
            "static_pressure": {"value": 50, "unit": "psi"},
            "working_pressure": {"value": 150, "unit": "psi"},
        },
    ),
)
