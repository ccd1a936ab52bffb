"""What a transformer answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import ApparentPower, Current, Voltage


class TransformerResults(Results, frozen=True, kw_only=True):
    """The transformer, its devices, and what it does to the voltage."""

    rated_apparent_power: Annotated[ApparentPower, about("Rating, as given or chosen.")]
    primary_current: Annotated[Current, about("Primary current at the rating.")]
    secondary_current: Annotated[Current, about("Secondary current at the rating.")]
    primary_load_current: Annotated[Current, about("Primary current at the load.")]
    secondary_load_current: Annotated[Current, about("Secondary current at the load.")]
    load_fraction: Annotated[float, about("Load over rating.")]
    primary_device_maximum_calculated: Annotated[Current, about("Limit of the primary device.")] | UnsetType = UNSET
    primary_device_maximum_standard: Annotated[Current, about("Standard rating for that limit.")] | UnsetType = UNSET
    secondary_device_maximum_calculated: Annotated[Current, about("Limit of the secondary device.")] | UnsetType = UNSET
    secondary_device_maximum_standard: Annotated[Current, about("Standard rating for that limit.")] | UnsetType = UNSET
    regulation_approximate_fraction: Annotated[float, about("R cos + X sin at the load.")]
    regulation_quadratic_fraction: Annotated[float, about("The same with (X cos - R sin)^2 / 2.")]
    regulation_fraction: Annotated[float, about("Exact loss of voltage at the load.")]
    secondary_voltage_at_load: Annotated[Voltage, about("Secondary voltage at the load.")]
    inrush_current: Annotated[Current, about("First inrush on the primary, about 0.1 s.")]
    secondary_fault_current: Annotated[Current, about("Secondary fault current with an infinite primary.")]
    starting_drop_fraction: (
        Annotated[float, about("Voltage lost in the transformer at the machine's start.")] | UnsetType
    ) = UNSET
