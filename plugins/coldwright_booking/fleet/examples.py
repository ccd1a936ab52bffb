"""A small invented fleet, for the examples."""

from typing import Any

from coldwright.contract import Example


def _q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def _machine(name: str, tons: float, count: int) -> dict[str, Any]:
    """A type that is made up of round figures for each ton."""
    flow = round(tons * 0.15, 2)
    return {
        "type": name,
        "count": count,
        "rating": {
            "capacity": _q(tons, "ton"),
            "power": _q(round(tons * 1.15, 1), "kW"),
            "leaving_temperature": _q(44, "degF"),
            "entering_temperature": _q(54, "degF"),
            "ambient_temperature": _q(95, "degF"),
            "liquid_flow": _q(flow, "L/s"),
        },
        "capacity_table": {
            "leaving_liquid_temperature": {"values": [40, 44, 50], "unit": "degF"},
            "ambient_temperature": {"values": [75, 95, 115], "unit": "degF"},
            "capacity": {
                "values": [[round(tons * f * a, 2) for a in (1.1, 1.0, 0.89)] for f in (0.93, 1.0, 1.11)],
                "unit": "ton",
            },
            "power": {
                "values": [[round(tons * 1.15 * f * a, 2) for a in (0.82, 1.0, 1.22)] for f in (0.98, 1.0, 1.03)],
                "unit": "kW",
            },
        },
        "envelope": {
            "ambient_minimum": _q(-10, "degC"),
            "ambient_maximum": _q(46, "degC"),
            "leaving_minimum": _q(4.4, "degC"),
            "leaving_minimum_with_antifreeze": _q(-8, "degC"),
            "leaving_maximum": _q(15, "degC"),
        },
        "circuits": 2,
        "capacity_steps": [0.25, 0.5, 0.75, 1.0],
        "electrical": {
            "voltage": _q(460, "V"),
            "frequency": _q(60, "Hz"),
            "minimum_circuit_ampacity": _q(round(tons * 2.1, 1), "A"),
            "maximum_overcurrent_device": _q(5 * round(tons * 0.5), "A"),
            "short_circuit_rating": _q(35, "kA"),
            "motors": [
                {
                    "role": "compressor",
                    "quantity": 4,
                    "rated_load_current": _q(round(tons * 0.4, 1), "A"),
                    "locked_rotor_current": _q(round(tons * 2.4, 1), "A"),
                },
                {"role": "fan", "quantity": 4, "full_load_current": _q(round(tons * 0.05, 2), "A")},
            ],
        },
        "evaporator": {
            "rated_flow": _q(flow, "L/s"),
            "rated_pressure_drop": _q(50, "kPa"),
            "flow_minimum": _q(round(flow * 0.5, 2), "L/s"),
            "flow_maximum": _q(round(flow * 1.6, 2), "L/s"),
            "volume": _q(round(tons * 1.0, 1), "L"),
        },
        "pump": {
            "curve": [
                {"flow": _q(0, "L/s"), "head": _q(36, "m")},
                {"flow": _q(flow, "L/s"), "head": _q(29, "m")},
                {"flow": _q(round(flow * 1.8, 2), "L/s"), "head": _q(10, "m")},
            ],
            "efficiency": 0.65,
        },
        "connection": {"inner_diameter": _q(102, "mm"), "coupling": "grooved"},
        "refrigerant": {"designation": "R-454B", "charge": _q(tons * 0.7, "kg"), "circuits": 2},
        "body": {
            "length": _q(round(1.5 + tons * 0.045, 2), "m"),
            "width": _q(2.2, "m"),
            "height": _q(2.3, "m"),
            "mass_operating": _q(600 + tons * 45, "kg"),
        },
        "sound_power_level": _q(95, "dBA"),
        "condenser_airflow": _q(tons * 0.4, "m3/s"),
        "hire_rate": {"value": tons * 35, "currency": "USD", "per": "week"},
    }


FLEET: dict[str, Any] = {
    "name": "Invented fleet of two types",
    "machines": [_machine("40-ton", 40, 4), _machine("90-ton", 90, 2)],
    "accessories": [
        {
            "kind": "hose",
            "item": "hose 102 mm",
            "inner_diameter": _q(101.6, "mm"),
            "section_length": _q(10, "m"),
            "working_pressure": _q(1000, "kPa"),
            "count": 40,
        },
        {
            "kind": "cable",
            "item": "cable 4/0 AWG",
            "conductor_size": "4/0 AWG",
            "section_length": _q(50, "ft"),
            "count": 120,
        },
        {
            "kind": "generator",
            "item": "generator 250 kW",
            "rated_active_power": _q(250, "kW"),
            "rated_apparent_power": _q(312, "kVA"),
            "subtransient_reactance": 0.12,
            "transient_reactance": 0.18,
            "tank_volume": _q(1200, "L"),
            "count": 2,
        },
        {
            "kind": "antifreeze",
            "item": "propylene glycol, drum",
            "fluid": "propylene_glycol",
            "volume": _q(200, "L"),
            "count": 20,
        },
    ],
}

FLEET_EXAMPLES = (
    Example("two_types", "An invented fleet of two types with a little stock.", {"fleet": FLEET}),
    Example(
        "one_type_no_stock",
        "An invented fleet of one type, no accessories given.",
        {"fleet": {"machines": [_machine("25-ton", 25, 2)]}},
    ),
)
