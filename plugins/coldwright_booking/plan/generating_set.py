"""The generating set: what it feeds, the smallest that does, and what keeps it loaded while the load is low."""

from dataclasses import dataclass

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract.quantities import ApparentPower, Current, Duration, Power, Voltage
from coldwright_basis.compare import at_least, whole_at_least
from coldwright_basis.motor_starting import starting_kva
from coldwright_booking.fleet.given import FleetMotor, Generator, MachineType, StartingMethod
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.machines import Combination
from coldwright_electrical.generator import generator
from coldwright_electrical.generator.given import GeneratorGiven, GeneratorLoadGiven, GeneratorSetGiven
from coldwright_electrical.generator.results import GeneratorCandidateResults, GeneratorResults
from coldwright_electrical.service.given import OtherLoadGiven
from coldwright_electrical.service.results import ServiceResults

MARKET_SETS = (
    20, 30, 45, 60, 80, 100, 125, 150, 200, 250, 300, 350, 400, 500, 600, 800, 1000, 1250, 1500, 2000, 2500,
)  # fmt: skip
"""kW of sets that can be hired elsewhere (common practice); tried where no set of the stock holds."""
SET_POWER_FACTOR = 0.8
LEAST_CURRENT = 0.01
MOST_LOADS = 100
BANK_STEP = 5.0
"""kW in which load banks are listed (common practice)."""
FOLLOW_RUNNING = {"soft_start", "variable_frequency"}
"""Methods whose start is a multiple of the running current."""
LIGHT = {"light_load", "light_load_at_night"}
"""Stops that a load bank cures."""
SetAnswer = Asked[GeneratorGiven, GeneratorResults] | Unanswered


@dataclass(frozen=True)
class SetPlan:
    """The generating set of the plan."""

    asked: SetAnswer
    row: Generator | None
    """Of the stock; None where the set is hired elsewhere, or none does."""
    alone: SetAnswer
    """The same set without a load bank."""

    @property
    def load_bank(self) -> Power | None:
        """What keeps the set loaded while the load is low; None where it needs nothing."""
        bank = self.asked.given.load_bank_power if isinstance(self.asked, Asked) else UNSET
        return None if isinstance(bank, UnsetType) else bank


def choose_set(
    facts: Facts, desk: Desk, combination: Combination, heat: Heat, service: ServiceResults, voltage: Voltage
) -> SetPlan:
    """The smallest set of the stock that holds, with a load bank where the least load asks for one; else the smallest
    that can be hired elsewhere. It carries what the machines run on by their plates too: while warm liquid is pulled
    down they draw more than at the design point.
    """
    stock = sorted(
        (a for a in facts.fleet.accessories if isinstance(a, Generator) and a.count > 0),
        key=lambda g: (g.rated_active_power.si, g.rated_apparent_power.si),
    )
    loads, least = _loads(combination, service, voltage), _lowest_load(facts, combination, heat)
    first: SetPlan | None = None
    for row in stock[:50]:
        tried = _kept_loaded(desk, _set(facts, loads, least, voltage, row), row)
        if (
            isinstance(tried.asked, Asked)
            and tried.asked.results.verdict == "ok"
            and _holds_dip(tried.asked, facts)
            and carries_plates(tried.asked.results, service)
        ):
            return tried
        first = first or tried
    market = desk.try_ask(generator, _market(facts, loads, least, voltage))
    if isinstance(market, Asked) and market.results.smallest_candidate is not UNSET:
        first_place = market.results.smallest_candidate
        pairs = zip(market.given.candidate_sets[first_place:], market.results.candidates[first_place:], strict=True)
        larger = [(one, carries_plates(row, service)) for one, row in pairs]
        enough = [one for one, carries in larger if carries] or [larger[-1][0]]
        hired = (_kept_loaded(desk, _given(facts, loads, least, voltage, generator=one), None) for one in enough)
        smallest = next(hired)
        return (
            smallest
            if not _is_crowded(smallest.asked)
            else next((h for h in hired if not _is_crowded(h.asked)), smallest)
        )
    if first is None:
        return SetPlan(market, None, market)
    return SetPlan(first.asked, stock[-1], first.alone)


def carries_plates(row: GeneratorResults | GeneratorCandidateResults, service: ServiceResults) -> bool:
    """Whether engine and alternator carry what the machines run on by their plates; true where that is not known."""
    return all(
        needed is UNSET or has is UNSET or at_least(has.si, needed.si)
        for has, needed in (
            (row.derated_active_power, service.active_power),
            (row.derated_apparent_power, service.apparent_power),
        )
    )


