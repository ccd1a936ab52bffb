"""A part of a start done over again and again, mostly rightly, while the rest goes by the book: for what one random event misses.

Runs of the pump with and without readings; supply, switch and heaters on and off; locks, proofs and leads; filling and draining;
a machine that runs. Every record is known exactly unless it says otherwise. Seeded; all invented.
"""

import copy
import random
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from quantity import q
from start_engine.book import DAY, HOSE, ORDER, Configuration, Record, by_the_book, configurations, seen

CONFIGURATIONS = [configuration for _, configuration in configurations()]
LOOKED_AT_LAST = ("water_temperature", "area_clear", "alarm_check", "lock_check", "set_point")
GOOD_VOLTS: dict[str, Any] = {"v_ab": q(478, "V"), "v_bc": q(481, "V"), "v_ca": q(476, "V")}
EXACT = ("flow_switch", "evaporator_pressure_drop", "loop_pressure")
"""Their times are always known: two readings of which one is less sure are judged by other tests."""
OF_THE_LOOP = ("pump_state", *EXACT, "strainer", "purge", "leak_check", "antifreeze_reading")


class Story:
    """A start in the making: the clock goes on, and records are put down."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(f"story {seed}")
        self.configuration: Configuration = self.rng.choice(CONFIGURATIONS)
        self.clock = datetime.fromisoformat(f"{DAY}08:46:00+00:00")
        self.records: list[Record] = []
        self.often = self.rng.choice([0.6, 0.85, 0.95])
        self.own = self.configuration["pump_mode"] == "own_pump"
        self.pump = "machine" if self.own else "site"
        self.stops: bool = self.configuration.get("site_pump_stops", True)
        self.generator = self.configuration["supply_source"] == "generator"

    def but(self, *kinds: str) -> None:
        """By the book, without these."""
        book = copy.deepcopy(by_the_book(self.configuration))
        self.records += [r for r in book if r["kind"] not in kinds]

    def maybe(self, share: float | None = None) -> bool:
        return self.rng.random() < (self.often if share is None else share)

    def later(self, *seconds: float) -> None:
        self.clock += timedelta(seconds=self.rng.choice(seconds))

    def put(self, kind: str, by: str = "lee", role: str = "", **data: Any) -> None:
        record = seen(kind, self.clock.strftime("%H:%M:%S"), by, role, **data) | {"id": f"y{len(self.records)}"}
        if kind not in EXACT and self.maybe(0.03):
            record["time_uncertainty"] = q(self.rng.choice([5, 60, 300]), "s")
        self.records.append(record)

    # --- what is done -------------------------------------------------------------------------------------------------

    def vent(self) -> None:
        for point in ("pump_casing", "high_point") if self.own else ("high_point",):
            if self.maybe():
                self.put("purge", point=point, result="steady_water", pump="off" if self.stops else "on")

    def read_pressure(self) -> None:
        if self.stops:
            self.put("loop_pressure", pump="off", value=q(45, "psi"))
        else:
            self.put("loop_pressure", pump="on", gauge="suction", value=q(45, "psi"))

    def read_flow(self) -> None:
        if self.maybe():
            self.put("flow_switch", state="made")
        if self.maybe():
            self.put("evaporator_pressure_drop", value=q(35, "kPa"))

    def spoil_flow(self) -> None:
        if self.maybe(0.15):
            self.put("flow_switch", state="not_made")
        if self.maybe(0.15):
            self.put("evaporator_pressure_drop", value=q(1, "kPa"))
        if self.maybe(0.1):
            self.put("flow", value=q(self.rng.choice([0, 20]), "L/s"))
        if self.maybe(0.1):
            self.put("control_switch", state="off")
            self.later(1, 20)
            self.put("control_switch", state="on")
        if self.maybe(0.1):
            valve = self.rng.choice(["return", "supply"])
            self.put("valve_position", valve=valve, position="partial")
            self.later(5)
            self.put("valve_position", valve=valve, position="open")

    def read_power(self) -> None:
        if self.maybe():
            hertz: dict[str, Any] = {"frequency": q(60, "Hz")} if self.generator else {}
            self.put("line_voltage", **GOOD_VOLTS, **hertz)
        if self.maybe():
            self.put("phase_indicator", rotation="correct")

    def feel_heaters(self) -> None:
        for number in range(self.configuration.get("compressors", 1)):
            if self.maybe():
                self.put("oil_heater", compressor=str(number + 1), working=True)

    def prove_the_run(self) -> None:
        self.put("pump_state", pump=self.pump, state="on")
        self.later(20)
        self.put("flow_switch", state="made")
        self.put("evaporator_pressure_drop", value=q(35, "kPa"))
        self.later(5)

    def look_at_last(self) -> None:
        self.put("water_temperature", entering=q(54, "degF"), leaving=q(54, "degF"))
        self.put("area_clear", clear=True)
        self.put("alarm_check", none_shown=True)
        self.put("lock_check", none_seen=True)
        self.put("set_point", value=q(44, "degF"))
        if self.configuration["fluid_kind"] != "water":
            self.later(190)
            self.put("antifreeze_reading", freeze_point=q(-24, "degC"))
        self.later(10, 30)

    def request(self) -> dict[str, Any]:
        asked = max(self.clock, datetime.fromisoformat(f"{DAY}09:06:00+00:00"))
        self.rng.shuffle(self.records)
        return {
            "configuration": self.configuration,
            "evaluated_at": asked.isoformat().replace("+00:00", "Z"),
            "observations": self.records,
        }


def runs(story: Story) -> None:
    """The pump is run several times; flow is read, the strainer blown down, air let out, or not."""
    story.but(*OF_THE_LOOP, *LOOKED_AT_LAST)
    if story.maybe(0.9):
        story.put("valve_position", valve="fill", position="closed")
    story.later(10)
    if story.stops:
        story.vent()
        story.later(20)
        story.read_pressure()
    for _ in range(story.rng.choice([1, 2, 2, 3, 4])):
        _one_run(story)
    if story.maybe(0.9):
        story.later(30)
        story.prove_the_run()
        if story.maybe(0.25):
            story.later(310)
            story.put("strainer", blown_down=True)
            story.read_flow()
    if story.maybe(0.9):
        story.put("leak_check", result="dry")
    story.look_at_last()


def _one_run(story: Story) -> None:
    story.later(20, 60, 130)
    if story.maybe(0.95):
        story.put("pump_state", pump=story.pump, state="on")
    for _ in range(story.rng.choice([1, 1, 2])):
        story.later(0, 30, 60, 200)
        story.read_flow()
    story.spoil_flow()
    story.later(60, 200, 290, 301, 310, 620)
    if story.maybe(0.5):
        story.put("strainer", blown_down=True)
    if not story.stops and story.maybe(0.5):
        story.vent()
    story.later(0, 10, 30)
    if story.maybe(0.7):
        story.put("pump_state", pump=story.pump, state="off")
    if story.stops and story.maybe(0.7):
        story.later(1, 20)
        story.vent()
        story.read_pressure()
    if story.maybe(0.05):
        story.put("fill", medium="mixed", purpose=story.rng.choice(["top_up", "first_fill"]))
    if story.maybe(0.3):
        story.put("leak_check", result="dry")


def _gap(story: Story) -> None:
    length, cause = story.rng.choice([0, 20, 300]), story.rng.choice(["storm", "outage"])
    story.put("supply", state="interrupted", duration=q(length, "s"), cause=cause)


def _off_and_on(kind: str, off: str, on: str) -> Callable[[Story], None]:
    def happens(story: Story) -> None:
        cause = {"cause": story.rng.choice(["storm", "switched"])} if kind == "supply" else {}
        story.put(kind, state=off, **cause)
        story.later(1, 60)
        if story.maybe():
            story.put(kind, state=on)
        if kind == "isolator" and story.maybe():
            story.put("supply", state="on")

    return happens


def _cold(story: Story) -> None:
    story.put("oil_heater", compressor="1", working=False)
    story.later(60, 600)
    if story.maybe():
        story.put("oil_heater", compressor="1", working=True)


def _phase(story: Story) -> None:
    story.put("phase_indicator", rotation=story.rng.choice(["missing_phase", "no_indication"]))


def _dead(story: Story) -> None:
    story.put("line_voltage", v_ab=q(0, "V"), v_bc=q(0, "V"), v_ca=q(0, "V"))


OF_POWER: tuple[Callable[[Story], None], ...] = (
    _gap,
    _off_and_on("supply", "off", "on"),
    _off_and_on("isolator", "open", "closed"),
    _off_and_on("control_switch", "off", "on"),
    _cold,
    _phase,
    _dead,
    Story.read_power,
    Story.read_power,
    Story.feel_heaters,
)


def power(story: Story) -> None:
    """Supply, isolator, switch, volts and heaters, on and off; then an hour passes, or nearly."""
    story.but(
        "supply", "line_voltage", "phase_indicator", "control_switch", "oil_heater", *OF_THE_LOOP, *LOOKED_AT_LAST
    )  # fmt: skip
    story.clock -= timedelta(minutes=46)
    story.put("supply", state="on")
    story.later(60)
    story.put("control_switch", state="on")
    for _ in range(story.rng.choice([1, 2, 3, 5])):
        story.later(1, 30, 240)
        story.rng.choice(OF_POWER)(story)
    story.later(1, 60)
    if story.maybe():
        story.put("supply", state="on")
    if story.maybe():
        story.put("control_switch", state="on")
    story.read_power()
    story.later(60, 3000, 3540, 3600)
    if story.maybe():
        story.feel_heaters()
    story.read_power()
    _loop_by_the_book(story)
    story.look_at_last()


def _loop_by_the_book(story: Story) -> None:
    """Vented, pressed, run for 6 min, blown down, vented, run again."""
    story.vent()
    story.later(20)
    story.read_pressure()
    story.put("leak_check", result="dry")
    story.later(30)
    story.prove_the_run()
    if not story.stops:
        story.put("purge", point="high_point", result="steady_water", pump="on")
        story.later(300)
    story.later(330)
    story.put("strainer", blown_down=True)
    story.later(10)
    if story.stops:
        story.put("pump_state", pump=story.pump, state="off")
        story.later(20)
        for point in ("pump_casing", "high_point") if story.own else ("high_point",):
            story.put("purge", point=point, result="steady_water", pump="off")
        story.read_pressure()
    else:
        story.later(20)
        story.put("purge", point="high_point", result="steady_water", pump="on")
    story.later(30)
    story.prove_the_run()
    story.put("leak_check", result="dry")


def lines(story: Story) -> None:
    """Locks, proofs, leads put on, taken off and swapped, before the supply is on and after."""
    story.but("lock", "proved_dead", "line_connection", "supply", "line_voltage", "phase_indicator", "control_switch",
              "oil_heater", *OF_THE_LOOP, *LOOKED_AT_LAST)  # fmt: skip
    story.clock -= timedelta(minutes=29)
    for _ in range(story.rng.choice([1, 1, 2, 3])):
        _work_at_the_leads(story)
        story.put("supply", state="on")
        story.later(20)
        story.read_power()
    story.put("control_switch", state="on")
    story.later(3000, 3600, 3700)
    story.feel_heaters()
    story.read_power()
    _loop_by_the_book(story)
    story.look_at_last()


def _work_at_the_leads(story: Story) -> None:
    line: dict[str, Any] = {"state": "connected", "order": ORDER, "fully_mated": True, "covers_on": True}
    proof: dict[str, Any] = dict.fromkeys(("dead", "tester_proved_before", "tester_proved_after"), True)
    tag: dict[str, Any] = {"tagged": story.maybe(0.9)} if story.maybe(0.3) else {}
    owner = story.rng.choice(["lee", "kim"])
    if story.maybe(0.8):
        story.put("supply", state="off", cause="switched")
    story.later(1, 30)
    if story.maybe():
        story.put("lock", owner, lock_id="L1", state="applied", **tag)
    story.later(1, 30)
    if story.maybe():
        story.put("proved_dead", role="electrician", **proof | {"dead": story.maybe(0.95)})
    story.later(1, 30)
    if story.maybe(0.1):
        story.put("supply", state="on")
    for end in ("source", "machine"):
        if story.maybe():
            story.put("line_connection", role="electrician", end=end, **line)
    if story.maybe(0.15):
        story.put("leads_swapped", where=story.rng.choice(["source", "machine"]))
    story.later(1, 30)
    if story.maybe():
        story.put("earth_continuity", role="electrician", resistance=q(0.3, "ohm"))
    story.put("ground", connected=True)
    if story.maybe():
        story.put("lock", owner if story.maybe(0.9) else "ash", lock_id="L1", state="removed")
    story.later(1, 30)
    if story.maybe():
        story.put("lock_check", none_seen=True)


def _opened(story: Story) -> None:
    where = story.rng.choice(["strainer", "hose at machine_inlet"])
    story.put(story.rng.choice(["loop_opened", "drain"]), where=where)


def _low(story: Story) -> None:
    if story.stops:
        story.put("loop_pressure", pump="off", value=q(14, "psi"))


def _more_liquid(story: Story) -> None:
    if story.maybe(0.3):
        story.put("antifreeze_charge", mass_fraction=0.4)
    else:
        medium, purpose = story.rng.choice(["water", "mixed"]), story.rng.choice(["top_up", "repressurise"])
        story.put("fill", medium=medium, purpose=purpose)


def _a_valve(story: Story) -> None:
    for position in ("open", "closed") if story.maybe() else ("open",):
        story.put("valve_position", valve=story.rng.choice(["fill", "drain"]), position=position)
        story.later(1, 10)


def _a_hose(story: Story) -> None:
    story.put("hose_connection", end="machine_inlet", **HOSE | {"lever_locked": False})
    story.later(1, 10)
    if story.maybe():
        story.put("hose_connection", end="machine_inlet", **HOSE)


def _wet(story: Story) -> None:
    story.put("leak_check", result="weep")


OF_THE_FILLING: tuple[Callable[[Story], None], ...] = (
    _opened,
    _opened,
    _low,
    _more_liquid,
    _more_liquid,
    _a_valve,
    _a_hose,
    _wet,
)


def filling(story: Story) -> None:
    """Filled, opened, drained, topped up; hoses and valves looked at again, or not."""
    story.but("fill", "antifreeze_charge", *OF_THE_LOOP, *LOOKED_AT_LAST)
    story.clock -= timedelta(minutes=15)
    story.put("fill", medium="water", purpose="first_fill")
    if story.configuration["fluid_kind"] != "water":
        story.put("antifreeze_charge", mass_fraction=0.4)
    story.put("valve_position", valve="fill", position="closed")
    for _ in range(story.rng.choice([1, 1, 2, 3])):
        _loop_by_the_book(story)
        story.later(1, 60)
        if story.maybe(0.9):
            story.rng.choice(OF_THE_FILLING)(story)
        if story.maybe(0.3):
            story.read_pressure()
        if story.maybe(0.3):
            story.put("leak_check", result="dry")
    if story.maybe(0.6):
        _loop_by_the_book(story)
    else:
        story.prove_the_run()
    story.look_at_last()


def _reading(kind: str, *values: dict[str, Any]) -> Callable[[Story], None]:
    def happens(story: Story) -> None:
        good, bad = values[0], values[1:]
        story.put(kind, **(good if story.maybe(0.6) else story.rng.choice(bad)))

    return happens


def _volts(*three: float) -> dict[str, Any]:
    return {name: q(v, "V") for name, v in zip(("v_ab", "v_bc", "v_ca"), three, strict=True)}


def _off_or_on(story: Story) -> None:
    story.put("compressor", id="1", state=story.rng.choice(["off", "off", "on"]))
    story.later(1, 5, 30)
    if story.maybe(0.6):
        story.put("unit_stop", state=story.rng.choice(["stopped", "stopped", "stopped", "enabled"]))


def _lock_on_and_off(story: Story) -> None:
    story.put("lock", lock_id="L9", state="applied")
    story.later(5, 60)
    if story.maybe(0.7):
        story.put("lock", lock_id="L9", state="removed")


WHILE_IT_RUNS: tuple[Callable[[Story], None], ...] = (
    _reading("flow_switch", {"state": "made"}, {"state": "not_made"}),
    _reading("evaporator_pressure_drop", *({"value": q(kpa, "kPa")} for kpa in (35, 13, 1, 70))),
    _reading("flow_switch", {"state": "made"}, {"state": "not_made"}),
    _reading("evaporator_pressure_drop", *({"value": q(kpa, "kPa")} for kpa in (35, 13, 1, 70))),
    _reading("line_voltage", _volts(470, 470, 470), _volts(405, 405, 405), _volts(380, 380, 380), _volts(478, 450, 440)),
    _reading("line_voltage", _volts(470, 470, 470), _volts(405, 405, 405)),
    _reading("water_temperature", *({"leaving": q(f, "degF"), "entering": q(f + 8, "degF")} for f in (44, 36, 34))),
    _reading("area_clear", {"clear": True}, {"clear": False, "where": "fans"}, {"clear": False}),
    _reading("alarm", {"code": "A", "state": "cleared"}, {"code": "A", "state": "active"},
             {"code": "A", "state": "active", "warning": True}),
    _reading("phase_indicator", {"rotation": "correct"}, {"rotation": "no_indication"}, {"rotation": "reversed"}),
    _reading("supply", {"state": "on"}, {"state": "off"}, {"state": "interrupted", "duration": q(5, "s")}),
    _reading("leak_check", {"result": "dry"}, {"result": "weep"}),
    _reading("valve_position", {"valve": "return", "position": "open"}, {"valve": "return", "position": "partial"}),
    _off_or_on,
    _off_or_on,
    _lock_on_and_off,
)  # fmt: skip


def running(story: Story) -> None:
    """Started by the book; then what is read, what happens, and who stops it."""
    story.but()
    story.clock = datetime.fromisoformat(f"{DAY}09:06:00+00:00")
    story.put("compressor", id="1", state="on")
    for _ in range(story.rng.choice([1, 2, 3, 5, 8])):
        story.later(1, 20, 59, 60, 61, 120, 299, 301)
        story.rng.choice(WHILE_IT_RUNS)(story)
        if story.maybe(0.5):
            story.later(1, 30, 60, 61)
            story.put("pump_state", pump=story.pump, state="on" if story.maybe(0.8) else "tripped")
    story.later(0, 1, 30, 200, 301)


PARTS: dict[str, Callable[[Story], None]] = {
    "runs": runs,
    "power": power,
    "lines": lines,
    "filling": filling,
    "running": running,
}


def story_of(part: str, seed: int) -> dict[str, Any]:
    """A request of `readiness.startup`."""
    story = Story(seed)
    PARTS[part](story)
    return story.request()
