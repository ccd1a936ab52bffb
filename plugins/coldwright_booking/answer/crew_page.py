"""What a crew carries: the numbers to set, the work in its order with boxes and blanks, and what to do if it goes wrong.

It takes its numbers from the plan and works out none. What the order does not give is a blank to fill in by hand.
"""

from collections.abc import Iterator, Sequence

from msgspec import UnsetType

from coldwright.contract.page import (
    Blank,
    Blanks,
    Block,
    Facts,
    Lines,
    Occasion,
    Page,
    Section,
    Task,
    Tasks,
    facts,
    present,
    section,
)
from coldwright.contract.people import clock, plain_text, prose, quantity, value_text, words
from coldwright.contract.quantities import Quantity
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import in_words_of, word
from coldwright_booking.answer import crew_valves
from coldwright_booking.answer.crew_cautions import AT_STEP, IF_THIS_HAPPENS
from coldwright_booking.answer.crew_readings import between, readings
from coldwright_booking.answer.page_facts import said
from coldwright_booking.answer.plan_answer import PlanAnswer
from coldwright_booking.answer.results import AssessmentResults

MOST_OPEN = 8
"""Checks on the sheet; it says where the others are."""


def crew_page(answer: PlanAnswer, occasion: Occasion) -> Page:
    """Both sides of one sheet of paper."""
    results, order, revision = answer.results, answer.given, occasion.revision
    named = f", revision {revision}" if revision else ""
    stopped = answer.outcome == "unacceptable"
    return Page(
        kind="Crew sheet",
        title=plain_text(f"Order {order.reference}{named}"),
        tone="bad" if stopped else "plain",
        verdict="DOES NOT GO: the plan has a stop" if stopped else _verdict(results),
        lead=(f"{plain_text(order.site.name)}. Hire {order.period.from_} to {order.period.to}.",),
        sections=present(
            (
                section("Who and where", _blanks(WHO, order.practice)),
                section("Numbers", _numbers(results)),
                crew_valves.sketch(results),
                crew_valves.valves(results),
                _machines(results, occasion.serials),
                _cable(results, order.practice),
                _liquid(results),
                section("What to do if", Facts(IF_THIS_HAPPENS)),
                _open(answer),
                _work(results),
                section(
                    "Signed",
                    Blanks(
                        (
                            Blank(in_words_of(order.practice, "For the {hire} company")),
                            Blank("For the site"),
                            Blank("Time"),
                        )
                    ),
                ),
            )
        ),
        dense=True,
    )


WHO = (
    "Gate, street", "Contact on site, phone", "Night number of the {hire} company", "Emergency stop is at",
    "Nearest shut-off is at", "Electrician", "Technician", "Lift team",
)  # fmt: skip


def _blanks(names: Sequence[str], practice: Practice) -> Blanks:
    return Blanks(tuple(Blank(in_words_of(practice, name)) for name in names))


def _verdict(results: AssessmentResults) -> str:
    """The two numbers that are set by hand."""
    pressure = _fill_pressure(results)
    return f"Set {quantity(results.fluid.leaving_temperature)}" + (
        f", fill to {pressure}, pump off" if pressure else ""
    )


def _fill_pressure(results: AssessmentResults) -> str:
    asked = results.asked.procedure
    if not isinstance(asked, UnsetType):
        low, high = asked.configuration.fill_pressure_minimum, asked.configuration.fill_pressure_maximum
        if isinstance(low, Quantity) and isinstance(high, Quantity):
            return between(low, high)
    return said("", results.fill_pressure)


def _numbers(results: AssessmentResults) -> Facts | None:
    rows = [
        ("Set point", quantity(results.fluid.leaving_temperature)),
        ("Liquid", words(results.fluid.kind)),
        ("Fill, pump off", _fill_pressure(results)),
    ]
    if not isinstance(fill := results.fill, UnsetType):
        rows += [
            ("Loop holds", quantity(fill.total_volume)),
            ("Expansion vessel", value_text(fill.vessel_volume)),
            ("Its precharge", value_text(fill.precharge_pressure)),
        ]
    if not isinstance(loop := results.loop, UnsetType):
        rows += [
            ("Flow", value_text(loop.duty_flow)),
            ("Hose", f"{quantity(loop.hose_inner_diameter)} bore, {loop.hose_runs} each way"),
            ("Balancing valve, Kv", value_text(loop.balancing_kv)),
        ]
    if not isinstance(supply := results.supply, UnsetType):
        feeder = supply.service.feeder
        rows += [
            ("Supply", f"{words(supply.source)}, {quantity(supply.voltage)}"),
            ("All machines running", value_text(feeder.running_current)),
        ]
    return facts(*rows, ("Cold water after arrival", said("", results.cold_water_after)))


