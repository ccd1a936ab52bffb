"""What a crew reads off at each step, with what the plan expects there."""

from math import ceil

from msgspec import UnsetType
from msgspec.structs import replace

from coldwright.contract.language import marked as _
from coldwright.contract.page import Blank
from coldwright.contract.people import fraction, quantity
from coldwright.contract.quantities import Duration, Quantity, Temperature
from coldwright_basis.speech import Speech
from coldwright_booking.answer.crew_machine import Crew, evaporators
from coldwright_booking.answer.page_facts import refuel_every
from coldwright_booking.answer.results import AssessmentResults
from coldwright_electrical.service.results import MachineResults

Readings = dict[str, tuple[Blank, ...]]
AT_LEAST, AT_MOST, ABOUT = _("at least {value}"), _("at most {value}"), _("about {value}")
PLAIN = "{value}"
MOST_PLATES = 6
"""Machines of a type with a line of their own for the plate; more are written on the back."""


def between(say: Speech, low: Quantity, high: Quantity) -> str:
    """`276 to 345 kPa`."""
    first, last = quantity(low), quantity(high)
    unit = f" {last.rpartition(' ')[2]}"
    return say(_("{low} to {high}"), low=first.removesuffix(unit), high=last)


def readings(crew: Crew) -> Readings:
    """By the step's id; where the plan expects nothing, the blank stands alone."""
    say, leaving = crew.say, crew.results.fluid.leaving_temperature
    level = say(AT_MOST, value="1 %")
    found: Readings = {
        "ground_check": (Blank(say(_("slope")), level, "%"), *_overhead(crew)),
        "level_and_chock": (Blank(say(_("level")), level, "%"), Blank(say(_("across")), level, "%")),
        "lock_source": (Blank(say(_("lock no."))),),
        "prove_dead": (Blank(say(_("volts")), "0 V", "V"),),
        "control_switch_on": (Blank(say(_("on at"))),),
        "oil_warm_up": (Blank(say(_("warm at"))),),
        "start_verdict": (Blank(say(_("READY at"))),),
        "enter_set_point": (_expect(say, _("set point"), leaving),),
        "cold_water": (_expect(say, _("out"), leaving), Blank(say(_("in"))), Blank(say(_("at")))),
    }
    return found | _electric(crew) | _configured(crew) | _flowing(crew)


def _overhead(crew: Crew) -> tuple[Blank, ...]:
    asked = crew.results.asked.procedure
    lifted = isinstance(asked, UnsetType) or asked.configuration.lifted_by == "crane"
    return (Blank(crew.say(_("power lines at")), unit="ft" if crew.us else "m"),) if lifted else ()


def _expect(say: Speech, name: str, value: Quantity | UnsetType, how: str = PLAIN) -> Blank:
    if isinstance(value, UnsetType):
        return Blank(say(name))
    return Blank(say(name), say(how, value=quantity(value)))


def _electric(crew: Crew) -> Readings:
    say, supply = crew.say, crew.results.supply
    if isinstance(supply, UnsetType):
        return {}
    plate: list[Blank] = []
    for m in supply.service.machines:
        for number in range(_plates(crew, m) if crew.about(m.machine_id) else 0):
            name = m.machine_id if _plates(crew, m) == 1 else f"{m.machine_id} {number + 1}"
            plate.append(Blank(say(_("{machine}: cable"), machine=name)))
            if not isinstance(least := m.minimum_circuit_ampacity, UnsetType):
                plate[-1] = Blank(plate[-1].name, say(AT_LEAST, value=quantity(least)))
            plate.append(_expect(say, _("breaker"), m.maximum_overcurrent_standard, AT_MOST))
    running = supply.service.feeder.running_current
    return {
        "read_data_plate": tuple(plate),
        "stage_next_compressors": (_expect(say, _("all running, each line"), running),),
    }


def _plates(crew: Crew, machine: MachineResults) -> int:
    """Lines for plates: one for each machine of a type; one on the sheet of a machine."""
    return 1 if crew.chosen is not None else min(machine.quantity, MOST_PLATES)


