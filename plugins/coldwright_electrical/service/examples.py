"""Invented machines and supplies."""

from typing import Final

from coldwright.contract import Example

EXAMPLES: Final = (
    Example(
        "two_machines",
        "Two invented machines on a 480 V supply whose breaker is too big for the usual factor.",
        {
            "practice": "nec",
            "system_voltage": {"value": 480, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "west-pair",
                    "quantity": 2,
                    "nameplate_voltage": {"value": 460, "unit": "V"},
                    "nameplate_frequency": {"value": 60, "unit": "Hz"},
                    "motors": [
                        {
                            "role": "compressor",
                            "quantity": 2,
                            "rated_load_current": {"value": 58, "unit": "A"},
                            "locked_rotor_current": {"value": 350, "unit": "A"},
                        },
                        {"role": "fan", "quantity": 4, "full_load_current": {"value": 3.4, "unit": "A"}},
                        {"role": "pump", "full_load_current": {"value": 14, "unit": "A"}},
                    ],
                }
            ],
            "available": {
                "breaker_rating": {"value": 350, "unit": "A"},
                "supply_current": {"value": 600, "unit": "A"},
                "supply_current_in_use": {"value": 120, "unit": "A"},
            },
        },
    ),
    Example(
        "plate_only",
        "One invented machine known by its data plate only, and a breaker of the plate's size.",
        {
            "practice": "nec",
            "system_voltage": {"value": 208, "unit": "V"},
            "frequency": {"value": 60, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "yard-1",
                    "nameplate_voltage": {"value": 208, "unit": "V"},
                    "minimum_circuit_ampacity": {"value": 61.5, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 90, "unit": "A"},
                }
            ],
            "available": {"breaker_rating": {"value": 80, "unit": "A"}},
        },
    ),
    Example(
        "iec_duty_and_standby",
        "Two invented machines on 400 V of which only one may run at a time.",
        {
            "practice": "iec",
            "system_voltage": {"value": 400, "unit": "V"},
            "frequency": {"value": 50, "unit": "Hz"},
            "machines": [
                {
                    "machine_id": "duty",
                    "rated_current": {"value": 182, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 250, "unit": "A"},
                    "interlocked_with": ["standby"],
                },
                {
                    "machine_id": "standby",
                    "rated_current": {"value": 168, "unit": "A"},
                    "maximum_overcurrent_device": {"value": 250, "unit": "A"},
                },
            ],
            "available": {"breaker_rating": {"value": 200, "unit": "A"}, "supply_current": {"value": 250, "unit": "A"}},
        },
    ),
)
