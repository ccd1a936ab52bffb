"""Step 4, second half: the cable of every machine and of the group, and the fault current at each machine."""

from dataclasses import dataclass

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract.quantities import Current, Temperature
from coldwright_booking.desk import Asked, Desk, Unanswered
from coldwright_booking.facts import Facts
from coldwright_booking.fleet import Cable, CableSet, MachineType
from coldwright_booking.machines import Combination, Picked
from coldwright_booking.supply_plan import SupplyPlan, motor_load
from coldwright_electrical.fault_current import FaultCurrentResults, fault_current
from coldwright_electrical.fault_inputs import (
    FaultCurrentGiven,
    FaultDeviceGiven,
    FaultSegmentGiven,
    FaultSourceGiven,
)
from coldwright_electrical.feeder import FeederGiven, FeederResults, feeder
from coldwright_electrical.generator_start import is_motor, starting_kva
from coldwright_electrical.service import CircuitResults, MachineResults

HOTTEST = 59.0
"""degC: the hottest air that `electrical.feeder` takes for every class of cable."""


@dataclass(frozen=True)
class MachineCable:
    """Cable of one machine of a type."""

    picked: Picked
    asked: Asked[FeederGiven, FeederResults] | Unanswered
    row: Cable | CableSet | None
    fault: Asked[FaultCurrentGiven, FaultCurrentResults] | Unanswered | None


@dataclass(frozen=True)
class CablePlan:
    """Cable of the plan."""

    machines: tuple[MachineCable, ...]
    group: Asked[FeederGiven, FeederResults] | Unanswered | None
    """One feeder for all of them, instead; only for more than one machine."""


def plan_cable(facts: Facts, desk: Desk, combination: Combination, supply: SupplyPlan) -> CablePlan:
    """Ask for each."""
    service = supply.service.results
    cables = []
    for picked, told in zip(combination, service.machines, strict=True):
        asked, row = _machine_cable(facts, desk, supply, picked, told)
        fault = _fault(facts, desk, supply, picked.machine, asked, told) if isinstance(asked, Asked) else None
        cables.append(MachineCable(picked, asked, row, fault))
    group = None
    if sum(p.count for p in combination) > 1 and (given := _given(facts, supply, service.feeder, None)) is not None:
        group = desk.try_ask(feeder, given)
    return CablePlan(tuple(cables), group)


def running_of(told: CircuitResults) -> float:
    """Running current, A; where only the plate is known, what its ampacity allows."""
    if told.running_current is not UNSET:
        return told.running_current.to("A")
    return told.minimum_circuit_ampacity.to("A") / 1.25


def device_of(told: CircuitResults) -> Current | UnsetType:
    """Overcurrent device before the cable: the greatest that the plate allows, never below what is workable."""
    options = [d for d in (told.maximum_overcurrent_standard, told.smallest_workable_standard) if d is not UNSET]
    return max(options, key=lambda d: d.si, default=UNSET)


def _machine_cable(
    facts: Facts, desk: Desk, supply: SupplyPlan, picked: Picked, told: MachineResults
) -> tuple[Asked[FeederGiven, FeederResults] | Unanswered, Cable | CableSet | None]:
    """Of the stock the cable that does with the fewest pieces, where there is enough; else what the calculator picks."""
    given = _given(facts, supply, told, picked.machine)
    if given is None:
        return desk.try_ask(feeder, _bare(facts, supply, told)), None
    free = desk.try_ask(feeder, given)
    best: tuple[Asked[FeederGiven, FeederResults], Cable | CableSet] | None = None
    for row in _rows(facts):
        tried = desk.try_ask(
            feeder,
            replace(
                given,
                conductor_size=row.conductor_size,
                construction=row.construction,
                section_length=row.section_length,
                ends=row.ends,
            ),
        )
        if not isinstance(tried, Asked) or tried.results.verdict != "ok" or _drops(tried):
            continue
        if pieces_of(tried.results, row) * picked.count > row.count:
            continue
        if best is None or pieces_of(tried.results, row) < pieces_of(best[0].results, best[1]):
            best = tried, row
    return best if best is not None else (free, None)


def _drops(asked: Asked[FeederGiven, FeederResults]) -> bool:
    return any(f.code in ("running_drop_high", "starting_drop_high") for f in asked.notes.findings)


def _rows(facts: Facts) -> list[Cable | CableSet]:
    return [a for a in facts.fleet.accessories if isinstance(a, Cable | CableSet) and a.count > 0]


