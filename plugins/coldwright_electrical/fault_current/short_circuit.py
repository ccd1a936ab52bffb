"""The greatest three-phase current: by impedances, by the point-to-point form, and per unit."""

import math

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import Current
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import FAULT_FACTORS, Segment, Source
from coldwright_electrical.fault_current.results import PerUnitResults, PointToPointResults

ROOT3 = math.sqrt(3)


def voltage_factor(given: FaultCurrentGiven, notes: Notes) -> float:
    """Voltage before the fault over nominal: as given, else that of the practice."""
    usual = float(FAULT_FACTORS.rows["voltage_factor_max"][given.practice])
    return given_or_usual(
        given.voltage_factor_max,
        usual,
        notes,
        "voltage_factor_max",
        f"The voltage before the fault is {usual:g} times nominal.",
        basis="standard",
        references=(FAULT_FACTORS.reference.id,),
    )


def show_currents(
    notes: Notes, factor: float, volts: float, source: complex, whole: complex, currents: tuple[float, float]
) -> None:
    """Impedances [ohm] and currents [A] of the greatest fault, line by line."""
    notes.show(
        "R",
        "Resistance to the machine",
        f"source {source.real:.5g} + cable {whole.real - source.real:.5g} ohm",
        whole.real,
        "ohm",
    )
    notes.show(
        "X",
        "Reactance to the machine",
        f"source {source.imag:.5g} + cable {whole.imag - source.imag:.5g} ohm",
        whole.imag,
        "ohm",
    )
    notes.show(
        "I_s", "Fault current at the source", f"{factor:g} x {volts:g} / (sqrt3 x {abs(source):.5g})", currents[0], "A"
    )
    notes.show(
        "I_3", "Fault current at the machine", f"{factor:g} x {volts:g} / (sqrt3 x {abs(whole):.5g})", currents[1], "A"
    )


def point_to_point(notes: Notes, volts: float, at_source: float, segments: list[Segment]) -> PointToPointResults:
    """f = sqrt3 L I / (C n V), C being 1/|z per length|; one segment after the other."""
    current, multiplier = at_source, 1.0
    for segment in segments:
        step = 1 / (1 + ROOT3 * current * abs(segment.greatest) / volts)
        current, multiplier = current * step, multiplier * step
    notes.show("M", "Point-to-point multiplier, a cross-check", "product of 1/(1 + sqrt3 L I / (C n V))", multiplier)
    return PointToPointResults(
        f=tidy(1 / multiplier - 1), multiplier=tidy(multiplier), current=Current.of(current, "A")
    )


def per_unit(notes: Notes, factor: float, source: Source, segments: list[Segment]) -> PerUnitResults:
    """The greatest current once more, per unit of the source: a cross-check."""
    impedance = abs(source.per_unit + sum((s.greatest / source.base_impedance for s in segments), 0j))
    current = factor * source.base_current / impedance
    notes.show(
        "I_pu",
        "Fault current worked per unit",
        f"{factor:g} x {source.base_current:.6g} / {impedance:.5g}",
        current,
        "A",
    )
    return PerUnitResults(
        base_current=Current.of(source.base_current, "A"), impedance=tidy(impedance), current=Current.of(current, "A")
    )
