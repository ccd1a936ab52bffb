"""Objects that mean the same in every family."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract.fields import Given, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Density,
    DynamicViscosity,
    Modulus,
    SpecificHeat,
    Temperature,
)


class Money(Given, frozen=True, kw_only=True):
    """An amount of money. One currency in one call."""

    value: Annotated[float, about("Amount.", low=-1e12, high=1e12)]
    currency: Annotated[str, about("ISO 4217 code of the currency.", pattern="^[A-Z]{3}$", examples=["USD"])]


class Fluid(Given, frozen=True, kw_only=True):
    """The liquid in the loop. Glycols need one of the two fractions; only `custom` takes properties of its own."""

    kind: Annotated[
        Literal["water", "ethylene_glycol", "propylene_glycol", "custom"], about("Water, a glycol, or your own data.")
    ]
    mass_fraction: Annotated[float, about("Glycol by mass.", low=0.05, high=0.6)] | UnsetType = UNSET
    volume_fraction: (
        Annotated[float, about("Glycol by volume, pure glycol, measured before mixing.", low=0.05, high=0.6)]
        | UnsetType
    ) = UNSET
    temperature: (
        Annotated[Temperature, about("Temperature of the liquid.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    density: Annotated[Density, about("Density, `custom` only.", low=500, high=2000, unit="kg/m3")] | UnsetType = UNSET
    dynamic_viscosity: (
        Annotated[DynamicViscosity, about("Dynamic viscosity, `custom` only.", low=0.05, high=1000, unit="mPa.s")]
        | UnsetType
    ) = UNSET
    specific_heat: (
        Annotated[SpecificHeat, about("Specific heat, `custom` only.", low=0.5, high=6, unit="kJ/kg.K")] | UnsetType
    ) = UNSET
    vapor_pressure: (
        Annotated[AbsolutePressure, about("Vapour pressure, `custom` only.", low=0, high=200, unit="kPa")] | UnsetType
    ) = UNSET
    freezing_temperature: (
        Annotated[Temperature, about("Freezing point, `custom` only.", low=-100, high=20, unit="degC")] | UnsetType
    ) = UNSET
    bulk_modulus: (
        Annotated[Modulus, about("Bulk modulus, `custom` only.", low=0.1, high=10, unit="GPa")] | UnsetType
    ) = UNSET
