"""A mat below a foot."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length
from coldwright_basis.compare import below
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.ground import mat_bearing
from coldwright_site.ground.contact import Contact, kilopascal, required
from coldwright_site.ground.given import GroundGiven
from coldwright_site.ground.results import MatResults


def mat(given: GroundGiven, allowable: float, notes: Notes) -> Contact:
    """A mat below one foot, at its effective bearing length."""
    if given.load is UNSET or given.contact_length is UNSET or given.mat is UNSET:
        return Contact({})
    load, own, foot, mat = (
        given.load.si * STANDARD_GRAVITY,
        given.mat.mass.si * STANDARD_GRAVITY,
        given.contact_length.si,
        given.mat,
    )
    bearing = mat_bearing.bear(load, own, foot, mat, allowable)
    mat_bearing.show(bearing, load, own, foot, mat, notes)
    if below(bearing.length, bearing.required_length):
        notes.note(
            "mat_shortened",
            say(
                "The ground asks for {required_length:.2f} of mat; {length:.2f} counts, by its length or its strength.",
                required_length=Length.of(bearing.required_length, "m"),
                length=Length.of(bearing.length, "m"),
            ),
            field="/mat",
            references=("duerr_crane_mats",),
        )
    pressure = kilopascal(bearing.pressure)
    results = required(load + own, allowable, notes) | {
        "bearing_pressure_minimum": pressure,
        "contact_length_effective": Length.from_si(bearing.length, "m"),
        "mat": MatResults(
            required_length=Length.from_si(bearing.required_length, "m"),
            cantilever=Length.from_si(bearing.cantilever, "m"),
            bending_moment_knm=bearing.moment / 1e3,
            bending_stress_mpa=bearing.bending_stress / 1e6,
            shear_kn=bearing.shear / 1e3,
            shear_stress_mpa=bearing.shear_stress / 1e6,
        ),
    }
    return Contact(results, bearing.pressure, (load + own, bearing.length, given.mat.width.si))
