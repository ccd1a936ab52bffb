"""What a person should know of a glycol mixture."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import above, below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.shared.cautions import (
    DISCHARGE_PERMIT,
    ETHYLENE_TOXIC,
    EVAPORATOR_FREEZE,
    LOCAL_CODE,
    POTABLE_BACKFLOW,
    TRIP_AND_TRAFFIC,
)
from coldwright_hydronic.shared.strength import BURST_CAP_TEMPERATURE, BURST_FLOOR, ICE_ALLOWED, Strength, burst_limits

FINDINGS: Final = (
    finding("water_set_point_too_cold", "stop", "Plain water is in the loop and the set point is below 4.4 degC."),
    finding("present_too_weak", "stop", "What is in the loop now does not protect down to the temperature asked."),
    finding("runs_below_freezing", "stop", "Set point less approach is below the freezing point."),
    finding("burst_floor", "note", "The floor of 0.20 by mass decides the burst strength."),
    finding("burst_cap", "check", "The cap, three quarters of the strength for -45 degC, decides the burst strength."),
    finding("burst_is_not_running", "note", "Burst strength lets nothing be pumped or run below the freezing point."),
    finding("thin_mixture", "check", "Under 0.20 by volume: growth, and too little inhibitor."),
    finding("strong_mixture", "check", "Over 0.50 by mass: pumping and capacity suffer."),
    finding("glycols_would_mix", "check", "Another glycol is in the loop."),
    finding("refractometer_scale", "note", "A refractometer has one scale for each glycol."),
    finding("rerate_capacity_and_pump", "check", "The mixture needs over 3 % more flow than water."),
    finding("make_up_water", "note", "Make-up water should be low in minerals and chlorine."),
    finding("used_fluid", "note", "Used or left-over fluid must be tested, kept apart and sent back."),
    finding("same_inhibitors", "note", "Only one inhibitor package, and none made for vehicles."),
)

COLDEST_PLAIN_WATER = ZERO_CELSIUS + 4.4

LEAST_VOLUME_FRACTION = 0.20

STRONG_MASS_FRACTION = 0.50


def judge_strength(given: AntifreezeGiven, notes: Notes, target: float, wanted: Strength) -> None:
    """Strength against corrosion, growth, viscosity and the range of the burst rule; `target` in K."""
    if given.protection == "burst":
        by_ice, floor, cap = burst_limits(given.kind, target)
        if not floor <= by_ice <= cap:
            notes.show("w_ice", "Strength that the ice rule asks for", f"(1 - {ICE_ALLOWED:g}) w_eq", by_ice)
        if by_ice < floor:
            notes.note(
                "burst_floor",
                f"The ice rule asks for {by_ice:.3f} by mass; the floor of {BURST_FLOOR:g} decides.",
                why="A thinner mixture carries too little inhibitor.",
                references=("hydronic_practice",),
            )
        if by_ice > cap:
            cold = BURST_CAP_TEMPERATURE - ZERO_CELSIUS
            notes.check(
                "burst_cap",
                say(
                    "The ice rule asks for {by_ice:.3f} by mass; the cap of {cap:.3f}, its value at "
                    "{cold:.0f}, decides.",
                    by_ice=by_ice,
                    cap=cap,
                    cold=Temperature.of(cold, "degC"),
                ),
                why="The rule has not been confirmed in deeper cold.",
                resolve="Take freeze protection, or ask the supplier of the fluid for its burst figures.",
                references=("glycol_burst_tables",),
            )
        notes.note(
            "burst_is_not_running",
            say(
                "Below {freezing:.1f} this mixture is slush: nothing may be pumped or run in it.",
                freezing=Temperature.from_si(wanted.freezing, "degC"),
            ),
            references=("hydronic_practice",),
        )
    if wanted.by_volume < LEAST_VOLUME_FRACTION:
        notes.check(
            "thin_mixture",
            f"{wanted.by_volume:.3f} by volume is under {LEAST_VOLUME_FRACTION:.2f}.",
            why="A thin mixture feeds growth and carries too little inhibitor.",
            resolve=f"Make it at least {LEAST_VOLUME_FRACTION:.2f} by volume, or add inhibitor and biocide.",
            field="/lowest_temperature",
            references=("hydronic_practice",),
        )
    if wanted.by_mass > STRONG_MASS_FRACTION:
        notes.check(
            "strong_mixture",
            f"{wanted.by_mass:.3f} by mass is over {STRONG_MASS_FRACTION:.2f}.",
            why="It is hard to pump and carries less heat.",
            resolve="Ask whether so much is needed: burst protection, drained lay-up or a warmer place may do.",
            field="/lowest_temperature",
            references=("hydronic_practice",),
        )


def judge_present(
    given: AntifreezeGiven, notes: Notes, target: float, wanted: Strength, present: Strength | None
) -> None:
    """What is in the loop now, compared with what it needs."""
    if present is None or given.present is UNSET:
        return
    notes.show("w_p", "Strength by mass of what is in the loop", "by what was read of it", present.by_mass)
    freezes = Temperature.from_si(present.freezing, "degC")
    notes.show("T_p", "Freezing point of what is in the loop", "by its strength", freezes)
    weaker = above(present.freezing, target) if given.protection == "freeze" else below(present.by_mass, wanted.by_mass)
    if weaker:
        notes.stop(
            "present_too_weak",
            say(
                "What is in the loop freezes at {freezing:.1f} ({by_mass:.3f} by mass); {target:.1f} "
                "with {protection} protection needs {wanted_by_mass:.3f}.",
                freezing=freezes,
                by_mass=present.by_mass,
                target=Temperature.from_si(target, "degC"),
                protection=given.protection,
                wanted_by_mass=wanted.by_mass,
            ),
            why="Ice blocks the flow and bursts evaporator, coil and hose.",
            resolve="Drain and add concentrate, or feed and bleed, by the volumes given.",
            field="/present",
        )
    if given.present.kind is not UNSET and given.present.kind != given.kind:
        notes.check(
            "glycols_would_mix",
            say(
                "The loop holds {present}; {planned} would be added.",
                present=given.present.kind.replace("_", " "),
                planned=given.kind.replace("_", " "),
            ),
            why="Freezing point and inhibitors of a blend are not known, and no refractometer scale fits it.",
            resolve="Flush first, then make a new fill.",
            field="/present/kind",
            references=("hydronic_practice",),
        )
    if given.present.measured_freezing_temperature is not UNSET:
        notes.note(
            "refractometer_scale",
            say("Make sure that the reading was taken on the scale for {liquid}.", liquid=given.kind.replace("_", " ")),
            why="On the other glycol's scale the same drop reads several degrees off.",
            references=("hydronic_practice",),
        )


def judge_running(given: AntifreezeGiven, notes: Notes, wanted: Strength, present: Strength | None) -> None:
    """Set point and evaporating temperature against the freezing point."""
    leaving = given.leaving_temperature
    if leaving is UNSET:
        return
    if present is not None and present.by_mass <= 0 and below(leaving.si, COLDEST_PLAIN_WATER):
        notes.stop(
            "water_set_point_too_cold",
            say(
                "The loop holds plain water and the set point is {leaving}; it must not be below 4.4 degC (40 degF).",
                leaving=leaving,
            ),
            why="The evaporating side is colder than the water and freezes it.",
            resolve="Add antifreeze first, or raise the set point to 4.4 degC (40 degF).",
            field="/leaving_temperature",
            references=("hydronic_practice",),
        )
    evaporating = leaving.si - given.evaporator_approach.si
    liquids = [(wanted.freezing, "the mixture to be made")]
    if present is not None:
        liquids.append((present.freezing, "what is in the loop"))
    for freezing, whose in liquids:
        if below(evaporating, freezing):
            notes.stop(
                "runs_below_freezing",
                say(
                    "Set point less approach is {evaporating:.1f}; {whose} freezes at {freezing:.1f}.",
                    evaporating=Temperature.from_si(evaporating, "degC"),
                    whose=whose,
                    freezing=Temperature.from_si(freezing, "degC"),
                ),
                why="Ice forms on the evaporator's tubes or plates and bursts them.",
                resolve=say(
                    "Raise the set point to at least {freezing:.1f}, or make the mixture for the "
                    "evaporating temperature.",
                    freezing=Temperature.from_si(freezing + given.margin.si + given.evaporator_approach.si, "degC"),
                ),
                field="/leaving_temperature",
            )


def always(notes: Notes) -> None:
    """Notes and cautions of every glycol job."""
    notes.note(
        "make_up_water",
        "Make up with water low in minerals, chlorides and chlorine, or buy the mixture ready made.",
        why="Hard water throws the inhibitor out as sludge.",
        references=("hydronic_practice",),
    )
    notes.note(
        "used_fluid",
        "Fluid that comes back from a job: test strength and pH, keep the glycols apart, label the drums.",
        references=("hydronic_practice",),
    )
    notes.note(
        "same_inhibitors",
        "Never mix the two glycols or two inhibitor packages, and never take antifreeze made for vehicles: its "
        "silicates gel. When in doubt, flush first.",
        references=("hydronic_practice",),
    )
    notes.caution(ETHYLENE_TOXIC, POTABLE_BACKFLOW, DISCHARGE_PERMIT, TRIP_AND_TRAFFIC, EVAPORATOR_FREEZE, LOCAL_CODE)
