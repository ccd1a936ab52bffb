"""What `refrigeration.selection` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Money, Results, about
from coldwright.contract.quantities import Area, Power
from coldwright_refrigeration.selection.given import Rule, TypeName

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

    status: Annotated[
        Literal["optimal", "not_proved", "infeasible"],
        about(
            "Whether any combination keeps every rule; `not_proved`: the search was ended, a better one may exist, or "
            "without `best` any at all."
        ),
    ]
    best: Annotated[Combination, about("The combination with the lowest objective.")] | UnsetType = UNSET
    proven_bound: (
        Annotated[
            ObjectiveAmount | float, about("No combination has a lower objective; only where the best is not proved.")
        ]
        | UnsetType
    ) = UNSET
    alternatives: Annotated[tuple[Combination, ...], about("The next combinations, by rising objective.")]
    rejected: Annotated[
        tuple[RejectedCombination, ...],
        about("Combinations that carry the load, cost less, and break a rule; at most 20."),
    ]
    binding: Annotated[tuple[BindingConstraint, ...], about("Rules without which the objective would be lower.")]
    infeasible_set: Annotated[tuple[Rule, ...], about("A smallest set of rules that cannot be kept together.")]
