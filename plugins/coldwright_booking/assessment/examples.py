"""Invented orders, for the examples."""

from typing import Any

from coldwright.contract import Example
from coldwright_booking.fleet.examples import FLEET


def _q(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


COMFORT: dict[str, Any] = {
    "reference": "INV-1001",
    "period": {"from": "2027-06-07", "to": "2027-06-20"},
    "practice": "nec",
    "duty": {
        "load": _q(65, "ton"),
        "leaving_temperature": _q(44, "degF"),
        "temperature_difference": _q(10, "delta_degF"),
        "lowest_load_fraction": 0.3,
    },
    "site": {
        "name": "Invented school",
        "design_ambient_temperature": _q(95, "degF"),
        "lowest_ambient_temperature": _q(55, "degF"),
        "elevation": _q(300, "m"),
        "indoors": False,
    },
    "supply": {
        "source": "site",
        "voltage": _q(480, "V"),
        "available_current": _q(400, "A"),
        "fault_current": _q(18, "kA"),
    },
    "routes": {"hose_length": _q(40, "m"), "highest_point": _q(8, "m"), "cable_length": _q(30, "m"), "crossings": 1},
    "load_side": {
        "rated_flow": _q(160, "gpm"),
        "rated_pressure_drop": _q(50, "kPa"),
        "volume": _q(1200, "L"),
        "pump": "machine",
    },
    "fleet": FLEET,
}
COLD_PROCESS: dict[str, Any] = {
    "reference": "INV-1002",
    "period": {"from": "2027-11-01", "to": "2027-12-12"},
    "practice": "nec",
    "duty": {"load": _q(90, "kW"), "leaving_temperature": _q(5, "degC")},
    "site": {"design_ambient_temperature": _q(26, "degC"), "lowest_ambient_temperature": _q(-8, "degC")},
    "supply": {"source": "generator"},
    "routes": {"hose_length": _q(25, "m"), "cable_length": _q(20, "m")},
    "fleet": FLEET,
}
INDOORS: dict[str, Any] = {
    "reference": "INV-1003",
    "period": {"from": "2027-07-05", "to": "2027-07-18"},
    "practice": "nec",
    "duty": {
        "load": _q(40, "ton"),
        "leaving_temperature": _q(45, "degF"),
        "temperature_difference": _q(10, "delta_degF"),
    },
    "site": {
        "name": "Invented print shop, hall",
        "design_ambient_temperature": _q(90, "degF"),
        "lowest_ambient_temperature": _q(60, "degF"),
        "elevation": _q(120, "m"),
        "indoors": True,
    },
    "supply": {
        "source": "site",
        "voltage": _q(480, "V"),
        "available_current": _q(400, "A"),
        "fault_current": _q(18, "kA"),
    },
    "routes": {"hose_length": _q(25, "m"), "highest_point": _q(5, "m"), "cable_length": _q(35, "m")},
    "load_side": {
        "rated_flow": _q(96, "gpm"),
        "rated_pressure_drop": _q(45, "kPa"),
        "volume": _q(900, "L"),
        "pump": "machine",
    },
    "fleet": FLEET,
}
EXAMPLES = (
    Example("comfort", "An invented school on the site's own supply, with water.", COMFORT),
    Example(
        "cold_process",
        "An invented process outdoors in winter on generator power: antifreeze, and much that is not given.",
        COLD_PROCESS,
    ),
    Example("indoors", "An invented hall: machines indoors on the site's own supply.", INDOORS),
)
