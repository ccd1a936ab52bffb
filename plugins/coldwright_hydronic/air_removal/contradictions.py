"""Inputs of air removal that cannot be."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Refused, field_error, tidy
from coldwright.contract.quantities import Volume
from coldwright_basis.compare import at_most
from coldwright_basis.liquids import water_vapor_pressure
from coldwright_hydronic.air_removal.given import AirRemovalGiven, TopUp


def refuse_contradictions(given: AirRemovalGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    air = given.atmospheric_pressure.si
    if given.supply_temperature is not UNSET:
        vapor = water_vapor_pressure(given.supply_temperature.si)
        if given.supply_absolute_pressure.si <= vapor:
            errors.append(
                field_error(
                    "/supply_absolute_pressure",
                    f"Water at {given.supply_temperature} boils at {vapor / 1e3:.3f} kPa absolute.",
                    value=given.supply_absolute_pressure,
                    allowed=Allowed(above=round(vapor / 1e3, 3), maximum=1000, unit="kPa"),
                    why="Below its vapour pressure water holds no air and is no liquid.",
                )
            )
    if given.operating_temperature is not UNSET and given.operating_gauge_pressure is not UNSET:
        vapor = water_vapor_pressure(given.operating_temperature.si)
        if given.operating_gauge_pressure.si + air <= vapor:
            errors.append(
                field_error(
                    "/operating_gauge_pressure",
                    f"Water at {given.operating_temperature} boils at {(vapor - air) / 1e3:.2f} kPa gauge.",
                    value=given.operating_gauge_pressure,
                    allowed=Allowed(above=round((vapor - air) / 1e3, 3), maximum=900, unit="kPa"),
                    why="Below its vapour pressure the high point is full of steam, not air.",
                )
            )
    if given.top_up is not UNSET:
        errors += _top_up_errors(given.top_up, air, given.loop_volume)
    if errors:
        raise Refused(errors)


def _top_up_errors(top_up: TopUp, air: float, loop: Volume | UnsetType) -> list[FieldError]:
    before, after = top_up.pressure_before.si + air, top_up.pressure_after.si + air
    if before <= 0:
        return [
            field_error(
                "/top_up/pressure_before",
                "This gauge pressure is below full vacuum with this atmosphere.",
                value=top_up.pressure_before,
                allowed=Allowed(above=tidy(-air / 1e3), unit="kPa"),
            )
        ]
    if at_most(after, before):
        return [
            field_error(
                "/top_up/pressure_after",
                "The pressure did not rise with the water added.",
                value=top_up.pressure_after,
                allowed=Allowed(above=top_up.pressure_before.to("kPa"), unit="kPa"),
                why="Water pressed into a closed loop squeezes its air; if the gauge stands still, it leaks or a vessel is open.",
            )
        ]
    trapped = top_up.volume_added.si / (1 - before / after)
    if loop is not UNSET and trapped > loop.si:
        return [
            field_error(
                "/top_up",
                f"By this top-up {1e3 * trapped:.0f} L of air would be in a loop of {loop}.",
                why="The loop leaks, a vessel is open to it, or a figure is wrong.",
            )
        ]
    return []
