"""The cable of every machine and of the group, and the fault current at each machine."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract.quantities import ApparentPower, Current, Length
from coldwright_basis.motor_starting import is_motor, starting_kva
from coldwright_basis.ratings import rating_at_least
from coldwright_booking.fleet.given import Cable, CableSet, MachineType
from coldwright_booking.order.facts import Facts
from coldwright_booking.order.given import Supply
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.generating_set import motor_load
from coldwright_booking.plan.machines import Machines, Picked
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_electrical.fault_current import fault_current
from coldwright_electrical.fault_current.given import (
    FaultCurrentGiven,
    FaultDeviceGiven,
    FaultSegmentGiven,
    FaultSourceGiven,
)
from coldwright_electrical.fault_current.results import FaultCurrentResults
from coldwright_electrical.feeder import feeder
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.results import FeederResults
from coldwright_electrical.service.results import CircuitResults, MachineResults

SOURCE_ANGLE = 4.0
"""X/R of a supply whose fault current alone is given (common practice)."""
VOLTAGE_FACTORS = {"nec": 1.0, "iec": 1.05}
"""Voltage before the greatest fault over nominal, as `electrical.fault_current` takes it. A fault current after IEC 60909-0
holds it already: Z = c U / (sqrt3 I), eq. 6, from memory."""
TO_THE_PANEL = Length(10, "m")
"""From the source to the panel or transformer that stands beside it (common practice)."""
CONTINUOUS = 1.25
"""Ampacity over the current of a load that may run for three hours and more: NEC 215.2(A)(1), from memory; taken in any
practice, on the safe side."""
NOT_CLEARED = "earth_fault_not_cleared"
ADDED_RESIDUAL_CURRENT = Current(0.3, "A")
"""Rated residual current of the device that a plan adds: for circuits of machines, not of hand tools (common practice)."""


@dataclass(frozen=True)
class MachineCable:
    """Cable of one machine of a type."""

    picked: Picked
    asked: Asked[FeederGiven, FeederResults] | Unanswered
    row: Cable | CableSet | None
    fault: Asked[FaultCurrentGiven, FaultCurrentResults] | Unanswered | None
    pieces: int
    """Pieces of stock for each machine; 0 where the cable is not known."""
    breaker_needs: Asked[FaultCurrentGiven, FaultCurrentResults] | None = None
    """The earth fault with its breaker alone, where that does not clear it and a residual-current device comes along."""


@dataclass(frozen=True)
class PanelFeed:
    """Cable from the source to what stands beside it: the panel that divides it, or the transformer."""

    asked: Asked[FeederGiven, FeederResults] | Unanswered
    row: Cable | CableSet | None
    pieces: int


@dataclass(frozen=True)
class CablePlan:
    """Cable of the plan."""

    machines: tuple[MachineCable, ...]
    group: Asked[FeederGiven, FeederResults] | Unanswered | None
    """One feeder for all of them, instead; only for more than one machine."""
    feed: PanelFeed | None = None
    """From the source to the panel beside it; None without a panel."""
    before_transformer: PanelFeed | None = None
    """From the site's breaker to the transformer beside it; None without one, or where the site's voltage is not given."""
    to_bank: PanelFeed | None = None
    """From the generating set to the load bank beside it; None without one."""

    @property
    def feeds(self) -> tuple[tuple[str, PanelFeed], ...]:
        """Feeds of what stands beside the source, by its name."""
        named = (("panel", self.feed), ("transformer", self.before_transformer), ("load bank", self.to_bank))
        return tuple((name, feed) for name, feed in named if feed is not None)

    @property
    def items(self) -> tuple[tuple[str, str], ...]:
        """Each cable by its name on the pick list, with the size of its conductors."""
        laid: list[MachineCable | PanelFeed] = [*self.machines, *(feed for _, feed in self.feeds)]
        known = [(part.row, part.asked.results) for part in laid if isinstance(part.asked, Asked)]
        return tuple((item_of(row, results), results.conductor_size) for row, results in known)

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked of each machine's cable, in order."""
        parts = tuple(part for cable in self.machines for part in (cable.asked, cable.fault))
        return (*parts, *(feed.asked for _, feed in self.feeds))


class CableNeeds(NamedTuple):
    """What the cable takes of the plan."""

    facts: Facts
    machines: Machines
    supply: SupplyPlan


