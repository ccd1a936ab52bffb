"""Contradictions inside an order."""

from collections.abc import Iterator

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright_booking.fleet.given import Fleet
from coldwright_booking.fleet.money import currency_of
from coldwright_booking.fleet.rules import contradictions
from coldwright_booking.order.given import Order

LONGEST = 3650
"""Days of a hire that are taken for meant: ten years, as long as a set may be asked to run."""


def fleet_of(order: Order, pointer: str = "") -> Fleet:
    """The fleet of an order that holds no contradiction; refuses with every one that it holds."""
    errors = [*_errors(order, pointer)]
    fleet = order.fleet
    if fleet is not UNSET:
        errors += contradictions(fleet, f"{pointer}/fleet")
        known = {m.type for m in fleet.machines}
        errors += [
            field_error(
                f"{pointer}/machine_types/{place}",
                f"The fleet has no type {name!r}.",
                value=name,
                allowed=Allowed(one_of=tuple(sorted(known))),
            )
            for place, name in enumerate(order.machine_types)
            if name not in known
        ]
        errors += _currency(order, fleet, pointer)
    if errors or fleet is UNSET:
        raise Refused(errors)
    return fleet


def _errors(order: Order, at: str) -> Iterator[FieldError]:
    yield from _period(order, at)
    yield from _duty(order, at)
    yield from _fleet(order, at)
    supply, fluid, site = order.supply, order.fluid, order.site
    if supply.frequency is not UNSET and supply.frequency.value not in (50, 60):
        yield field_error(
            f"{at}/supply/frequency",
            "50 or 60 Hz.",
            value=supply.frequency,
            allowed=Allowed(one_of=("50", "60"), unit="Hz"),
        )
    if fluid is not UNSET and fluid.kind == "water" and fluid.mass_fraction is not UNSET:
        yield field_error(f"{at}/fluid/mass_fraction", "Water has no glycol.", value=fluid.mass_fraction)
    lowest, hottest = site.lowest_ambient_temperature, site.design_ambient_temperature
    if lowest is not UNSET and lowest.si > hottest.si:
        yield field_error(
            f"{at}/site/lowest_ambient_temperature",
            f"The coldest air, {lowest}, is warmer than the hottest, {hottest}.",
            value=lowest,
            allowed=Allowed(maximum=hottest.to("degC"), unit="degC"),
        )
    yield from _air(order, at)
    ground = site.ground
    if ground is not UNSET:
        stated = [ground.soil_class, ground.allowable_bearing_pressure]
        if UNSET not in stated:
            yield field_error(
                f"{at}/site/ground/soil_class", "Give the class of the soil or its bearing pressure, not both."
            )
        elif ground.soil_class == "unprepared":
            yield field_error(
                f"{at}/site/ground/soil_class",
                "Unprepared ground has no bearing pressure of its own.",
                value="unprepared",
                why="Mud, fill and peat bear what a competent person says: give allowable_bearing_pressure.",
            )


def _currency(order: Order, fleet: Fleet, at: str) -> Iterator[FieldError]:
    """One currency in a plan: nothing here knows a rate of exchange."""
    prices = [] if order.rates is UNSET else list(order.rates.given)
    expected = currency_of(fleet) or next((price.currency for _, price in prices), "")
    for name, price in prices:
        if price.currency != expected:
            yield field_error(
                f"{at}/rates/{name}/currency",
                f"The currency is {price.currency} here and {expected} elsewhere in the order and its fleet.",
                value=price.currency,
                allowed=Allowed(one_of=(expected,)),
                why="One currency in a plan: nothing here knows a rate of exchange.",
            )


def _air(order: Order, at: str) -> Iterator[FieldError]:
    site, hottest, dew_point = order.site, order.site.design_ambient_temperature, order.site.dew_point_temperature
    if site.room is not UNSET and site.indoors is not True:
        yield field_error(
            f"{at}/site/room",
            "A room is given, and the machines are not said to stand in it.",
            why="`site.indoors` true says that they do; outdoors no room has a part.",
        )
    if dew_point is not UNSET and site.relative_humidity_fraction is not UNSET:
        yield field_error(
            f"{at}/site/dew_point_temperature", "Give the humidity or the dew point, not both.", value=dew_point
        )
    elif dew_point is not UNSET and dew_point.si > hottest.si:
        yield field_error(
            f"{at}/site/dew_point_temperature",
            f"The dew point, {dew_point}, is above the hottest air, {hottest}.",
            value=dew_point,
            allowed=Allowed(maximum=hottest.to("degC"), unit="degC"),
            why="No air is damper than saturated.",
        )
    warmest, leaving = order.duty.warmest_supply_temperature, order.duty.leaving_temperature
    if warmest is not UNSET and warmest.si < leaving.si:
        yield field_error(
            f"{at}/duty/warmest_supply_temperature",
            f"The warmest supply, {warmest}, is colder than the liquid leaves, {leaving}.",
            value=warmest,
            allowed=Allowed(minimum=leaving.to("degC"), unit="degC"),
        )


def _period(order: Order, at: str) -> Iterator[FieldError]:
    days = (order.period.to - order.period.from_).days + 1
    if days < 1:
        yield field_error(
            f"{at}/period/to",
            f"The hire ends on {order.period.to}, before it begins on {order.period.from_}.",
            value=str(order.period.to),
        )
    elif days > LONGEST:
        yield field_error(
            f"{at}/period/to",
            f"A hire of {days} days.",
            value=str(order.period.to),
            why="Beyond ten years a date is taken for a slip.",
        )


def _duty(order: Order, at: str) -> Iterator[FieldError]:
    duty = order.duty
    if duty.load is UNSET and not duty.loads:
        yield field_error(f"{at}/duty/load", "Give the load, or its parts in `loads`.", code="missing")
    if duty.load is not UNSET and duty.loads:
        yield field_error(f"{at}/duty/loads", "Give `load` or `loads`, not both.")
    if duty.temperature_difference is not UNSET and duty.liquid_flow is not UNSET:
        yield field_error(
            f"{at}/duty/liquid_flow",
            "Give the temperature difference or the flow, not both.",
            value=duty.liquid_flow,
            why="With the load, one follows from the other.",
        )
    lowest, average = duty.lowest_load_fraction, duty.average_load_fraction
    if lowest is not UNSET and average is not UNSET and average < lowest:
        yield field_error(
            f"{at}/duty/average_load_fraction",
            f"The mean load, {average:g} of the load, is below the least, {lowest:g}.",
            value=average,
            allowed=Allowed(minimum=lowest, maximum=1),
        )


def _fleet(order: Order, at: str) -> Iterator[FieldError]:
    if order.fleet is not UNSET and order.fleet_id is not UNSET:
        yield field_error(f"{at}/fleet_id", "Give `fleet` or `fleet_id`, not both.", value=order.fleet_id)
    elif order.fleet_id is not UNSET:
        yield field_error(
            f"{at}/fleet_id",
            "A calculator looks nothing up: PUT /v1/bookings/{reference} puts the stored fleet in its place.",
            value=order.fleet_id,
            why="The same question must always have the same answer.",
        )
    elif order.fleet is UNSET:
        yield field_error(f"{at}/fleet", "This field is required: the fleet to choose from.", code="missing")
