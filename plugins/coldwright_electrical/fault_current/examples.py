"""Invented sources and cables."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "a machine on a building's transformer",
        "An invented transformer, an invented run of portable cable and an invented plate.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "source": {
                "kind": "utility_transformer",
                "rated_apparent_power": {"value": 750, "unit": "kVA"},
                "impedance_fraction": 0.0575,
                "x_over_r": 5.5,
                "upstream_fault_power": {"value": 200, "unit": "MVA"},
            },
            "segments": [
                {
                    "length": {"value": 175, "unit": "ft"},
                    "conductor_size": "4/0 AWG",
                    "sets": 2,
                    "ground_conductor_size": "2 AWG",
                    "ground_sets": 2,
                }
            ],
            "motor_running_current": {"value": 160, "unit": "A"},
            "device": {"rating": {"value": 400, "unit": "A"}, "interrupting_rating": {"value": 35, "unit": "kA"}},
            "machine_short_circuit_rating": {"value": 18, "unit": "kA"},
        },
    ),
    Example(
        "a machine on a generating set",
        "An invented set and run in mm2, whose fault current is weak.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "source": {
                "kind": "generator",
                "rated_apparent_power": {"value": 250, "unit": "kVA"},
                "subtransient_reactance": 0.13,
            },
            "segments": [
                {
                    "length": {"value": 45, "unit": "m"},
                    "conductor_size": "70 mm2",
                    "ground_conductor_size": "35 mm2",
                }
            ],
            "device": {"rating": {"value": 200, "unit": "A"}, "magnetic_pickup_multiple": 5},
        },
    ),
)