def decide(needs: CableNeeds, desk: Desk) -> CablePlan:
    """Ask for each."""
    facts, combination, supply = needs.facts, needs.machines.combination, needs.supply
    service = supply.service.results
    group = feed = None
    if supply.panel is not None and (device := _feeder_device(supply)) is not None:
        all_of_them = _base(facts, supply, service.feeder, device)
        group = desk.try_ask(feeder, all_of_them) if combination.units > 1 else None
        feed = _panel_feed(facts, desk, all_of_them)
    cables = [
        _machine_cable(facts, desk, supply, picked, stated, feed)
        for picked, stated in zip(combination, service.machines, strict=True)
    ]
    return CablePlan(
        tuple(cables), group, feed, _transformer_feed(facts, desk, supply), _bank_feed(facts, desk, supply)
    )


CABLE = Block("cable", CableNeeds, (feeder, fault_current), decide)


def _panel_feed(facts: Facts, desk: Desk, all_of_them: FeederGiven) -> PanelFeed:
    """Without crossings, and as long as it is from the source to a panel beside it."""
    asked, row = next(_cables(facts, desk, replace(all_of_them, length=TO_THE_PANEL, crossings=0), 1))
    return PanelFeed(asked, row, _pieces_of(asked.results, row) if isinstance(asked, Asked) else 0)


def _transformer_feed(facts: Facts, desk: Desk, supply: SupplyPlan) -> PanelFeed | None:
    """The conductors follow the site's breaker; where that is not given, the smallest that carries the circuit."""
    between, site, circuit = supply.transformer, facts.order.supply, supply.primary_current
    if not isinstance(between, Asked) or circuit is None or isinstance(site.voltage, UnsetType):
        return None
    load, device = between.results.primary_load_current, site.breaker_rating
    if isinstance(device, UnsetType):
        smallest = rating_at_least(facts.order.practice, circuit.to("A"))
        if smallest is None:
            return None
        device = Current(smallest, "A")
    running = max(load.to("A"), 1.0)
    given = replace(
        _base(facts, supply, supply.service.results.feeder, device),
        system_voltage=site.voltage,
        load_current=Current.of(running, "A"),
        minimum_ampacity=Current.of(max(circuit.to("A"), running), "A"),
        length=TO_THE_PANEL,
        crossings=0,
    )
    asked, row = next(_cables(facts, desk, given, 1))
    return PanelFeed(asked, row, _pieces_of(asked.results, row) if isinstance(asked, Asked) else 0)


def _bank_feed(facts: Facts, desk: Desk, supply: SupplyPlan) -> PanelFeed | None:
    """A load bank is all resistance and may run all night: its conductors follow its device."""
    bank = None if supply.set is None else supply.set.load_bank
    if bank is None:
        return None
    running = bank.si / (3**0.5 * supply.voltage.si)
    smallest = rating_at_least(facts.order.practice, CONTINUOUS * running)
    if smallest is None:
        return None
    given = replace(
        _base(facts, supply, supply.service.results.feeder, Current(smallest, "A")),
        load_current=Current.of(running, "A"),
        minimum_ampacity=Current.of(CONTINUOUS * running, "A"),
        power_factor=1.0,
        length=TO_THE_PANEL,
        crossings=0,
    )
    asked, row = next(_cables(facts, desk, given, 1))
    return PanelFeed(asked, row, _pieces_of(asked.results, row) if isinstance(asked, Asked) else 0)


def running_of(stated: CircuitResults) -> float:
    """Running current, A; where only the plate is known, what its ampacity allows."""
    if stated.running_current is not UNSET:
        return stated.running_current.to("A")
    return stated.minimum_circuit_ampacity.to("A") / 1.25


def devices_of(stated: CircuitResults) -> list[Current]:
    """Overcurrent devices before the cable: the greatest that the plate allows, then the smallest that is workable."""
    options = [d for d in (stated.maximum_overcurrent_standard, stated.smallest_workable_standard) if d is not UNSET]
    return sorted({d.si: d for d in options}.values(), key=lambda d: -d.si)


def _devices(supply: SupplyPlan, stated: CircuitResults) -> list[Current]:
    """Those of the plate; the site's breaker itself where it alone stands before the cable and no plate limits it."""
    offered = supply.service.given.available
    alone = supply.panel is None and stated.maximum_overcurrent_standard is UNSET
    if alone and offered is not UNSET and offered.breaker_rating is not UNSET:
        return [offered.breaker_rating]
    return devices_of(stated)


