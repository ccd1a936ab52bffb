"""Invented loops."""

from typing import Any

from coldwright.contract import Example

WATER_7 = {"kind": "water", "temperature": {"value": 7, "unit": "degC"}}


def _line(name: str, kind: str, length: float, height: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "line",
        "line_kind": kind,
        "inner_diameter": {"value": 101.6, "unit": "mm"},
        "length": {"value": length, "unit": "m"},
        "elevation_out": {"value": height, "unit": "m"},
        "working_pressure": {"value": 1000, "unit": "kPa"},
    }


def _device(name: str, kind: str, drop: float, minimum: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "device",
        "device_kind": kind,
        "rated_flow": {"value": 15, "unit": "L/s"},
        "rated_pressure_drop": {"value": drop, "unit": "kPa"},
        "flow_minimum": {"value": minimum, "unit": "L/s"},
    }


EXAMPLES = (
    Example(
        "rooftop_coil",
        "Invented loop: the machine's own pump, 60 m of hose up to a coil on the roof and back.",
        {
            "fluid": WATER_7,
            "elements": [
                _device("evaporator", "evaporator", 60, 8),
                _line("supply hose", "rubber_hose", 60, 10),
                _device("coil", "coil", 40, 6),
                _line("return hose", "rubber_hose", 60, 0),
            ],
            "pumps": [
                {
                    "curve": [
                        {"flow": {"value": 0, "unit": "L/s"}, "head": {"value": 35, "unit": "m"}},
                        {"flow": {"value": 15, "unit": "L/s"}, "head": {"value": 28, "unit": "m"}},
                        {"flow": {"value": 25, "unit": "L/s"}, "head": {"value": 16, "unit": "m"}},
                    ],
                    "interpolation": "power_law",
                    "efficiency": 0.7,
                    "motor_efficiency": 0.9,
                }
            ],
            "pump_owner": "machine",
            "pressure_reference": {"gauge_pressure": {"value": 200, "unit": "kPa"}},
            "required": {"flow": {"value": 15, "unit": "L/s"}},
        },
    ),
    Example(
        "choose_hose",
        "Invented order: which hose carries 100 tons at 10 degF over 60 m?",
        {
            "fluid": {"kind": "water", "temperature": {"value": 49, "unit": "degF"}},
            "required": {
                "load": {"value": 100, "unit": "ton"},
                "temperature_difference": {"value": 10, "unit": "delta_degF"},
            },
            "hose_options": [
                {"inner_diameter": {"value": 76.2, "unit": "mm"}},
                {"inner_diameter": {"value": 101.6, "unit": "mm"}},
                {"inner_diameter": {"value": 152.4, "unit": "mm"}},
            ],
            "run_length": {"value": 60, "unit": "m"},
        },
    ),
    Example(
        "site_pump_known_flow",
        "Invented check: the site says 12 L/s of glycol; what do two machines side by side drop?",
        {
            "fluid": {
                "kind": "propylene_glycol",
                "volume_fraction": 0.3,
                "temperature": {"value": 2, "unit": "degC"},
            },
            "elements": [
                _line("supply pipe", "steel", 40, 0),
                {
                    "name": "machines",
                    "type": "branches",
                    "branches": [
                        [_device("evaporator 1", "evaporator", 60, 5)],
                        [_device("evaporator 2", "evaporator", 45, 5)],
                    ],
                },
            ],
            "fixed_flow": {"value": 12, "unit": "L/s"},
            "pump_owner": "site",
        },
    ),
)
