"""A plugin without a fault, and the parts of which each bad plugin beside it is made by planting one fault."""

from collections.abc import Callable
from typing import Annotated, Any

from coldwright.contract import (
    Caution,
    Example,
    Given,
    Notes,
    Plugin,
    Reference,
    Results,
    about,
    calculator,
    finding,
)
from coldwright.contract.quantities import Area, Length, Velocity, VolumeFlow

CONTINUITY = Reference(id="continuity", title="Equation of continuity", provenance="derived")
PRESSURE = Caution(
    code="hose_under_pressure",
    hazard="pressure",
    statement="A hose under pressure can whip: isolate and vent before a coupling is opened.",
    references=("continuity",),
)
FAST = finding("fast", "check", "The liquid moves faster than is usual.")


class HoseGiven(Given, frozen=True, kw_only=True):
    """A hose and the flow in it."""

    flow: Annotated[VolumeFlow, about("Flow in the hose.", low=0, high=500, unit="L/s")]
    bore: Annotated[Length, about("Bore of the hose.", low=10, high=500, unit="mm")]


class HoseResults(Results, frozen=True, kw_only=True):
    """How the liquid moves."""

    area: Annotated[Area, about("Area of the bore.")]
    velocity: Annotated[Velocity, about("Mean velocity.")]


EXAMPLES = (
    Example("four_inch", "A hose of 4 in.", {"flow": {"value": 20, "unit": "L/s"}, "bore": {"value": 4, "unit": "in"}}),
    Example("narrow", "A narrow hose.", {"flow": {"value": 2, "unit": "m3/h"}, "bore": {"value": 25, "unit": "mm"}}),
)


def hose(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity of the liquid in a hose, from flow and bore by the equation of continuity."""
    area = 3.141592653589793 * given.bore.si**2 / 4
    velocity = Velocity.from_si(given.flow.si / area, "m/s")
    notes.show("v", "mean velocity", "Q / A", velocity)
    notes.caution(PRESSURE)
    if velocity.si > 3:
        notes.check("fast", f"The liquid moves at {velocity}.", resolve="Take a wider hose.")
    return HoseResults(area=Area.from_si(area, "m2"), velocity=velocity)


def plugin_of(function: Callable[..., Any] = hose, **changes: Any) -> Plugin:
    """The sound plugin with another function or other words in its declaration."""
    declared: dict[str, Any] = {
        "id": "trial.hose",
        "version": "1.0.0",
        "title": "Velocity in a hose",
        "references": (CONTINUITY,),
        "examples": EXAMPLES,
        "findings": (FAST,),
        "hazards": ("pressure",),
    }
    decorate = calculator(**(declared | changes))
    return Plugin(name="trial", title="A trial", contract=">=1.0,<2", calculators=(decorate(function),))


plugin = plugin_of()
