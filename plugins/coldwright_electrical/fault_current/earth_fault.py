"""The least current of an earth fault, and the current and time that clear it."""

from typing import NamedTuple

from msgspec import UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current, Duration
from coldwright_basis.trade_words import word
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import Segment, Source
from coldwright_electrical.fault_current.short_circuit import ROOT3
from coldwright_electrical.shared.protection import FUSE_OPERATING_CURRENTS, disconnection_time

RESIDUAL_MULTIPLE = 5.0
"""Of the rated residual current: what a residual-current device opens on at once (IEC 60364-4-41, 411.4.4, from memory)."""


class EarthFault(NamedTuple):
    """Ohm, A, A, s; None where its inputs are missing."""

    impedance: float | None
    current: float | None
    required: float | None
    time_limit: float | None


def earth_fault_of(given: FaultCurrentGiven, notes: Notes, source: Source, segments: list[Segment]) -> EarthFault:
    """Loop impedance [ohm], least fault current [A], the current that clears it [A] and the time allowed [s]."""
    fault = word("earth_fault", given.practice)
    to_earth = given.system_voltage.value / ROOT3
    time_limit = required = None
    if not isinstance(given.device, UnsetType):
        if given.practice == "iec":
            time_limit = disconnection_time(to_earth, given.device.rating.to("A"), socket_outlet=given.socket_outlet)
        required = _required(given, notes, time_limit)
    loops = [s.loop for s in segments]
    if any(loop is None for loop in loops):
        return EarthFault(None, None, required, time_limit)
    cable = sum((loop for loop in loops if loop is not None), 0j)
    impedance = abs(source.loop + cable)
    current = given.voltage_factor_min * to_earth / impedance
    notes.show(
        "Z_s",
        f"{fault} loop",
        f"|{source.loop:.4g} + {cable:.4g}|, the source and warm lines with their "
        f"{word('protective_conductor', given.practice)}s, j the reactance",
        impedance,
        "ohm",
    )
    notes.show(
        "I_ef",
        f"Least {fault} current",
        f"{given.voltage_factor_min:g} x {to_earth:.5g} / {impedance:.5g}",
        current,
        "A",
    )
    return EarthFault(impedance, current, required, time_limit)


def _required(given: FaultCurrentGiven, notes: Notes, time_limit: float | None) -> float | None:
    device = given.device
    if isinstance(device, UnsetType):
        return None
    if not isinstance(device.residual_operating_current, UnsetType):
        rated = device.residual_operating_current.to("A")
        required = RESIDUAL_MULTIPLE * rated
        notes.show(
            "I_a",
            "Residual current that trips the device at once",
            f"{RESIDUAL_MULTIPLE:g} x {rated:g}",
            required,
            "A",
        )
        return required
    if not isinstance(device.operating_current, UnsetType):
        return device.operating_current.to("A")
    rating = device.rating.to("A")
    if device.kind == "circuit_breaker":
        required = rating * device.magnetic_pickup_multiple * (1 + device.pickup_tolerance_fraction)
        notes.show(
            "I_a",
            "Current that trips the breaker at once",
            f"{rating:g} x {device.magnetic_pickup_multiple:g} x (1 + {device.pickup_tolerance_fraction:g})",
            required,
            "A",
        )
        return required
    rows: list[list[float]] = FUSE_OPERATING_CURRENTS.rows
    found = next((row[2] for row in rows if row[0] == rating and row[1] == time_limit), None)
    if found is not None and time_limit is not None:
        notes.check(
            "fuse_curve_assumed",
            say(
                "A gG fuse of {rating:g} acts within {time_limit:g} at {found:g}, by a table of examples.",
                rating=Current.of(rating, "A"),
                time_limit=Duration.of(time_limit, "s"),
                found=Current.of(found, "A"),
            ),
            resolve="Read the fuse's own curve and give device.operating_current.",
            field="/device/operating_current",
            references=(FUSE_OPERATING_CURRENTS.reference.id,),
        )
    return found