def _feeder_device(supply: SupplyPlan) -> Current | None:
    """Device before the feeder of all: the site's breaker, else the smallest that is workable; the conductors follow it."""
    offered, stated = supply.service.given.available, supply.service.results.feeder
    if offered is not UNSET and offered.breaker_rating is not UNSET:
        return offered.breaker_rating
    least = stated.smallest_workable_standard
    return None if least is UNSET else least


def _machine_cable(
    facts: Facts, desk: Desk, supply: SupplyPlan, picked: Picked, stated: MachineResults, feed: PanelFeed | None
) -> MachineCable:
    """The first cable behind which the device also clears an earth fault; where none does, the first of all, behind a
    residual-current device.
    """
    first: MachineCable | None = None
    devices: list[Current | None] = [*_devices(supply, stated)]
    for device in devices or [None]:
        given = _base(facts, supply, stated, device or stated.minimum_circuit_ampacity)
        start = starting_current(picked.machine, supply.voltage.si)
        if device is not None and start > 0:
            given = replace(given, starting_current=Current.of(start, "A"))
        for asked, row in _cables(facts, desk, given, picked.count):
            fault = None
            if isinstance(asked, Asked):
                way = _segments(facts, asked.results, feed)
                fault = _fault(facts, desk, supply, picked.machine, way, stated, device)
            pieces = _pieces_of(asked.results, row) if isinstance(asked, Asked) else 0
            cable = MachineCable(picked, asked, row, fault, pieces)
            if not _not_cleared(fault):
                return cable
            first = first or cable
    assert first is not None  # noqa: S101 - there is always a cable to ask about
    return _with_residual_current(desk, first)


def _not_cleared(fault: object) -> bool:
    return isinstance(fault, Asked) and any(f.code == NOT_CLEARED for f in fault.notes.findings)


def _with_residual_current(desk: Desk, cable: MachineCable) -> MachineCable:
    """The same behind a residual-current device, where that clears the fault."""
    alone = cable.fault
    if not isinstance(alone, Asked) or isinstance(alone.given.device, UnsetType):
        return cable
    device = replace(alone.given.device, residual_operating_current=ADDED_RESIDUAL_CURRENT)
    fault = desk.try_ask(fault_current, replace(alone.given, device=device))
    return cable if _not_cleared(fault) else dataclasses.replace(cable, fault=fault, breaker_needs=alone)


def _cables(
    facts: Facts, desk: Desk, given: FeederGiven, count: int
) -> Iterator[tuple[Asked[FeederGiven, FeederResults] | Unanswered, Cable | CableSet | None]]:
    """Of the stock those that do and of which there is enough, then what the calculator picks.

    Fewest pieces first; of as many pieces the ones that carry least above the load, which are the lightest.
    """
    rows = [a for a in facts.fleet.accessories if isinstance(a, Cable | CableSet)]
    fit: list[tuple[int, Asked[FeederGiven, FeederResults], Cable | CableSet]] = []
    for row in rows:
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
        if isinstance(tried, Asked) and tried.results.verdict == "ok" and not _drops(tried):
            pieces = _pieces_of(tried.results, row)
            if pieces * count <= row.count:
                fit.append((pieces, tried, row))
    for _, asked, row in sorted(fit, key=lambda entry: (entry[0], entry[1].results.ampacity_total.si)):
        yield asked, row
    free = desk.try_ask(feeder, given)
    size = free.results.conductor_size if isinstance(free, Asked) else ""
    yield free, next((r for r in rows if r.conductor_size == size and r.construction == given.construction), None)


def item_of(row: Cable | CableSet | None, results: FeederResults) -> str:
    """A cable by its name in the stock, else by its size."""
    return row.item if row else f"cable {results.conductor_size}"


def _drops(asked: Asked[FeederGiven, FeederResults]) -> bool:
    return any(f.code in ("running_drop_high", "starting_drop_high") for f in asked.notes.findings)


def _pieces_of(results: FeederResults, row: Cable | CableSet | None) -> int:
    """Pieces of stock: single cables, or sets of three lines and a ground."""
    if isinstance(row, CableSet):
        return results.sets * results.pick_list.sections
    return results.pick_list.cable_pieces


