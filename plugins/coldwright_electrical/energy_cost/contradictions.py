"""Inputs of energy and cost that contradict one another."""

from msgspec import UnsetType

from coldwright.contract import Allowed, FieldError, Money, Refused, field_error, tidy
from coldwright_electrical.energy_cost.amounts import HOURS_ROUNDED
from coldwright_electrical.energy_cost.given import EnergyCostGiven
from coldwright_electrical.shared.fuel import curve_errors


def refuse_contradictions(given: EnergyCostGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if isinstance(given.load_factor, UnsetType) and not (given.source == "generator" and given.bins):
        errors.append(
            field_error(
                "/load_factor",
                "The average load is not known: give the load factor, 1 for a load that always runs in full.",
                code="missing",
                allowed=Allowed(maximum=1),
                why="Machines that cycle use far less than their full power, and a guess would be the whole answer.",
            )
        )
    used: tuple[tuple[str, Money | UnsetType], ...]
    if given.source == "utility":
        used = (("/energy_price", given.energy_price), ("/demand_price", given.demand_price))
    else:
        used = (("/fuel_price", given.fuel_price),)
        price = given.fuel_price
        if not isinstance(price, UnsetType) and price.value < 0:
            errors.append(
                field_error(
                    "/fuel_price/value",
                    "A fuel price cannot be negative.",
                    code="out_of_range",
                    value=price.value,
                    allowed=Allowed(minimum=0),
                )
            )
        if not isinstance(given.generator, UnsetType):
            errors += curve_errors(given.generator.fuel_curve, "/generator/fuel_curve")
        filled = sum(b.hours.to("h") for b in given.bins)
        if filled > given.duration.to("h") * (1 + HOURS_ROUNDED):
            errors.append(
                field_error(
                    "/bins",
                    f"The bins hold {filled:.6g} h, more than the duration.",
                    value=tidy(filled),
                    allowed=Allowed(maximum=given.duration.to("h"), unit="h"),
                )
            )
    prices = [(pointer, p.currency) for pointer, p in used if not isinstance(p, UnsetType)]
    errors += [
        field_error(
            f"{pointer}/currency",
            f"The currency is {currency} here and {prices[0][1]} in {prices[0][0]}.",
            value=currency,
            allowed=Allowed(one_of=(prices[0][1],)),
            why="One currency in one call: nothing here knows a rate of exchange.",
        )
        for pointer, currency in prices[1:]
        if currency != prices[0][1]
    ]
    if errors:
        raise Refused(errors)
