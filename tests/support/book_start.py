"""A start by the book, for the tests of the service: the base set of the published checks with what the rules ask beside.

All of it is invented.
"""

from typing import Any

from startup_histories import base, q, seen

Observation = dict[str, Any]
READY_AT = "2026-05-04T09:06:00Z"


def by_the_book(person: str = "Ann Hill") -> list[Observation]:
    """Ready at 09:06, every record by one person."""
    first_run = ("pump_state", "flow_switch", "evaporator_pressure_drop")
    kept = [o for o in base() if not (o["at"].endswith("T09:00:00Z") and o["kind"] in first_run)]
    kept += [
        seen("oil_heater", "08:50", "heater", compressor="1", working=True),
        seen("flow_switch", "08:52:30", "first-switch", state="made"),
        seen("evaporator_pressure_drop", "08:52:30", "first-drop", value=q(35, "kPa")),
        seen("pump_state", "08:58", "pump-off", pump="machine", state="off"),
        seen("flow_switch", "08:58:30", "switch-open", state="not_made"),
        seen("purge", "08:58:40", "second-casing", point="pump_casing", result="steady_water", pump="off"),
        seen("purge", "08:58:40", "second-top", point="high_point", result="steady_water", pump="off"),
        seen("loop_pressure", "08:59", "second-pressure", pump="off", value=q(45, "psi")),
        seen("pump_state", "09:02", "pump-on", pump="machine", state="on"),
        seen("flow_switch", "09:03", "switch", state="made"),
        seen("evaporator_pressure_drop", "09:03", "drop", value=q(35, "kPa")),
        seen("water_temperature", "09:03", "water", leaving=q(54, "degF"), entering=q(54, "degF")),
        seen("lock_check", "09:01", "locks", none_seen=True),
        seen("alarm_check", "09:01", "alarms", none_shown=True),
    ]
    return [o | {"by": person} if person else o for o in kept]


def running(person: str = "Ann Hill") -> list[Observation]:
    """The same with the compressor on at 09:06."""
    on = seen("compressor", "09:06", "compressor-on", id="1", state="on")
    return [*by_the_book(person), on | {"by": person} if person else on]
