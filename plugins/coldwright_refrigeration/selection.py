"""The cheapest combination of machines on hand that meets a load, and why others fail."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import (
    Ask,
    Example,
    Fluid,
    Given,
    Load,
    Money,
    Notes,
    Results,
    about,
    calculator,
    finding,
)
from coldwright.contract.quantities import (
    Area,
    Length,
    Mass,
    Power,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_refrigeration import references as ref
from coldwright_refrigeration.capacity import CapacityMachine
from coldwright_refrigeration.cautions import PLANNING
from coldwright_refrigeration.liquids import WATER

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
TypeName = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"^[^\u0000-\u001f\u007f]*$")]


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
    """What may fail with the load still met."""

    rule: Annotated[
        Literal["none", "one_circuit", "one_unit", "several_units"],
        about("Nothing, the largest circuit, the largest unit, or the `units` largest units."),
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
    ] = Power(0, "kW")
    redundancy: Annotated[SelectionRedundancy, about("What may fail with the load still met.")] = SelectionRedundancy()
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


UnitCount = Annotated[int, Meta(ge=1)]


class Combination(Results, frozen=True, kw_only=True):
    """Machines that together keep every rule."""

    units: Annotated[dict[TypeName, UnitCount], about("Number of units of each type present, by the type's name.")]
    capacity: Annotated[Power, about("Capacity of all units.", us="ton")]
    capacity_after_loss: (
        Annotated[Power, about("Capacity after the loss that the redundancy rule allows for.", us="ton")] | UnsetType
    ) = UNSET
    power: Annotated[Power, about("Electric power of all units.")] | UnsetType = UNSET
    footprint: Annotated[Area, about("Ground of all units.")] | UnsetType = UNSET
    hauls: Annotated[int, about("Hauls, rounded up: a lower bound of real stowage.")] | UnsetType = UNSET
    cost: Annotated[Money, about("Hire of all units and the hauls.")] | UnsetType = UNSET


class RejectedCombination(Results, frozen=True, kw_only=True):
    """Machines that carry the load but break another rule."""

    units: Annotated[dict[TypeName, UnitCount], about("Number of units of each type present, by the type's name.")]
    failed: Annotated[tuple[Rule, ...], about("Every rule that is broken.")]
    capacity: Annotated[Power, about("Capacity of all units.", us="ton")]
    cost: Annotated[Money, about("Hire of all units and the hauls.")] | UnsetType = UNSET


class ObjectiveAmount(Results, frozen=True, kw_only=True):
    """An amount in the kind of the objective: money with its currency, or power with its unit."""

    value: Annotated[float, about("The amount.")]
    currency: Annotated[str, about("ISO 4217 code, for money.")] | UnsetType = UNSET
    unit: Annotated[str, about("Unit, for power.")] | UnsetType = UNSET


class BindingConstraint(Results, frozen=True, kw_only=True):
    """A rule that costs something: without it the objective would be lower."""

    constraint: Annotated[Rule, about("The rule.")]
    cost_if_relaxed: Annotated[
        ObjectiveAmount | float, about("Objective without the rule: an amount, or a plain count.")
    ]
    saving: Annotated[ObjectiveAmount | float, about("How much lower that is.")]


class SelectionResults(Results, frozen=True, kw_only=True):
    """The choice, what comes next, and why others fail."""

    status: Annotated[Literal["optimal", "infeasible"], about("Whether any combination keeps every rule.")]
    best: Annotated[Combination, about("The combination with the lowest objective.")] | UnsetType = UNSET
    alternatives: Annotated[tuple[Combination, ...], about("The next combinations, by rising objective.")]
    rejected: Annotated[
        tuple[RejectedCombination, ...],
        about("Combinations that carry the load, cost less, and break a rule; at most 20."),
    ]
    binding: Annotated[tuple[BindingConstraint, ...], about("Rules without which the objective would be lower.")]
    infeasible_set: Annotated[tuple[Rule, ...], about("A smallest set of rules that cannot be kept together.")]


def _row(
    name: str, count: int, tons: float, kw: float, circuits: int, least: float, flow: tuple[float, float]
) -> dict[str, object]:
    return {
        "type": name,
        "count_available": count,
        "capacity": {"value": tons, "unit": "ton"},
        "power": {"value": kw, "unit": "kW"},
        "circuits": circuits,
        "minimum_capacity": {"value": least, "unit": "ton"},
        "flow_minimum": {"value": flow[0], "unit": "gpm"},
        "flow_maximum": {"value": flow[1], "unit": "gpm"},
    }


def _money(value: float) -> dict[str, object]:
    return {"value": value, "currency": "USD"}


_FLEET = [
    _row("small 40", 5, 38, 46, 1, 9.5, (45, 150)) | {"haul_fraction": 0.3, "hire_cost": _money(1150)},
    _row("middle 100", 3, 93, 110, 2, 19, (110, 360)) | {"haul_fraction": 0.6, "hire_cost": _money(2450)},
    _row("large 250", 2, 231, 268, 2, 46, (290, 900)) | {"haul_fraction": 1.0, "hire_cost": _money(5300)},
]

EXAMPLES = (
    Example(
        "spare_unit",
        "An invented fleet for 210 ton with a spare unit; the hall never needs less than 25 ton.",
        {
            "design": {"load": {"value": 210, "unit": "ton"}, "flow": {"value": 504, "unit": "gpm"}},
            "minimum_load": {"value": 25, "unit": "ton"},
            "redundancy": {"rule": "one_unit"},
            "fleet": _FLEET,
            "limits": {"power_available": {"value": 520, "unit": "kW"}},
            "haul_cost": _money(650),
        },
    ),
    Example(
        "not_enough_power",
        "The same invented fleet on a supply of 300 kW: no combination keeps both the spare unit and the supply.",
        {
            "design": {"load": {"value": 210, "unit": "ton"}},
            "redundancy": {"rule": "one_unit"},
            "fleet": _FLEET,
            "limits": {"power_available": {"value": 300, "unit": "kW"}},
        },
    ),
)

FINDINGS = (
    finding("no_combination", "stop", "No combination on hand keeps every rule."),
    finding("small_margin_after_loss", "check", "After the loss allowed for, less than 3 % of capacity is to spare."),
    finding("mixed_sizes_in_parallel", "check", "Machines of different size share one flow."),
    finding("turndown_costs", "check", "The rule of the least load decides the choice or forbids one."),
    finding("power_counts_all_units", "check", "The power limit was tested with all units running."),
    finding("type_left_out", "check", "A type cannot work at the design conditions and was left out."),
    finding("standby_to_be_isolated", "note", "Units that stand by are valved off and need care against frost."),
    finding("hauls_are_a_lower_bound", "note", "Hauls are counted by shares, which real stowage may not reach."),
    finding("list_cut_short", "note", "A list may lack entries: the search for them was ended."),
)


@calculator(
    "refrigeration.selection",
    version="1.0.0",
    title="Choice of machines from the fleet on hand",
    references=(ref.SCIPY_MILP, ref.PRACTICE, ref.FIRST_PRINCIPLES, ref.AHRI_550_590_2015, ref.AHRI_FOULING),
    hazards=("general", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
    uses=("refrigeration.capacity",),
    load=Load.HEAVY,
)
def selection(given: SelectionGiven, notes: Notes, ask: Ask) -> SelectionResults:
    """The combination with the lowest hire cost, units, power or hauls that meets the load and keeps every rule.

    An integer program, solved exactly: capacity, capacity after the loss of a circuit or of units, least load, liquid
    flow in parallel, electric power, ground, hauls, units and mass. The optimum is checked again by plain arithmetic.
    Equal objectives are settled by fewer units, then lower power, then the names of the types.

    With it come the next combinations, the cheaper ones that fail with every rule they break, what each rule costs,
    and, where nothing fits, a smallest set of rules that cannot be kept together.
    """
    from coldwright_refrigeration.selection_answer import answer

    notes.caution(*PLANNING)
    return answer(given, notes, ask)
