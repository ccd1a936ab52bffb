"""A little chiller on a site: switches, leads, locks, pump, water, air and people, as they really are.

Nothing here knows a rule of the product. Numbers are invented and near enough: a drop that goes with the square of the flow,
a pressure that falls through a leak, oil that needs power to be warm.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

PSI = 6.894757293168361
HOSE_POINTS = ("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free")
FULL_DROP = 35.0  # kPa across the evaporator at full flow
FULL_FLOW = 20.0  # L/s
FILLED = 45 * PSI


@dataclass
class Plant:
    """Truth. The crew acts on it and reads it; the troubles are planted in it."""

    configuration: dict[str, Any]
    now: datetime = datetime(2026, 5, 4, 7, 0, tzinfo=UTC)
    # power
    source_closed: bool = False
    isolator_closed: bool = True
    switch_on: bool = False
    reversed: bool = False
    missing_phase: bool = False
    volts: tuple[float, float, float] = (478.0, 481.0, 476.0)
    hertz: float = 60.0
    fault_in_leads: bool = False
    second_source: bool = False
    lines: dict[str, bool] = field(default_factory=lambda: {"source": False, "machine": False})
    ground: bool = False
    powered_since: datetime | None = None
    dead_heaters: set[str] = field(default_factory=set)
    locks: dict[str, str] = field(default_factory=dict)
    gone_home: set[str] = field(default_factory=set)
    plate_right: bool = True
    level: bool = True
    # loop
    hoses: dict[str, dict[str, bool]] = field(default_factory=dict)
    valves: dict[str, str] = field(default_factory=dict)
    pressure: float = 0.0
    air: set[str] = field(default_factory=lambda: {"high_point", "pump_casing"})
    stubborn_air: int = 0
    leak: bool = False
    open_at: str = ""
    dirt: float = 0.0
    debris: float = 0.0
    switch_stuck: bool = False
    pumps: dict[str, str] = field(default_factory=lambda: {"machine": "off", "site": "off"})
    pump_overload: bool = False
    entering: float = 12.0
    leaving: float = 12.0
    freeze_point: float = 0.0
    set_point: float | None = None
    # people and panel
    near_fans: bool = False
    alarms: dict[str, bool] = field(default_factory=dict)  # code: whether its cause is still there
    compressors: dict[str, bool] = field(default_factory=dict)
    stopped: bool = False

    def __post_init__(self) -> None:
        """A machine just set down; a site whose pump never stops has its loop full and running."""
        for end in ("machine_inlet", "machine_outlet"):
            self.hoses.setdefault(end, dict.fromkeys(HOSE_POINTS, False))
        for valve in ("pump_suction", "pump_discharge", "pump_bypass", "supply", "return", "fill", "drain"):
            self.valves.setdefault(valve, "closed")
        if not self.pump_stops:
            self.pumps["site"] = "on"

    # --- what follows from it ----------------------------------------------------------------------------------
    @property
    def own_pump(self) -> bool:
        """Whether the machine's pump moves the water."""
        return bool(self.configuration["pump_mode"] == "own_pump")

    @property
    def pump_stops(self) -> bool:
        """Whether the pump in use can be stopped."""
        return bool(self.configuration.get("site_pump_stops", True))

    @property
    def pump(self) -> str:
        """The pump in use."""
        return "machine" if self.own_pump else "site"

    @property
    def alive(self) -> bool:
        """Voltage at the machine's terminals."""
        connected = all(self.lines.values())
        return (self.source_closed or self.second_source) and self.isolator_closed and connected

    @property
    def pumping(self) -> bool:
        """Whether the pump in use turns."""
        return self.pumps[self.pump] == "on"

    @property
    def path_open(self) -> bool:
        """Whether water can go round through the machine."""
        hoses = all(self.hoses[end]["connected"] for end in ("machine_inlet", "machine_outlet"))
        line = self.valves["supply"] == "open" and self.valves["return"] == "open"
        if self.own_pump:
            pump = self.valves["pump_suction"] == "open" and self.valves["pump_discharge"] == "open"
        else:
            pump = self.valves["pump_bypass"] == "open" or not self.configuration.get("pump_fitted", True)
        return hoses and line and pump and not self.open_at

    @property
    def flow(self) -> float:
        """Part of the full flow."""
        if not (self.pumping and self.path_open and self.pressure > 0):
            return 0.0
        recirculates = 0.5 if self.own_pump and self.valves["pump_bypass"] != "closed" else 1.0
        bound = 0.4 if "pump_casing" in self.air and self.own_pump else 1.0
        return (1 - self.dirt) * recirculates * bound

    @property
    def drop(self) -> float:
        """kPa across the evaporator."""
        return FULL_DROP * self.flow**2

    @property
    def switch_made(self) -> bool:
        """What the flow switch shows."""
        return self.switch_stuck or self.flow > 0.6

    def heater_warm(self, compressor: str) -> bool:
        """Whether the sump feels warm."""
        if compressor in self.dead_heaters or self.powered_since is None:
            return False
        return self.now - self.powered_since >= timedelta(minutes=10)

    def warm_for(self) -> timedelta:
        """How long the oil has been heated without a break."""
        return self.now - self.powered_since if self.powered_since else timedelta(0)

    # --- time ------------------------------------------------------------------------------------------------------
    def settle(self) -> None:
        """What follows at once from a change."""
        heated = self.alive and self.switch_on and not self.missing_phase
        if not heated:
            self.powered_since = None
            if self.pumps["machine"] == "on":
                self.pumps["machine"] = "off"
            self.compressors = dict.fromkeys(self.compressors, False)
        elif self.powered_since is None:
            self.powered_since = self.now
        if self.open_at or self.valves["drain"] == "open":
            self.pressure = 0.0

    def advance(self, seconds: float) -> None:
        """Time goes by: leaks leak, a first run washes debris into the strainer, compressors cool."""
        self.now += timedelta(seconds=seconds)
        if self.leak:
            self.pressure = max(0.0, self.pressure - 1.5 * seconds / 60)
        if self.valves["fill"] == "open" and not self.open_at and self.pressure < FILLED:
            self.pressure = FILLED
        if self.flow > 0 and self.debris:
            self.dirt, self.debris = self.debris, 0.0
        cold = 6.0 if any(self.compressors.values()) else 0.0
        self.leaving = self.entering - cold
        self.settle()

    # --- whether a start would be safe ------------------------------------------------------------------------------
    def unfit(self) -> list[str]:
        """Why a compressor must not start, by the truth and not by the records."""
        rated = float(self.configuration.get("rated_voltage", {"value": 460})["value"])
        mean = sum(self.volts) / 3
        wrong = {
            "a lock is on": bool(self.locks),
            "no power": not (self.alive and self.switch_on),
            "leads reversed": self.reversed,
            "a phase is missing": self.missing_phase,
            "voltage": not all(0.9 * rated <= v <= 1.1 * rated for v in self.volts),
            "unbalance": max(abs(v - mean) for v in self.volts) / mean > 0.02,
            "hertz": self.configuration["supply_source"] == "generator" and abs(self.hertz - 60) > 3,
            "ground": not self.ground,
            "hose": not all(all(p.values()) for p in self.hoses.values()),
            "flow": not 15 <= self.drop <= 60,
            "leak": self.leak or self.valves["fill"] == "open",
            "air": bool(self.air & {"high_point", *(["pump_casing"] if self.own_pump else [])}),
            "alarm": bool(self.alarms),
            "people": self.near_fans,
            "oil": self.warm_for() < timedelta(hours=1),
            "near freezing": min(self.entering, self.leaving) < self.freeze_point + 1.7,
            "plate": not self.plate_right,
            "level": not self.level,
        }
        return [name for name, bad in wrong.items() if bad]
