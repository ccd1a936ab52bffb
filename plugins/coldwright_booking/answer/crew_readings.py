"""What a crew reads off at each step, with what the plan expects there."""

from math import ceil

from msgspec import UnsetType

from coldwright.contract.page import Blank
from coldwright.contract.people import fraction, quantity
from coldwright.contract.quantities import Duration, Quantity, Temperature
from coldwright_booking.answer.page_facts import said
from coldwright_booking.answer.results import AssessmentResults

Readings = dict[str, tuple[Blank, ...]]


def between(low: Quantity, high: Quantity) -> str:
    """`276 to 345 kPa`."""
    first, last = quantity(low), quantity(high)
    unit = f" {last.rpartition(' ')[2]}"
    return f"{first.removesuffix(unit)} to {last}"


def readings(results: AssessmentResults) -> Readings:
    """By the step's id; where the plan expects nothing, the blank stands alone."""
    found: Readings = {
        "ground_check": (Blank("slope", "at most 1 %", "%"), *_overhead(results)),
        "level_and_chock": (Blank("level", "at most 1 %", "%"), Blank("across", "at most 1 %", "%")),
        "lock_source": (Blank("lock no."),),
        "prove_dead": (Blank("volts", "0 V", "V"),),
        "control_switch_on": (Blank("on at"),),
        "oil_warm_up": (Blank("warm at"),),
        "start_verdict": (Blank("READY at"),),
        "enter_set_point": (_expect("set point", results.fluid.leaving_temperature),),
        "cold_water": (_expect("out", results.fluid.leaving_temperature), Blank("in"), Blank("at")),
    }
    return found | _electric(results) | _configured(results) | _flowing(results)


def _overhead(results: AssessmentResults) -> tuple[Blank, ...]:
    asked = results.asked.procedure
    lifted = isinstance(asked, UnsetType) or asked.configuration.lifted_by == "crane"
    return (Blank("power lines at", unit="m"),) if lifted else ()


def _expect(name: str, value: Quantity | UnsetType, word: str = "") -> Blank:
    if isinstance(value, UnsetType):
        return Blank(name)
    return Blank(name, f"{word} {quantity(value)}".strip())


def _electric(results: AssessmentResults) -> Readings:
    supply = results.supply
    if isinstance(supply, UnsetType):
        return {}
    machines = supply.service.machines
    plate = tuple(
        blank
        for m in machines
        for blank in (
            _expect(f"{m.machine_id}: cable", m.minimum_circuit_ampacity, "at least"),
            _expect("breaker", m.maximum_overcurrent_standard, "at most"),
        )
    )
    running = supply.service.feeder.running_current
    return {"read_data_plate": plate, "stage_next_compressors": (_expect("all running, each line", running),)}


def _configured(results: AssessmentResults) -> Readings:
    asked = results.asked.procedure
    if isinstance(asked, UnsetType):
        return {}
    set_up = asked.configuration
    found: Readings = {}
    low, high = set_up.fill_pressure_minimum, set_up.fill_pressure_maximum
    if isinstance(low, Quantity) and isinstance(high, Quantity):
        pressure = Blank("gauge", between(low, high))
        found |= dict.fromkeys(("fill_loop", "repressurise", "leak_check"), (pressure,))
        found["prove_flow_again"] = (Blank("gauge, pump off", pressure.expected),)
    if isinstance(set_up.loop_turnover_time, Quantity):
        least = Duration(ceil(set_up.loop_turnover_time.to("min")), "min")
        found["blow_down_strainer"] = (_expect("flow has run for", least, "at least"),)
    unbalance = f"at most {fraction(set_up.voltage_unbalance_limit)}"
    rated = said("", set_up.rated_voltage, " within 10 %")
    lines = tuple(Blank(name, unit="V") for name in ("2-3", "3-1"))
    found["check_phase_and_voltage"] = (Blank("lines 1-2", rated, "V"), *lines, Blank("unbalance", unbalance, "%"))
    if isinstance(set_up.rated_frequency, Quantity):
        found["start_generator"] = (Blank("oil"), Blank("fuel"), _expect("frequency", set_up.rated_frequency))
    if not isinstance(mixture := results.fluid.antifreeze, UnsetType):
        leaving = results.fluid.leaving_temperature
        most = Temperature.from_si(leaving.si - set_up.freeze_margin.si, leaving.unit)
        planned = quantity(mixture.freezing_temperature)
        found["read_antifreeze"] = (Blank("freezes at", f"must read {quantity(most)} or colder; planned {planned}"),)
        found["charge_antifreeze"] = (Blank("in the tank", f"{fraction(mixture.volume_fraction)} by volume"),)
    return found


def _flowing(results: AssessmentResults) -> Readings:
    loop, asked = results.loop, results.asked.procedure
    if isinstance(loop, UnsetType):
        return {}
    drops = tuple(
        Blank(f"drop, {e.name}", f"about {quantity(e.pressure_drop)}")
        for e in loop.elements
        if e.name.startswith("evaporator")
    )
    limits: tuple[Blank, ...] = ()
    if not isinstance(asked, UnsetType):
        low, high = (
            asked.configuration.evaporator_pressure_drop_minimum,
            asked.configuration.evaporator_pressure_drop_maximum,
        )
        if isinstance(low, Quantity) and isinstance(high, Quantity) and drops:
            limits = (Blank(drops[0].name, f"{drops[0].expected}, {between(low, high)}"),)
    return {"prove_flow": ((limits or drops[:1]) + drops[1:] + (_expect("flow", loop.duty_flow),))}
