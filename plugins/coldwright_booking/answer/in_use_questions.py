"""What is not given of the plan in use: the room, restarts, damp air; and what that leaves unsettled."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.sentences import Words
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.given import Room
from coldwright_booking.order.questions import Questions
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan
from coldwright_booking.references import EN_1997_1, EN_12195_1


def ask_in_use(facts: Facts, plan: Plan, questions: Questions) -> None:
    """The questions of the room, of restarts and of the damp."""
    if plan.indoors is not None:
        _room(facts, plan, questions)
    if isinstance(plan.restart, Asked):
        restart = plan.restart.given
        if facts.order.duty.warmest_supply_temperature is UNSET:
            questions.ask(
                "/duty/warmest_supply_temperature",
                restart.warmest_supply,
                "How long the load bears a restart, and the buffer that would carry it.",
                "customer",
            )
        if facts.order.supply.restart_time is UNSET:
            questions.ask(
                "/supply/restart_time",
                restart.interruptions[-1].outage,
                "How long the load must bear a loss of the supply.",
                facts.who_feeds,
            )
    site = facts.order.site
    damp = plan.condensation
    damp_given = site.dew_point_temperature is not UNSET or site.relative_humidity_fraction is not UNSET
    if isinstance(damp, Asked) and facts.indoors and not damp_given:
        questions.ask(
            "/site/dew_point_temperature",
            damp.results.dew_point_temperature,
            "What drips from cold hose, and insulation.",
            "customer",
        )


def _room(facts: Facts, plan: Plan, questions: Questions) -> None:
    assert plan.indoors is not None  # noqa: S101 - the caller has looked
    room = facts.order.site.room
    given = Room() if room is UNSET else room
    if given.volume is UNSET:
        questions.ask(
            "/site/room/volume",
            "large enough for the charge",
            "Whether a leak of refrigerant harms people in the room.",
            "customer",
            decides=True,
        )
    if given.ventilation_flow is UNSET:
        questions.ask(
            "/site/room/ventilation_flow", "as much as the machines need", "Whether the room carries their heat away.",
            "site_mechanic", decides=True,
        )  # fmt: skip
    if given.outdoor_temperature is UNSET:
        questions.ask("/site/room/outdoor_temperature", plan.indoors.incoming, "Air that the room needs.", "customer")
    for picked in plan.combination:
        if picked.machine in plan.indoors.no_charge:
            questions.ask(
                f"/fleet/machines/{picked.candidate.place}/refrigerant/charge",
                "small enough for the room",
                "Whether a leak of refrigerant harms people in the room.",
                "hire_company",
                decides=True,
            )


def report_room(plan: Plan, notes: Notes) -> None:
    """Refrigerants that no table limits are compared by somebody else."""
    if plan.indoors is None or not plan.indoors.no_limit:
        return
    names = {m.type: m.refrigerant.designation for m in plan.indoors.no_limit}
    notes.check(
        "refrigerant_not_compared",
        say(
            "The charge of {machines} was not compared with the room: no limit of its refrigerant is in the table.",
            machines=", ".join(f"{kind} ({name})" for kind, name in names.items()),
        ),
        why="A leak in a room can suffocate, burn or poison.",
        do="Compare it with the limit of the code in force, or stand these machines outdoors.",
        cleared_by="the person responsible for the room",
        field="/site/room",
    )


def report_rules(facts: Facts, plan: Plan, notes: Notes) -> None:
    """Road and ground have rules of the US alone here: an order under IEC practice is stated so."""
    if facts.order.practice != "iec" or plan.site is None:
        return
    ground = facts.order.site.ground
    presumed = ground is UNSET or ground.allowable_bearing_pressure is UNSET
    also: Words = "what the ground bears, by its class, and " if presumed else ""
    notes.note(
        "us_rules_taken",
        say("Rules of the US were taken for {also}how loads are tied down on the road.", also=also),
        why="EN 12195-1 for loads on the road was not at hand; EN 1997-1 gives no values for soil, the national annex may",
        resolve="Have the haulier secure the load by EN 12195-1, and give `allowable_bearing_pressure` of a competent person.",
        field="/site/ground",
        references=(EN_12195_1.id, EN_1997_1.id),
    )
