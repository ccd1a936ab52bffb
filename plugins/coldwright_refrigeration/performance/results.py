"""What `refrigeration.performance` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Power


class PerformanceResults(Results, frozen=True, kw_only=True):
    """Capacity, efficiency, how sure they are, and the verdict."""

    capacity: Annotated[Power, about("Cooling capacity.", us="ton")]
    cop: Annotated[float, about("Capacity over power.")] | UnsetType = UNSET
    eer: Annotated[float, about("Capacity over power, Btu per Wh.")] | UnsetType = UNSET
    kw_per_ton: Annotated[float, about("Power over capacity, kW per ton.")] | UnsetType = UNSET
    relative_standard_uncertainty: Annotated[float, about("Of the capacity, k = 1.")]
    capacity_uncertainty: Annotated[Power, about("Of the capacity, expanded.", us="ton")]
    efficiency_uncertainty: Annotated[float, about("Of the `cop`, expanded, in its own unit.")] | UnsetType = UNSET
    heat_balance_closure: Annotated[float, about("Heat in minus heat out, over heat out.")] | UnsetType = UNSET
    capacity_ratio: Annotated[float, about("Capacity over expected.")] | UnsetType = UNSET
    power_ratio: Annotated[float, about("Power over expected.")] | UnsetType = UNSET
    verdict: (
        Annotated[
            Literal["not_distinguishable", "short", "above"],
            about("Whether the capacity differs from the expected by more than the uncertainty."),
        ]
        | UnsetType
    ) = UNSET
    tolerance: Annotated[float, about("Tolerance of the rating standard at this load, a fraction.")] | UnsetType = UNSET
    part_load_value: Annotated[float, about("Weighted value, in the metric given.")] | UnsetType = UNSET
