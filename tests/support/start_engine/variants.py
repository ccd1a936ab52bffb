"""What may be written down under each kind, as often against a start as for it. All invented."""

from typing import Any

from quantity import q

from .book import HOSE, ORDER

Data = dict[str, Any]
ROUTE = ("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled")
PROOF: Data = {"dead": True, "tester_proved_before": True, "tester_proved_after": True}
MATED: Data = {"end": "machine", "state": "connected", "order": ORDER, "fully_mated": True, "covers_on": True}
APART: Data = {"end": "source", "state": "disconnected", "order": ORDER[::-1]}
PLATE: Data = {
    "minimum_circuit_ampacity": q(310, "A"),
    "maximum_overcurrent_device": q(400, "A"),
    "cable_ampacity": q(380, "A"),
    "breaker_rating": q(400, "A"),
}


def _both(name: str) -> list[Data]:
    return [{name: True}, {name: False}]


def _states(name: str, *states: str) -> list[Data]:
    return [{name: state} for state in states]


def _volts(*three: float) -> Data:
    return {name: q(v, "V") for name, v in zip(("v_ab", "v_bc", "v_ca"), three, strict=True)}


def _values(unit: str, *values: float) -> list[Data]:
    return [{"value": q(value, unit)} for value in values]


def _insulation(megohms: float) -> Data:
    return {"resistance": q(megohms, "Mohm"), "test_voltage": q(500, "V"), "electronics_disconnected": True}


VOLTAGES = (
    (478, 481, 476),
    (478, 481, 476),
    (400, 402, 401),
    (0, 0, 0),
    (478, 210, 225),
    (530, 531, 529),
    (478, 455, 440),
)
VALVES = ("supply", "return", "fill", "drain", "pump_bypass", "pump_suction", "pump_discharge")
ITEMS = ("refrigerant_valves_open", "guards_on", "transport_restraints_removed", "coils_uncovered")


def variants(pump: str) -> dict[str, list[Data]]:
    """Of each kind, data worth trying; `pump` is the one in use."""
    running = [
        {"pump": "on", "value": q(value, "psi"), "gauge": gauge}
        for value, gauge in (
            (45, "suction"),
            (0, "suction"),
            (3, "suction"),
            (140, "discharge"),
            (60, "discharge"),
            (140, "other"),
        )
    ]
    return {
        "unit_level": _both("ok"),
        "plate_check": [PLATE, PLATE | {"breaker_rating": q(500, "A")}, PLATE | {"rated_voltage": q(400, "V")}],
        "ground": _both("connected"),
        "lock": [{"lock_id": lock, "state": state} for lock in ("L1", "L2") for state in ("applied", "removed")],
        "lock_check": _both("none_seen"),
        "alarm_check": _both("none_shown"),
        "supply": [
            *_states("state", "on", "off"),
            {"state": "off", "cause": "storm"},
            {"state": "interrupted", "duration": q(20, "s")},
        ],
        "isolator": _states("state", "open", "closed"),
        "control_switch": _states("state", "on", "off"),
        "line_voltage": [
            *(_volts(*three) for three in VOLTAGES),
            *(_volts(470, 471, 470) | {"frequency": q(hertz, "Hz")} for hertz in (60, 50)),
        ],
        "phase_indicator": _states("rotation", "correct", "correct", "reversed", "missing_phase", "no_indication"),
        "leads_swapped": _states("where", "source", "machine"),
        "proved_dead": [PROOF, PROOF | {"dead": False}, PROOF | {"tester_proved_after": False}],
        "line_connection": [MATED, MATED | {"covers_on": False}, MATED | {"order": ORDER[::-1]}, APART],
        "earth_continuity": [{"resistance": q(ohms, "ohm")} for ohms in (0.3, 5)],
        "insulation_test": [_insulation(50), _insulation(0.2)],
        "cable_route": [dict.fromkeys(ROUTE, True), dict.fromkeys(ROUTE, True) | {"off_water": False}],
        "transfer_interlock": _both("ok"),
        "hose_connection": [
            {"end": end, **HOSE, "lever_locked": good}
            for end in ("machine_inlet", "machine_outlet", "other")
            for good in (True, False)
        ],
        "valve_position": [
            *({"valve": v, "position": p} for v in VALVES for p in ("open", "closed", "partial")),
            *({"valve": "balancing", "position": p} for p in ("open", "closed", "partial")),
            {"valve": "vent", "position": "open"},
            {"valve": "other", "label": "riser", "in_flow_path": True, "position": "closed"},
            {"valve": "other", "label": "riser", "in_flow_path": True, "position": "open"},
            {"valve": "other", "label": "gauge cock", "in_flow_path": False, "position": "closed"},
        ],
        "fill": [
            {"medium": medium, "purpose": purpose}
            for medium in ("water", "mixed")
            for purpose in ("first_fill", "repressurise", "top_up")
        ],
        "antifreeze_charge": [{"mass_fraction": 0.4}],
        "loop_opened": [{"where": "strainer"}],
        "drain": [{"where": "low point"}],
        "loop_pressure": [{"pump": "off", "value": q(psi, "psi")} for psi in (45, 44, 42, 40.2, 20, 60)] + running,
        "purge": [
            {"point": point, "result": result, "pump": state}
            for point in ("high_point", "pump_casing")
            for result in ("steady_water", "spitting", "air")
            for state in ("off", "on")
        ],
        "leak_check": _states("result", "dry", "weep", "leak"),
        "pump_state": [{"pump": p, "state": s} for p in (pump, pump, "site") for s in ("on", "off", "tripped")],
        "flow_switch": _states("state", "made", "not_made"),
        "evaporator_pressure_drop": _values("kPa", 35, 33, 1, 13, 10, 80),
        "strainer_pressure_drop": _values("kPa", 20, 30, 45, 150),
        "flow": _values("L/s", 0, 5, 20),
        "strainer": _both("blown_down"),
        "antifreeze_reading": [{"freeze_point": q(value, "degC")} for value in (-24, -24, -3)],
        "water_temperature": [
            *({"entering": q(value, "degF"), "leaving": q(54, "degF")} for value in (54, 33, 36)),
            *({"leaving": q(value, "degF")} for value in (54, 32, 37, 44)),
            {"entering": q(54, "degF"), "leaving": q(44, "degF")},
        ],
        "set_point": _values("degF", 44, 45, 38),
        "alarm": [
            *({"code": code, "state": state} for code in ("A", "B") for state in ("active", "cleared")),
            {"code": "A", "state": "active", "warning": True},
        ],
        "area_clear": [{"clear": True}, {"clear": False}, {"clear": False, "where": "fans"}],
        "oil_heater": [{"compressor": "1", "working": working} for working in (True, False)],
        "machine_check": [{"item": item, "ok": ok} for item in ITEMS for ok in (True, False)],
        "moved": [{"where": "yard"}],
        "unit_stop": _states("state", "stopped", "enabled"),
        "compressor": [
            {"id": "1", "state": "on"},
            {"id": "1", "state": "off"},
            {"id": "1", "state": "off", "current": q(80, "A")},
        ],
    }
