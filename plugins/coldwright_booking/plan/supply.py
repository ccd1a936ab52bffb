"""The circuit, the generator or the site's breaker, the transformer."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import ApparentPower, Current, Duration, Power, Temperature, Voltage
from coldwright_booking.fleet.given import FleetMotor, Generator, MachineType, Panel, StartingMethod, StockTransformer
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.machines import Choice, Combination, Machines
from coldwright_booking.plan.panels import PanelWanted, panel_of, panel_wanted
from coldwright_booking.plan.voltages import suits
from coldwright_electrical.generator import generator
from coldwright_electrical.generator.given import GeneratorGiven, GeneratorLoadGiven, GeneratorSetGiven
from coldwright_electrical.generator.results import GeneratorResults
from coldwright_electrical.service import service
from coldwright_electrical.service.given import AvailableGiven, MachineGiven, MotorGiven, ServiceGiven
from coldwright_electrical.service.results import ServiceResults
from coldwright_electrical.transformer import transformer
from coldwright_electrical.transformer.given import TransformerGiven
from coldwright_electrical.transformer.results import TransformerResults

MARKET_SETS = (
    20, 30, 45, 60, 80, 100, 125, 150, 200, 250, 300, 350, 400, 500, 600, 800, 1000, 1250, 1500, 2000, 2500,
)  # fmt: skip
"""kW of sets that can be hired elsewhere (common practice); tried where no set of the stock holds."""
SET_POWER_FACTOR = 0.8
HOTTEST_AT_SET, HOTTEST_AT_TRANSFORMER = 60.0, 60.0
LEAST_CURRENT = 1.0
MOST_LOADS = 100


@dataclass(frozen=True)
class SupplyPlan:
    """The supply of the plan."""

    voltage: Voltage
    """Of the system that the machines hang on."""
    service: Asked[ServiceGiven, ServiceResults]
    generator: Asked[GeneratorGiven, GeneratorResults] | Unanswered | None
    generator_row: Generator | None
    transformer: Asked[TransformerGiven, TransformerResults] | Unanswered | None
    transformer_row: StockTransformer | None
    primary_current: Current | None
    """The circuit ampacity of the machines as the site sees it; None where no transformer hangs on the site.

    The ampacity, not the load: a breaker that just carries the load trips on the largest motor's share on top of it.
    """
    primary_shortage: str
    """Why the site cannot feed the transformer; empty where it can, or where nobody told what it has."""
    panel: PanelWanted | None
    """The distribution panel between the feeder and several machines."""
    panel_row: Panel | None

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked of the supply, in order."""
        return self.service, self.generator, self.transformer


class SupplyNeeds(NamedTuple):
    """What the supply takes of the plan."""

    facts: Facts
    machines: Machines


def system_voltage(facts: Facts, choice: Choice) -> Voltage:
    """That of the supply where the machines suit it, else the nominal voltage of their plates."""
    supply = facts.order.supply.voltage
    return Voltage(choice.voltage, "V") if supply is UNSET or choice.needs_transformer else supply


def decide(needs: SupplyNeeds, desk: Desk) -> SupplyPlan | Unanswered:
    """Ask for the circuit and for what feeds it."""
    facts, choice, combination = needs.facts, needs.machines.choice, needs.machines.combination
    assert choice is not None  # noqa: S101 - a combination comes from it
    voltage = system_voltage(facts, choice)
    asked = desk.try_ask(service, _service(facts, combination, voltage, choice.needs_transformer))
    if isinstance(asked, Unanswered):
        return asked
    sets: tuple[Asked[GeneratorGiven, GeneratorResults] | Unanswered | None, Generator | None] = (None, None)
    if facts.order.supply.source == "generator":
        sets = _generator(facts, desk, combination, asked, voltage)
    between: tuple[Asked[TransformerGiven, TransformerResults] | Unanswered | None, StockTransformer | None]
    between = _transformer(facts, desk, asked, voltage) if choice.needs_transformer else (None, None)
    current = _primary_current(facts, asked, between[0], voltage)
    wanted = panel_wanted(combination, asked.results)
    return SupplyPlan(
        voltage,
        asked,
        *sets,
        *between,
        primary_current=current,
        primary_shortage=_primary_shortage(facts, asked, voltage, current),
        panel=wanted,
        panel_row=None if wanted is None else panel_of(facts, wanted),
    )


SUPPLY = Block("supply", SupplyNeeds, (service, generator, transformer), decide)


# --- the circuit ------------------------------------------------------------------------------------------------------


