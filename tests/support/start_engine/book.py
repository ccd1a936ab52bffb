"""Starts by the book in every configuration: what a careful crew records, all of it invented."""

from collections.abc import Iterator
from typing import Any

from quantity import q

Record = dict[str, Any]
Configuration = dict[str, Any]

DAY = "2026-05-04T"
ASKED = f"{DAY}09:06:00Z"
HOSE: dict[str, Any] = dict.fromkeys(("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free"), True)
ORDER = ["ground", "line_1", "line_2", "line_3"]


def seen(kind: str, clock: str, /, by: str = "lee", role: str = "", **data: Any) -> Record:
    """One record of that day, its id made of what it says."""
    subject = "-".join(
        str(data[k]) for k in ("lock_id", "valve", "end", "point", "pump", "compressor", "state") if k in data
    )
    time = clock if clock.count(":") == 2 else f"{clock}:00"
    record = {"id": f"{kind}.{subject}.{time}", "kind": kind, "at": f"{DAY}{time}Z", "data": data}
    return record | ({"by": by} if by else {}) | ({"role": role} if role else {})


def configurations() -> Iterator[tuple[str, Configuration]]:
    """Every kind of set-up, by name."""
    base: Configuration = {
        "rated_voltage": q(460, "V"),
        "warm_up_duration": q(1, "h"),
        "high_point_rise": q(8, "m"),
        "evaporator_pressure_drop_minimum": q(15, "kPa"),
        "evaporator_pressure_drop_maximum": q(60, "kPa"),
    }
    supplies: dict[str, Configuration] = {
        "site": {"supply_source": "site"},
        "generator": {"supply_source": "generator", "rated_frequency": q(60, "Hz")},
        "transfer_switch": {"supply_source": "site", "transfer_switch": True},
    }
    pumps: dict[str, Configuration] = {
        "own_pump": {"pump_mode": "own_pump"},
        "site_pump": {"pump_mode": "site_pump"},
        "no_pump_fitted": {"pump_mode": "site_pump", "pump_fitted": False},
        "pump_never_stops": {"pump_mode": "site_pump", "site_pump_stops": False},
    }
    others: dict[str, Configuration] = {
        "water": {"fluid_kind": "water"},
        "mixture": {"fluid_kind": "propylene_glycol"},
        "mixture_turned": {"fluid_kind": "ethylene_glycol", "loop_turnover_time": q(1, "min")},
        "three_compressors": {"fluid_kind": "water", "compressors": 3, "flow_minimum": q(10, "L/s")},
        "no_heaters": {"fluid_kind": "water", "oil_heaters": False, "ambient_temperature": q(20, "degC")},
        "evidence": {"fluid_kind": "water", "require_connection_evidence": True},
    }
    for supply, one in supplies.items():
        for pump, two in pumps.items():
            for other, three in others.items():
                yield f"{supply}-{pump}-{other}", base | one | two | three


def _power(configuration: Configuration) -> list[Record]:
    """Level, plate, connection under lock, supply, rotation, switch, heaters."""
    electrician: dict[str, Any] = {"role": "electrician"}
    line: dict[str, Any] = {"state": "connected", "order": ORDER, "fully_mated": True, "covers_on": True}
    plate: dict[str, Any] = {
        "minimum_circuit_ampacity": q(310, "A"),
        "maximum_overcurrent_device": q(400, "A"),
        "cable_ampacity": q(380, "A"),
        "breaker_rating": q(400, "A"),
        "rated_voltage": q(460, "V"),
    }
    hertz: dict[str, Any] = {"frequency": q(60, "Hz")} if configuration["supply_source"] == "generator" else {}
    records = [
        seen("unit_level", "07:00", ok=True),
        seen("plate_check", "07:05", **plate),
        seen("lock", "07:06", lock_id="L1", state="applied"),
        seen("proved_dead", "07:10", dead=True, tester_proved_before=True, tester_proved_after=True, **electrician),
        seen("line_connection", "07:15", end="source", **line, **electrician),
        seen("line_connection", "07:16", end="machine", **line, **electrician),
        seen("ground", "07:20", connected=True),
        seen("lock", "07:40", lock_id="L1", state="removed"),
        seen("supply", "08:00", state="on"),
        seen("line_voltage", "08:02", v_ab=q(478, "V"), v_bc=q(481, "V"), v_ca=q(476, "V"), **hertz),
        seen("phase_indicator", "08:03", rotation="correct"),
        seen("control_switch", "08:05", state="on"),
    ]
    if configuration.get("require_connection_evidence"):
        good: dict[str, Any] = dict.fromkeys(("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled"), True)
        records += [
            seen("earth_continuity", "07:25", resistance=q(0.3, "ohm"), **electrician),
            seen(
                "insulation_test",
                "07:03",
                resistance=q(50, "Mohm"),
                test_voltage=q(500, "V"),
                electronics_disconnected=True,
                **electrician,
            ),
            seen("cable_route", "07:30", **good),
        ]
        if configuration["supply_source"] == "generator":
            records.append(seen("transfer_interlock", "07:31", ok=True, **electrician))
    if configuration.get("oil_heaters", True):
        records += [
            seen("oil_heater", "08:50", compressor=str(n + 1), working=True)
            for n in range(configuration.get("compressors", 1))
        ]
    return records


