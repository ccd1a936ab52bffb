"""What a record says that undid something, in words."""

from typing import Final

from coldwright_basis.instants import show
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.limits import Limits

ELSEWHERE: Final = ", as recorded at another machine"
"""Behind what another start of the same source or loop says."""
_ON_THIS_FILLING: Final = ("R11", "R12", "R16")
"""Rules whose evidence begins anew with each filling: a low pressure lets air in."""
_HAPPENED: Final[dict[str, str]] = {
    "isolator": "the isolator was open",
    "control_switch": "the control switch was off",
    "leads_swapped": "leads were swapped",
    "line_connection": "work was done on the lines",
    "moved": "the machine was moved",
    "loop_opened": "the loop was opened",
    "drain": "the loop was drained",
    "fill": "liquid was put in",
    "antifreeze_charge": "antifreeze was put in",
    "valve_position": "a valve was moved",
    "loop_pressure": "the pump was off",
    "purge": "the pump was off",
    "lock": "a lock was applied",
    "alarm": "an alarm was active",
    "oil_heater": "a heater was cold",
    "lock_check": "a lock was seen",
    "alarm_check": "an alarm was shown",
    "leak_check": "the loop leaked",
    "hose_connection": "a hose was off",
}


def what_happened(r: Record, limits: Limits, rule: str = "") -> str:
    """What a record that undid something says, and when."""
    if r.kind == "supply":
        text = "the supply was interrupted" if r.data.state == "interrupted" else "the supply was off"
    elif r.kind == "line_voltage":
        text = "the voltage was out of its limits" if r.volts.alive else "the voltage was gone"
    elif r.kind == "phase_indicator":
        text = "a phase was missing" if r.data.rotation == "missing_phase" else "the rotation was wrong"
    elif r.kind == "pump_state":
        text = "the pump tripped" if r.data.state == "tripped" else "the pump was off"
    elif r.kind == "ground":
        text = f"the {limits.earth} was off"
    elif r.kind == "valve_position" and rule == "R10":
        text = f"the {r.data.valve} valve was not closed"
    elif r.kind == "loop_pressure" and rule in _ON_THIS_FILLING:
        text = "the pressure at the highest point was too low"
    else:
        text = _HAPPENED.get(r.kind, f"of {r.id}")
    return f"{text} at {show(r.at)}{ELSEWHERE if r.foreign else ''}"
