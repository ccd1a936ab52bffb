"""A plan that is edited while the work goes on. An edit is an event like any other: it undoes each fact that rests on the field.

Law: a changed pump, source, liquid or number of compressors, and any loosening, undo what rests on them. A fact rests on the
fields that its rule names; `FIELDS_OF_RULE` is read off the rules line by line. What a rule takes from another one (a leak
check needs a pressure in the band, a strainer needs a first run) it loses with the other one, and is not named again.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from .log import EDIT, Log
from .sightings import Sighting, instant

SOURCE = {"supply_source", "source"}
"""Another source is another plate at the breaker, other leads and locks, another order of the phases."""
CONTENT = {"pump_mode", "fluid_kind", "loop"}
"""Another pump, liquid or loop: whatever was read of the content was read of another one."""
MACHINE = {"compressors", "circuits"}
"""Another number of them is another machine, with another plate and other things to look at."""
BAND = {"fill_pressure_minimum", "fill_pressure_maximum", "high_point_rise", "high_point_pressure_minimum"}
DROP = {"evaporator_pressure_drop_minimum", "evaporator_pressure_drop_maximum"}
LEAST_FLOW = {"flow_minimum", "rated_flow", "evaporator_reference_flow", "evaporator_reference_pressure_drop"}
FIELDS_OF_RULE: dict[str, set[str]] = {
    "R01": SOURCE,
    "R02": SOURCE | MACHINE | {"rated_voltage"},
    "R04": SOURCE,
    "R05": SOURCE,
    "R06": SOURCE | {"rated_voltage", "rated_frequency", "voltage_unbalance_limit"},
    "R07": SOURCE | {"transfer_switch"},
    "R09": {"pump_mode", "pump_fitted"},
    "R10": CONTENT | BAND | {"suction_pressure_minimum", "rated_pressure", "site_pump_stops"},
    "R11": CONTENT | {"site_pump_stops"},
    "R12": CONTENT | {"site_pump_stops"},
    "R13": CONTENT | {"required_freeze_point", "loop_turnover_time"},
    "R14": {"pump_mode", "loop"},
    "R15": CONTENT | DROP | LEAST_FLOW,
    "R16": CONTENT,
    "R17": {"fluid_kind", "set_point_minimum_water", "freeze_margin"},
    "R20": {"warm_up_duration"},
    "R21": SOURCE,
    "R22": SOURCE,
    "R23": SOURCE,
    "R24": SOURCE | {"ground_run_resistance"},
    "R25": SOURCE | {"rated_voltage"},
    "R26": SOURCE,
    "R27": SOURCE,
    "R29": {"compressors"},
    "R30": MACHINE,
    "water": CONTENT | {"set_point_minimum_water", "ambient_temperature"},
    "first_run": {"loop_turnover_time"},
    "anti_recycle": {"anti_recycle"},
}
EDITABLE = sorted(set().union(*FIELDS_OF_RULE.values()))


def edits_of(changes: Sequence[Mapping[str, Any]]) -> Iterator[Sighting]:
    """Each edit as an event of a known instant, with the rules that it touches."""
    for number, change in enumerate(changes):
        at, fields = instant(change["at"]), set(change["fields"])
        rules = frozenset(rule for rule, named in FIELDS_OF_RULE.items() if named & fields)
        yield Sighting(id=f"edit {number}", kind=EDIT, data={"rules": rules}, lo=at, hi=at)


def with_edits(log: Log, edits: Sequence[Sighting], until: int | None = None) -> Log:
    """The log with these edits in it, or those of them that came before an instant."""
    return replace(log, seen=(*log.seen, *(e for e in edits if until is None or e.lo <= until)))