def _valves(configuration: Configuration) -> dict[str, str]:
    line = {"supply": "open", "return": "open", "drain": "closed"}
    if configuration["pump_mode"] == "own_pump":
        return {"pump_suction": "open", "pump_discharge": "open", "pump_bypass": "closed"} | line
    if configuration.get("pump_fitted", True):
        return {"pump_suction": "closed", "pump_discharge": "closed", "pump_bypass": "open"} | line
    return line


def _filled(configuration: Configuration) -> list[Record]:
    """Hoses, valves, the fill."""
    records = [seen("hose_connection", "08:10", end=end, **HOSE) for end in ("machine_inlet", "machine_outlet")]
    records += [seen("valve_position", "08:15", valve=v, position=p) for v, p in _valves(configuration).items()]
    records.append(seen("fill", "08:16", medium="water", purpose="first_fill"))
    if configuration["fluid_kind"] != "water":
        records.append(seen("antifreeze_charge", "08:30", mass_fraction=0.4))
    return records


def _proved(clock: str) -> list[Record]:
    return [
        seen("flow_switch", clock, state="made"),
        seen("evaporator_pressure_drop", clock, value=q(35, "kPa")),
    ]


def _loop_with_stops(configuration: Configuration) -> list[Record]:
    """Vented, pressurised, run for five minutes, blown down, vented again, run."""
    own = configuration["pump_mode"] == "own_pump"
    pump = "machine" if own else "site"
    points = ("pump_casing", "high_point") if own else ("high_point",)
    vented = [seen("purge", "08:35", point=p, result="steady_water", pump="off") for p in points]
    again = [seen("purge", "08:58:40", point=p, result="steady_water", pump="off") for p in points]
    return [
        *vented,
        seen(
            "fill",
            "08:42",
            medium="water" if configuration["fluid_kind"] == "water" else "mixed",
            purpose="repressurise",
        ),
        seen("valve_position", "08:44", valve="fill", position="closed"),
        seen("loop_pressure", "08:45", pump="off", value=q(45, "psi")),
        seen("leak_check", "08:50", result="dry"),
        seen("pump_state", "08:52", pump=pump, state="on"),
        *_proved("08:52:30"),
        seen("strainer", "08:57:50", blown_down=True),
        seen("pump_state", "08:58", pump=pump, state="off"),
        seen("flow_switch", "08:58:30", state="not_made"),
        *again,
        seen("loop_pressure", "08:59", pump="off", value=q(45, "psi")),
        seen("pump_state", "09:02", pump=pump, state="on"),
        *_proved("09:03"),
    ]


def _loop_without_stops() -> list[Record]:
    """A site pump that cannot be stopped: pressure at its suction, vents steady twice with it on, flow unbroken."""
    on: dict[str, Any] = {"pump": "on"}
    return [
        seen("pump_state", "08:20", pump="site", state="on"),
        seen("valve_position", "08:31", valve="fill", position="closed"),
        *_proved("08:34"),
        seen("loop_pressure", "08:35", gauge="suction", value=q(45, "psi"), **on),
        seen("purge", "08:40", point="high_point", result="steady_water", **on),
        seen("leak_check", "08:50", result="dry"),
        seen("strainer", "08:52", blown_down=True),
        seen("purge", "08:58", point="high_point", result="steady_water", **on),
        seen("pump_state", "09:02", pump="site", state="on"),
        *_proved("09:03"),
    ]


def by_the_book(configuration: Configuration) -> list[Record]:
    """Everything that a start at 09:06 needs, and nothing against it."""
    stops = configuration.get("site_pump_stops", True)
    records = _power(configuration) + _filled(configuration)
    records += _loop_with_stops(configuration) if stops else _loop_without_stops()
    if configuration["fluid_kind"] != "water":
        records.append(seen("antifreeze_reading", "09:05:10", freeze_point=q(-24, "degC")))
    return [
        *records,
        seen("set_point", "08:59", value=q(44, "degF")),
        seen("water_temperature", "09:03", entering=q(54, "degF"), leaving=q(54, "degF")),
        seen("lock_check", "09:01", none_seen=True),
        seen("alarm_check", "09:01", none_shown=True),
        seen("area_clear", "09:04", clear=True),
    ]
