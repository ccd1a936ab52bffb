"""What a person should know of a draining."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Temperature, Volume, VolumeFlow
from coldwright.contract.sentences import Words
from coldwright_basis.compare import above, at_least
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import GREATEST_MASS_FRACTION, glycol_freezing_temperature
from coldwright_basis.liquids import freezing_temperature
from coldwright_hydronic.drain_down.given import DrainDownGiven
from coldwright_hydronic.drain_down.volumes import Drained
from coldwright_hydronic.shared.backflow import can_harm_drinking_water
from coldwright_hydronic.shared.cautions import (
    DISCHARGE_PERMIT,
    ETHYLENE_TOXIC,
    EVAPORATOR_FREEZE,
    HOSE_UNDER_PRESSURE,
    LOCAL_CODE,
    NEVER_LOOSEN_UNDER_PRESSURE,
    NO_AIR_TEST,
    TRIP_AND_TRAFFIC,
    WATER_QUALITY,
)
from coldwright_hydronic.shared.strength import Strength, required_strength

FINDINGS: Final = (
    finding("discharge_forbidden", "stop", "Glycol, treated or unknown liquid to a storm drain or the ground."),
    finding("consent_needed", "check", "Such liquid to a sanitary sewer with no consent on file."),
    finding("residual_unprotected", "stop", "What stays will freeze in the cold that is expected."),
    finding("glycols_would_mix", "check", "The lay-up glycol is not the one in the loop."),
    finding("not_vented", "check", "With no vent open the vessel drains late or not at all."),
    finding("flow_over_limit", "check", "The first flow is more than the receiver takes."),
    finding("residual_large", "check", "More than 5 % stays behind."),
    finding("tall_outlet", "note", "A long fall below the vessel puts the outlet's top under suction."),
    finding("drain_plugs", "note", "Drain plugs stay out and are tagged."),
    finding("blowing_out", "note", "How compressed air may be used."),
)

LARGE_RESIDUAL = 0.05

TALL_OUTLET = 7.0
"""m of water: what the air can push up, less a margin."""


def judge(given: DrainDownGiven, notes: Notes, drained: Drained, strength: Strength | None) -> None:
    """Everything that a person should know of this draining."""
    _judge_discharge(given, notes, drained)
    _judge_cold(given, notes, drained, strength)
    if given.vessels and not given.vented:
        notes.check(
            "not_vented",
            "No vent is open: the time given is the least it can take, for an open vent.",
            why="Without air to take its place the liquid gulps or stands still, and suction can fold a thin-walled "
            "tank or a lay-flat hose.",
            resolve="Open a vent at the top of each vessel.",
            field="/vented",
            references=("hydronic_practice",),
        )
    if drained.total > 0 and drained.residual > LARGE_RESIDUAL * drained.total:
        notes.check(
            "residual_large",
            say(
                "{residual:.1f} of {total:.1f} stay behind, over {large_residual:g}.",
                residual=Volume.from_si(drained.residual, "L"),
                total=Volume.from_si(drained.total, "L"),
                large_residual=LARGE_RESIDUAL,
            ),
            why="What stays freezes, goes stale and weighs.",
            resolve="With the pump's seal shut off by its valves and the far end open and lashed, blow through with air "
            "from a regulator; follow with antifreeze.",
            references=("hydronic_practice",),
        )
    if given.vessels and given.head_below_vessel.si > TALL_OUTLET:
        notes.note(
            "tall_outlet",
            say(
                "The outlet hose falls {head_below_vessel}: throttle at its lower end.",
                head_below_vessel=given.head_below_vessel,
            ),
            why="An open fall of that height pulls the top of the hose flat.",
            field="/head_below_vessel",
        )
    notes.note(
        "drain_plugs", "Leave drain plugs out, bagged and tagged at the machine.", references=("hydronic_practice",)
    )
    notes.note(
        "blowing_out",
        "Blow only with regulated air, never above 207 kPa (30 psi) nor above the rating of any part, never into a closed "
        "end, and with people clear of the open end, since the hose whips.",
        references=("osha_1910_242_b", "hydronic_practice"),
    )
    notes.caution(
        DISCHARGE_PERMIT,
        HOSE_UNDER_PRESSURE,
        NO_AIR_TEST,
        NEVER_LOOSEN_UNDER_PRESSURE,
        TRIP_AND_TRAFFIC,
        ETHYLENE_TOXIC,
        WATER_QUALITY,
        EVAPORATOR_FREEZE,
        LOCAL_CODE,
    )


def _judge_discharge(given: DrainDownGiven, notes: Notes, drained: Drained) -> None:
    harmful = can_harm_drinking_water(given.fluid, treated=given.treated)
    liquid = "Treated water" if given.fluid.kind == "water" else given.fluid.kind.replace("_", " ").capitalize()
    if harmful and given.discharge_to in ("storm", "ground"):
        where = "a storm drain" if given.discharge_to == "storm" else "the ground"
        notes.stop(
            "discharge_forbidden",
            f"{liquid} must not go to {where}",
            why="It takes the oxygen out of the water that receives it, and inhibitors poison it.",
            resolve="Take it away by tanker, keep it for use again, or ask the sewage works for consent.",
            field="/discharge_to",
            references=("cfr_40_122", "hydronic_practice"),
        )
    if harmful and given.discharge_to == "sanitary" and not given.discharge_consent:
        notes.check(
            "consent_needed",
            f"{liquid} to a sanitary sewer: no consent is on file.",
            why="A slug of glycol upsets the treatment works.",
            resolve="Get the consent of the works, with volume, strength and flow, and note it.",
            field="/discharge_to",
            references=("cfr_40_403_5",),
        )
    limit = given.receiver_flow_limit
    if drained.first_flow is not None and limit is not UNSET and above(drained.first_flow, limit.si):
        notes.check(
            "flow_over_limit",
            say(
                "The first flow is {first_flow:.2f}; the receiver takes {limit}.",
                first_flow=VolumeFlow.from_si(drained.first_flow, "L/s"),
                limit=limit,
            ),
            why="The receiver floods.",
            resolve="Throttle the drain valve.",
            field="/receiver_flow_limit",
        )


def _judge_cold(given: DrainDownGiven, notes: Notes, drained: Drained, strength: Strength | None) -> None:
    plan = given.lay_up
    if plan is not UNSET and given.fluid.kind not in ("water", plan.kind):
        notes.check(
            "glycols_would_mix",
            say(
                "The loop holds {present}; {planned} would be added to it.",
                present=given.fluid.kind.replace("_", " "),
                planned=plan.kind.replace("_", " "),
            ),
            why="Freezing point and inhibitors of a blend are not known.",
            resolve="Lay up with the same glycol, or flush with water first.",
            field="/lay_up/kind",
            references=("hydronic_practice",),
        )
    coldest = given.lowest_temperature
    if coldest is UNSET or coldest.si >= ZERO_CELSIUS or drained.residual <= 0:
        return
    if plan is not UNSET and strength is not None:
        freezing: float | None = strength.freezing
        reach = glycol_freezing_temperature(plan.kind, GREATEST_MASS_FRACTION)
        burst_safe = (
            plan.protection == "burst"
            and coldest.si > reach
            and at_least(strength.by_mass, required_strength(plan.kind, coldest.si, "burst"))
        )
        if burst_safe:
            return
    else:
        freezing = freezing_temperature(given.fluid)
    if freezing is None or above(freezing, coldest.si):
        point: Words = "an unknown point"
        if freezing is not None:
            known = Temperature.from_si(freezing, "degC")
            notes.show("T_f", "Freezing point of what stays behind", "by its strength", known)
            point = say("{known:.1f}", known=known)
        notes.stop(
            "residual_unprotected",
            say(
                "{residual:.1f} stay behind that freeze at {point}; {coldest} is expected.",
                residual=Volume.from_si(drained.residual, "L"),
                point=point,
                coldest=coldest,
            ),
            why="Ice bursts evaporator tubes, pump casings and coils.",
            resolve="Blow it out and flush with antifreeze made for that cold, or keep the parts warm.",
            field="/lowest_temperature",
            references=("hydronic_practice",),
        )
