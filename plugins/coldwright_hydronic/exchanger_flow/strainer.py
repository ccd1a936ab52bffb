"""The strainer's drop against its clean one."""

from typing import Literal

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import PressureDifference
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.shared.devices import device_drop

CLEAN_BELOW, WATCH_BELOW = 1.5, 2.5


def strainer_drop(given: ExchangerFlowGiven, flow: float, notes: Notes) -> tuple[float, float] | None:
    """Clean drop of the strainer at this flow [Pa], and the measured one over it."""
    if given.strainer is UNSET:
        return None
    s = given.strainer
    clean = device_drop(flow / s.rated_flow.si, s.rated_pressure_drop.si, 2.0, 1.0)
    shown = PressureDifference.from_si(clean, "kPa")
    notes.show("dp_s", "Clean drop of the strainer", f"{s.rated_pressure_drop} x (Q / {s.rated_flow})^2", shown)
    return clean, s.measured_pressure_drop.si / clean


def strainer_state(ratio: float) -> Literal["clean", "watch", "dirty"]:
    """Clean, to be watched, or dirty, by the measured drop over the clean one."""
    if ratio <= CLEAN_BELOW:
        return "clean"
    return "watch" if ratio <= WATCH_BELOW else "dirty"
