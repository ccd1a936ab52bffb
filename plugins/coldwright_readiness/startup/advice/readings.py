"""What is read again at a machine that runs: a word for it, and the records to make of it."""

from typing import Any, Final

from coldwright_readiness.startup.advice.action import Template, seen
from coldwright_readiness.startup.evidence.evidence import Evidence

READ_NOW: Final[dict[str, tuple[str, tuple[tuple[str, dict[str, Any]], ...]]]] = {
    "R15": ("flow", (("flow_switch", {"state": "made"}), ("evaporator_pressure_drop", {}))),
    "R14": ("pump", (("pump_state", {"state": "on"}),)),
    "R31": ("water", (("water_temperature", {}),)),
    "R18": ("alarms", (("alarm_check", {"none_shown": True}),)),
    "R06": ("voltage", (("line_voltage", {}),)),
    "R07": ("rotation", (("phase_indicator", {"rotation": "correct"}),)),
    "R05": ("supply", (("supply", {"state": "on"}),)),
    "R13": ("freezing point", (("antifreeze_reading", {}),)),
    "R09": ("valves", ()),
    "R08": ("hoses", ()),
    "R04": ("ground", (("ground", {"connected": True}),)),
    "R01": ("locks", (("lock_check", {"none_seen": True}),)),
    "R19": ("people", (("area_clear", {"clear": True}),)),
}
"""By rule, what harms a running machine soonest first; what is asked of hoses and valves depends on which is open. The
filling pressure is none of them: it is read with the pump off. Common practice, no source."""


def readings_of(e: Evidence, rule: str) -> tuple[Template, ...]:
    """Records that say how it is now."""
    made = (seen(kind, **data) for kind, data in READ_NOW[rule][1])
    return tuple(
        Template(t.kind, {"pump": e.limits.pump_in_use, **t.data}) if t.kind == "pump_state" else t for t in made
    )


def seen_instead(kind: str, **data: Any) -> Template:
    """The record to make where the one before it cannot be made."""
    return Template(kind, data, otherwise=True)


def spoken(names: tuple[str, ...]) -> str:
    """`pump`, `pump and flow`, `pump, flow and alarms`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
