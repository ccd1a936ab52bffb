"""What hire, transport, crew, fuel and power cost: of a fleet, and of an order where it differs."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright_basis.price import Currency, DecimalText


class Price(Given, frozen=True, kw_only=True):
    """An amount of money as decimal text, in one currency."""

    value: DecimalText
    currency: Currency

    @property
    def amount(self) -> Decimal:
        """The number, exactly as it was written."""
        return Decimal(self.value)


class HireRate(Given, frozen=True, kw_only=True):
    """Money with the period that it pays for."""

    value: Annotated[float, about("Amount.", low=0, high=1e9)]
    currency: Annotated[str, about("ISO 4217 code of the currency.", pattern="^[A-Z]{3}$", examples=["USD"])]
    per: Annotated[Literal["day", "week", "month", "hire"], about("Period that the amount pays for; begun ones count.")]


class HirePrice(Given, frozen=True, kw_only=True):
    """Money as decimal text, with the period that it pays for."""

    value: DecimalText
    currency: Currency
    per: Annotated[
        Literal["day", "week", "month", "hire"],
        about("Period that the amount pays for: 1, 7 or 30 days, or the whole hire; begun ones count."),
    ]


class DistancePrice(Given, frozen=True, kw_only=True):
    """Money for a distance."""

    value: DecimalText
    currency: Currency
    per: Annotated[Literal["km", "mi"], about("Kilometre or mile.")]


class FuelPrice(Given, frozen=True, kw_only=True):
    """Money for a volume of fuel."""

    value: DecimalText
    currency: Currency
    per: Annotated[Literal["L", "gal"], about("Litre, or US gallon.")]


class Rates(Given, frozen=True, kw_only=True):
    """What things cost beside the hire of each row. What is left out is not priced, and the plan says so."""

    crew_hour: Annotated[Price, about("One person for one hour.")] | UnsetType = UNSET
    transport_load: Annotated[Price, about("One vehicle, one way, however far.")] | UnsetType = UNSET
    transport_distance: Annotated[DistancePrice, about("One vehicle, for each km or mile, one way.")] | UnsetType = (
        UNSET
    )
    fuel: Annotated[FuelPrice, about("Diesel fuel.")] | UnsetType = UNSET
    energy: Annotated[Price, about("A kWh from the site's supply.")] | UnsetType = UNSET
    demand: Annotated[Price, about("A kW of demand in a billing month, from the site's supply.")] | UnsetType = UNSET

    @property
    def given(self) -> Iterator[tuple[str, Price | DistancePrice | FuelPrice]]:
        """Those that are given, by name."""
        for name in self.__struct_fields__:
            if not isinstance(price := getattr(self, name), UnsetType):
                yield name, price


HirePrices = Annotated[
    tuple[HirePrice, ...],
    about(
        "Hire of one by several periods, in place of `hire_rate`: of all ways to pay for the days with begun periods the "
        "cheapest is taken.",
        max_length=4,
    ),
]
