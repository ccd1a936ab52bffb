"""The circuit, the generator or the site's breaker, the transformer."""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract.quantities import Current, Voltage
from coldwright_basis.compare import above
from coldwright_booking.fleet.given import FleetMotor, Generator, MachineType, Panel, StockTransformer
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.generating_set import SetPlan, carries_plates, choose_set
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.machines import Choice, Combination, Machines
from coldwright_booking.plan.panels import PanelWanted, panel_of, panel_wanted
from coldwright_booking.plan.voltages import suits
from coldwright_electrical.generator import generator
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.results import GeneratorResults
from coldwright_electrical.service import service
from coldwright_electrical.service.given import AvailableGiven, MachineGiven, MotorGiven, ServiceGiven
from coldwright_electrical.service.results import ServiceResults
from coldwright_electrical.transformer import transformer
from coldwright_electrical.transformer.given import TransformerGiven
from coldwright_electrical.transformer.results import TransformerResults


@dataclass(frozen=True)
class SupplyPlan:
    """The supply of the plan."""

    voltage: Voltage
    """Of the system that the machines hang on."""
    service: Asked[ServiceGiven, ServiceResults]
    set: SetPlan | None
    """The generating set; None where none feeds the machines."""
    transformer: Asked[TransformerGiven, TransformerResults] | Unanswered | None
    transformer_row: StockTransformer | None
    primary_current: Current | None
    """The circuit ampacity of the machines as the site sees it; None where no transformer hangs on the site.

    The ampacity, not the load: a breaker that just carries the load trips on the largest motor's share on top of it.
    """
    primary_shortage: str
    """Why the site cannot feed the transformer; empty where it can, or where what it has is not given."""
    panel: PanelWanted | None
    """The distribution panel between the feeder and the machines; None where one machine needs none."""
    panel_row: Panel | None

    @property
    def generator(self) -> Asked[GeneratorGiven, GeneratorResults] | Unanswered | None:
        """Answer about the set."""
        return None if self.set is None else self.set.asked

    @property
    def generator_row(self) -> Generator | None:
        """The set of the stock."""
        return None if self.set is None else self.set.row

    @property
    def set_below_plates(self) -> bool:
        """Whether the set carries less than what the machines run on by their plates."""
        return isinstance(self.generator, Asked) and not carries_plates(self.generator.results, self.service.results)

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked of the supply, in order."""
        return self.service, self.generator, self.transformer


class SupplyNeeds(NamedTuple):
    """What the supply takes of the plan."""

    facts: Facts
    load: Heat
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
    behind = UNSET if asked.given.available is UNSET else asked.given.available.breaker_rating
    wanted = panel_wanted(combination, asked.results, behind, behind_transformer=choice.needs_transformer)
    if wanted is not None and combination.units == 1:
        asked = desk.ask(service, replace(asked.given, feeder_conductors="to_panel"))
    chosen = None
    if facts.order.supply.source == "generator":
        chosen = choose_set(facts, desk, combination, needs.load, asked.results, voltage)
    between: tuple[Asked[TransformerGiven, TransformerResults] | Unanswered | None, StockTransformer | None]
    between = _transformer(facts, desk, asked, voltage) if choice.needs_transformer else (None, None)
    current = _primary_current(facts, asked, between[0], voltage)
    return SupplyPlan(
        voltage,
        asked,
        chosen,
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
        feeder_conductors="by_device",  # the plan has a panel with a device for each machine, and picks the conductors
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
        if offered is not UNSET and above(needed.si, offered.si):
            circuit = f"{asked.results.feeder.minimum_circuit_ampacity} at {voltage}"
            return (
                f"The circuit of {circuit} behind the transformer takes {needed} of the site at {site.voltage}; the "
                f"site's {what} has {offered}."
            )
    return ""