def _service(facts: Facts, combination: Combination, voltage: Voltage, foreign: bool) -> ServiceGiven:
    supply = facts.order.supply
    offered = supply.source == "site" and not foreign
    known = offered and (supply.breaker_rating is not UNSET or supply.available_current is not UNSET)
    return ServiceGiven(
        practice=facts.order.practice,
        system_voltage=voltage,
        frequency=facts.frequency,
        machines=tuple(_machine(p.machine, p.count) for p in combination),
        available=AvailableGiven(breaker_rating=supply.breaker_rating, supply_current=supply.available_current)
        if known
        else UNSET,
        power_factor=combination[0].machine.electrical.power_factor,
    )


def _machine(machine: MachineType, count: int) -> MachineGiven:
    plate = machine.electrical
    return MachineGiven(
        machine_id=machine.type,
        quantity=count,
        nameplate_voltage=plate.voltage,
        nameplate_frequency=plate.frequency,
        minimum_circuit_ampacity=plate.minimum_circuit_ampacity,
        maximum_overcurrent_device=plate.maximum_overcurrent_device,
        rated_current=plate.rated_current,
        motors=tuple(_motor(m) for m in plate.motors),
        other_loads=plate.other_loads,
    )


def _motor(motor: FleetMotor) -> MotorGiven:
    return MotorGiven(**{name: getattr(motor, name) for name in MotorGiven.__struct_fields__})


def motor_current(motor: FleetMotor) -> float:
    """A of one motor: the greater of the two compressor currents, or the full-load current."""
    told = [
        c.to("A")
        for c in (motor.rated_load_current, motor.branch_circuit_selection_current, motor.full_load_current)
        if c is not UNSET
    ]
    return max(told, default=0.0)


# --- the generator ----------------------------------------------------------------------------------------------------


def _generator(
    facts: Facts,
    desk: Desk,
    combination: Combination,
    asked: Asked[ServiceGiven, ServiceResults],
    voltage: Voltage,
) -> tuple[Asked[GeneratorGiven, GeneratorResults] | Unanswered, Generator | None]:
    """The smallest set of the stock that holds; else the smallest that can be hired elsewhere."""
    stock = sorted(
        (a for a in facts.fleet.accessories if isinstance(a, Generator) and a.count > 0),
        key=lambda g: (g.rated_active_power.si, g.rated_apparent_power.si),
    )
    loads = _loads(combination, asked.results)
    first: Asked[GeneratorGiven, GeneratorResults] | Unanswered | None = None
    for row in stock[:50]:
        tried = desk.try_ask(generator, _set(facts, loads, voltage, row))
        if isinstance(tried, Asked) and tried.results.verdict == "ok" and _holds_dip(tried, facts):
            return tried, row
        first = first or tried
    market = desk.try_ask(generator, _market(facts, loads, voltage))
    if isinstance(market, Asked) and market.results.smallest_candidate is not UNSET:
        enough = market.given.candidate_sets[market.results.smallest_candidate :]
        hired = [desk.try_ask(generator, _from_market(facts, loads, voltage, chosen)) for chosen in enough[:2]]
        return hired[1] if len(hired) > 1 and _is_crowded(hired[0]) else hired[0], None
    return market if first is None else first, stock[-1] if stock and first is not None else None


def _is_crowded(tried: Asked[GeneratorGiven, GeneratorResults] | Unanswered) -> bool:
    """Whether the load takes more of the set than is planned for: then the next size is the better hire."""
    return isinstance(tried, Asked) and any(f.code == "load_above_maximum" for f in tried.notes.findings)


def _holds_dip(tried: Asked[GeneratorGiven, GeneratorResults], facts: Facts) -> bool:
    dip = tried.results.worst_dip_fraction
    return dip is UNSET or dip <= facts.dip_limit


