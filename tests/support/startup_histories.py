"""Histories of a start-up for the tests: the base one of the published checks, and generated ones. All invented."""

import random
from typing import Any

from quantity import q

DAY = "2026-05-04T"
CONFIGURATION: dict[str, Any] = {
    "supply_source": "site",
    "pump_mode": "own_pump",
    "fluid_kind": "water",
    "rated_voltage": {"value": 460, "unit": "V"},
    "warm_up_duration": {"value": 1, "unit": "h"},
    "high_point_rise": {"value": 8, "unit": "m"},
    "evaporator_pressure_drop_minimum": {"value": 15, "unit": "kPa"},
    "evaporator_pressure_drop_maximum": {"value": 60, "unit": "kPa"},
}

Observation = dict[str, Any]


def at(clock: str) -> str:
    return f"{DAY}{clock if clock.count(':') == 2 else clock + ':00'}Z"


def seen(kind: str, clock: str, named: str = "", /, **data: Any) -> Observation:
    """One observation; its id says what it is unless one is given. `u` is its uncertainty in seconds, `extra` what stands
    beside its data."""
    u, extra = data.pop("u", 0), data.pop("extra", {})
    subject = next(
        (str(data[k]) for k in ("lock_id", "valve", "end", "point", "code", "pump", "item") if k in data), ""
    )
    name = named or f"{kind}.{subject}.{clock}"
    observation = {"id": name, "kind": kind, "at": at(clock), "data": data, **extra}
    if kind == "lock":
        observation.setdefault("by", "ann")
    if u:
        observation["time_uncertainty"] = {"value": u, "unit": "s"}
    return observation


def volts(a: float, b: float, c: float) -> dict[str, Any]:
    return {"v_ab": q(a, "V"), "v_bc": q(b, "V"), "v_ca": q(c, "V")}


HOSE_GOOD = dict.fromkeys(("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free"), True)
PLATE = {
    "minimum_circuit_ampacity": q(310, "A"),
    "maximum_overcurrent_device": q(400, "A"),
    "cable_ampacity": q(380, "A"),
    "breaker_rating": q(400, "A"),
}
GOOD_VOLTS = volts(478, 481, 476)


def bare() -> list[Observation]:
    """The base set of the published checks as it stood before evidence was asked for: it lacks what `base` adds."""
    return [
        seen("unit_level", "07:00", ok=True),
        seen("plate_check", "07:05", **PLATE),
        seen("lock", "07:06", lock_id="L1", state="applied"),
        seen("lock", "07:40", lock_id="L1", state="removed"),
        seen("ground", "07:20", connected=True),
        seen("supply", "08:00", state="on"),
        seen("line_voltage", "08:02", **GOOD_VOLTS),
        seen("phase_indicator", "08:03", rotation="correct"),
        seen("control_switch", "08:05", state="on"),
        seen("hose_connection", "08:10", end="machine_inlet", **HOSE_GOOD),
        seen("hose_connection", "08:10", end="machine_outlet", **HOSE_GOOD),
        seen("valve_position", "08:15", valve="pump_suction", position="open"),
        seen("valve_position", "08:15", valve="pump_discharge", position="open"),
        seen("valve_position", "08:15", valve="pump_bypass", position="closed"),
        seen("valve_position", "08:15", valve="supply", position="open"),
        seen("valve_position", "08:15", valve="return", position="open"),
        seen("valve_position", "08:15", valve="drain", position="closed"),
        seen("fill", "08:16", medium="water", purpose="first_fill"),
        seen("purge", "08:35", point="pump_casing", result="steady_water", pump="off"),
        seen("purge", "08:40", point="high_point", result="steady_water", pump="off"),
        seen("fill", "08:42", medium="water", purpose="repressurise"),
        seen("valve_position", "08:44", valve="fill", position="closed"),
        seen("loop_pressure", "08:45", pump="off", value=q(45, "psi")),
        seen("leak_check", "08:50", result="dry"),
        seen("pump_state", "08:52", pump="machine", state="on"),
        seen("pump_state", "09:00", pump="machine", state="on"),
        seen("strainer", "08:58", blown_down=True),
        seen("set_point", "08:59", value=q(44, "degF")),
        seen("flow_switch", "09:00", state="made"),
        seen("evaporator_pressure_drop", "09:00", value=q(35, "kPa")),
        seen("area_clear", "09:01", clear=True),
    ]