def _base(facts: Facts, supply: SupplyPlan, stated: CircuitResults, device: Current) -> FeederGiven:
    running = max(running_of(stated), 1.0)
    return FeederGiven(
        practice=facts.order.practice,
        system_voltage=supply.voltage,
        frequency=facts.frequency,
        load_current=Current.of(running, "A"),
        minimum_ampacity=Current.of(max(stated.minimum_circuit_ampacity.to("A"), running), "A"),
        overcurrent_device=device,
        length=facts.order.routes.cable_length,
        power_factor=supply.service.given.power_factor,
        ambient_temperature=facts.order.site.design_ambient_temperature,
        crossings=facts.order.routes.crossings,
    )


def starting_current(machine: MachineType, volts: float) -> float:
    """Greatest start of one motor of the machine, A; 0 where nothing is given."""
    starts = (motor_load(machine, motor, place, 1, 1) for place, motor in enumerate(machine.electrical.motors))
    kva = max((starting_kva(s, volts) for s in starts if is_motor(s)), default=0.0)
    return kva * 1000 / (3**0.5 * volts)


# --- fault current ----------------------------------------------------------------------------------------------------


def _fault(
    facts: Facts,
    desk: Desk,
    supply: SupplyPlan,
    machine: MachineType,
    segments: tuple[FaultSegmentGiven, ...],
    stated: MachineResults,
    device: Current | None,
) -> Asked[FaultCurrentGiven, FaultCurrentResults] | Unanswered | None:
    """None where nothing is known of the source."""
    source = _source(facts, supply)
    if source is None:
        return None
    return desk.try_ask(
        fault_current,
        FaultCurrentGiven(
            practice=facts.order.practice,
            system_voltage=supply.voltage,
            frequency=facts.frequency,
            source=source,
            segments=segments,
            motor_running_current=Current.of(running_of(stated), "A"),
            device=UNSET
            if device is None
            else FaultDeviceGiven(rating=device, residual_operating_current=_residual_current(facts, supply)),
            machine_short_circuit_rating=machine.electrical.short_circuit_rating,
        ),
    )


def _residual_current(facts: Facts, supply: SupplyPlan) -> Current | UnsetType:
    """The least that opens a breaker on the way from the source to the machines."""
    rows = (facts.order.supply, supply.generator_row, supply.panel_row)
    known = [row.residual_current for row in rows if row is not None and row.residual_current is not UNSET]
    return min(known, key=lambda current: current.si) if known else UNSET


def _segments(facts: Facts, cable: FeederResults, feed: PanelFeed | None) -> tuple[FaultSegmentGiven, ...]:
    """From the source to the machine: the feed of the panel, where there is one, then the machine's cable."""
    own = _segment(facts.order.routes.cable_length, cable)
    if feed is None or not isinstance(feed.asked, Asked):
        return (own,)
    return (_segment(feed.asked.given.length, feed.asked.results), own)


def _segment(length: Length, cable: FeederResults) -> FaultSegmentGiven:
    ground = cable.equipment_ground_size
    return FaultSegmentGiven(
        length=length,
        conductor_size=cable.conductor_size,
        sets=cable.sets,
        ground_conductor_size=ground,
        ground_sets=cable.sets if ground is not UNSET else UNSET,
    )


def _source(facts: Facts, supply: SupplyPlan) -> FaultSourceGiven | None:
    stated = facts.order.supply
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
            x_over_r=supply.transformer.given.x_over_r,
            upstream_fault_power=_fault_power(facts, stated),
            upstream_x_over_r=SOURCE_ANGLE,
        )
    if stated.source == "site" and stated.fault_current is not UNSET:
        return FaultSourceGiven(
            kind="known_fault_current",
            available_fault_current=Current.of(stated.fault_current.to("A") / _counted_in(facts), "A"),
            x_over_r=SOURCE_ANGLE,
        )
    return None


def _counted_in(facts: Facts) -> float:
    """The voltage factor that the calculator multiplies by, and that a current stated by the site holds already."""
    return VOLTAGE_FACTORS[facts.order.practice]


def _fault_power(facts: Facts, stated: Supply) -> ApparentPower | UnsetType:
    """Of the site before the transformer, where its fault current and voltage are given."""
    if stated.source != "site" or stated.fault_current is UNSET or stated.voltage is UNSET:
        return UNSET
    power = 3**0.5 * stated.voltage.si * stated.fault_current.si / _counted_in(facts)
    return ApparentPower.from_si(power, "MVA")
