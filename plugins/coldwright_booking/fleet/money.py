"""Money in a fleet: one currency, and each rate once."""

from collections.abc import Iterator

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, field_error
from coldwright_booking.fleet.given import AnyAccessory, Fleet, MachineType

ONE_CURRENCY = "one currency in a fleet: nothing here knows a rate of exchange"


def currency_of(fleet: Fleet) -> str:
    """The currency of its rates; empty where it has none."""
    return next((currency for _, currency in _currencies(fleet, "")), "")


def money_errors(fleet: Fleet, pointer: str) -> Iterator[FieldError]:
    """Every price in another currency than the first, and every period of a row that is priced twice."""
    first = ("", "")
    for at, currency in _currencies(fleet, pointer):
        first = first if first[1] else (at, currency)
        if currency != first[1]:
            yield field_error(
                f"{at}/currency",
                f"The currency is {currency} here and {first[1]} at {first[0]}.",
                value=currency,
                allowed=Allowed(one_of=(first[1],)),
                why=ONE_CURRENCY,
            )
    for at, row in _rows(fleet, pointer):
        if row.hire_rates and row.hire_rate is not UNSET:
            yield field_error(f"{at}/hire_rates", "Give `hire_rate` or `hire_rates`, not both.", code="either_or")
        seen: set[str] = set()
        for place, price in enumerate(row.hire_rates):
            if price.per in seen:
                text = f"A {price.per} is priced twice."
                yield field_error(f"{at}/hire_rates/{place}/per", text, code="repeated", value=price.per)
            seen.add(price.per)


def _rows(fleet: Fleet, pointer: str) -> Iterator[tuple[str, MachineType | AnyAccessory]]:
    for place, machine in enumerate(fleet.machines):
        yield f"{pointer}/machines/{place}", machine
    for place, accessory in enumerate(fleet.accessories):
        yield f"{pointer}/accessories/{place}", accessory


def _currencies(fleet: Fleet, pointer: str) -> Iterator[tuple[str, str]]:
    """Where each price stands, with its currency."""
    for at, row in _rows(fleet, pointer):
        if row.hire_rate is not UNSET:
            yield f"{at}/hire_rate", row.hire_rate.currency
        for place, price in enumerate(row.hire_rates):
            yield f"{at}/hire_rates/{place}", price.currency
    if fleet.rates is not UNSET:
        for name, rate in fleet.rates.given:
            yield f"{pointer}/rates/{name}", rate.currency
