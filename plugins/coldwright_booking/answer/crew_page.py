"""What a crew carries: the numbers to set, the work in its order with boxes and blanks, and what to do if it goes wrong.

One sheet for the plant, or one for each of its machines. It takes its numbers from the plan and works out none. What the
order does not give is a blank to fill in by hand.
"""

from collections.abc import Mapping, Sequence

from msgspec import UNSET, UnsetType

from coldwright.contract.language import marked as _
from coldwright.contract.page import (
    Blank,
    Blanks,
    Block,
    Facts,
    Lines,
    Occasion,
    Page,
    Section,
    Slot,
    Task,
    Tasks,
    facts,
    present,
    section,
)
from coldwright.contract.people import fraction, label, plain_text, quantity, value_text, words
from coldwright.contract.quantities import Quantity
from coldwright_basis.speech import Speech
from coldwright_booking.answer import crew_valves
from coldwright_booking.answer.crew_cautions import CATCH, HOSE_BURSTS, IF_THIS_HAPPENS
from coldwright_booking.answer.crew_machine import Crew, crew_of, measured
from coldwright_booking.answer.crew_open import for_the_office, left_open
from coldwright_booking.answer.crew_readings import between
from coldwright_booking.answer.crew_work import work
from coldwright_booking.answer.page_facts import refuel_every, said
from coldwright_booking.answer.plan_answer import PlanAnswer
from coldwright_booking.answer.results import AssessmentResults
from coldwright_booking.order.given import Order


def crew_page(answer: PlanAnswer, occasion: Occasion) -> Page:
    """Both sides of one sheet of paper."""
    crew = crew_of(answer, occasion)
    say, order = crew.say, answer.given
    stopped = answer.outcome == "unacceptable"
    return Page(
        kind=say(_("Crew sheet")),
        title=_title(crew, occasion.revision),
        tone="bad" if stopped else "plain",
        verdict=say(_("DOES NOT GO: the plan has a stop")) if stopped else released(crew) + _verdict(crew),
        lead=(
            (f"{plain_text(order.site.name)}. " if order.site.name else "")
            + label(say(_("{hire} {first} to {last}"), first=order.period.from_, last=order.period.to))
            + ".",
            *((say(NO_WORK),) if stopped else ()),
        ),
        sections=present(_unsettled(crew) if stopped else _to_do(crew, occasion)),
        foot=say.by_machine(),
        language=say.language,
        dense=True,
    )


def _unsettled(crew: Crew) -> tuple[Section | None, ...]:
    """Of a plan with a stop: what must be settled. Numbers and work of it would be followed by whoever is tired enough."""
    return (section(crew.say(_("Who and where")), _blanks(crew.say, WHO)), *left_open(crew))


def _to_do(crew: Crew, occasion: Occasion) -> tuple[Section | None, ...]:
    say = crew.say
    return (
        section(say(_("Who and where")), _blanks(say, WHO + FILLS if _on_a_set(crew.results) else WHO)),
        section(say(_("Numbers")), _numbers(crew)),
        crew_valves.sketch(crew),
        crew_valves.valves(crew),
        _machines(crew, occasion.serials, _masses(crew.answer.given)),
        _cable(crew),
        _liquid(crew),
        section(say(_("What to do if")), _if_this_happens(crew)),
        *left_open(crew),
        work(crew),
        section(say(_("Signed")), _blanks(say, SIGNED)),
    )


NO_WORK = _("There is no work to do by this sheet. Settle what is listed, plan anew, and print it again.")
WHO = (
    _("Gate, street"), _("Contact on site, phone"), _("Night number of the {hire} company"), _("Emergency stop is at"),
    _("Nearest shut-off is at"), _("Electrician"), _("Technician"), _("Lift team"),
)  # fmt: skip
FILLS = (_("Who refuels the set"),)
SIGNED = (_("For the {hire} company"), _("For the site"), _("Time"))
LIQUIDS = (_("water"), _("propylene glycol"), _("ethylene glycol"))
SOURCES = (_("generator"), _("site"), _("unknown"))
"""Words of the plan that the sheet prints."""


def _title(crew: Crew, revision: int) -> str:
    say, reference = crew.say, plain_text(crew.answer.given.reference)
    parts = [say(_("Order {order}"), order=reference)]
    if revision:
        parts.append(say(_("revision {n}"), n=revision))
    if (machine := crew.chosen) is not None:
        parts.append(say(_("machine {n} of {count}"), n=machine.number, count=len(crew.machines)))
        parts.append(plain_text(" ".join(filter(None, (machine.type, machine.serial)))))
    return ", ".join(parts)


def _on_a_set(results: AssessmentResults) -> bool:
    return not isinstance(results.supply, UnsetType) and results.supply.source == "generator"


def _blanks(say: Speech, names: Sequence[str]) -> Blanks:
    return Blanks(tuple(Blank(say(name)) for name in names))


