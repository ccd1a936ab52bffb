"""What a loop takes as true."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import GaugePressure
from coldwright_hydronic.loop.elements import everything
from coldwright_hydronic.loop.given import USUAL_FREQUENCY, DeviceGiven, LoopGiven
from coldwright_hydronic.shared.devices import assume_rated_with_water


def assume(given: LoopGiven, notes: Notes) -> None:
    """Write down what was taken as true."""
    notes.assume("steady", "Steady flow, the loop full of one liquid of one temperature.", basis="derived")
    if given.atmospheric_pressure is UNSET and given.site_elevation is UNSET:
        notes.assume(
            "air_at_sea_level",
            "The pressure of the air is taken as that of sea level.",
            value=GaugePressure(0.0, "kPa"),
            basis="standard",
            references=("icao_standard_atmosphere",),
        )
    if any(isinstance(e, DeviceGiven) and e.rated_fluid is UNSET for _, e, _ in everything(given.elements)):
        assume_rated_with_water(notes)
    if any(p.rated_frequency is UNSET and p.frequency is not UNSET for p in given.pumps):
        notes.assume(
            "curve_frequency",
            "The curve of a pump without a frequency of its own is taken to be for this one.",
            value=USUAL_FREQUENCY,
            basis="common_practice",
        )
    if given.open_source is not UNSET:
        notes.assume(
            "open_return",
            "The loop returns to the tank that it draws from: below the surface without lift, above it by falling free.",
            basis="derived",
            references=("hydronic_first_principles",),
        )
    if given.hose_options and given.elements:
        notes.assume(
            "hose_replaced",
            "The hose that is chosen takes the place of the hose lines among the elements, branches apart.",
            basis="derived",
        )