def _set(facts: Facts, loads: tuple[GeneratorLoadGiven, ...], voltage: Voltage, row: Generator) -> GeneratorGiven:
    return _given(
        facts,
        loads,
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


def _market(facts: Facts, loads: tuple[GeneratorLoadGiven, ...], voltage: Voltage) -> GeneratorGiven:
    sets = tuple(
        GeneratorSetGiven(
            rated_active_power=Power(float(kw), "kW"),
            rated_apparent_power=ApparentPower(kw / SET_POWER_FACTOR, "kVA"),
        )
        for kw in MARKET_SETS
    )
    return _given(facts, loads, voltage, candidate_sets=sets)


def _from_market(
    facts: Facts, loads: tuple[GeneratorLoadGiven, ...], voltage: Voltage, chosen: GeneratorSetGiven
) -> GeneratorGiven:
    return _given(facts, loads, voltage, generator=chosen)


def _given(facts: Facts, loads: tuple[GeneratorLoadGiven, ...], voltage: Voltage, **more: object) -> GeneratorGiven:
    ambient = facts.order.site.design_ambient_temperature
    return GeneratorGiven(
        practice=facts.order.practice,
        system_voltage=voltage,
        frequency=facts.frequency,
        loads=loads,
        altitude=facts.elevation,
        ambient_temperature=Temperature.of(min(ambient.to("degC"), HOTTEST_AT_SET), "degC"),
        dip_limit_fraction=facts.dip_limit,
        run_duration=Duration(24.0 * facts.days, "h"),
        critical=facts.order.critical,
        **more,  # type: ignore[arg-type]
    )


def _loads(combination: Combination, results: ServiceResults) -> tuple[GeneratorLoadGiven, ...]:
    """Pumps first, then fans, then the compressors one after the other; a plate without motors is one load."""
    loads: list[GeneratorLoadGiven] = []
    order = 3
    for picked, told in zip(combination, results.machines, strict=True):
        machine, count = picked.machine, picked.count
        if not machine.electrical.motors:
            loads.append(_whole(machine, count, told.minimum_circuit_ampacity, order))
            order += 1
            continue
        loads += [
            GeneratorLoadGiven(
                load_id=f"{machine.type}: {other.name}"[:100],
                quantity=count,
                running_current=other.current,
                power_factor=1.0,
            )
            for other in machine.electrical.other_loads
        ]
        for place, motor in enumerate(machine.electrical.motors):
            units = count * motor.quantity
            if motor.role != "compressor":
                loads.append(motor_load(machine, motor, place, units, {"pump": 1, "fan": 2}[motor.role]))
                continue
            one_by_one = len(loads) + units < MOST_LOADS
            for number in range(units if one_by_one else 1):
                loads.append(motor_load(machine, motor, place, 1 if one_by_one else units, order, number + 1))
                order += 1
    return tuple(loads)


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
        start_order=order,
        nonlinear=motor.starting_method == "variable_frequency",
    )


def _method(motor: FleetMotor) -> StartingMethod | UnsetType:
    """A method that works on locked rotor says nothing where that current is not told."""
    if motor.locked_rotor_current is UNSET and motor.starting_method not in ("soft_start", "variable_frequency"):
        return UNSET
    return motor.starting_method


# --- the transformer --------------------------------------------------------------------------------------------------


def _transformer(
    facts: Facts, desk: Desk, asked: Asked[ServiceGiven, ServiceResults], voltage: Voltage
) -> tuple[Asked[TransformerGiven, TransformerResults] | Unanswered | None, StockTransformer | None]:
    primary, load = facts.order.supply.voltage, asked.results.apparent_power
    if primary is UNSET or load is UNSET:
        return None, None
    rows = sorted(
        (
            a
            for a in facts.fleet.accessories
            if isinstance(a, StockTransformer)
            and a.count > 0
            and suits(a.primary_voltage.si, primary.si)
            and suits(a.secondary_voltage.si, voltage.si)
            and a.rated_apparent_power.si >= load.si
        ),
        key=lambda t: t.rated_apparent_power.si,
    )
    row = rows[0] if rows else None
    given = TransformerGiven(
        practice=facts.order.practice,
        primary_voltage=primary,
        secondary_voltage=voltage,
        frequency=facts.frequency,
        load_apparent_power=load,
        rated_apparent_power=UNSET if row is None else row.rated_apparent_power,
        impedance_fraction=UNSET if row is None else row.impedance_fraction,
        x_over_r=UNSET if row is None else row.x_over_r,
        ambient_temperature=facts.order.site.design_ambient_temperature,
        altitude=facts.elevation,
    )
    return desk.try_ask(transformer, given), row


def _primary_current(
    facts: Facts, asked: Asked[ServiceGiven, ServiceResults], between: object, voltage: Voltage
) -> Current | None:
    site = facts.order.supply
    if site.source != "site" or site.voltage is UNSET or not isinstance(between, Asked):
        return None
    ampacity = asked.results.feeder.minimum_circuit_ampacity
    return Current.of(ampacity.to("A") * voltage.si / site.voltage.si, "A")


def _primary_shortage(
    facts: Facts, asked: Asked[ServiceGiven, ServiceResults], voltage: Voltage, needed: Current | None
) -> str:
    site = facts.order.supply
    if needed is None:
        return ""
    for offered, what in ((site.breaker_rating, "breaker"), (site.available_current, "supply")):
        if offered is not UNSET and needed.si > offered.si * (1 + 1e-9):
            circuit = f"{asked.results.feeder.minimum_circuit_ampacity} at {voltage}"
            return (
                f"The circuit of {circuit} behind the transformer takes {needed} of the site at {site.voltage}; the "
                f"site's {what} has {offered}."
            )
    return ""
