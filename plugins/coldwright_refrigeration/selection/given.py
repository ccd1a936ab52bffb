"""What `refrigeration.selection` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Fluid, Given, Money, about
from coldwright.contract.fields import exactly
from coldwright.contract.quantities import Area, Length, Mass, Power, Temperature, TemperatureDifference, VolumeFlow
from coldwright_refrigeration.capacity.given import CapacityMachine
from coldwright_refrigeration.shared.given import WATER

Rule = Literal[
    "capacity",
    "redundancy",
    "turndown",
    "flow_minimum",
    "flow_maximum",
    "power_available",
    "footprint_available",
    "hauls_max",
    "units_max",
    "mass_max",
]
TypeName = Annotated[str, Meta(min_length=1, max_length=80, pattern=exactly(r"[^\u0000-\u001f\u007f]*"))]


class SelectionDesign(Given, frozen=True, kw_only=True):
    """What the machines must do together."""

    load: Annotated[Power, about("Cooling that must be met.", low=0.001, high=200000, unit="kW")]
    flow: (
        Annotated[VolumeFlow, about("Liquid flow through all machines together.", low=0.0001, high=20000, unit="L/s")]
        | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference,
            about(
                "Entering minus leaving temperature, from which the flow follows.", low=2, high=20, unit="delta_degC"
            ),
        ]
        | UnsetType
    ) = UNSET
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    leaving_liquid_temperature: (
        Annotated[
            Temperature,
            about("Leaving liquid temperature; needed by rows with a machine.", low=-40, high=40, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    ambient_temperature: (
        Annotated[
            Temperature, about("Design air temperature; needed by rows with a machine.", low=-30, high=60, unit="degC")
        ]
        | UnsetType
    ) = UNSET
    altitude: (
        Annotated[Length, about("Altitude of the site, for rows with a machine.", low=-100, high=4000, unit="m")]
        | UnsetType
    ) = UNSET


class SelectionRedundancy(Given, frozen=True, kw_only=True):
    """Spare capacity: what may be out of service with the load still met."""

    rule: Annotated[
        Literal["none", "one_circuit", "one_unit", "several_units"],
        about(
            "What may be out of service: nothing, the largest circuit, the largest unit, or the `units` largest units."
        ),
    ] = "none"
    units: Annotated[int, about("Number of units, for `several_units` only.", low=1, high=20)] | UnsetType = UNSET


class FleetRow(Given, frozen=True, kw_only=True):
    """One type of machine on hand. A field is needed only where a rule in force or the objective uses it."""

    type: Annotated[TypeName, about("Name of the type, unique in the fleet.")]
    count_available: Annotated[int, about("Units on hand.", low=0, high=50)]
    capacity: (
        Annotated[Power, about("Capacity of one unit at the design conditions.", low=0.001, high=20000, unit="kW")]
        | UnsetType
    ) = UNSET
    machine: (
        Annotated[CapacityMachine, about("The machine, instead of its capacity: see refrigeration.capacity.")]
        | UnsetType
    ) = UNSET
    power: Annotated[Power, about("Electric power of one unit.", low=0, high=10000, unit="kW")] | UnsetType = UNSET
    circuits: Annotated[int, about("Refrigerant circuits of one unit, of equal size.", low=1, high=16)] | UnsetType = (
        UNSET
    )
    minimum_capacity: (
        Annotated[Power, about("Least capacity at which one unit runs steadily.", low=0, high=20000, unit="kW")]
        | UnsetType
    ) = UNSET
    flow_minimum: (
        Annotated[VolumeFlow, about("Least liquid flow of one unit.", low=0, high=2000, unit="L/s")] | UnsetType
    ) = UNSET
    flow_maximum: (
        Annotated[VolumeFlow, about("Greatest liquid flow of one unit.", above=0, high=2000, unit="L/s")] | UnsetType
    ) = UNSET
    footprint: Annotated[Area, about("Ground that one unit needs.", low=0, high=1000, unit="m2")] | UnsetType = UNSET
    haul_fraction: Annotated[float, about("Share of one haul that one unit takes.", low=0, high=1)] | UnsetType = UNSET
    hire_cost: Annotated[Money, about("Hire of one unit for the period.")] | UnsetType = UNSET
    mass: Annotated[Mass, about("Mass of one unit.", low=0, high=100000, unit="kg")] | UnsetType = UNSET


class SelectionLimits(Given, frozen=True, kw_only=True):
    """Limits of the site and the haulage. One that is not given is not tested."""

    power_available: (
        Annotated[Power, about("Electric power for all units together.", low=0, high=200000, unit="kW")] | UnsetType
    ) = UNSET
    footprint_available: (
        Annotated[Area, about("Ground for all units together.", low=0, high=100000, unit="m2")] | UnsetType
    ) = UNSET
    hauls_max: Annotated[int, about("Greatest number of hauls.", low=0, high=1000)] | UnsetType = UNSET
    units_max: Annotated[int, about("Greatest number of units.", low=0, high=10000)] | UnsetType = UNSET
    mass_max: Annotated[Mass, about("Greatest mass of all units.", low=0, high=10000, unit="t")] | UnsetType = UNSET


class SelectionGiven(Given, frozen=True, kw_only=True):
    """A load, a fleet, and the rules that the choice must keep."""

    design: Annotated[SelectionDesign, about("What the machines must do together.")]
    minimum_load: Annotated[
        Power,
        about("Least load that must be met without stopping; 0: no turndown rule.", low=0, high=200000, unit="kW"),
    ] = Power(0.0, "kW")
    redundancy: Annotated[SelectionRedundancy, about("What may be out of service with the load met.")] = (
        SelectionRedundancy()
    )
    fleet: Annotated[tuple[FleetRow, ...], about("Types of machine on hand.", min_length=1, max_length=200)]
    limits: Annotated[SelectionLimits, about("Limits of the site and the haulage.")] = SelectionLimits()
    haul_cost: Annotated[Money, about("Cost of one haul; absent: none.")] | UnsetType = UNSET
    objective: Annotated[Literal["hire_cost", "units", "power", "hauls"], about("What is made as small as can be.")] = (
        "hire_cost"
    )
    alternatives: Annotated[int, about("Greatest number of further combinations to list.", low=0, high=50)] = 5
    standby_isolated: Annotated[
        bool,
        about(
            "Whether units that the load does not need are valved off, so that the least flow binds the others only."
        ),
    ] = False
