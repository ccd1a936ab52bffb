"""A skid: a rigid base on soil that takes no tension."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.ground import rigid_base
from coldwright_site.ground.contact import Contact, kilopascal, required, with_wind
from coldwright_site.ground.findings import overturns, uplift
from coldwright_site.ground.given import GroundGiven


def skid(given: GroundGiven, allowable: float, notes: Notes) -> Contact:
    """A skid that bears over its whole length and width."""
    if given.load is UNSET or given.contact_length is UNSET or given.contact_width is UNSET:
        return Contact({})
    weight, sides = given.load.si * STANDARD_GRAVITY, (given.contact_length.si, given.contact_width.si)
    e = with_wind(given, weight, given.eccentricity.xy, notes)
    results = required(weight, allowable, notes)
    bearing = rigid_base.bear(weight, sides, e)
    if bearing is None:
        overturns(
            say(
                "The weight acts {along:.3g} and {across:.3g} off the middle of {length:g} x {width:g}",
                along=Length.of(e[0], "m"),
                across=Length.of(e[1], "m"),
                length=given.contact_length.as_unit("m"),
                width=given.contact_width.as_unit("m"),
            ),
            notes,
        )
        return Contact(results)
    for symbol, meaning, value in (("q_max", "Greatest", bearing.greatest), ("q_min", "Least", bearing.least)):
        notes.show(
            symbol,
            f"{meaning} pressure, {bearing.way}",
            f"W {weight:.6g} N on {sides[0]:.4g} x {sides[1]:.4g} m, e ({e[0]:.4g}, {e[1]:.4g}) m",
            value / 1000,
            "kPa",
        )
    if bearing.lifted:
        length = Length.of(bearing.length, "m")
        uplift(
            say("Part of the skid lifts: {length:.2f} of it bears in the direction of the weight.", length=length),
            notes,
        )
    along_x = abs(e[0]) / sides[0] >= abs(e[1]) / sides[1]
    patch = (bearing.length, sides[1]) if along_x else (sides[0], bearing.length)
    return Contact(
        results
        | {
            "bearing_pressure_minimum": kilopascal(bearing.least),
            "contact_length_effective": Length.from_si(bearing.length, "m"),
        },
        bearing.greatest,
        (weight, *patch),
    )