def base() -> list[Observation]:
    """The base set with its first run, second venting, and looks at locks, alarms, heaters, water and people."""
    replaced = ("pump_state", "flow_switch", "evaporator_pressure_drop", "area_clear")
    kept = [o for o in bare() if o["kind"] not in replaced or o["at"] < at("09:00")]
    return [
        *kept,
        seen("oil_heater", "08:50", compressor="1", working=True),
        seen("flow_switch", "08:52:30", state="made"),
        seen("evaporator_pressure_drop", "08:52:30", value=q(35, "kPa")),
        seen("pump_state", "08:58", pump="machine", state="off"),
        seen("purge", "08:58:30", point="pump_casing", result="steady_water", pump="off"),
        seen("purge", "08:58:40", point="high_point", result="steady_water", pump="off"),
        seen("loop_pressure", "08:59", pump="off", value=q(45, "psi")),
        seen("lock_check", "09:01", none_seen=True),
        seen("alarm_check", "09:01", none_shown=True),
        seen("pump_state", "09:02", pump="machine", state="on"),
        seen("flow_switch", "09:03", state="made"),
        seen("evaporator_pressure_drop", "09:03", value=q(35, "kPa")),
        seen("water_temperature", "09:03", entering=q(54, "degF"), leaving=q(54, "degF")),
        seen("area_clear", "09:04", clear=True),
    ]


def ask(
    observations: list[Observation], clock: str = "09:06", configuration: dict[str, Any] | None = None
) -> dict[str, Any]:
    """The request."""
    merged = {k: v for k, v in {**CONFIGURATION, **(configuration or {})}.items() if v is not None}
    return {"configuration": merged, "evaluated_at": at(clock), "observations": observations}


def connected_by_the_book() -> list[Observation]:
    """Proved dead and connected before the supply went on."""
    order = ["ground", "line_1", "line_2", "line_3"]
    good = {"state": "connected", "order": order, "fully_mated": True, "covers_on": True}
    return [
        seen("proved_dead", "07:10", dead=True, tester_proved_before=True, tester_proved_after=True),
        seen("line_connection", "07:15", end="source", **good),
        seen("line_connection", "07:15", end="machine", **good),
    ]


# --- generated ---------------------------------------------------------------------------------------------------


def _clock(rng: random.Random) -> str:
    """Few instants, so that ties are common; some late ones, some from the future."""
    minute = rng.choice([*range(420, 548, 4), *range(530, 548), 548, 549, 552, 600])
    second = rng.choice([0, 0, 0, 20])
    return f"{minute // 60:02d}:{minute % 60:02d}:{second:02d}"