def _kept_loaded(desk: Desk, given: GeneratorGiven, row: Generator | None) -> SetPlan:
    """The set, with a load bank where nothing but too light a load stands against it."""
    alone = desk.try_ask(generator, given)
    if not isinstance(alone, Asked):
        return SetPlan(alone, row, alone)
    stops = {f.code for f in alone.notes.findings if f.severity == "stop"}
    bank = next((r.load_bank_power for r in alone.results.light_load_remedies if r.kind == "load_bank"), UNSET)
    if not stops or stops - LIGHT or isinstance(bank, UnsetType):
        return SetPlan(alone, row, alone)
    rounded = Power(BANK_STEP * whole_at_least(bank.to("kW") / BANK_STEP), "kW")
    return SetPlan(desk.try_ask(generator, replace(given, load_bank_power=rounded)), row, alone)


def _lowest_load(facts: Facts, combination: Combination, heat: Heat) -> float:
    """Power at the least load over the power of all machines: never below the least step of the machine that turns
    down furthest. A machine takes its share of power with its share of capacity.
    """
    step = min(p.capacity.si * p.candidate.least_step for p in combination)
    return min(1.0, max(facts.lowest_load * heat.gross, step) / combination.capacity)


def _at_design_point(
    loads: list[GeneratorLoadGiven], active: Power, voltage: Voltage, count: int
) -> list[GeneratorLoadGiven]:
    """The loads of one type with the currents that make up what its machines draw at the design point.

    Plates name currents for the hottest day and the least voltage; starts stay as the plate has them. No running current
    goes above its own start.
    """
    root_3 = 3**0.5
    loads = [_with_its_start(load, voltage) for load in loads]
    plate = root_3 * voltage.si * sum(x.quantity * x.running_current.si * x.power_factor for x in loads)
    share = active.si * count / plate
    for load in loads:
        if not isinstance(load.locked_rotor_current, UnsetType):
            factor = load.starting_current_factor
            start = load.locked_rotor_current.si * (1.0 if isinstance(factor, UnsetType) else min(1.0, factor))
            share = min(share, start / load.running_current.si)
    return [
        replace(x, running_current=Current.of(max(share * x.running_current.to("A"), LEAST_CURRENT), "A"))
        for x in loads
    ]


def _with_its_start(load: GeneratorLoadGiven, voltage: Voltage) -> GeneratorLoadGiven:
    """A soft starter or drive draws a multiple of what its motor runs on: by the plate, not at the design point."""
    if load.starting_method not in FOLLOW_RUNNING or not isinstance(load.starting_current_factor, UnsetType):
        return load
    start = Current.of(starting_kva(load, voltage.si) * 1000 / (3**0.5 * voltage.si), "A")
    locked = start if isinstance(load.locked_rotor_current, UnsetType) else load.locked_rotor_current
    return replace(load, locked_rotor_current=locked, starting_current_factor=min(1.0, start.si / locked.si))


def _is_crowded(tried: Asked[GeneratorGiven, GeneratorResults] | Unanswered) -> bool:
    """Whether the load takes more of the set than is planned for: then the next size is the better hire."""
    return isinstance(tried, Asked) and any(f.code == "load_above_maximum" for f in tried.notes.findings)


def _holds_dip(tried: Asked[GeneratorGiven, GeneratorResults], facts: Facts) -> bool:
    dip = tried.results.worst_dip_fraction
    return dip is UNSET or dip <= facts.dip_limit


def _set(
    facts: Facts, loads: tuple[GeneratorLoadGiven, ...], least: float, voltage: Voltage, row: Generator
) -> GeneratorGiven:
    return _given(
        facts,
        loads,
        least,
        voltage,
        generator=GeneratorSetGiven(
            rated_active_power=row.rated_active_power,
            rated_apparent_power=row.rated_apparent_power,
            subtransient_reactance=row.subtransient_reactance,
            transient_reactance=row.transient_reactance,
        ),
        fuel_curve=row.fuel_curve,
        tank_volume=row.tank_volume,
        usable_fraction=row.usable_fraction,
    )


def _market(facts: Facts, loads: tuple[GeneratorLoadGiven, ...], least: float, voltage: Voltage) -> GeneratorGiven:
    sets = tuple(
        GeneratorSetGiven(
            rated_active_power=Power(float(kw), "kW"),
            rated_apparent_power=ApparentPower(kw / SET_POWER_FACTOR, "kVA"),
        )
        for kw in MARKET_SETS
    )
    return _given(facts, loads, least, voltage, candidate_sets=sets)


