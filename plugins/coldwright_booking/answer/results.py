"""The plan, as it is sent back. Each block holds the answer of the calculator that it names, to the last digit."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import JoinedPart, Results, Said, about, tidy
from coldwright.contract.parts import RuledOut
from coldwright.contract.quantities import (
    Duration,
    GaugePressure,
    Length,
    Mass,
    Power,
    Speed,
    Temperature,
    TemperatureDifference,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright_booking.answer.in_use import IndoorsBlock
from coldwright_booking.order.questions import OpenQuestion
from coldwright_booking.plan.cost import CostBlock
from coldwright_booking.plan.pick_list import PlanPickLine
from coldwright_booking.words import in_us_of
from coldwright_electrical.energy_cost.given import EnergyCostGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.results import FaultCurrentResults
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.results import FeederResults
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.results import GeneratorResults
from coldwright_electrical.service.given import ServiceGiven
from coldwright_electrical.service.results import ServiceResults
from coldwright_electrical.transformer.given import TransformerGiven
from coldwright_electrical.transformer.results import TransformerResults
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.antifreeze.results import AntifreezeResults
from coldwright_hydronic.drain_down.given import DrainDownGiven
from coldwright_hydronic.drain_down.results import DrainDownResults
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.fill.results import FillResults
from coldwright_hydronic.loop.given import LoopGiven
from coldwright_hydronic.loop.results import LoopResults
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.results import SurgeResults
from coldwright_readiness.procedure import ProcedureResults
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shutdown import ShutdownGiven, ShutdownResults
from coldwright_refrigeration.capacity.given import CapacityGiven
from coldwright_refrigeration.condensation.given import CondensationGiven
from coldwright_refrigeration.condensation.results import CondensationResults
from coldwright_refrigeration.load.given import LoadGiven
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.ride_through.given import RideThroughGiven
from coldwright_refrigeration.ride_through.results import RideThroughResults
from coldwright_refrigeration.room_heat.given import RoomHeatGiven
from coldwright_refrigeration.selection.given import SelectionGiven
from coldwright_site.ground.given import GroundGiven
from coldwright_site.ground.results import GroundResults
from coldwright_site.lift.given import LiftGiven
from coldwright_site.lift.results import LiftResults
from coldwright_site.placement.given import PlacementGiven
from coldwright_site.placement.results import PlacementResults
from coldwright_site.sound.given import SoundGiven
from coldwright_site.sound.results import SoundResults
from coldwright_site.transport.given import TransportGiven
from coldwright_site.transport.results import TransportResults


class PlannedMachine(Results, frozen=True, kw_only=True):
    """Machines of one type in the plan."""

    type: Annotated[str, about("The type.")]
    count: Annotated[int, about("How many.")]
    capacity_each: Annotated[Power, about("Capacity of one at the design conditions.", us="ton")]
    capacity_total: Annotated[Power, about("Capacity of all of this type.", us="ton")]
    power_each: Annotated[Power, about("Power that one draws.")]
    source: Annotated[Literal["table", "estimate"], about("Read from its table, or estimated.")]
    limits: Annotated[tuple[str, ...], about("Limits that it is near, in words.")]
    said: Said = UNSET


class LoadBreakdown(Results, frozen=True, kw_only=True):
    """The load by what makes it."""

    net: Annotated[Power, about("Load of the order, without gains and margin.", us="ton")]
    hose_heat: Annotated[Power, about("Heat that the hoses take up.", us="ton")]
    pump_heat: Annotated[Power, about("Heat of the pumps.", us="ton")]
    gross: Annotated[Power, about("Load with the heat of hoses and pumps.", us="ton")]
    lowest: Annotated[Power, about("Least load.", us="ton")]
    margin_fraction: Annotated[float, about("Margin added to it for the design load.")]


class EnergyClosure(Results, frozen=True, kw_only=True):
    """Heat balance of the plan at the load without margin."""

    load: Annotated[Power, about("Heat of the load and the hoses.", us="ton")]
    pump_heat: Annotated[Power, about("Heat of the pumps.", us="ton")]
    heat_removed: Annotated[
        Power, about("Heat that the liquid carries to the machines: load, hoses and pumps.", us="ton")
    ]
    flow: Annotated[VolumeFlow, about("Flow of the loop.")]
    temperature_difference: Annotated[TemperatureDifference, about("Heat removed over flow x density x specific heat.")]
    machine_power: Annotated[Power, about("Power of all machines at full capacity.")]
    machine_capacity: Annotated[Power, about("Capacity of all machines.", us="ton")]
    heat_rejected: Annotated[Power, about("Heat to the air at full capacity: capacity plus power.", us="Btu/h")]


class PlannedFluid(Results, frozen=True, kw_only=True):
    """The liquid of the plan."""

    kind: Annotated[Literal["water", "ethylene_glycol", "propylene_glycol"], about("Water or a glycol.")]
    mass_fraction: Annotated[float, about("Glycol by mass.")] | UnsetType = UNSET
    leaving_temperature: Annotated[Temperature, about("Leaving the machines.")]
    lowest_temperature: Annotated[Temperature, about("Coldest temperature that it is safe for.")] | UnsetType = UNSET
    antifreeze: Annotated[AntifreezeResults, about("Answer of `hydronic.antifreeze`.")] | UnsetType = UNSET


class SupplyBlock(Results, frozen=True, kw_only=True):
    """The electric supply."""

    source: Annotated[Literal["site", "generator", "unknown"], about("Who feeds the machines.")]
    voltage: Annotated[Voltage, about("Voltage of the system that feeds the machines.")]
    service: Annotated[ServiceResults, about("Answer of `electrical.service`.")]
    generator: Annotated[GeneratorResults, about("Answer of `electrical.generator`.")] | UnsetType = UNSET
    generator_item: Annotated[str, about("The set, by its name in the stock.")] | UnsetType = UNSET
    transformer: Annotated[TransformerResults, about("Answer of `electrical.transformer`.")] | UnsetType = UNSET
    transformer_item: Annotated[str, about("The transformer, by its name in the stock.")] | UnsetType = UNSET


class MachineFeeder(Results, frozen=True, kw_only=True):
    """Cable of each machine of a type."""

    type: Annotated[str, about("The type.")]
    count: Annotated[int, about("How many have such a cable.")]
    item: Annotated[str, about("The cable, by its name in the stock.")] | UnsetType = UNSET
    feeder: Annotated[FeederResults, about("Answer of `electrical.feeder`, for one.")]
    fault: Annotated[FaultCurrentResults, about("Answer of `electrical.fault_current`.")] | UnsetType = UNSET


class PanelFeeder(Results, frozen=True, kw_only=True):
    """Cable from the source to what stands beside it."""

    item: Annotated[str, about("The cable, by its name in the stock.")] | UnsetType = UNSET
    pieces: Annotated[int, about("Pieces of it.")]
    feeder: Annotated[FeederResults, about("Answer of `electrical.feeder`.")]


class CableBlock(Results, frozen=True, kw_only=True):
    """The cable."""

    machines: Annotated[tuple[MachineFeeder, ...], about("One entry a type.")]
    group: (
        Annotated[FeederResults, about("One feeder for all machines to a panel beside them, instead.")] | UnsetType
    ) = UNSET
    panel_feed: Annotated[PanelFeeder, about("Where a panel divides the supply.")] | UnsetType = UNSET
    transformer_feed: Annotated[PanelFeeder, about("Before a transformer.")] | UnsetType = UNSET
    load_bank_feed: Annotated[PanelFeeder, about("Where a load bank comes along.")] | UnsetType = UNSET


class MachineHoses(Results, frozen=True, kw_only=True):
    """Hoses between the headers and the machines of a type."""

    type: Annotated[str, about("The type.")]
    item: Annotated[str, about("The hose, by its name in the stock.")]
    inner_diameter: Annotated[Length, about("Its bore.")]
    length: Annotated[Length, about("Of one.")]
    pieces: Annotated[int, about("Supply and return of all machines of the type.")]


class PipeworkBlock(Results, frozen=True, kw_only=True):
    """What joins machines, hose and load; all of it is on the pick list and in the drop of the loop."""

    headers_at_machines: Annotated[int, about("Headers, supply and return.")]
    headers_at_load: Annotated[int, about("Headers where several runs meet the load.")]
    machine_hoses: Annotated[tuple[MachineHoses, ...], about("None where one machine hangs on one run.")]
    buffer_joints: Annotated[int, about("Joints to buffer vessels.")]
    adaptors: Annotated[int, about("Ends that meet another kind of coupling.")]
    reducers: Annotated[int, about("Ends that meet another bore.")]


class LoopBlock(LoopResults, frozen=True, kw_only=True):
    """Answer of `hydronic.loop`, and the hose that was chosen."""

    hose_item: Annotated[str, about("The hose, by its name in the stock.")]
    hose_inner_diameter: Annotated[Length, about("Bore of the hose.")]
    hose_runs: Annotated[int, about("Runs side by side.")]
    wanted_flow: Annotated[VolumeFlow, about("Design flow.")]
    balancing_kv: Annotated[float, about("Kv that the balancing valve is set to.")] | UnsetType = UNSET
    pump_owner: Annotated[Literal["machine", "site"], about("Whose pump moves the liquid.")]


class CrewHourBlock(Results, frozen=True, kw_only=True):
    """People at work in one hour, where every step begins at its earliest."""

    hour: Annotated[int, about("First, second, ... hour after the beginning.")]
    electricians: Annotated[int, about("Electricians at work at one time.")]
    technicians: Annotated[int, about("Technicians at work at one time.")]
    lift_team: Annotated[int, about("People of the lift team at work at one time.")]
    person_time: Annotated[Duration, about("Time of all people in this hour.")]


class CrewPhase(Results, frozen=True, kw_only=True):
    """People by the hour."""

    hours: Annotated[tuple[CrewHourBlock, ...], about("Hour by hour.")]
    person_time: Annotated[Duration, about("Time of all people at all steps.")]
    people_at_most: Annotated[int, about("Most people at work at one time.")]


class CrewBlock(Results, frozen=True, kw_only=True):
    """People for setting up and taking away."""

    arrival: Annotated[CrewPhase, about("Setting up.")] | UnsetType = UNSET
    removal: Annotated[CrewPhase, about("Taking away.")] | UnsetType = UNSET


class GlycolBack(Results, frozen=True, kw_only=True):
    """What becomes of the glycol."""

    volume: Annotated[Volume, about("Mixture that comes out of hoses, machines, vessels and load side.")]
    glycol_mass: Annotated[Mass, about("Glycol in it.")] | UnsetType = UNSET
    totes: Annotated[int, about("Containers that take it back.")]
    container_volume: Annotated[Volume, about("Volume of one container.")]
    becomes: Annotated[str, about("Where it goes.")]


class RemovalBlock(Results, frozen=True, kw_only=True):
    """The end of the hire."""

    stop: Annotated[ShutdownResults, about("Answer of `readiness.shutdown`: stop, drain, load.")] | UnsetType = UNSET
    drained: Annotated[DrainDownResults, about("Answer of `hydronic.drain_down`.")] | UnsetType = UNSET
    glycol: Annotated[GlycolBack, about("None with water.")] | UnsetType = UNSET
    frost: (
        Annotated[
            ShutdownResults, about("Answer of `readiness.shutdown` for a stop in frost, where frost is expected.")
        ]
        | UnsetType
    ) = UNSET


class TypeLift(Results, frozen=True, kw_only=True):
    """Lift of one machine of a type."""

    type: Annotated[str, about("The type.")]
    lift: Annotated[LiftResults, about("Answer of `site.lift`.")]


class TypeGround(Results, frozen=True, kw_only=True):
    """Ground below one machine of a type."""

    type: Annotated[str, about("The type.")]
    ground: Annotated[GroundResults, about("Answer of `site.ground`.")]


class SiteBlock(Results, frozen=True, kw_only=True):
    """Lift, ground, place, sound and vehicles."""

    lift: Annotated[tuple[TypeLift, ...], about("One entry a type; none where what lifts is not given.")]
    lift_wind_limit: (
        Annotated[Speed, about("Gust in which every machine may be lifted; needs the wind that the chart is for.")]
        | UnsetType
    ) = UNSET
    outriggers: (
        Annotated[GroundResults, about("Answer of `site.ground` below the crane, where its mass is given.")] | UnsetType
    ) = UNSET
    ground: Annotated[tuple[TypeGround, ...], about("One entry a type.")]
    placement: Annotated[PlacementResults, about("Answer of `site.placement`.")] | UnsetType = UNSET
    sound: Annotated[SoundResults, about("Answer of `site.sound`.")] | UnsetType = UNSET
    transport: Annotated[TransportResults, about("Answer of `site.transport`.")] | UnsetType = UNSET


class MachineCount(Results, frozen=True, kw_only=True):
    """A machine type, and how many of it."""

    type: Annotated[str, about("The type.")]
    count: Annotated[int, about("How many.")]


class Alternative(Results, frozen=True, kw_only=True):
    """Another combination that would do."""

    machines: Annotated[tuple[MachineCount, ...], about("The machines.")]
    capacity: Annotated[Power, about("Capacity of all machines.", us="ton")]
    power: Annotated[Power, about("Power of all machines.")]
    why_not_first: Annotated[str, about("Why it is not the plan: how it compares with the chosen combination.")]
    said: Said = UNSET


class FailedCombination(Results, frozen=True, kw_only=True):
    """A combination with capacity enough that breaks another rule."""

    machines: Annotated[tuple[MachineCount, ...], about("The machines.")]
    failed: Annotated[tuple[str, ...], about("The rules that it breaks, in the words of `refrigeration.selection`.")]


class TypeLeftOut(Results, frozen=True, kw_only=True):
    """A type that cannot be used here."""

    type: Annotated[str, about("The type.")]
    reason: Annotated[str, about("Why it cannot be used.")]
    said: Said = UNSET


class Headroom(Results, frozen=True, kw_only=True):
    """Margin to a limit of temperature or sound, for which a share of the limit means nothing."""

    value: Annotated[float, about("Margin; below 0 the limit is broken.")]
    unit: Annotated[Literal["K", "dB", "delta_degF"], about("Kelvin or degrees Fahrenheit of difference, or decibels.")]

    def in_us(self) -> "Headroom":
        """The same in US units."""
        return Headroom(value=tidy(1.8 * self.value), unit="delta_degF") if self.unit == "K" else self


class NearLimit(Results, frozen=True, kw_only=True):
    """A limit, and how far the plan is from it."""

    what: Annotated[str, about("What is near its limit.")]
    value: Annotated[float, about("The value, in `unit`.")]
    limit: Annotated[float, about("Its limit, in `unit`.")]
    unit: Annotated[str, about("Unit of both; `1` for a plain number.")]
    headroom_fraction: (
        Annotated[float, about("Share of the limit that is left; below 0 it is broken. Not for temperature and sound.")]
        | UnsetType
    ) = UNSET
    headroom: Annotated[Headroom, about("The same for temperature and sound, which have no share.")] | UnsetType = UNSET
    calculator: Annotated[str, about("Id of the calculator that works it out.")]

    @property
    def room(self) -> float:
        """Share of the limit, or K or dB."""
        return self.headroom_fraction if isinstance(self.headroom, UnsetType) else self.headroom.value  # type: ignore[return-value]

    @property
    def nearness(self) -> float:
        """To sort by: share of the limit, or of 10 K or 10 dB."""
        if isinstance(self.headroom, UnsetType):
            return self.room
        return self.headroom.value / (18 if self.headroom.unit == "delta_degF" else 10)

    def in_us(self) -> "NearLimit":
        """The same in US units."""
        value, unit = in_us_of(self.value, self.unit)
        limit, _ = in_us_of(self.limit, self.unit)
        headroom = self.headroom if isinstance(self.headroom, UnsetType) else self.headroom.in_us()
        return replace(self, value=value, limit=limit, unit=unit, headroom=headroom)


class AskedOfCalculators(Results, frozen=True, kw_only=True):
    """The inputs with which the calculators were asked: send one alone and its block comes back."""

    load: Annotated[LoadGiven, about("Of `refrigeration.load`.")] | UnsetType = UNSET
    antifreeze: Annotated[AntifreezeGiven, about("Of `hydronic.antifreeze`.")] | UnsetType = UNSET
    capacities: Annotated[tuple[CapacityGiven, ...], about("Of `refrigeration.capacity`, one a type.")] = ()
    selection: Annotated[SelectionGiven, about("Of `refrigeration.selection`.")] | UnsetType = UNSET
    service: Annotated[ServiceGiven, about("Of `electrical.service`.")] | UnsetType = UNSET
    generator: Annotated[GeneratorGiven, about("Of `electrical.generator`.")] | UnsetType = UNSET
    transformer: Annotated[TransformerGiven, about("Of `electrical.transformer`.")] | UnsetType = UNSET
    feeders: Annotated[tuple[FeederGiven, ...], about("Of `electrical.feeder`, one a type.")] = ()
    group_feeder: Annotated[FeederGiven, about("Of `electrical.feeder`, for the group.")] | UnsetType = UNSET
    panel_feed: Annotated[FeederGiven, about("Of `electrical.feeder`, to the panel.")] | UnsetType = UNSET
    transformer_feed: Annotated[FeederGiven, about("Of it, to the transformer.")] | UnsetType = UNSET
    load_bank_feed: Annotated[FeederGiven, about("Of it, to the load bank.")] | UnsetType = UNSET
    faults: Annotated[tuple[FaultCurrentGiven, ...], about("Of `electrical.fault_current`, one a type.")] = ()
    loop: Annotated[LoopGiven, about("Of `hydronic.loop`.")] | UnsetType = UNSET
    fill: Annotated[FillGiven, about("Of `hydronic.fill`.")] | UnsetType = UNSET
    surge: Annotated[SurgeGiven, about("Of `hydronic.surge`.")] | UnsetType = UNSET
    room_heat: Annotated[RoomHeatGiven, about("Of `refrigeration.room_heat`.")] | UnsetType = UNSET
    refrigerant_safety: Annotated[
        tuple[RefrigerantSafetyGiven, ...], about("Of `refrigeration.refrigerant_safety`, one a type.")
    ] = ()
    restart: Annotated[RideThroughGiven, about("Of `refrigeration.ride_through`.")] | UnsetType = UNSET
    condensation: Annotated[CondensationGiven, about("Of `refrigeration.condensation`.")] | UnsetType = UNSET
    lifts: Annotated[tuple[LiftGiven, ...], about("Of `site.lift`, one a type.")] = ()
    outriggers: Annotated[GroundGiven, about("Of `site.ground`, for the crane.")] | UnsetType = UNSET
    grounds: Annotated[tuple[GroundGiven, ...], about("Of `site.ground`, one a type.")] = ()
    placement: Annotated[PlacementGiven, about("Of `site.placement`.")] | UnsetType = UNSET
    sound: Annotated[SoundGiven, about("Of `site.sound`.")] | UnsetType = UNSET
    transport: Annotated[TransportGiven, about("Of `site.transport`.")] | UnsetType = UNSET
    drain_down: Annotated[DrainDownGiven, about("Of `hydronic.drain_down`.")] | UnsetType = UNSET
    shutdown: Annotated[ShutdownGiven, about("Of `readiness.shutdown`, to take away.")] | UnsetType = UNSET
    frost_shutdown: Annotated[ShutdownGiven, about("Of `readiness.shutdown`, in frost.")] | UnsetType = UNSET
    procedure: Annotated[ProcedureGiven, about("Of `readiness.procedure`.")] | UnsetType = UNSET
    start_configurations: Annotated[
        tuple[Configuration, ...], about("Of `readiness.startup`, one a type of several.")
    ] = ()
    energy_cost: Annotated[EnergyCostGiven, about("Of `electrical.energy_cost`.")] | UnsetType = UNSET


class AssessmentResults(Results, frozen=True, kw_only=True):
    """The plan: what to send, how to connect it, what to do on arrival, and what is still to be asked."""

    design_load: Annotated[Power, about("What the machines must do: load, gains and margin.", us="ton")]
    load: Annotated[LoadBreakdown, about("The load by what makes it.")]
    machines: Annotated[tuple[PlannedMachine, ...], about("The machines; none where no combination suits.")]
    margin_fraction: (
        Annotated[float, about("Capacity of all machines over the load with its gains, less 1.")] | UnsetType
    ) = UNSET
    redundancy: Annotated[
        Literal["none", "spare_machine", "spare_circuit"],
        about("Spare capacity that was asked for."),
    ]
    redundancy_met: Annotated[bool, about("Whether the load is met with that machine or circuit out of service.")]
    fluid: Annotated[PlannedFluid, about("The liquid.")]
    energy: Annotated[EnergyClosure, about("Heat balance at the load without margin.")] | UnsetType = UNSET
    supply: Annotated[SupplyBlock, about("The electric supply.")] | UnsetType = UNSET
    cable: Annotated[CableBlock, about("The cable.")] | UnsetType = UNSET
    loop: Annotated[LoopBlock, about("The loop.")] | UnsetType = UNSET
    pipework: Annotated[PipeworkBlock, about("Headers, hoses to the machines, joints.")] | UnsetType = UNSET
    fill: Annotated[FillResults, about("Answer of `hydronic.fill`.")] | UnsetType = UNSET
    fill_pressure: Annotated[GaugePressure, about("Pressure to fill to at the machine, pump off.")] | UnsetType = UNSET
    surge: Annotated[SurgeResults, about("Answer of `hydronic.surge`.")] | UnsetType = UNSET
    indoors: Annotated[IndoorsBlock, about("Machines in a room; left out outdoors.")] | UnsetType = UNSET
    restart: (
        Annotated[RideThroughResults, about("Answer of `refrigeration.ride_through`, for a critical load.")] | UnsetType
    ) = UNSET
    condensation: Annotated[CondensationResults, about("Answer of `refrigeration.condensation`.")] | UnsetType = UNSET
    site: Annotated[SiteBlock, about("Lift, ground, place, sound and vehicles.")] | UnsetType = UNSET
    arrival_plan: Annotated[ProcedureResults, about("Answer of `readiness.procedure`.")] | UnsetType = UNSET
    cold_water_after: Annotated[Duration, about("Earliest cold water after arrival.")] | UnsetType = UNSET
    removal: Annotated[RemovalBlock, about("Taking away: steps, draining, glycol, frost.")] | UnsetType = UNSET
    crew: Annotated[CrewBlock, about("People by the hour.")] | UnsetType = UNSET
    pick_list: Annotated[tuple[PlanPickLine, ...], about("What to load.")]
    pick_mass: (
        Annotated[Mass, about("Mass of what the fleet document gives a mass for, machines drained.")] | UnsetType
    ) = UNSET
    open_questions: Annotated[
        tuple[OpenQuestion, ...], about("What is not given; those that could turn the outcome first.")
    ]
    alternatives: Annotated[tuple[Alternative, ...], about("The next two combinations that would do.")]
    failed_combinations: Annotated[tuple[FailedCombination, ...], about("Combinations that fail, and why.")]
    types_left_out: Annotated[tuple[TypeLeftOut, ...], about("Types that cannot be used here, and why.")]
    limits_nearest: Annotated[tuple[NearLimit, ...], about("Limits, the nearest first.")]
    rounds: Annotated[int, about("Rounds until the load with the heat of hoses and pumps stood still.")]
    energy_used: (
        Annotated[EnergyCostResults, about("Answer of `electrical.energy_cost` for the whole hire.")] | UnsetType
    ) = UNSET
    cost: Annotated[CostBlock, about("What the plan costs, as far as rates are given.")] | UnsetType = UNSET
    asked: Annotated[AskedOfCalculators, about("Inputs of the calculators that were asked.")]
    ruled_out_by_parts: Annotated[
        tuple[RuledOut, ...], about("Combinations that parts of other plugins stopped before this one.")
    ] = ()
    parts: Annotated[tuple[JoinedPart, ...], about("What other plugins add to the plan; none where none does.")] = ()
