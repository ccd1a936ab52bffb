"""A crew that does what it is asked for and writes down what it then sees: the truth, whatever it was meant to be.

It repairs nothing of its own accord. What is broken is put right only when the advice names it (`Trouble.cure`).
It refuses what could hurt somebody and says so, which fails the walk.
"""

from typing import Any

from .plant import FILLED, HOSE_POINTS, PSI, Plant

ELECTRICAL = {
    "ground",
    "lock",
    "supply",
    "isolator",
    "line_voltage",
    "phase_indicator",
    "leads_swapped",
    "proved_dead",
    "line_connection",
    "earth_continuity",
    "insulation_test",
    "cable_route",
    "transfer_interlock",
    "plate_check",
}
ROLES = {"lee": "technician", "kim": "electrician", "sam": "supervisor", "oto": "owner"}
SECONDS = {"fill": 600, "antifreeze_charge": 600, "hose_connection": 60, "purge": 60}


class DangerError(AssertionError):
    """The advice would have hurt somebody."""


class CannotError(AssertionError):
    """The advice cannot be done: who is asked for is not there."""


def q(value: float, unit: str) -> dict[str, Any]:
    """A quantity."""
    return {"value": round(value, 4), "unit": unit}


class Crew:
    """Technician, electrician, supervisor and a person of the machine's owner."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.work_on_lines = False
        self.said = ""
        self._count = 0

    def record(self, template: dict[str, Any], roles: list[str]) -> dict[str, Any]:
        """Do or look at what the template names, and write down what is so."""
        kind, wanted = template["kind"], dict(template.get("data", {}))
        self.plant.advance(SECONDS.get(kind, 15))
        act = getattr(self, f"_{kind}", None)
        if act is None:
            raise AssertionError(f"nobody knows how to make a record of `{kind}`")
        data = act(wanted)
        self.plant.settle()
        by = str(data.pop("_by", "kim" if kind in ELECTRICAL else "lee"))
        if kind == "settled":
            wanted_role = [template["role"]] if "role" in template else roles
            by = next(name for name, role in ROLES.items() if role in wanted_role)
        return self.written(kind, data, by, ROLES.get(by, ""))

    def written(self, kind: str, data: dict[str, Any], by: str, role: str) -> dict[str, Any]:
        """A record as the app sends it."""
        self._count += 1
        record = {
            "id": f"w{self._count}",
            "kind": kind,
            "at": self.plant.now.isoformat().replace("+00:00", "Z"),
            "by": by,
            "data": data,
        }
        return record | ({"role": role} if role else {})

    # --- power -----------------------------------------------------------------------------------------------------
    def _dead(self) -> bool:
        return not self.plant.source_closed and not self.plant.second_source

    def _lock(self, wanted: dict[str, Any]) -> dict[str, Any]:
        plant = self.plant
        if wanted.get("state") == "applied":
            if plant.source_closed:
                raise DangerError("a lock put on a source that is closed")
            name = str(wanted.get("lock_id", "L1"))
            plant.locks[name] = "kim"
            return {"lock_id": name, "state": "applied", "tagged": True}
        name = str(wanted.get("lock_id", next(iter(plant.locks), "L1")))
        owner = plant.locks.get(name, "kim")
        if owner in plant.gone_home:
            if owner not in self.said:
                raise DangerError(f"lock {name} was to be taken off, and {owner}, whose it is, is not named")
            raise CannotError(f"{owner} is not there")
        if self.work_on_lines and owner == "kim":
            raise DangerError("a lock was to come off with the work on the lines unfinished")
        plant.locks.pop(name, None)
        return {"lock_id": name, "state": "removed", "_by": owner}

    def _lock_check(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"none_seen": not self.plant.locks}

    def _supply(self, wanted: dict[str, Any]) -> dict[str, Any]:
        plant = self.plant
        if wanted.get("state") == "off":
            plant.source_closed = False
            return {"state": "off", "cause": "switched"}
        if wanted.get("state") == "on":
            if plant.locks:
                raise DangerError(f"the source was to be closed under lock {sorted(plant.locks)}")
            if self.work_on_lines or not all(plant.lines.values()):
                raise DangerError("the source was to be closed onto work in progress")
            plant.source_closed = not plant.fault_in_leads
        return {"state": "on"} if plant.source_closed else {"state": "off", "cause": "trip"}

    def _isolator(self, wanted: dict[str, Any]) -> dict[str, Any]:
        self.plant.isolator_closed = wanted.get("state", "closed") == "closed"
        return {"state": "closed" if self.plant.isolator_closed else "open"}

    def _control_switch(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if "state" in wanted:
            self.plant.switch_on = wanted["state"] == "on"
        return {"state": "on" if self.plant.switch_on else "off"}

    def _line_voltage(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        three = self.plant.volts if self.plant.alive else (0.0, 0.0, 0.0)
        if self.plant.missing_phase and self.plant.alive:
            three = (three[0], 210.0, 225.0)
        data: dict[str, Any] = {name: q(v, "V") for name, v in zip(("v_ab", "v_bc", "v_ca"), three, strict=True)}
        if self.plant.configuration["supply_source"] == "generator" and self.plant.alive:
            data["frequency"] = q(self.plant.hertz, "Hz")
        return data

    def _phase_indicator(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        if not self.plant.alive:
            return {"rotation": "no_indication"}
        if self.plant.missing_phase:
            return {"rotation": "missing_phase"}
        return {"rotation": "reversed" if self.plant.reversed else "correct"}

    def _leads_swapped(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if not self._dead():
            raise DangerError("leads were to be swapped live")
        if not self.plant.locks:
            raise DangerError("leads were to be swapped with no lock on")
        self.plant.reversed = not self.plant.reversed
        return {"where": wanted.get("where", "source")}

    def _proved_dead(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"dead": self._dead(), "tester_proved_before": True, "tester_proved_after": True}

    def _line_connection(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if not self._dead() or not self.plant.locks:
            raise DangerError("lines were to be handled live, or with no lock on")
        end, state = wanted.get("end", "machine"), wanted.get("state", "connected")
        self.plant.lines[end] = state == "connected"
        order = ["ground", "line_1", "line_2", "line_3"]
        if state != "connected":
            self.work_on_lines = True
            return {"end": end, "set": wanted.get("set", 1), "state": state, "order": order[::-1]}
        self.plant.ground = True
        self.work_on_lines = not all(self.plant.lines.values())
        good = {"fully_mated": True, "covers_on": True}
        return {"end": end, "set": wanted.get("set", 1), "state": state, "order": order, **good}

    def _ground(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if wanted.get("connected") and not self.plant.ground:
            if not self._dead():
                raise DangerError("the ground was to be connected with the source closed")
            self.plant.ground = True
            self.plant.lines = dict.fromkeys(self.plant.lines, True)
        return {"connected": self.plant.ground}

    def _earth_continuity(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"resistance": q(0.2, "ohm")}

    def _insulation_test(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        if not self._dead():
            raise DangerError("insulation was to be tested live")
        return {"resistance": q(50, "Mohm"), "test_voltage": q(500, "V"), "electronics_disconnected": True}

    def _cable_route(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return dict.fromkeys(("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled"), True)

    def _transfer_interlock(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"ok": True}

    def _plate_check(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {
            "minimum_circuit_ampacity": q(310, "A"),
            "maximum_overcurrent_device": q(400, "A"),
            "cable_ampacity": q(380, "A"),
            "breaker_rating": q(400 if self.plant.plate_right else 600, "A"),
            "rated_voltage": q(460, "V"),
        }

    def _oil_heater(self, wanted: dict[str, Any]) -> dict[str, Any]:
        compressor = str(wanted.get("compressor", "1"))
        return {"compressor": compressor, "working": self.plant.heater_warm(compressor)}

    # --- machine ---------------------------------------------------------------------------------------------------
    def _unit_level(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"ok": self.plant.level}

    def _machine_check(self, wanted: dict[str, Any]) -> dict[str, Any]:
        return {**wanted, "item": wanted.get("item", "guards_on"), "ok": True}

    def _set_point(self, wanted: dict[str, Any]) -> dict[str, Any]:
        plant = self.plant
        usual = 44.0 if plant.set_point is None else plant.set_point + (4 if "raise" in self.said else 0)
        plant.set_point = float(wanted["value"]["value"]) if "value" in wanted else usual
        return {"value": wanted.get("value", q(plant.set_point, "degF"))}

    def _alarm_check(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"none_shown": not self.plant.alarms}

    def _alarm(self, wanted: dict[str, Any]) -> dict[str, Any]:
        code = str(wanted.get("code", next(iter(self.plant.alarms), "A")))
        if wanted.get("state") == "cleared" and not self.plant.alarms.get(code, False):
            self.plant.alarms.pop(code, None)
        return {"code": code, "state": "active" if code in self.plant.alarms else "cleared"}

    def _unit_stop(self, wanted: dict[str, Any]) -> dict[str, Any]:
        self.plant.stopped = wanted.get("state", "stopped") == "stopped"
        if self.plant.stopped:
            self.plant.compressors = {}
        return {"state": "stopped" if self.plant.stopped else "enabled"}

    def _compressor(self, wanted: dict[str, Any]) -> dict[str, Any]:
        name = str(wanted.get("id", "1"))
        if wanted.get("state") == "off":
            self.plant.compressors.pop(name, None)
        return {"id": name, "state": "on" if self.plant.compressors.get(name) else "off"}

    def _area_clear(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"clear": False, "where": "fans"} if self.plant.near_fans else {"clear": True}

    def _settled(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if wanted.get("check") in ("R01", "I16"):
            plant = self.plant
            plant.locks = {lock: owner for lock, owner in plant.locks.items() if owner not in plant.gone_home}
        return {"found": "looked at what the records say", "done": "put right, nothing left open", **wanted}

    # --- loop --------------------------------------------------------------------------------------------------------
    def _hose_connection(self, wanted: dict[str, Any]) -> dict[str, Any]:
        end = wanted.get("end", "machine_inlet")
        hose = self.plant.hoses.setdefault(end, dict.fromkeys(HOSE_POINTS, False))
        if not hose["connected"]:
            hose.update(dict.fromkeys(HOSE_POINTS, True))
        return {"end": end, **hose}

    def _valve_position(self, wanted: dict[str, Any]) -> dict[str, Any]:
        valve = wanted["valve"]
        if "position" in wanted:
            self.plant.valves[valve] = wanted["position"]
        position = self.plant.valves.setdefault(valve, "open")
        return {k: v for k, v in wanted.items() if k in ("label", "in_flow_path")} | {
            "valve": valve,
            "position": position,
        }

    def _fill(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if self.plant.pumping and self.plant.pump_stops:
            raise DangerError("the loop was to be filled with the pump on")
        self.plant.pressure = FILLED
        self.plant.open_at = ""
        medium = wanted.get("medium", "water" if self.plant.configuration["fluid_kind"] == "water" else "mixed")
        self.plant.freeze_point = -24.0 if medium == "mixed" else min(self.plant.freeze_point, 0.0)
        return {"medium": medium, "purpose": wanted.get("purpose", "top_up")}

    def _antifreeze_charge(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        self.plant.freeze_point = -24.0
        return {"mass_fraction": 0.45}

    def _antifreeze_reading(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"freeze_point": q(self.plant.freeze_point, "degC")}

    def _loop_opened(self, wanted: dict[str, Any]) -> dict[str, Any]:
        if self.plant.pumping:
            raise DangerError("the loop was to be opened with the pump on")
        self.plant.open_at = str(wanted.get("where", "strainer"))
        self.plant.dirt = 0.0
        return {"where": self.plant.open_at}

    def _drain(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        self.plant.pressure = 0.0
        return {"where": "low point"}

    def _loop_pressure(self, wanted: dict[str, Any]) -> dict[str, Any]:
        gauge = wanted.get("gauge", "suction")
        value = self.plant.pressure
        if self.plant.pumping and gauge == "discharge":
            value += 150
        return {"pump": "on" if self.plant.pumping else "off", "gauge": gauge, "value": q(value / PSI, "psi")}

    def _purge(self, wanted: dict[str, Any]) -> dict[str, Any]:
        point = wanted.get("point", "high_point")
        plant = self.plant
        result = "steady_water"
        if point in plant.air and plant.pressure < 5 * PSI:
            result = "air"
        elif point in plant.air and plant.stubborn_air:
            plant.stubborn_air -= 1
            result = "spitting"
        else:
            plant.air.discard(point)
        return {"point": point, "result": result, "pump": "on" if plant.pumping else "off"}

    def _leak_check(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"result": "leak" if self.plant.leak else "dry"}

    def _pump_state(self, wanted: dict[str, Any]) -> dict[str, Any]:
        plant, pump = self.plant, wanted.get("pump", self.plant.pump)
        if wanted.get("state") == "on" and plant.pumps[pump] != "on":
            if plant.pressure <= 0:
                raise DangerError("a pump was to run dry")
            if pump == "machine" and not (plant.valves["pump_suction"] == plant.valves["pump_discharge"] == "open"):
                raise DangerError("a pump was to run against a closed valve")
            if pump == "machine" and not (plant.alive and plant.switch_on):
                return {"pump": pump, "state": "off"}
            plant.pumps[pump] = "tripped" if plant.pump_overload else "on"
        elif wanted.get("state") == "off" and (pump == "machine" or plant.pump_stops):
            plant.pumps[pump] = "off"
        return {"pump": pump, "state": plant.pumps[pump]}

    def _flow_switch(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"state": "made" if self.plant.switch_made else "not_made"}

    def _evaporator_pressure_drop(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"value": q(self.plant.drop, "kPa")}

    def _strainer_pressure_drop(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        flowing = self.plant.flow > 0
        return {"value": q(20 + 130 * self.plant.dirt if flowing else 0.0, "kPa")}

    def _flow(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"value": q(20 * self.plant.flow, "L/s")}

    def _strainer(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        self.plant.dirt = 0.0
        return {"blown_down": True}

    def _water_temperature(self, _wanted: dict[str, Any]) -> dict[str, Any]:
        return {"entering": q(self.plant.entering, "degC"), "leaving": q(self.plant.leaving, "degC")}
