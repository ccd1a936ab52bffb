"""The second major: the warmest water is measured, and never taken from the wet bulb."""

from typing import Annotated

from coldwright.contract import Example, Notes, about, calculator
from coldwright.contract.quantities import Temperature
from msgspec.structs import asdict

from coldwright_evaporative.page import precooling_page
from coldwright_evaporative.precooling import PrecoolingGiven, PrecoolingResults, precooling

MEASURED = {"water_temperature": {"value": 26, "unit": "degC"}}


class MeasuredPrecoolingGiven(PrecoolingGiven, frozen=True, kw_only=True):
    """The air of the place, the air that the fans move, the wet stage, and its water, whose temperature is measured."""

    water_temperature: Annotated[
        Temperature, about("Warmest water in tank, pipe or sump, measured.", low=1, high=60, unit="degC")
    ]


@calculator(
    "evaporative.precooling",
    version="2.0.0",
    title="Evaporative pre-cooling of condenser air, its water measured",
    references=precooling.references,
    tables=precooling.tables,
    hazards=precooling.hazards,
    findings=tuple(precooling.findings.values()),
    examples=tuple(Example(e.name, e.summary, {**e.given, **MEASURED}) for e in precooling.examples),
    page=precooling_page,
)
def measured_precooling(given: MeasuredPrecoolingGiven, notes: Notes) -> PrecoolingResults:
    """Temperature of the condenser's air behind wetted pads or a spray, and the water that they take.

    As the first major, but for the temperature of the water: growth is judged by a measurement alone.
    """
    return precooling.function(PrecoolingGiven(**asdict(given)), notes)