def released(crew: Crew) -> str:
    """A stamp while the office has not settled its part."""
    count = len(for_the_office(crew.answer))
    return crew.say(_("NOT RELEASED, {n} for the office."), n=count) + " " if count else ""


def _if_this_happens(crew: Crew) -> Facts:
    say, glycol = crew.say, crew.results.fluid.kind != "water"
    return Facts(
        tuple(
            (say(when), f"{say(do)} {say(CATCH)}" if glycol and when == HOSE_BURSTS else say(do))
            for when, do in IF_THIS_HAPPENS
        )
    )


def _verdict(crew: Crew) -> str:
    """The two numbers that are set by hand."""
    leaving, pressure = quantity(crew.results.fluid.leaving_temperature), _fill_pressure(crew)
    if not pressure:
        return crew.say(_("Set point {leaving}"), leaving=leaving)
    return crew.say(_("Set point {leaving}, fill {pressure}, pump off"), leaving=leaving, pressure=pressure)


def _fill_pressure(crew: Crew) -> str:
    asked = crew.results.asked.procedure
    if not isinstance(asked, UnsetType):
        low, high = asked.configuration.fill_pressure_minimum, asked.configuration.fill_pressure_maximum
        if isinstance(low, Quantity) and isinstance(high, Quantity):
            return between(crew.say, low, high)
    return said("", crew.results.fill_pressure)


def _numbers(crew: Crew) -> Facts | None:
    say, results = crew.say, crew.results
    rows = [
        (say(_("Set point")), quantity(results.fluid.leaving_temperature)),
        (say(_("Liquid")), say.known(words(results.fluid.kind))),
        (say(_("Fill, pump off")), _fill_pressure(crew)),
    ]
    if not isinstance(fill := results.fill, UnsetType):
        rows += [
            (say(_("Loop holds")), quantity(fill.total_volume)),
            (say(_("Expansion vessels")), _vessels(results) or value_text(fill.vessel_volume)),
            (say(_("Its precharge")), _precharge(crew, fill.precharge_pressure)),
        ]
    if not isinstance(loop := results.loop, UnsetType):
        bore = quantity(loop.hose_inner_diameter)
        rows += [
            (say(_("Flow, all machines") if crew.chosen else _("Flow")), value_text(loop.duty_flow)),
            (say(_("Hose")), say(_("{bore} bore, {runs} each way"), bore=bore, runs=loop.hose_runs)),
            (say(_("Relief valve and vessel")), say(crew_valves.relief_place(loop.pump_owner))),
        ]
    if not isinstance(supply := results.supply, UnsetType):
        rows += [
            (say(_("Supply")), f"{say.known(words(supply.source))}, {quantity(supply.voltage)}"),
            (say(_("All machines running")), value_text(supply.service.feeder.running_current)),
        ]
        if not isinstance(stated := supply.generator, UnsetType):
            asked = results.asked.generator
            bank = UNSET if isinstance(asked, UnsetType) else asked.load_bank_power
            rows += [
                (say(_("Refuel every")), refuel_every(stated.refuel_interval)),
                (say(_("Load bank set to")), said("", bank) if isinstance(bank, Quantity) and bank.value else ""),
            ]
    rows.append((say(_("Oil heat")), _oil_heat(crew)))
    return facts(*rows, (say(_("Cold water after arrival")), said("", results.cold_water_after)))


def _precharge(crew: Crew, stated: Quantity | UnsetType) -> str:
    """The plan's precharge is its least fill: a vessel that holds no liquid has none to give while warm liquid cools."""
    if not (pressure := value_text(stated)):
        return ""
    return crew.say(
        _("{pressure}, vessel empty. Fill warm liquid to the upper value: it shrinks as it cools"), pressure=pressure
    )


def _rigging_given(results: AssessmentResults) -> bool:
    """Whether the order says what slings and hook block weigh: else they are in no hook load of the plan."""
    return all(lift.rigging_mass.value and lift.hook_block_mass.value for lift in results.asked.lifts)


def _oil_heat(crew: Crew) -> str:
    asked = crew.results.asked.procedure
    if isinstance(asked, UnsetType) or isinstance(hours := asked.configuration.warm_up_duration, UnsetType):
        return ""
    return crew.say(_("{hours} without a break; the maker's longer time rules"), hours=quantity(hours))


def _vessels(results: AssessmentResults) -> str:
    """Those of the pick list."""
    lines = (line for line in results.pick_list if line.kind == "expansion_vessel")
    return ", ".join(plain_text(f"{line.count} x {line.item.removeprefix('expansion vessel ')}") for line in lines)


def numbers_of(kind: str, serials: Sequence[tuple[str, str]]) -> str:
    """Serial numbers of the machines of a type that were assigned: `: A-1, A-2`; empty where none were."""
    own = [plain_text(serial) for name, serial in serials if name == kind]
    return f": {', '.join(own)}" if own else ""


