"""Flow at which the proof of flow trips."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import VolumeFlow
from coldwright_hydronic.exchanger_flow.flow import Flow
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.shared.devices import device_flow_ratio


def trip_flow_of(given: ExchangerFlowGiven, flow: Flow, notes: Notes) -> float | None:
    """Flow [m3/s] at which the proof trips; None without a proof."""
    if given.proof is UNSET:
        return None
    if given.proof.trip_pressure_drop is UNSET:
        return None if given.proof.trip_flow is UNSET else given.proof.trip_flow.si
    ratio = device_flow_ratio(
        given.proof.trip_pressure_drop.si, given.rated_pressure_drop.si, given.exponent, flow.correction
    )
    trip = given.rated_flow.si * ratio
    shown = VolumeFlow.from_si(trip, "L/s")
    n = given.exponent
    numbers = (
        f"Q_r (dp / (dp_r c))^(1/n) = {given.rated_flow} x ({given.proof.trip_pressure_drop.to('kPa'):.5g} / "
        f"({given.rated_pressure_drop.to('kPa'):.5g} x {flow.correction:.5g}))^(1/{n:g})"
    )
    notes.show("Q_trip", "Flow at the trip of the switch", numbers, shown)
    return trip