def numbers_of(kind: str, serials: Sequence[tuple[str, str]]) -> str:
    """Serial numbers of the machines of a type that were assigned: `: A-1, A-2`; empty where none were."""
    own = [plain_text(serial) for name, serial in serials if name == kind]
    return f": {', '.join(own)}" if own else ""


def _machines(results: AssessmentResults, serials: Sequence[tuple[str, str]]) -> Section | None:
    hooks = {}
    if not isinstance(site := results.site, UnsetType):
        hooks = {m.type: m.lift.hook_load for m in site.lift}
    tasks = []
    for machine in results.machines:
        hook = hooks.get(machine.type)
        weight = "" if hook is None or isinstance(hook, UnsetType) else f", {quantity(hook.mass)} on the hook"
        known = sum(name == machine.type for name, _ in serials)
        blanks = () if known >= machine.count else (Blank("Serial numbers"),)
        text = plain_text(f"{machine.count} x {machine.type}") + numbers_of(machine.type, serials)
        tasks.append(Task(text + weight, blanks=blanks))
    return section("Machines", Tasks(tuple(tasks)) if tasks else None)


def _cable(results: AssessmentResults, practice: Practice) -> Section | None:
    block = results.cable
    if isinstance(block, UnsetType):
        return None
    ground = word("earth", practice)
    lines = tuple(
        plain_text(f"{m.type}: {m.feeder.conductor_size}, sets: {m.feeder.sets}")
        + said(", carries ", m.feeder.ampacity_deciding)
        + f", {m.feeder.pick_list.cable_pieces} pieces"
        for m in block.machines
    )
    order = Lines((f"All dead: {ground} first, then neutral if any, then lines. Off the other way, {ground} last.",))
    return section("Cable", Lines(lines), order)


def _liquid(results: AssessmentResults) -> Section | None:
    """In the order in which it goes in."""
    mixture, fill = results.fluid.antifreeze, results.fill
    blocks: list[Block] = []
    if not isinstance(mixture, UnsetType) and isinstance(mixture.concentrate_volume, Quantity):
        parts = (
            ("Concentrate, before the water", mixture.concentrate_volume),
            ("Then water, by meter", mixture.water_volume),
        )
        blocks.append(
            Tasks(
                tuple(
                    Task(f"{name}: {quantity(litres)}", blanks=(Blank("in", unit=litres.unit),))
                    for name, litres in parts
                    if isinstance(litres, Quantity)
                )
            )
        )
    elif not isinstance(fill, UnsetType):
        blocks.append(
            Tasks((Task(f"Water: {quantity(fill.total_volume)}", blanks=(Blank("in", unit=fill.total_volume.unit),)),))
        )
    return section("Liquid, in this order", *blocks)


def _open(answer: PlanAnswer) -> Section | None:
    """The stops and checks, each as what to do."""
    found = [f for s in ("stop", "check") for f in answer.findings if f.severity == s]
    asked = list(dict.fromkeys(prose(f.do or f.resolve or f.statement) for f in found))
    tasks = Tasks(tuple(Task(text) for text in asked[:MOST_OPEN])) if asked else None
    more = Lines((f"{len(asked) - MOST_OPEN} more are in the plan.",)) if len(asked) > MOST_OPEN else None
    return section("Left open by the plan", tasks, more)


def _work(results: AssessmentResults) -> Section | None:
    tasks = tuple(_tasks(results))
    return section("Order of work, in hours after arrival", Tasks(tasks) if tasks else None)


def _tasks(results: AssessmentResults) -> Iterator[Task]:
    plan = results.arrival_plan
    if isinstance(plan, UnsetType):
        return
    known = readings(results)
    # leaks show at full pressure: that is there once the loop has been vented and topped up, before the pump turns
    begin = {s.id: s.earliest_start for s in plan.steps}
    pressed = next((s.earliest_finish for s in plan.steps if s.id == "repressurise"), None)
    if "leak_check" in begin and pressed is not None:
        begin["leak_check"] = pressed
    for step in sorted(plan.steps, key=lambda s: (begin[s.id].value, s.id != "leak_check", s.earliest_finish.value)):
        yield Task(
            plain_text(step.title),
            when=clock(begin[step.id]),
            who="" if step.role == "none" else words(step.role),
            blanks=known.get(step.id, ()),
            caution=AT_STEP.get(step.id, ""),
        )
