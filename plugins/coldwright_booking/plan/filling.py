"""What fills the loop and keeps it safe: the tap and its pump, premix, relief valves, vents, flushing."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import GaugePressure, Volume
from coldwright_basis.compare import below, whole_at_least
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk
from coldwright_booking.plan.fill import Fill
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.machines import Machines
from coldwright_booking.plan.vessel_pressure import vessel_maximum
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.fill.results import FillResults

RELIEF_MARGIN = 0.10
"""Between the greatest pressure of the standing loop and the setting of the relief valve: the usual one of
`hydronic.fill` (common practice)."""
STEP = 10.0
"""kPa to which a setting is given."""
FLUSHED = 2
"""Times what the hoses hold, which flushing takes from the tap (common practice)."""


@dataclass(frozen=True)
class Filling:
    """What is brought to fill the loop."""

    booster: bool
    """Whether a pump must raise the tap's pressure, or may have to: the tap's is too low, or not given."""
    tap_known: bool
    reachable: GaugePressure | None
    """What the tap reaches behind the backflow preventer; None where that is not known, or nothing is left of it."""
    required: GaugePressure
    """What it must reach."""
    relief_valves: int
    """One for the loop, and one for each machine that can be shut off with its liquid."""
    relief_setting: GaugePressure
    vents: int
    """At the high point of each run of hose, at each header and buffer vessel."""
    flushing: Volume | None = None
    """Water that flushing takes; None where the order does not ask for it."""


class FillingNeeds(NamedTuple):
    """What the filling takes of the plan."""

    facts: Facts
    machines: Machines
    loop: LoopPlan
    standing: GaugePressure
    fill: Fill


def decide(needs: FillingNeeds, _: Desk) -> Filling | None:
    """None where the volume of the loop is not known."""
    asked = needs.fill.asked
    if not isinstance(asked, Asked):
        return None
    known = needs.facts.order.site.tap_pressure is not UNSET
    reachable = asked.results.reachable_pressure
    low = known and (reachable is UNSET or below(reachable.si, needs.standing.si))
    made = needs.loop.pipework
    setting = STEP * whole_at_least(vessel_maximum(needs.standing).to("kPa") / (1 - RELIEF_MARGIN) / STEP)
    shut_off = needs.machines.combination.units if made.near else 0
    return Filling(
        booster=low or not known,
        tap_known=known,
        reachable=None if reachable is UNSET or reachable.value <= 0 else reachable,
        required=needs.standing,
        relief_valves=1 + shut_off,
        relief_setting=GaugePressure.of(setting, "kPa"),
        vents=2 * needs.loop.runs + made.near + made.far + made.vessels,
        flushing=_flushing(asked) if needs.facts.order.load_side.flush else None,
    )


def _flushing(asked: Asked[FillGiven, FillResults]) -> Volume:
    hoses = asked.results.elements[: len(asked.given.lines)]
    return Volume.of(FLUSHED * sum(e.volume.to("L") for e in hoses), "L")


FILLING = Block("filling", FillingNeeds, (), decide)