def _data(rng: random.Random) -> tuple[str, dict[str, Any]]:
    def yes(likely: float = 0.8) -> bool:
        return rng.random() < likely

    makers: dict[str, Any] = {
        "unit_level": lambda: {"ok": yes()},
        "plate_check": lambda: {**PLATE, **rng.choice([{}, {"rated_voltage": q(rng.choice([460, 400]), "V")}])},
        "ground": lambda: {"connected": yes()},
        "lock": lambda: {
            "lock_id": rng.choice("LM"),
            "state": rng.choice(["applied", "removed"]),
            **rng.choice([{}, {"tagged": yes()}]),
        },
        "supply": lambda: (
            {"state": rng.choice(["on", "on", "off"])}
            if yes()
            else {"state": "interrupted", "duration": q(rng.choice([0, 20, 240, 900]), "s")}
        ),
        "isolator": lambda: {"state": rng.choice(["open", "closed", "closed"])},
        "control_switch": lambda: {"state": rng.choice(["on", "on", "on", "off"])},
        "line_voltage": lambda: {
            **rng.choice([GOOD_VOLTS, GOOD_VOLTS, volts(478, 400, 470), volts(0, 0, 0), volts(478, 200, 230)]),
            **rng.choice([{}, {"frequency": q(rng.choice([60, 50]), "Hz")}]),
        },
        "phase_indicator": lambda: {
            "rotation": rng.choice(["correct", "correct", "reversed", "missing_phase", "no_indication"])
        },
        "leads_swapped": lambda: {"where": rng.choice(["source", "machine"])},
        "hose_connection": lambda: {
            "end": rng.choice(["machine_inlet", "machine_outlet", "other"]), **HOSE_GOOD, "gasket_seen": yes(0.9)
        },
        "valve_position": lambda: {
            "valve": rng.choice(["pump_suction", "pump_discharge", "pump_bypass", "supply", "return", "fill", "drain"]),
            "position": rng.choice(["open", "closed", "open", "closed", "partial"]),
        },
        "fill": lambda: {
            "medium": rng.choice(["water", "antifreeze", "mixed"]),
            "purpose": rng.choice(["first_fill", "repressurise", "top_up"]),
        },
        "antifreeze_charge": dict,
        "loop_opened": lambda: rng.choice([{}, {"where": "strainer"}, {"where": "hose at machine_inlet"}]),
        "drain": dict,
        "loop_pressure": lambda: {"pump": rng.choice(["off", "off", "on"]), "value": q(rng.choice([45, 42, 30, 14]), "psi")},
        "purge": lambda: {
            "point": rng.choice(["pump_casing", "high_point", "coil"]),
            "result": rng.choice(["steady_water", "steady_water", "spitting"]),
            "pump": rng.choice(["off", "off", "on"]),
        },
        "leak_check": lambda: {"result": rng.choice(["dry", "dry", "weep"])},
        "pump_state": lambda: {
            "pump": rng.choice(["machine", "machine", "site"]), "state": rng.choice(["on", "on", "off", "tripped"])
        },
        "flow_switch": lambda: {"state": rng.choice(["made", "made", "not_made"])},
        "evaporator_pressure_drop": lambda: {"value": q(rng.choice([35, 35, 70, 1]), "kPa")},
        "flow": lambda: {"value": q(rng.choice([10, 14]), "L/s")},
        "strainer": lambda: {"blown_down": yes()},
        "antifreeze_reading": lambda: {
            "freeze_point": q(rng.choice([-16, -13, -5]), "degC"),
            **rng.choice([{}, {"mass_fraction": rng.choice([0.3, 0.35, 0.9])}]),
        },
        "set_point": lambda: {"value": q(rng.choice([44, 44, 38, 30]), "degF")},
        "water_temperature": lambda: rng.choice(
            [{"leaving": q(7, "degC"), "entering": q(12, "degC")}, {"leaving": q(-20, "degC")}, {"entering": q(9, "degC")}]
        ),
        "alarm": lambda: {"code": rng.choice(["A", "B"]), "state": rng.choice(["active", "cleared", "cleared"])},
        "compressor": lambda: {"id": "1", "state": rng.choice(["on", "off"])},
        "area_clear": lambda: {"clear": yes()},
        "proved_dead": lambda: {
            "dead": yes(0.9), "tester_proved_before": yes(0.9), "tester_proved_after": yes(0.9),
            **rng.choice([{}, {"tried": yes()}]),
        },
        "line_connection": lambda: _line_connection(rng),
        "earth_continuity": lambda: {"resistance": q(rng.choice([0.2, 0.5, 3]), "ohm")},
        "insulation_test": lambda: {
            "resistance": q(rng.choice([5, 0.5]), "Mohm"),
            "test_voltage": q(rng.choice([500, 250]), "V"),
            "electronics_disconnected": yes(),
        },
        "cable_route": lambda: {
            "ramps_fitted": yes(0.9), "off_water": yes(0.9), "strain_relieved": True, "surplus_uncoiled": True
        },
        "transfer_interlock": lambda: {"ok": yes()},
        "oil_heater": lambda: {"compressor": "1", "working": yes()},
        "machine_check": lambda: {"item": rng.choice(["refrigerant_valves_open", "guards_on"]), "ok": yes()},
        "moved": dict,
    }  # fmt: skip
    kind = rng.choice(list(makers))
    return kind, makers[kind]()


