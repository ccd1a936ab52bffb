"""What the plan says to those who lift: a line for a crane or a fork truck that is not known yet."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Area
from coldwright.contract.sentences import Words
from coldwright_basis.trade_words import word
from coldwright_booking.fleet.given import MachineBody
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.lifting import Lifting
from coldwright_booking.plan.plan import Plan

CRANE_FIELDS = (
    "crane_chart_capacity", "crane_wind_limit", "hook_block_mass", "rigging_mass", "crane_mass", "expected_gust",
    "expected_wind",
)  # fmt: skip


def report_lift(facts: Facts, plan: Plan, notes: Notes) -> None:
    """Whatever the order leaves to those who bring the crane or the truck; nothing that the plan has compared."""
    if plan.lifting is None:
        return
    access = facts.order.access
    unused = [name for name in CRANE_FIELDS if getattr(access, name) is not UNSET] if facts.lift != "crane" else []
    if facts.lift != "fork_truck" and access.fork_truck is not UNSET:
        unused.append("fork_truck")
    for name in unused:
        notes.note(
            "access_not_used",
            f"`access.{name}` is not used: the order has the machines set down by {facts.lift.replace('_', ' ')}.",
            field=f"/access/{name}",
        )
    if facts.lift == "crane" and access.crane_chart_capacity is UNSET:
        _for_the_crane_company(facts, plan.lifting, notes)
    elif facts.lift == "crane" and access.rigging_mass is UNSET:
        notes.note(
            "rigging_not_given",
            "The mass of slings, shackles and beams is not given: none is counted on the hook.",
            why="The chart is for all that hangs below the boom tip.",
            resolve="Give `access.rigging_mass`, or take it off the chart's capacity.",
            field="/access/rigging_mass",
        )
    if facts.lift == "fork_truck":
        _fork_truck(facts, plan, notes)


def _for_the_crane_company(facts: Facts, lifting: Lifting, notes: Notes) -> None:
    """What a crane is ordered with: masses, faces to the wind and radius; and what it is asked for."""
    access, lines = facts.order.access, []
    for machine, asked in lifting.lifts:
        if isinstance(asked, Asked) and asked.results.hook_load is not UNSET:
            lines.append(
                say(
                    "{type}: {mass} with its margin, {length} by {width} by {height}, {face} to the wind",
                    type=machine.type,
                    mass=asked.results.hook_load.mass,
                    length=machine.body.length,
                    width=machine.body.width,
                    height=machine.body.height,
                    face=_face(machine.body),
                )
            )
    if not lines:
        return
    loads: Words = lines[0]
    for more in lines[1:]:
        loads = say("{first}; {more}", first=loads, more=more)
    radius: Words = (
        "a radius to be settled" if access.radius is UNSET else say("a radius of {radius}", radius=access.radius)
    )
    not_given = [
        what
        for what, mass in (("rigging", access.rigging_mass), ("hook block", access.hook_block_mass))
        if mass is UNSET
    ]
    without: Words = ""
    if not_given:
        without = f" Not given, and not in it: {' and '.join(not_given)}. Add what that weighs."
    notes.note(
        "for_the_crane_company",
        say("For the crane company: {loads}; at {radius}.{without}", loads=loads, radius=radius, without=without),
        why="Chart, hook block, outriggers and the mats below them are those of the crane that comes.",
        resolve="Ask it for the chart at that radius and the wind speed that it is for, the mass of block and rigging, the "
        "load on an outrigger and the mats that this ground needs.",
        field="/access/crane_chart_capacity",
    )


def _face(body: MachineBody) -> Area:
    return Area.of(body.length.to("m") * body.height.to("m"), "m2")


def _fork_truck(facts: Facts, plan: Plan, notes: Notes) -> None:
    """Its plate where that is not given, and machines that have nothing for its forks."""
    machines = [p.machine for p in plan.combination]
    if facts.order.access.fork_truck is UNSET:
        heaviest = max(machines, key=lambda m: m.body.mass_operating.si)
        notes.note(
            "fork_truck_not_known",
            say(
                "For the {fork_truck}: {type} of {mass}, {width} wide, taken from its long side off a deck.",
                fork_truck=word("fork_truck", facts.order.practice),
                type=heaviest.type,
                mass=heaviest.body.mass_operating,
                width=heaviest.body.width,
            ),
            resolve="Give its plate as `access.fork_truck`: it is then compared with each machine.",
            field="/access/fork_truck",
        )
    bare = [m.type for m in machines if not m.body.fork_pockets]
    if bare:
        notes.check(
            "no_fork_pockets",
            f"A {word('fork_truck', facts.order.practice)} is to lift {', '.join(bare)}, which the fleet gives no fork pockets.",
            why="On bare runners a load slides off the forks.",
            do="Lift it by crane, or by forks as its maker allows.",
            cleared_by="the lift supervisor",
            field="/access/lift",
        )