def _given(
    facts: Facts, loads: tuple[GeneratorLoadGiven, ...], least: float, voltage: Voltage, **more: object
) -> GeneratorGiven:
    return GeneratorGiven(
        practice=facts.order.practice,
        system_voltage=voltage,
        frequency=facts.frequency,
        loads=loads,
        altitude=facts.elevation,
        ambient_temperature=facts.order.site.design_ambient_temperature,
        dip_limit_fraction=facts.dip_limit,
        run_duration=Duration(24.0 * facts.days, "h"),
        critical=facts.order.critical,
        lowest_load_fraction=least,
        **more,  # type: ignore[arg-type]
    )


def _loads(combination: Combination, results: ServiceResults, voltage: Voltage) -> tuple[GeneratorLoadGiven, ...]:
    """Pumps first, then fans, then the compressors one after the other; a plate without motors is one load."""
    every: list[GeneratorLoadGiven] = []
    order = 3
    for picked, stated in zip(combination, results.machines, strict=True):
        machine, count = picked.machine, picked.count
        loads: list[GeneratorLoadGiven] = []
        if not machine.electrical.motors:
            loads.append(_whole(machine, count, stated.minimum_circuit_ampacity, order))
            order += 1
        else:
            loads += [_heater(machine, other, count) for other in machine.electrical.other_loads]
        for place, motor in enumerate(machine.electrical.motors):
            units = count * motor.quantity
            if motor.role != "compressor":
                loads.append(motor_load(machine, motor, place, units, {"pump": 1, "fan": 2}[motor.role]))
                continue
            one_by_one = len(every) + len(loads) + units < MOST_LOADS
            for number in range(units if one_by_one else 1):
                loads.append(motor_load(machine, motor, place, 1 if one_by_one else units, order, number + 1))
                order += 1
        every += _at_design_point(loads, picked.power, voltage, count)
    return tuple(every)


def _heater(machine: MachineType, other: OtherLoadGiven, count: int) -> GeneratorLoadGiven:
    return GeneratorLoadGiven(
        load_id=f"{machine.type}: {other.name}"[:100],
        quantity=count,
        running_current=other.current,
        power_factor=1.0,
    )


def _whole(machine: MachineType, count: int, ampacity: Current, order: int) -> GeneratorLoadGiven:
    return GeneratorLoadGiven(
        load_id=machine.type,
        quantity=count,
        running_current=Current.of(max(ampacity.to("A") / 1.25, LEAST_CURRENT), "A"),
        power_factor=machine.electrical.power_factor,
        start_order=order,
    )


def motor_load(
    machine: MachineType, motor: FleetMotor, place: int, units: int, order: int, number: int = 0
) -> GeneratorLoadGiven:
    """A motor of the machine as `electrical.generator` takes it."""
    current = motor_current(motor)
    label = f"{machine.type}: {motor.role} {place + 1}" + (f".{number}" if number else "")
    return GeneratorLoadGiven(
        load_id=label[:100],
        quantity=units,
        running_current=Current.of(max(current, 0.01), "A"),
        power_factor=machine.electrical.power_factor,
        locked_rotor_current=motor.locked_rotor_current,
        starting_method=_method(motor),
        starting_current_factor=motor.starting_current_factor if motor.locked_rotor_current is not UNSET else UNSET,
        starts_unloaded=_starts_unloaded(motor),
        start_order=order,
        nonlinear=motor.starting_method == "variable_frequency",
    )


def _starts_unloaded(motor: FleetMotor) -> bool:
    """As the maker says; the torque of pumps and fans rises with the square of their speed."""
    return motor.role != "compressor" if isinstance(motor.starts_unloaded, UnsetType) else motor.starts_unloaded


def _method(motor: FleetMotor) -> StartingMethod | UnsetType:
    """A method that works on locked rotor says nothing where that current is not given."""
    if motor.locked_rotor_current is UNSET and motor.starting_method not in ("soft_start", "variable_frequency"):
        return UNSET
    return motor.starting_method


def motor_current(motor: FleetMotor) -> float:
    """A of one motor: the greater of the two compressor currents, or the full-load current."""
    stated = [
        c.to("A")
        for c in (motor.rated_load_current, motor.branch_circuit_selection_current, motor.full_load_current)
        if c is not UNSET
    ]
    return max(stated, default=0.0)
