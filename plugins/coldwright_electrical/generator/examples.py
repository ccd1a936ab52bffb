"""Invented sets and loads."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "two machines, one after the other",
        "Two invented machines on an invented 300 kVA set, with pumps already running.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "loads": [
                {
                    "load_id": "pump",
                    "running_current": {"value": 14, "unit": "A"},
                    "locked_rotor_current": {"value": 81, "unit": "A"},
                    "start_order": 1,
                },
                {
                    "load_id": "machine 1",
                    "running_current": {"value": 96, "unit": "A"},
                    "locked_rotor_current": {"value": 270, "unit": "A"},
                    "start_order": 2,
                },
                {
                    "load_id": "machine 2",
                    "running_current": {"value": 96, "unit": "A"},
                    "locked_rotor_current": {"value": 270, "unit": "A"},
                    "start_order": 3,
                },
            ],
            "generator": {
                "rated_active_power": {"value": 240, "unit": "kW"},
                "rated_apparent_power": {"value": 300, "unit": "kVA"},
                "subtransient_reactance": 0.13,
                "transient_reactance": 0.19,
            },
            "load_factor": 0.6,
            "tank_volume": {"value": 1400, "unit": "L"},
            "run_duration": {"value": 14, "unit": "d"},
        },
    ),
    Example(
        "which set, and what at night",
        "An invented machine that starts hard, on a hot hill, and sets to choose from.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "loads": [
                {
                    "load_id": "machine",
                    "running_current": {"value": 150, "unit": "A"},
                    "locked_rotor_current": {"value": 780, "unit": "A"},
                    "starting_method": "part_winding",
                },
            ],
            "altitude": {"value": 1400, "unit": "m"},
            "ambient_temperature": {"value": 43, "unit": "degC"},
            "candidate_sets": [
                {
                    "rated_active_power": {"value": kw, "unit": "kW"},
                    "rated_apparent_power": {"value": kw / 0.8, "unit": "kVA"},
                    "transient_reactance": 0.2,
                }
                for kw in (120, 200, 320)
            ],
            "load_factor": 0.4,
        },
    ),
)
