"""Error of the gauges that read the drop."""

from math import sqrt

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import PressureDifference
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven

GAUGE_SPANS = tuple(step * decade for decade in (1e5, 1e6) for step in (1.0, 1.6, 2.5, 4.0, 6.0))
"""Pa: the longest is for the greatest reading that is taken, 4 MPa."""

GAUGE_CLASS = 0.01


def drop_error(given: ExchangerFlowGiven, notes: Notes) -> float:
    """Error of the drop [Pa]: as given, else 1 % of the span of each of two gauges."""
    if given.gauge_error is not UNSET:
        return given.gauge_error.si
    if given.inlet_gauge_pressure is UNSET or given.outlet_gauge_pressure is UNSET:
        notes.assume(
            "one_gauge_moved",
            "The drop comes from one gauge moved between the taps, or from one differential gauge: its zero error cancels.",
            value=PressureDifference(0.0, "kPa"),
            basis="common_practice",
            references=("hydronic_practice",),
        )
        return 0.0
    highest = max(abs(given.inlet_gauge_pressure.si), abs(given.outlet_gauge_pressure.si))
    span = next(s for s in GAUGE_SPANS if s >= highest / 0.75)
    error = sqrt(2.0) * GAUGE_CLASS * span
    notes.assume(
        "gauge_error_of_two_gauges",
        say(
            "Each gauge is good to 1 % of its span, taken as {span:g}, the smallest usual span that is "
            "read below three quarters of it.",
            span=PressureDifference.from_si(span, "kPa"),
        ),
        value=PressureDifference.from_si(error, "kPa"),
        basis="common_practice",
        references=("hydronic_practice", "en_837"),
    )
    return error
