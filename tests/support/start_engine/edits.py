"""A plan that is edited while the work goes on: what was seen before counts no more for what the edit made easier or other.

Law: a changed pump, source, liquid or number of compressors, and any loosening, undo what rests on them. Here each rule is
named with what it looks at; a sighting that the rule looks at and that may be older than the edit speaks only against.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from .log import Log
from .sightings import instant

READS_OF_RULE = {
    "flow": {"flow_switch", "evaporator_pressure_drop", "flow"},
    "pressure": {"loop_pressure"},
    "air": {"purge"},
    "joints": {"leak_check"},
    "strainer": {"strainer", "strainer_pressure_drop"},
    "mixture": {"antifreeze_reading"},
    "water": {"water_temperature"},
    "set point": {"set_point"},
    "pump": {"pump_state"},
    "valves": {"valve_position"},
    "supply": {"supply", "isolator", "line_voltage", "phase_indicator", "ground"},
    "volts": {"line_voltage"},
    "rotation": {"phase_indicator"},
    "plate": {"plate_check"},
    "locks": {"lock_check"},
    "connecting": {
        "proved_dead",
        "line_connection",
        "earth_continuity",
        "insulation_test",
        "cable_route",
        "transfer_interlock",
    },
    "ground path": {"earth_continuity"},
    "insulation": {"insulation_test"},
    "heaters": {"oil_heater"},
    "items": {"machine_check"},
}
LOOP = ("flow", "pressure", "air", "joints", "strainer", "mixture", "water")
RULES_OF_FIELD = {
    "pump_mode": (*LOOP, "pump", "valves"),
    "fluid_kind": (*LOOP, "set point"),
    "supply_source": ("supply", "plate", "locks", "connecting"),
    "compressors": ("heaters", "items", "plate"),
    "site_pump_stops": ("pressure", "air", "joints"),
    "fill_pressure_minimum": ("pressure",),
    "fill_pressure_maximum": ("pressure",),
    "high_point_rise": ("pressure",),
    "suction_pressure_minimum": ("pressure",),
    "rated_pressure": ("pressure",),
    "evaporator_pressure_drop_minimum": ("flow",),
    "evaporator_pressure_drop_maximum": ("flow",),
    "flow_minimum": ("flow",),
    "voltage_unbalance_limit": ("volts",),
    "transfer_switch": ("rotation",),
    "ground_run_resistance": ("ground path",),
    "set_point_minimum_water": ("set point", "water"),
    "required_freeze_point": ("mixture", "set point"),
    "freeze_margin": ("mixture", "set point"),  # a set point lies so far above the mixture's freezing point
    "ambient_temperature": ("water",),  # the water is read where the air is cold, or not known
    "high_point_pressure_minimum": ("pressure",),
    "evaporator_reference_flow": ("flow",),  # the least flow is reckoned from these three where it is not given
    "evaporator_reference_pressure_drop": ("flow",),
    "rated_flow": ("flow",),
    "loop_turnover_time": ("air", "strainer", "mixture"),  # a first run is one turnover, a mixture is read after three
    "rated_voltage": ("volts", "plate", "insulation"),  # the test voltage of the insulation goes by it
    "rated_frequency": ("volts",),
    "circuits": ("items", "plate"),
    "pump_fitted": ("valves",),
    "source": ("supply", "plate", "locks", "connecting"),
    "loop": LOOP,
}
DURATIONS = {"warm_up_duration", "anti_recycle"}
Edits = tuple[tuple[int, frozenset[str]], ...]


def edits_of(changes: Sequence[Mapping[str, Any]]) -> Edits:
    """Instants with the fields that were edited."""
    return tuple((instant(change["at"]), frozenset(change["fields"])) for change in changes)


def last_edit(edits: Edits, *names: str) -> int | None:
    """When one of the fields was edited last."""
    return max((at for at, fields in edits if fields & set(names)), default=None)


def after_edits(log: Log, edits: Edits) -> Log:
    """The same log, of which nothing speaks for a start that rests on an edit and may be older."""

    def outdated(kind: str, lo: int) -> bool:
        return any(
            kind in READS_OF_RULE[rule] and lo <= at
            for at, fields in edits
            for field in fields
            for rule in RULES_OF_FIELD.get(field, ())
        )

    seen = tuple(replace(s, proves=False) if outdated(s.kind, s.lo) else s for s in log.seen)
    warm, rest = last_edit(edits, "warm_up_duration"), last_edit(edits, "anti_recycle")
    return replace(log, seen=seen, warm_from=warm, rest_from=rest)
