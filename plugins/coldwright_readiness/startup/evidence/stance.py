"""Which observations may speak against a start: only their author, or somebody responsible, takes those back.

By definition a record is adverse if some set establishes a fact and no longer does with this record as its latest. What
follows is never narrower than that (a property test holds it): a correction by another hand must not make an answer milder.
"""

from collections.abc import Callable
from typing import Any, Final

from msgspec import UNSET

from coldwright_basis.compare import at_least
from coldwright_readiness.startup.limits import Limits
from coldwright_readiness.startup.words import word

EVENTS: Final = frozenset(
    {"antifreeze_charge", "drain", "fill", "leads_swapped", "line_connection", "loop_opened", "moved"}
)
"""What happened once: taken back by its author within ten minutes, later only by somebody responsible."""
_ALWAYS: Final = EVENTS | frozenset(
    {
        "antifreeze_reading", "compressor", "evaporator_pressure_drop", "flow_switch", "line_voltage", "lock",
        "loop_pressure", "phase_indicator", "plate_check", "purge", "supply", "water_temperature",
        "strainer_pressure_drop",
    }
)  # fmt: skip
"""Kinds of which even a good reading can raise a suspicion, undo a proof or end a spell."""

_NEVER: Final = frozenset({"closed", "settled", "withdrawn"})
"""Kinds whose removal can only make an answer more severe."""


def hose_good(d: Any) -> bool:
    """All five points of a coupling."""
    return bool(d.connected and d.lever_locked and d.gasket_seen and d.direction_ok and d.strain_free)


def proof_good(d: Any) -> bool:
    """Dead, with the tester tried before and after, and a try-start if one was made."""
    return bool(d.dead and d.tester_proved_before and d.tester_proved_after and d.tried is not False)


def route_good(d: Any) -> bool:
    """All four points of a cable's route."""
    return bool(d.ramps_fitted and d.off_water and d.strain_relieved and d.surplus_uncoiled)


def compressor_on(d: Any) -> bool:
    """Recorded as on, or with current at it whatever was recorded."""
    return not compressor_off(d)


def compressor_off(d: Any) -> bool:
    """Recorded as off, and no current at it."""
    return bool(d.state == "off" and (d.current is UNSET or d.current.si <= 0))


def set_point_good_for_water(d: Any, limits: Limits) -> bool:
    """Not below the least set point of plain water."""
    lowest = limits.configuration.set_point_minimum_water.si
    return at_least(d.value.si, lowest)


def _valve_may(d: Any, limits: Limits) -> bool:
    """Out of its place, or a valve whose move undoes a proof of flow."""
    name = word(d.valve)
    return name in limits.flow_valves or name == "other" or limits.valves.get(name, d.position) != d.position


_AGAINST: Final[dict[str, Callable[[Any, Limits], bool]]] = {
    "control_switch": lambda d, _: d.state == "off",
    "isolator": lambda d, _: d.state == "open",
    "lock_check": lambda d, _: not d.none_seen,
    "alarm_check": lambda d, _: not d.none_shown,
    "alarm": lambda d, _: d.state == "active",
    "pump_state": lambda d, _: d.state != "on",
    "ground": lambda d, _: not d.connected,
    "hose_connection": lambda d, _: not hose_good(d),
    "area_clear": lambda d, _: not d.clear,
    "leak_check": lambda d, _: d.result != "dry",
    "strainer": lambda d, _: not d.blown_down,
    "unit_level": lambda d, _: not d.ok,
    "flow": lambda d, limits: not limits.flow_good(d.value.si),
    "set_point": lambda d, limits: limits.glycol or not set_point_good_for_water(d, limits),
    "proved_dead": lambda d, _: not proof_good(d),
    "earth_continuity": lambda d, limits: not limits.ground_path_good(d),
    "insulation_test": lambda d, limits: not limits.insulation_good(d),
    "cable_route": lambda d, _: not route_good(d),
    "transfer_interlock": lambda d, _: not d.ok,
    "oil_heater": lambda d, _: not d.working,
    "machine_check": lambda d, _: not d.ok,
    "valve_position": _valve_may,
    "unit_stop": lambda d, _: d.state != "stopped",
    "own_fact": lambda d, _: not d.holds or d.until is not UNSET,
}


def may_speak_against(kind: str, data: Any, limits: Limits) -> bool:
    """Whether an observation can make an answer more severe."""
    if kind in _ALWAYS:
        return True
    if kind in _NEVER:
        return False
    judge = _AGAINST.get(kind)
    return judge is None or judge(data, limits)


SUBJECTS: Final[dict[str, Callable[[Any, str], tuple[str, ...]]]] = {
    "lock": lambda d, by: (d.lock_id, by),
    "valve_position": lambda d, _: _named(word(d.valve), d),
    "hose_connection": lambda d, _: (d.end,),
    "purge": lambda d, _: _named(word(d.point), d),
    "alarm": lambda d, _: (d.code,),
    "pump_state": lambda d, _: (d.pump,),
    "compressor": lambda d, _: (d.id,),
    "line_connection": lambda d, _: (d.end, str(d.set)),
    "oil_heater": lambda d, _: (d.compressor,),
    "machine_check": lambda d, _: _named(word(d.item), d),
    "loop_pressure": lambda d, _: (d.gauge,),
    "own_fact": lambda d, _: (d.name,),
}
"""What a record is about, beside its kind."""


def _named(name: str, data: Any) -> tuple[str, ...]:
    return (name, data.label) if name == "other" else (name,)
