"""What a person should know of air in a loop."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import PressureDifference, TemperatureDifference, Volume
from coldwright_basis.compare import below
from coldwright_hydronic.air_removal.given import AirRemovalGiven
from coldwright_hydronic.shared.cautions import (
    ETHYLENE_TOXIC,
    EVAPORATOR_FREEZE,
    HOSE_UNDER_PRESSURE,
    LOCAL_CODE,
    POTABLE_BACKFLOW,
)

DONE_BELOW = 0.01

FINDINGS: Final = (
    finding("top_pressure_not_positive", "stop", "An opened vent would draw air in."),
    finding("top_pressure_low", "check", "The top is below the least pressure wanted."),
    finding("line_does_not_clear", "check", "The flow does not drive air down this line."),
    finding("air_left", "check", "More than 1 % of the loop is air."),
    finding("warming_frees_air", "note", "Warming the fill water frees air."),
)


def judge(given: AirRemovalGiven, notes: Notes, top: float | None, trapped: float | None) -> None:
    """Pressure at the top [Pa gauge] and air trapped [m3] against what is wanted."""
    if top is not None and top <= 0:
        notes.stop(
            "top_pressure_not_positive",
            say("With the pump off the top stands at {top:.1f} gauge.", top=PressureDifference.from_si(top, "kPa")),
            why="A vent opened there draws air in.",
            resolve=say(
                "Raise the pressure by {shortfall:.0f} before any vent is opened.",
                shortfall=PressureDifference.from_si(given.minimum_top_pressure.si - top, "kPa"),
            ),
            field="/reference_gauge_pressure",
            references=("hydronic_first_principles",),
        )
    elif top is not None and below(top, given.minimum_top_pressure.si):
        notes.check(
            "top_pressure_low",
            say(
                "With the pump off the top stands at {top:.1f} gauge; {minimum_top_pressure} is wanted.",
                top=PressureDifference.from_si(top, "kPa"),
                minimum_top_pressure=given.minimum_top_pressure,
            ),
            why="Vents hardly blow, and the running pump may pull the top below the atmosphere.",
            resolve=say(
                "Raise the pressure by {shortfall:.0f}.",
                shortfall=PressureDifference.from_si(given.minimum_top_pressure.si - top, "kPa"),
            ),
            field="/reference_gauge_pressure",
            references=("hydronic_practice",),
        )
    if trapped is not None and given.loop_volume is not UNSET and trapped > DONE_BELOW * given.loop_volume.si:
        notes.check(
            "air_left",
            say(
                "{trapped:.1f} of air, {share:.3f} of the loop: the purge is not done.",
                trapped=Volume.from_si(trapped, "L"),
                share=trapped / given.loop_volume.si,
            ),
            why="Air trips the flow proof, binds the pump and insulates the evaporator.",
            resolve="Vent and top up again, by the steps; the same top-up day after day means a leak.",
            field="/top_up",
            references=("hydronic_practice",),
        )
    notes.note(
        "warming_frees_air",
        say(
            "Fill water that warms by {warming} sets free gas, about {gas} from each {water}: vent again when the loop has "
            "run.",
            warming=TemperatureDifference(20.0, "delta_degC"),
            gas=Volume(7.0, "L"),
            water=Volume(1000.0, "L"),
        ),
        references=("air_solubility",),
    )
    notes.caution(HOSE_UNDER_PRESSURE, EVAPORATOR_FREEZE, ETHYLENE_TOXIC, POTABLE_BACKFLOW, LOCAL_CODE)