def _line_connection(rng: random.Random) -> dict[str, Any]:
    order = rng.choice(
        [
            ["ground", "line_1", "line_2", "line_3"],
            ["ground", "neutral", "line_1", "line_2", "line_3"],
            ["line_1", "ground", "line_2", "line_3"],
            ["ground", "line_1", "neutral", "line_2", "line_3"],
        ]
    )
    where = {"end": rng.choice(["source", "machine"]), "set": rng.choice([1, 1, 2])}
    if rng.random() < 0.3:
        return {**where, "state": "disconnected", "order": order[::-1] if rng.random() < 0.5 else order}
    return {**where, "state": "connected", "order": order, "fully_mated": rng.random() < 0.9, "covers_on": True}


def _one(rng: random.Random, number: int, history: list[Observation]) -> Observation:
    """One more observation: sometimes with a doubtful clock, a correction, or an id that is taken."""
    kind, data = _data(rng)
    extra: dict[str, Any] = {}
    if rng.random() < 0.3 or kind == "lock":
        extra["by"] = rng.choice(["ann", "bo"])
    if rng.random() < 0.15:
        extra["role"] = rng.choice(["electrician", "technician"])
    if rng.random() < 0.15:
        extra["clock_offset"] = q(rng.choice([-300, -60, 45.5, 7200]), "s")
    one = seen(kind, _clock(rng), f"x{number:02d}", u=rng.choice([0, 0, 0, 30, 600]), extra=extra, **data)
    if rng.random() < 0.2 and history:
        same = [o for o in history if o["kind"] == kind] or history
        one["supersedes"] = rng.choice([rng.choice(same)["id"], f"x{rng.randrange(12):02d}", "nobody"])
    if rng.random() < 0.08 and history:
        one["id"] = rng.choice(history)["id"]
    return one


def _configuration(rng: random.Random) -> dict[str, Any]:
    configuration: dict[str, Any] = {}
    if rng.random() < 0.25:
        configuration |= {"pump_mode": "site_pump", **rng.choice([{}, {"pump_fitted": False}])}
    if rng.random() < 0.3:
        configuration |= {
            "fluid_kind": "propylene_glycol",
            **rng.choice([{}, {"required_freeze_point": q(-12, "degC")}]),
        }
        configuration |= rng.choice([{}, {"loop_turnover_time": q(2, "min")}])
    elif rng.random() < 0.1:
        configuration |= {"required_freeze_point": q(-12, "degC")}
    for name, value in (
        ("require_connection_evidence", True),
        ("rated_frequency", q(60, "Hz")),
        ("ground_run_resistance", q(0.3, "ohm")),
    ):
        if rng.random() < 0.15:
            configuration[name] = value
    if rng.random() < 0.15:
        configuration |= {"supply_source": "generator", "rated_frequency": q(60, "Hz")}
    if rng.random() < 0.15:
        configuration["evaporator_reference_flow"] = q(10, "L/s")
        configuration["evaporator_reference_pressure_drop"] = q(35, "kPa")
    return configuration


def generated(seed: int) -> dict[str, Any]:
    """A request with a history that has ties, doubtful clocks, corrections, rings and two stories under one id."""
    rng = random.Random(seed)
    history: list[Observation] = [] if rng.random() < 0.15 else base()
    if rng.random() < 0.3:
        history += connected_by_the_book()
    if rng.random() < 0.3:
        history = rng.sample(history, k=max(0, len(history) - rng.randrange(4)))
    for number in range(rng.choice([0, 1, 2, 3, 5, 12, 30])):
        history.append(_one(rng, number, history))
    configuration = _configuration(rng)
    clock = rng.choice(["09:02", "09:06", "09:06", "09:06", "09:10:30", "09:20", "12:30", "21:30"])
    return ask(history, clock, configuration)
