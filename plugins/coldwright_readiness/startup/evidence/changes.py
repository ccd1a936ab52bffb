"""A changed set-up undoes what rests on it: evidence counts only where it was surely made after the change.

What speaks against a start goes on doing so. The rule is ours, common practice, no source: whoever changes the pump, the
source, the liquid, the compressors or loosens a limit has the readings that are judged by it taken again.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import msgspec

from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.intake import Intake
from coldwright_readiness.startup.evidence.record import ALWAYS

_PLATE: Final = ("plate_check",)
_FLOW: Final = ("flow_switch", "evaporator_pressure_drop", "flow")
_LOOP: Final = (
    *_FLOW, "loop_pressure", "purge", "leak_check", "strainer", "strainer_pressure_drop", "antifreeze_reading",
    "water_temperature",
)  # fmt: skip
_SOURCE: Final = (
    "supply", "isolator", "line_voltage", "phase_indicator", "lock_check", "plate_check", "ground", "proved_dead",
    "line_connection", "earth_continuity", "insulation_test", "cable_route", "transfer_interlock",
)  # fmt: skip
RESTS_ON: Final[dict[str, tuple[str, ...]]] = {
    "supply_source": _SOURCE,
    "source": _SOURCE,
    "loop": _LOOP,
    "pump_mode": (*_LOOP, "pump_state", "valve_position"),
    "fluid_kind": (*_LOOP, "set_point"),
    "compressors": ("oil_heater", "machine_check", *_PLATE),
    "circuits": ("machine_check", *_PLATE),
    "rated_voltage": ("line_voltage", "insulation_test", *_PLATE),
    "rated_frequency": ("line_voltage",),
    "voltage_unbalance_limit": ("line_voltage",),
    "transfer_switch": ("phase_indicator",),
    "ground_run_resistance": ("earth_continuity",),
    "pump_fitted": ("valve_position",),
    "site_pump_stops": ("loop_pressure", "purge", "leak_check", "strainer"),
    "fill_pressure_minimum": ("loop_pressure",),
    "fill_pressure_maximum": ("loop_pressure",),
    "high_point_rise": ("loop_pressure",),
    "high_point_pressure_minimum": ("loop_pressure",),
    "suction_pressure_minimum": ("loop_pressure",),
    "rated_pressure": ("loop_pressure",),
    "evaporator_pressure_drop_minimum": _FLOW,
    "evaporator_pressure_drop_maximum": _FLOW,
    "flow_minimum": _FLOW,
    "evaporator_reference_flow": _FLOW,
    "evaporator_reference_pressure_drop": _FLOW,
    "rated_flow": _FLOW,
    "loop_turnover_time": ("purge", "strainer", "antifreeze_reading"),
    "ambient_temperature": ("water_temperature",),
    "set_point_minimum_water": ("set_point", "water_temperature"),
    "freeze_margin": ("set_point", "antifreeze_reading"),
    "required_freeze_point": ("antifreeze_reading",),
}
"""Field -> kinds of record that are judged by it, or that show something else where it is another."""
FIELDS: Final = tuple(sorted(f.encode_name for f in msgspec.structs.fields(Configuration)))


@dataclass(frozen=True)
class Change:
    """Fields that were made other or looser at an instant."""

    at: int
    fields: tuple[str, ...]


def latest_change(changes: Iterable[Change], until: int = ALWAYS) -> dict[str, int]:
    """Field -> the last instant at which it was changed, of changes not after `until`."""
    found: dict[str, int] = {}
    for change in changes:
        if change.at <= until:
            for name in change.fields:
                found[name] = max(change.at, found.get(name, -ALWAYS))
    return found


def after_changes(e: Evidence, changes: Iterable[Change], until: int = ALWAYS) -> Evidence:
    """The same evidence, of which nothing proves what rests on a field and is not surely after its change."""
    latest = latest_change(changes, until)
    if not latest:
        return e
    since: dict[str, int] = {}
    for name, at in latest.items():
        for kind in RESTS_ON.get(name, ()):
            since[kind] = max(at, since.get(kind, -ALWAYS))
    taken = _outdated(e.taken, since)
    warm, rest = latest.get("warm_up_duration", -ALWAYS), latest.get("anti_recycle", -ALWAYS)
    return Evidence(taken, e.limits, e.now, warm_from=max(warm, e.warm_from), rest_from=max(rest, e.rest_from))


def _outdated(taken: Intake, since: dict[str, int]) -> Intake:
    every = []
    by_kind = {kind: records for kind, records in taken.by_kind.items() if kind not in since}
    for r in taken.every:
        at = since.get(r.kind)
        if at is None:
            every.append(r)
            continue
        seen = r.unproved(outdated=True) if r.proves and r.earliest <= at else r
        every.append(seen)
        by_kind.setdefault(r.kind, []).append(seen)
    return replace(taken, every=every, by_kind=by_kind)
