"""The invented start-up that the documentation shows."""

from typing import Any, Final

_DAY: Final = "2026-05-04T"


def _psi(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "psi"}


def _amps(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "A"}


def _volts(*values: float) -> dict[str, Any]:
    return {name: {"value": v, "unit": "V"} for name, v in zip(("v_ab", "v_bc", "v_ca"), values, strict=True)}


def _hose(end: str) -> dict[str, Any]:
    points = ("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free")
    return {"end": end, **dict.fromkeys(points, True)}


def _valve(valve: str, position: str) -> dict[str, Any]:
    return {"valve": valve, "position": position}


_ROWS: Final[tuple[tuple[str, str, str, dict[str, Any]], ...]] = (
    ("level", "07:00", "unit_level", {"ok": True}),
    (
        "plate",
        "07:05",
        "plate_check",
        {
            "minimum_circuit_ampacity": _amps(210),
            "maximum_overcurrent_device": _amps(300),
            "cable_ampacity": _amps(260),
            "breaker_rating": _amps(250),
            "rated_voltage": {"value": 460, "unit": "V"},
        },
    ),
    ("lock-on", "07:06", "lock", {"lock_id": "7", "state": "applied", "tagged": True}),
    ("ground", "07:20", "ground", {"connected": True}),
    ("lock-off", "07:40", "lock", {"lock_id": "7", "state": "removed"}),
    ("supply", "08:00", "supply", {"state": "on"}),
    ("volts", "08:02", "line_voltage", _volts(472, 470, 474)),
    ("phase", "08:03", "phase_indicator", {"rotation": "correct"}),
    ("switch", "08:05", "control_switch", {"state": "on"}),
    ("hose-in", "08:10", "hose_connection", _hose("machine_inlet")),
    ("hose-out", "08:10", "hose_connection", _hose("machine_outlet")),
    ("v-suction", "08:15", "valve_position", _valve("pump_suction", "open")),
    ("v-discharge", "08:15", "valve_position", _valve("pump_discharge", "open")),
    ("v-bypass", "08:15", "valve_position", _valve("pump_bypass", "closed")),
    ("v-supply", "08:15", "valve_position", _valve("supply", "open")),
    ("v-return", "08:15", "valve_position", _valve("return", "open")),
    ("v-drain", "08:15", "valve_position", _valve("drain", "closed")),
    ("filled", "08:20", "fill", {"medium": "water", "purpose": "first_fill"}),
    ("purge-pump", "08:32", "purge", {"point": "pump_casing", "result": "steady_water", "pump": "off"}),
    ("purge-top", "08:36", "purge", {"point": "high_point", "result": "steady_water", "pump": "off"}),
    ("repressurised", "08:40", "fill", {"medium": "water", "purpose": "repressurise"}),
    ("v-fill", "08:41", "valve_position", _valve("fill", "closed")),
    ("pressure", "08:42", "loop_pressure", {"pump": "off", "value": _psi(46)}),
    ("dry", "08:48", "leak_check", {"result": "dry"}),
    ("heater", "08:46", "oil_heater", {"compressor": "1", "working": True}),
    ("pump", "08:50", "pump_state", {"pump": "machine", "state": "on"}),
    ("first-switch", "08:50:30", "flow_switch", {"state": "made"}),
    ("first-drop", "08:50:30", "evaporator_pressure_drop", {"value": {"value": 37, "unit": "kPa"}}),
    ("strainer", "08:56", "strainer", {"blown_down": True}),
    ("set-point", "08:56", "set_point", {"value": {"value": 44, "unit": "degF"}}),
    ("pump-off", "08:57", "pump_state", {"pump": "machine", "state": "off"}),
    ("switch-open", "08:57:20", "flow_switch", {"state": "not_made"}),
    ("purge-pump-again", "08:57:40", "purge", {"point": "pump_casing", "result": "steady_water", "pump": "off"}),
    ("purge-top-again", "08:58:30", "purge", {"point": "high_point", "result": "steady_water", "pump": "off"}),
    ("pressure-again", "08:59:30", "loop_pressure", {"pump": "off", "value": _psi(45)}),
    ("pump-again", "09:00", "pump_state", {"pump": "machine", "state": "on"}),
    ("flow-switch", "09:01", "flow_switch", {"state": "made"}),
    ("drop", "09:01", "evaporator_pressure_drop", {"value": {"value": 38, "unit": "kPa"}}),
    (
        "water",
        "09:02",
        "water_temperature",
        {"leaving": {"value": 66, "unit": "degF"}, "entering": {"value": 66, "unit": "degF"}},
    ),
    ("locks", "09:03", "lock_check", {"none_seen": True}),
    ("alarms", "09:03", "alarm_check", {"none_shown": True}),
    ("clear", "09:04", "area_clear", {"clear": True}),
)


def _observation(row: tuple[str, str, str, dict[str, Any]]) -> dict[str, Any]:
    name, at, kind, data = row
    clock = at if at.count(":") == 2 else f"{at}:00"
    return {"id": name, "at": f"{_DAY}{clock}Z", "kind": kind, "data": data, "by": "Jo (invented)"}


EXAMPLE: Final[dict[str, Any]] = {
    "configuration": {
        "supply_source": "site",
        "pump_mode": "own_pump",
        "fluid_kind": "water",
        "rated_voltage": {"value": 460, "unit": "V"},
        "warm_up_duration": {"value": 1, "unit": "h"},
        "high_point_rise": {"value": 6, "unit": "m"},
        "evaporator_pressure_drop_minimum": {"value": 18, "unit": "kPa"},
        "evaporator_pressure_drop_maximum": {"value": 65, "unit": "kPa"},
    },
    "evaluated_at": f"{_DAY}09:06:00Z",
    "observations": [_observation(row) for row in _ROWS],
}
EXAMPLE_REVERSED: Final[dict[str, Any]] = {
    **EXAMPLE,
    "observations": [
        *EXAMPLE["observations"],
        _observation(("swap", "08:04", "leads_swapped", {"where": "machine"})),
        _observation(("phase-again", "08:08", "phase_indicator", {"rotation": "correct"})),
    ],
}
EXAMPLE_STOP: Final[dict[str, Any]] = {
    **EXAMPLE,
    "evaluated_at": f"{_DAY}09:12:00Z",
    "observations": [
        *EXAMPLE["observations"],
        _observation(("started", "09:07", "compressor", {"id": "1", "state": "on"})),
        _observation(("flow-lost", "09:10", "flow_switch", {"state": "not_made"})),
    ],
}