def pieces_of(results: FeederResults, row: Cable | CableSet | None) -> int:
    """Pieces of stock: single cables, or sets of three lines and a ground."""
    if isinstance(row, CableSet):
        return results.sets * results.pick_list.sections
    return results.pick_list.cable_pieces


def _bare(facts: Facts, supply: SupplyPlan, told: CircuitResults) -> FeederGiven:
    """Without a known device the cable is held to its ampacity alone."""
    return _base(facts, supply, told, told.minimum_circuit_ampacity)


def _given(facts: Facts, supply: SupplyPlan, told: CircuitResults, machine: MachineType | None) -> FeederGiven | None:
    device = device_of(told)
    if isinstance(device, UnsetType):
        return None
    given = _base(facts, supply, told, device)
    start = 0.0 if machine is None else starting_current(machine, supply.voltage.si)
    return replace(given, starting_current=Current.of(start, "A")) if start > 0 else given


def _base(facts: Facts, supply: SupplyPlan, told: CircuitResults, device: Current) -> FeederGiven:
    ambient = facts.order.site.design_ambient_temperature.to("degC")
    running = max(running_of(told), 1.0)
    return FeederGiven(
        practice=facts.order.practice,
        system_voltage=supply.voltage,
        frequency=facts.frequency,
        load_current=Current.of(running, "A"),
        minimum_ampacity=Current.of(max(told.minimum_circuit_ampacity.to("A"), running), "A"),
        overcurrent_device=device,
        length=facts.order.routes.cable_length,
        power_factor=supply.service.given.power_factor,
        ambient_temperature=Temperature.of(min(ambient, HOTTEST), "degC"),
        crossings=facts.order.routes.crossings,
    )


def starting_current(machine: MachineType, volts: float) -> float:
    """Greatest start of one motor of the machine, A; 0 where nothing is told."""
    starts = (motor_load(machine, motor, place, 1, 1) for place, motor in enumerate(machine.electrical.motors))
    kva = max((starting_kva(s, volts) for s in starts if is_motor(s)), default=0.0)
    return kva * 1000 / (3**0.5 * volts)


# --- fault current ----------------------------------------------------------------------------------------------------


def _fault(
    facts: Facts,
    desk: Desk,
    supply: SupplyPlan,
    machine: MachineType,
    asked: Asked[FeederGiven, FeederResults],
    told: MachineResults,
) -> Asked[FaultCurrentGiven, FaultCurrentResults] | Unanswered | None:
    """None where nothing is known of the source."""
    source = _source(facts, supply)
    if source is None:
        return None
    results, device = asked.results, device_of(told)
    ground = results.equipment_ground_size
    return desk.try_ask(
        fault_current,
        FaultCurrentGiven(
            practice=facts.order.practice,
            system_voltage=supply.voltage,
            frequency=facts.frequency,
            source=source,
            segments=(
                FaultSegmentGiven(
                    length=facts.order.routes.cable_length,
                    conductor_size=results.conductor_size,
                    sets=results.sets,
                    ground_conductor_size=ground,
                    ground_sets=results.sets if ground is not UNSET else UNSET,
                ),
            ),
            motor_running_current=Current.of(running_of(told), "A"),
            device=UNSET if isinstance(device, UnsetType) else FaultDeviceGiven(rating=device),
            machine_short_circuit_rating=machine.electrical.short_circuit_rating,
        ),
    )


def _source(facts: Facts, supply: SupplyPlan) -> FaultSourceGiven | None:
    told = facts.order.supply
    if isinstance(supply.generator, Asked) and supply.generator.given.generator is not UNSET:
        chosen = supply.generator.given.generator
        return FaultSourceGiven(
            kind="generator",
            rated_apparent_power=chosen.rated_apparent_power,
            subtransient_reactance=chosen.subtransient_reactance,
        )
    if isinstance(supply.transformer, Asked):
        results = supply.transformer.results
        impedance = supply.transformer.given.impedance_fraction
        return FaultSourceGiven(
            kind="utility_transformer",
            rated_apparent_power=results.rated_apparent_power,
            impedance_fraction=(0.0575 if results.rated_apparent_power.to("kVA") >= 500 else 0.045)
            if impedance is UNSET
            else impedance,
            x_over_r=3.0 if supply.transformer.given.x_over_r is UNSET else supply.transformer.given.x_over_r,
        )
    if told.source == "site" and told.fault_current is not UNSET:
        return FaultSourceGiven(kind="known_fault_current", available_fault_current=told.fault_current, x_over_r=4.0)
    return None
