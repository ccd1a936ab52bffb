"""What a crew carries: the numbers to set, the work in its order with boxes and blanks, and what to do if it goes wrong.

It takes its numbers from the plan and works out none. What the order does not give is a blank to fill in by hand.
"""

from collections.abc import Iterator, Mapping, Sequence

from msgspec import UNSET, UnsetType

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
from coldwright.contract.people import clock, fraction, plain_text, quantity, value_text, words
from coldwright.contract.quantities import Quantity
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import in_words_of, word
from coldwright_booking.answer import crew_valves
from coldwright_booking.answer.crew_cautions import AT_STEP, CATCH, HOSE_BURSTS, IF_THIS_HAPPENS, PLACED
from coldwright_booking.answer.crew_open import for_the_office, left_open
from coldwright_booking.answer.crew_readings import between, readings
from coldwright_booking.answer.page_facts import said
from coldwright_booking.answer.plan_answer import PlanAnswer
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.order.given import Order


def crew_page(answer: PlanAnswer, occasion: Occasion) -> Page:
    """Both sides of one sheet of paper."""
    results, order, revision = answer.results, answer.given, occasion.revision
    named = f", revision {revision}" if revision else ""
    stopped = answer.outcome == "unacceptable"
    return Page(
        kind="Crew sheet",
        title=plain_text(f"Order {order.reference}{named}"),
        tone="bad" if stopped else "plain",
        verdict="DOES NOT GO: the plan has a stop" if stopped else released(answer) + _verdict(results),
        lead=(_lead(order),),
        sections=present(
            (
                section("Who and where", _blanks(WHO + FILLS if _on_a_set(results) else WHO, order.practice)),
                section("Numbers", _numbers(results)),
                crew_valves.sketch(results),
                crew_valves.valves(results),
                _machines(results, occasion.serials, _masses(order)),
                _cable(results, order.practice),
                _liquid(results),
                section("What to do if", _if_this_happens(results)),
                *left_open(answer),
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


FILLS = ("Who refuels the set",)


def _on_a_set(results: AssessmentResults) -> bool:
    return not isinstance(results.supply, UnsetType) and results.supply.source == "generator"


def _blanks(names: Sequence[str], practice: Practice) -> Blanks:
    return Blanks(tuple(Blank(in_words_of(practice, name)) for name in names))


def released(answer: PlanAnswer) -> str:
    """A stamp while the office has not settled its part."""
    count = len(for_the_office(answer))
    return f"NOT RELEASED, {count} for the office. " if count else ""


def _if_this_happens(results: AssessmentResults) -> Facts:
    glycol = results.fluid.kind != "water"
    return Facts(tuple((when, do + CATCH if glycol and when == HOSE_BURSTS else do) for when, do in IF_THIS_HAPPENS))


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
            ("Relief valve and vessel", crew_valves.relief_place(loop.pump_owner)),
        ]
    if not isinstance(supply := results.supply, UnsetType):
        feeder = supply.service.feeder
        rows += [
            ("Supply", f"{words(supply.source)}, {quantity(supply.voltage)}"),
            ("All machines running", value_text(feeder.running_current)),
        ]
        if not isinstance(stated := supply.generator, UnsetType):
            asked = results.asked.generator
            bank = UNSET if isinstance(asked, UnsetType) else asked.load_bank_power
            rows += [
                ("Refuel every", said("", stated.refuel_interval)),
                ("Load bank set to", said("", bank) if isinstance(bank, Quantity) and bank.value else ""),
            ]
    return facts(*rows, ("Cold water after arrival", said("", results.cold_water_after)))


def numbers_of(kind: str, serials: Sequence[tuple[str, str]]) -> str:
    """Serial numbers of the machines of a type that were assigned: `: A-1, A-2`; empty where none were."""
    own = [plain_text(serial) for name, serial in serials if name == kind]
    return f": {', '.join(own)}" if own else ""


def _masses(order: Order) -> Mapping[str, Quantity]:
    machines = () if isinstance(order.fleet, UnsetType) else order.fleet.machines
    return {m.type: m.body.mass_operating for m in machines if isinstance(m.body.mass_operating, Quantity)}


def _machines(
    results: AssessmentResults, serials: Sequence[tuple[str, str]], masses: Mapping[str, Quantity]
) -> Section | None:
    hooks = {}
    if not isinstance(site := results.site, UnsetType):
        hooks = {m.type: m.lift.hook_load for m in site.lift}
    tasks = []
    for machine in results.machines:
        hook = hooks.get(machine.type)
        weight = said(", weighs ", masses.get(machine.type, UNSET), " ready to run")
        if hook is not None and not isinstance(hook, UnsetType):
            weight += f"; on the hook, with rigging and allowance, {quantity(hook.mass)}"
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
        strength = fraction(mixture.volume_fraction)
        blocks.append(
            Lines((f"Mix in the tank, {strength} by volume, batch by batch. Pump in, circulate, then read.",))
        )
        parts = (("Concentrate", mixture.concentrate_volume), ("Water, by meter", mixture.water_volume))
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


def _work(results: AssessmentResults) -> Section | None:
    tasks = tuple(_tasks(results))
    return section("Order of work, in hours after arrival", Tasks(tasks) if tasks else None)


def _tasks(results: AssessmentResults) -> Iterator[Task]:
    plan = results.arrival_plan
    if isinstance(plan, UnsetType):
        return
    known, placing = readings(results), results.asked.procedure
    cautions = AT_STEP | (
        {} if isinstance(placing, UnsetType) else {"place_machine": PLACED[placing.configuration.lifted_by]}
    )
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
            caution=cautions.get(step.id, ""),
        )


def _lead(order: Order) -> str:
    period = f"{word('hire', order.practice).capitalize()} {order.period.from_} to {order.period.to}"
    return f"{plain_text(order.site.name)}. {period}."
