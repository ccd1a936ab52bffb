"""What goes wrong on a site: how it is planted, how it shows, and which words in the advice put it right.

A trouble with `words` is cured only once it has shown in a record and the advice then names a cure; words are matched in
lower case. Where the advice never does, the walk ends in a loop or a dead end, and fails.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from .plant import Plant

Configuration = dict[str, Any]
Told = tuple[str, str, str, dict[str, Any]]  # kind, by, role, data


def _nothing(plant: Plant) -> list[Told]:
    return []


def _never_shows(kind: str, data: dict[str, Any]) -> bool:
    return False


def _always(configuration: Configuration) -> bool:
    return True


def own_pump(configuration: Configuration) -> bool:
    """The machine's pump moves the water."""
    return bool(configuration["pump_mode"] == "own_pump")


def pump_stops(configuration: Configuration) -> bool:
    """The pump in use can be stopped."""
    return bool(configuration.get("site_pump_stops", True))


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong: `before` the crew came, or right after the first record of a kind (`midway`)."""

    name: str
    before: Callable[[Plant], list[Told]] = _nothing
    midway: tuple[str, Callable[[Plant], list[Told]]] = ("", _nothing)
    shows: Callable[[str, dict[str, Any]], bool] = _never_shows
    words: tuple[str, ...] = ()
    cure: Callable[[Plant], object] = _nothing
    applies: Callable[[Configuration], bool] = _always


def _so(**values: Any) -> Callable[[Plant], list[Told]]:
    def put(plant: Plant) -> list[Told]:
        for name, value in values.items():
            setattr(plant, name, value)
        return []

    return put


def _adds(put: Callable[[Plant], object]) -> Callable[[Plant], list[Told]]:
    def quietly(plant: Plant) -> list[Told]:
        put(plant)
        return []

    return quietly


def _says(kind: str, **wanted: Any) -> Callable[[str, dict[str, Any]], bool]:
    return lambda k, data: k == kind and all(data.get(name) == value for name, value in wanted.items())


def _told(*records: Told) -> Callable[[Plant], list[Told]]:
    return lambda _plant: list(records)


def _volts_bad(kind: str, data: dict[str, Any]) -> bool:
    return kind == "line_voltage" and data["v_bc"]["value"] not in (0.0, 481.0, 471.0)


def _outage(plant: Plant) -> list[Told]:
    plant.source_closed = False
    plant.settle()
    plant.advance(60)
    plant.source_closed = True
    plant.settle()
    return [
        (
            "supply",
            "kim",
            "electrician",
            {"state": "interrupted", "duration": {"value": 60, "unit": "s"}, "cause": "outage"},
        )
    ]


def _hose(**points: bool) -> Callable[[Plant], list[Told]]:
    def put(plant: Plant) -> list[Told]:
        hose = plant.hoses["machine_inlet"]
        hose.update(dict.fromkeys(hose, True) | points)
        return []

    return put


def _lock_of_site(plant: Plant) -> list[Told]:
    plant.locks["L5"] = "ash"
    return [("lock", "ash", "site", {"lock_id": "L5", "state": "applied"})]


def _gone_home(plant: Plant) -> list[Told]:
    plant.gone_home.add("ash")
    return _lock_of_site(plant)


def _alarm(plant: Plant) -> list[Told]:
    plant.alarms["A7"] = True
    return [("alarm", "lee", "technician", {"code": "A7", "state": "active"})]


def _strainer_opened(plant: Plant) -> list[Told]:
    plant.pumps[plant.pump] = "off"
    plant.pressure, plant.air = 0.0, {"high_point", "pump_casing"}
    return [
        ("pump_state", "lee", "technician", {"pump": plant.pump, "state": "off"}),
        ("loop_opened", "lee", "technician", {"where": "strainer"}),
    ]


def _pump_stopped(plant: Plant) -> list[Told]:
    plant.pumps[plant.pump] = "off"
    return [("pump_state", "lee", "technician", {"pump": plant.pump, "state": "off"})]


def _diluted(plant: Plant) -> list[Told]:
    plant.freeze_point = -1.0
    return []


def _running(plant: Plant) -> list[Told]:
    plant.compressors["1"] = True
    return [("compressor", "lee", "technician", {"id": "1", "state": "on"})]


LEE = ("lee", "technician")
TROUBLES: tuple[Trouble, ...] = (
    Trouble("none"),
    Trouble("rotation reversed", _so(reversed=True)),
    Trouble(
        "breaker trips when closed",
        _so(fault_in_leads=True),
        shows=_says("supply", cause="trip"),
        words=("fault", "cause"),
        cure=_so(fault_in_leads=False),
    ),
    Trouble(
        "pump trips at its start",
        _so(pump_overload=True),
        shows=_says("pump_state", state="tripped"),
        words=("cause", "overload"),
        cure=_so(pump_overload=False),
        applies=pump_stops,
    ),
    Trouble(
        "a phase is missing",
        _so(missing_phase=True),
        shows=lambda kind, data: kind == "line_voltage" and data["v_bc"]["value"] == 210.0,
        words=("fuse", "phase", "line"),
        cure=_so(missing_phase=False),
    ),
    Trouble(
        "voltage too low",
        _so(volts=(402.0, 400.0, 401.0)),
        shows=_volts_bad,
        words=("voltage", "supply", "source"),
        cure=_so(volts=(470.0, 471.0, 470.0)),
    ),
    Trouble(
        "voltage unbalanced",
        _so(volts=(478.0, 455.0, 440.0)),
        shows=_volts_bad,
        words=("unbalance", "balance"),
        cure=_so(volts=(470.0, 471.0, 470.0)),
    ),
    Trouble(
        "generator off speed",
        _so(hertz=56.0),
        shows=lambda kind, data: kind == "line_voltage" and data.get("frequency", {}).get("value") == 56.0,
        words=("hertz", "speed", "frequency", "governor"),
        cure=_so(hertz=60.0),
        applies=lambda configuration: configuration["supply_source"] == "generator",
    ),
    Trouble("supply lost in between", midway=("leak_check", _outage)),
    Trouble("somebody else's lock", _lock_of_site),
    Trouble(
        "lock of one who went home",
        _gone_home,
    ),
    Trouble(
        "lock pulled by another",
        _told(
            ("lock", "ash", "site", {"lock_id": "L5", "state": "applied"}),
            ("lock", *LEE, {"lock_id": "L5", "state": "removed"}),
        ),
    ),
    Trouble(
        "an alarm shows",
        _alarm,
        shows=_says("alarm", state="active"),
        words=("cause", "cure"),
        cure=lambda plant: plant.alarms.update(A7=False),
    ),
    Trouble(
        "three resets of one alarm",
        _told(*(("alarm", *LEE, {"code": "A7", "state": state}) for state in ("active", "cleared") * 3)),
    ),
    Trouble("a cold start on record", _told(("compressor", *LEE, {"id": "1", "state": "on"}))),
    Trouble("reversed with a compressor on", lambda plant: [*_so(reversed=True)(plant), *_running(plant)]),
    Trouble(
        "somebody near the fans",
        _so(near_fans=True),
        shows=_says("area_clear", clear=False),
        words=("clear", "people", "away", "fans"),
        cure=_so(near_fans=False),
    ),
    Trouble(
        "a dead heater",
        _adds(lambda plant: plant.dead_heaters.update({"1"})),
        shows=_says("oil_heater", working=False),
        words=("heater",),
        cure=lambda plant: plant.dead_heaters.clear(),
        applies=lambda configuration: bool(configuration.get("oil_heaters", True)),
    ),
    Trouble(
        "a lever not locked",
        _hose(lever_locked=False),
        shows=_says("hose_connection", lever_locked=False),
        words=("lever",),
        cure=_hose(lever_locked=True),
    ),
    Trouble(
        "a gasket not seen",
        _hose(gasket_seen=False),
        shows=_says("hose_connection", gasket_seen=False),
        words=("gasket",),
        cure=_hose(gasket_seen=True),
    ),
    Trouble(
        "a leak",
        _so(leak=True),
        shows=lambda kind, data: kind == "leak_check" and data["result"] != "dry",
        words=("leak", "tighten", "seal", "gasket"),
        cure=_so(leak=False),
    ),
    Trouble("the vent spits", _so(stubborn_air=3)),
    Trouble(
        "debris in the strainer",
        _so(debris=0.5),
        shows=_says("flow_switch", state="not_made"),
        words=("strainer",),
        cure=_so(dirt=0.0),
        applies=pump_stops,
    ),
    Trouble("fill valve open during the fill", _adds(lambda plant: plant.valves.update(fill="open"))),
    Trouble("bypass open", _adds(lambda plant: plant.valves.update(pump_bypass="open")), applies=own_pump),
    Trouble(
        "flow switch frozen",
        _so(switch_stuck=True),
        shows=lambda kind, data: kind == "flow_switch" and data["state"] == "made",
        words=("switch",),
        cure=_so(switch_stuck=False),
        applies=pump_stops,
    ),
    Trouble(
        "flow on record before a pump that cannot stop",
        _told(("flow_switch", *LEE, {"state": "made"})),
        applies=lambda configuration: not pump_stops(configuration),
    ),
    Trouble(
        "water near freezing",
        _so(entering=1.5),
        shows=lambda kind, data: kind == "water_temperature" and data["entering"]["value"] < 2,
        words=("load", "circulate", "warm"),
        cure=_so(entering=12.0),
        applies=lambda configuration: (
            configuration["fluid_kind"] == "water" and "ambient_temperature" not in configuration
        ),
    ),
    Trouble(
        "mixture too weak",
        midway=("fill", _diluted),
        shows=_says("antifreeze_reading"),
        words=("antifreeze", "stronger", "charge", "mixture"),
        cure=_so(freeze_point=-24.0),
        applies=lambda configuration: configuration["fluid_kind"] != "water",
    ),
    Trouble("strainer opened in between", midway=("leak_check", _strainer_opened), applies=pump_stops),
    Trouble("pump stopped in between", midway=("strainer", _pump_stopped), applies=pump_stops),
    Trouble(
        "breaker too large",
        _so(plate_right=False),
        shows=lambda kind, data: kind == "plate_check" and data["breaker_rating"]["value"] == 600,
        words=("breaker",),
        cure=_so(plate_right=True),
    ),
    Trouble(
        "machine not level",
        _so(level=False),
        shows=_says("unit_level", ok=False),
        words=("level",),
        cure=_so(level=True),
    ),
)
