"""What is not given of the plan in use: the room, restarts, damp air; and what that leaves unsettled."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.given import Room
from coldwright_booking.order.questions import Questions
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan


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
    """Distances have rules of the US alone here: an order under IEC practice is stated so."""
    if facts.order.practice != "iec" or plan.site is None:
        return
    notes.note(
        "us_rules_taken",
        "Rules of the US were taken for distances between machines, engine and openings, for working space and for power "
        "lines; European ones for road and ground.",
        why="No European rule was found that gives these distances for machines on hire. ISO 5149-3, 4.2 asks that leaked "
        "refrigerant does not flow into a building, and names no distance; DIN VDE 0105-100 asks for less from power lines: "
        "1 m up to 1 kV, 3 m up to 110 kV, 4 m up to 220 kV, 5 m up to 380 kV. National codes of fire and electrical safety "
        "have distances of their own. Cautions on electrical work cite texts of the US too, beside EN 50110-1 and IEC standards.",
        resolve="Have whoever answers for them on site compare the placing with the national rules.",
        field="/site/area",
        references=("nfpa_37", "ifc_503_507", "osha_1926_1408", "iso_5149_3", "din_vde_0105_100"),
    )
