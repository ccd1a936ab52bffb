"""Backflow protection of the fill connection: what a loop's contents ask for, and what a device can do."""

from typing import Any

from coldwright.contract import Fluid, load_table
from coldwright_hydronic.shared.given import Preventer

BACKFLOW_PROTECTION = load_table("coldwright_hydronic", "backflow_protection")

_CONTENTS: dict[str, dict[str, Any]] = BACKFLOW_PROTECTION.rows["contents"]

_DEVICES: dict[Preventer, dict[str, Any]] = BACKFLOW_PROTECTION.rows["devices"]


def can_harm_drinking_water(fluid: Fluid, *, treated: bool) -> bool:
    """Everything but plain, untreated water."""
    return treated or fluid.kind != "water"


def least_preventer(*, harmful: bool) -> Preventer:
    """The least protection that is proposed."""
    least: Preventer = _CONTENTS[_content(harmful)]["least"]
    return least


def least_in_words(*, harmful: bool) -> str:
    """The same in words, with the alternatives."""
    return str(_CONTENTS[_content(harmful)]["wording"])


def _content(harmful: bool) -> str:
    return "treated_or_antifreeze" if harmful else "untreated_water"


def in_words(preventer: Preventer) -> str:
    """A device as a sentence names it."""
    return str(_DEVICES[preventer]["wording"])


def suits(preventer: Preventer, *, harmful: bool) -> bool:
    """Whether the device is enough for the contents."""
    return bool(_DEVICES[preventer]["suits_treated" if harmful else "suits_untreated"])


def holds_back_pressure(preventer: Preventer) -> bool:
    """Whether it holds when the loop's pressure is above the supply's."""
    return bool(_DEVICES[preventer]["holds_back_pressure"])


def usual_pressure_drop(preventer: Preventer) -> float | None:
    """Pressure lost through it, Pa, by common practice; none where no figure is in use."""
    drop = _DEVICES[preventer].get("pressure_drop_kpa")
    return None if drop is None else 1000.0 * drop