def _masses(order: Order) -> Mapping[str, Quantity]:
    machines = () if isinstance(order.fleet, UnsetType) else order.fleet.machines
    return {m.type: m.body.mass_operating for m in machines if isinstance(m.body.mass_operating, Quantity)}


def _machines(crew: Crew, serials: Sequence[tuple[str, str]], masses: Mapping[str, Quantity]) -> Section | None:
    say, results = crew.say, crew.results
    hooks = {}
    if not isinstance(site := results.site, UnsetType):
        hooks = {m.type: m.lift.hook_load for m in site.lift}
    tasks = []
    for machine in results.machines:
        if not crew.about(machine.type):
            continue
        if crew.chosen is not None:
            own = crew.chosen.serial
            text, known = plain_text(machine.type + (f": {own}" if own else "")), bool(own)
        else:
            text = plain_text(f"{machine.count} x {machine.type}") + numbers_of(machine.type, serials)
            known = sum(name == machine.type for name, _serial in serials) >= machine.count
        if (mass := masses.get(machine.type)) is not None:
            several = crew.chosen is None and machine.count > 1
            weighs = _("each weighs {mass} ready to run") if several else _("weighs {mass} ready to run")
            text += ", " + say(weighs, mass=quantity(measured(mass, results)))
        hook = hooks.get(machine.type)
        if hook is not None and not isinstance(hook, UnsetType):
            with_all = (
                _("on the hook, with rigging and allowance, {mass}")
                if _rigging_given(results)
                else _("on the hook {mass} with its allowance; slings, beams and hook block NOT included: add them")
            )
            text += "; " + say(with_all, mass=quantity(hook.mass))
        tasks.append(Task(text, blanks=() if known else (Blank(say(_("Serial numbers"))),)))
    doors = Slot("machines") if len(crew.machines) > 1 else None
    return section(say(_("Machines")), Tasks(tuple(tasks)) if tasks else None, doors if tasks else None)


def _cable(crew: Crew) -> Section | None:
    say, block = crew.say, crew.results.cable
    if isinstance(block, UnsetType):
        return None
    lines, counts = [], {m.type: m.count for m in crew.results.machines}
    for m in block.machines:
        if not crew.about(m.type):
            continue
        size = plain_text(m.feeder.conductor_size)
        line = plain_text(m.type) + ": " + say(_("{size}, sets: {sets}"), size=size, sets=m.feeder.sets)
        if not isinstance(carries := m.feeder.ampacity_deciding, UnsetType):
            line += ", " + say(_("carries {current}"), current=quantity(carries))
        pieces, count = m.feeder.pick_list.cable_pieces, counts[m.type]
        several = crew.chosen is None and count > 1
        counted = _("pieces: {n} for each of {count} machines, {all} in all") if several else _("pieces: {n}")
        lines.append(f"{line}, " + say(counted, n=pieces, count=count, all=pieces * count))
    order = Lines(
        (say(_("All dead: {earth} first, then neutral if any, then lines. Off the other way, {earth} last.")),)
    )
    return section(say(_("Cable")), Lines(tuple(lines)) if lines else None, order)


def _liquid(crew: Crew) -> Section | None:
    """In the order in which it goes in. It goes into the loop once, and is on the sheet of the plant."""
    say, mixture, fill = crew.say, crew.results.fluid.antifreeze, crew.results.fill
    blocks: list[Block] = []
    if crew.chosen is not None:
        return None
    if not isinstance(mixture, UnsetType) and isinstance(mixture.concentrate_volume, Quantity):
        strength = fraction(mixture.volume_fraction)
        how = say(
            _("Mix in the tank, {strength} by volume, batch by batch. Pump in, circulate, then read."),
            strength=strength,
        )
        if not isinstance(asked := crew.results.asked.antifreeze, UnsetType):
            pure = fraction(asked.concentrate_mass_fraction)
            how += " " + say(_("Strength is of pure glycol; the concentrate is {pure} glycol."), pure=pure)
        blocks.append(Lines((how,)))
        parts = (
            (_("Concentrate: {volume}"), mixture.concentrate_volume),
            (_("Water, by meter: {volume}"), mixture.water_volume),
        )
        blocks.append(
            Tasks(
                tuple(
                    Task(say(text, volume=quantity(litres)), blanks=(Blank(say(_("put in")), unit=litres.unit),))
                    for text, litres in parts
                    if isinstance(litres, Quantity)
                )
            )
        )
    elif not isinstance(fill, UnsetType):
        text = say(_("Water: {volume}"), volume=quantity(fill.total_volume))
        blocks.append(Tasks((Task(text, blanks=(Blank(say(_("put in")), unit=fill.total_volume.unit),)),)))
    return section(say(_("Liquid, in this order")), *blocks)
