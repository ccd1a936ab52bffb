"""The choice of hose."""

from dataclasses import dataclass
from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length, PressureDifference, Velocity
from coldwright_basis.compare import above
from coldwright_basis.liquids import FluidState
from coldwright_hydronic.loop.building import Loop
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import HoseOption, LineGiven, LoopGiven
from coldwright_hydronic.loop.results import HoseChoice
from coldwright_hydronic.shared.friction import line_drop, velocity

HOSE = ("rubber_hose", "lay_flat_hose")


@dataclass(frozen=True, slots=True)
class Limits:
    """What a hose must keep."""

    velocity: float
    friction: float | None
    """Pa/m."""
    drop: float | None
    """Pa left for the hose; None without pumps."""
    pressure: float | None
    """Highest gauge pressure of the loop; None without one."""


def hose_figures(given: LoopGiven, state: FluidState, case: Case | None, wanted: float, notes: Notes) -> dict[str, Any]:
    """Every hose and number of runs against its limits, and the best of them."""
    limit = limits(given, case.loop if case else None, wanted, case.highest_unlike if case else None)
    choices = hose_selection(given, state, wanted, limit)
    chosen = best(choices)
    if chosen is None:
        failed = sorted({word for choice in choices for word in choice.fails})
        notes.check(
            "no_hose_fits",
            say(
                "None of {choices} hoses and runs is acceptable; they fail by {failed}.",
                choices=len(choices),
                failed=", ".join(failed),
            ),
            why="The flow, the pump or the pressure asks for more than these hoses give.",
            resolve="Offer a larger bore, more runs, a shorter way or a higher rating.",
            field="/hose_options",
        )
        return {"hose_selection": choices}
    notes.show(
        "D n",
        "Hose chosen",
        f"least bore times runs that is acceptable: {chosen.inner_diameter} x {chosen.runs}",
        chosen.inner_diameter.value * chosen.runs,
        chosen.inner_diameter.unit,
    )
    return {"hose_selection": choices, "hose_choice": chosen}


def limits(given: LoopGiven, loop: Loop | None, flow: float, highest: float | None) -> Limits:
    """Limits at the required flow. The hose that is chosen takes the place of the hose lines of the loop."""
    left = None
    if loop is not None and loop.pumps:
        replaced = sum(
            node.part.drop(flow)
            for node in loop.nodes
            if isinstance(node.element, LineGiven) and node.element.line_kind in HOSE
        )
        left = loop.rise(flow) - loop.lift - loop.resistance(flow) + replaced if flow <= loop.end else 0.0
    friction = None if given.friction_maximum is UNSET else given.friction_maximum * 10.0
    return Limits(given.velocity_maximum.si, friction, left, highest)


def hose_selection(given: LoopGiven, state: FluidState, flow: float, limit: Limits) -> tuple[HoseChoice, ...]:
    """Every option in 1 to `max_runs` runs."""
    if given.run_length is UNSET:
        return ()
    length = given.run_length.si
    return tuple(
        _judge(option, runs, length, flow, state, limit)
        for option in given.hose_options
        for runs in range(1, given.max_runs + 1)
    )


def _judge(option: HoseOption, runs: int, length: float, flow: float, state: FluidState, limit: Limits) -> HoseChoice:
    diameter, each = option.inner_diameter.si, flow / runs
    speed = velocity(each, diameter)
    drop = line_drop(each, diameter, length, option.roughness.si, state.density, state.dynamic_viscosity)
    rated = option.working_pressure
    fails = {
        "velocity": above(speed, limit.velocity),
        "friction": limit.friction is not None and above(drop, limit.friction * length),
        "head": limit.drop is not None and drop > limit.drop,
        "working_pressure": rated is not UNSET and limit.pressure is not None and limit.pressure > rated.si,
    }
    return HoseChoice(
        inner_diameter=Length.from_si(diameter, "mm"),
        runs=runs,
        velocity=Velocity.from_si(speed, "m/s"),
        pressure_drop=PressureDifference.from_si(drop, "kPa"),
        acceptable=not any(fails.values()),
        fails=tuple(name for name, failed in fails.items() if failed),
    )


def best(choices: tuple[HoseChoice, ...]) -> HoseChoice | None:
    """Least bore times runs, then fewest runs."""
    good = [c for c in choices if c.acceptable]
    return min(good, key=lambda c: (c.inner_diameter.si * c.runs, c.runs), default=None)
