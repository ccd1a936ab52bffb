"""Pressure on a weaker layer below."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length, PressureDifference
from coldwright_basis.compare import above
from coldwright_site.ground.contact import Contact, kilopascal
from coldwright_site.ground.given import GroundGiven


def pressure_at_depth(given: GroundGiven, bearing: Contact, notes: Notes) -> PressureDifference | UnsetType:
    """Pressure on the layer below, spread 2 to 1; nothing when it was not asked for."""
    if given.depth_check is UNSET or bearing.patch is None:
        return UNSET
    load, length, width = bearing.patch
    depth, allowable = given.depth_check.depth.si, given.depth_check.allowable.si
    pressure = load / ((length + depth) * (width + depth))
    notes.show(
        "q_z",
        "Pressure at the depth of the layer, spread 2 to 1",
        f"{load / 1000:.6g} kN / (({length:.4g} + {depth:.4g}) x ({width:.4g} + {depth:.4g}) m2)",
        pressure / 1000,
        "kPa",
    )
    if above(pressure, allowable):
        notes.stop(
            "weak_layer",
            say(
                "The layer {depth:g} down is pressed with {pressure:.1f} and bears {allowable:.1f}.",
                depth=Length.of(depth, "m"),
                pressure=PressureDifference.from_si(pressure, "kPa"),
                allowable=PressureDifference.from_si(allowable, "kPa"),
            ),
            resolve="Spread the load wider.",
            field="/depth_check/allowable",
            references=("site_practice",),
        )
    return kilopascal(pressure)