def _configured(crew: Crew) -> Readings:
    say, asked = crew.say, crew.results.asked.procedure
    if isinstance(asked, UnsetType):
        return {}
    set_up = asked.configuration
    found: Readings = {}
    low, high = set_up.fill_pressure_minimum, set_up.fill_pressure_maximum
    if isinstance(low, Quantity) and isinstance(high, Quantity):
        expected = between(say, low, high)
        found |= dict.fromkeys(("fill_loop", "repressurise", "leak_check"), (Blank(say(_("gauge")), expected),))
        found["prove_flow_again"] = (Blank(say(_("gauge, pump off")), expected),)
        if crew.results.fluid.kind != "water":
            mix = Blank(say(_("from the tank, no tap water, put in")), unit="gal" if crew.us else "L")
            for step in ("repressurise", "prove_flow_again"):
                found[step] = (mix, *found[step])
    if isinstance(set_up.loop_turnover_time, Quantity):
        least = Duration(ceil(set_up.loop_turnover_time.to("min")), "min")
        found["blow_down_strainer"] = (
            _expect(say, _("flow has run for"), least, AT_LEAST),
            Blank(say(_("slowly, by its valve and a hose, nobody in line, into"))),
        )
    found["check_phase_and_voltage"] = (
        replace(_expect(say, _("lines 1-2"), set_up.rated_voltage, _("{value} within 10 %")), unit="V"),
        *(Blank(name, unit="V") for name in ("2-3", "3-1")),
        Blank(say(_("unbalance")), say(AT_MOST, value=fraction(set_up.voltage_unbalance_limit)), "%"),
    )
    if isinstance(set_up.rated_frequency, Quantity):
        found["start_generator"] = (_expect(say, _("frequency"), set_up.rated_frequency),)
    return found | _of_the_set(crew) | _mixture(crew)


def _of_the_set(crew: Crew) -> Readings:
    """What comes along with a generating set, and what flushing takes."""
    say, asked = crew.say, crew.results.asked.procedure
    if isinstance(asked, UnsetType):
        return {}
    found: Readings = {}
    if asked.generator_brought:
        found["check_generator"] = (Blank(say(_("oil, coolant, fuel"))),)
    if isinstance(asked.refuel_interval, Duration):
        every = say(_("then every {interval}"), interval=refuel_every(asked.refuel_interval))
        found["agree_refuelling"] = (Blank(say(_("first fill at")), every),)
    if isinstance(asked.flush_volume, Quantity):
        found["flush_hoses"] = (_expect(say, _("to which drain"), asked.flush_volume, ABOUT),)
    return found


def _mixture(crew: Crew) -> Readings:
    say, mixture, asked = crew.say, crew.results.fluid.antifreeze, crew.results.asked.procedure
    if isinstance(mixture, UnsetType) or isinstance(asked, UnsetType):
        return {}
    leaving = crew.results.fluid.leaving_temperature
    warmest, frost = leaving.si - asked.configuration.freeze_margin.si, asked.configuration.required_freeze_point
    if not isinstance(frost, UnsetType):
        warmest = min(warmest, frost.si)
    most = Temperature.from_si(warmest, leaving.unit)
    planned = quantity(mixture.freezing_temperature)
    freezes = say(_("must read {most} or colder; planned {planned}"), most=quantity(most), planned=planned)
    strength = say(_("{strength} by volume"), strength=fraction(mixture.volume_fraction))
    return {
        "read_antifreeze": (Blank(say(_("freezes at")), freezes),),
        "charge_antifreeze": (Blank(say(_("in the tank")), strength),),
    }


def _drops_within(results: AssessmentResults) -> dict[str, tuple[Quantity, Quantity]]:
    """Least and greatest drop across the evaporator of each type, where its start has both."""
    asked = results.asked
    each = asked.start_configurations
    if not each and not isinstance(asked.procedure, UnsetType):
        each = (asked.procedure.configuration,)
    found: dict[str, tuple[Quantity, Quantity]] = {}
    for machine, configuration in zip(results.machines, each, strict=False):
        low, high = configuration.evaporator_pressure_drop_minimum, configuration.evaporator_pressure_drop_maximum
        if not isinstance(low, UnsetType) and not isinstance(high, UnsetType):
            found[machine.type] = (low, high)
    return found


def _flowing(crew: Crew) -> Readings:
    say, loop = crew.say, crew.results.loop
    if isinstance(loop, UnsetType):
        return {}
    within = _drops_within(crew.results)
    drops = []
    for type_, drop in evaporators(crew.results):
        if not crew.about(type_) and type_:
            continue
        about, limits = say(ABOUT, value=quantity(drop)), within.get(type_)
        if limits is not None:
            about = f"{about}, {between(say, *limits)}"
        drops.append(Blank(say(_("drop, evaporator {machine}"), machine=type_).strip(), about))
    flow = _("flow, all machines") if crew.chosen else _("flow")
    return {
        "set_valves": (Blank(say(_("relief valve R fitted"))),),
        "prove_flow": (*drops, _expect(say, flow, loop.duty_flow)),
    }
