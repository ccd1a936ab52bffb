"""Impedances from the source to the machine: for the greatest current, and round the earth-fault loop."""

import math
from typing import Final, NamedTuple, TypeVar

from msgspec import UNSET, UnsetType

from coldwright.contract import Defect, FieldError, Notes, field_error, load_table
from coldwright.contract.quantities import ImpedancePerLength, Temperature
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.fault_current.given import FaultCurrentGiven, FaultSegmentGiven, FaultSourceGiven
from coldwright_electrical.shared.impedance import reactance_at, resistance_at, table_impedance
from coldwright_electrical.shared.references import COMMON_PRACTICE
from coldwright_electrical.shared.transformers import usual_data

FAULT_FACTORS = load_table("coldwright_electrical", "fault_factors")

_PRACTICE: Final = (COMMON_PRACTICE.id,)
USUAL_FREQUENCY: Final = {"nec": 60.0, "iec": 50.0}

T = TypeVar("T")

_NEEDED: Final = {
    "utility_transformer": ("rated_apparent_power", "impedance_fraction"),
    "generator": ("rated_apparent_power",),
    "known_fault_current": ("available_fault_current",),
}

_BELONGS: Final = {
    "utility_transformer": {"rated_apparent_power", "impedance_fraction", "x_over_r", "upstream_fault_power"},
    "generator": {"rated_apparent_power", "subtransient_reactance", "zero_sequence_reactance"},
    "known_fault_current": {"available_fault_current", "x_over_r"},
}

_OPTIONAL: Final = (
    "rated_apparent_power",
    "impedance_fraction",
    "x_over_r",
    "upstream_fault_power",
    "subtransient_reactance",
    "zero_sequence_reactance",
    "available_fault_current",
)


class Source(NamedTuple):
    """Ohm a phase for the greatest current and round the loop; the same per unit on a base; what was assumed."""

    greatest: complex
    loop: complex
    per_unit: complex
    base_impedance: float
    base_current: float
    assumed: tuple[str, ...]


class Segment(NamedTuple):
    """Ohm of the whole length, all sets in parallel."""

    given: FaultSegmentGiven
    greatest: complex
    loop: complex | None

    @property
    def ground_sets(self) -> int:
        return 1 if isinstance(self.given.ground_sets, UnsetType) else self.given.ground_sets


def split(magnitude: float, x_over_r: float) -> complex:
    """R + jX of a magnitude and its X/R."""
    resistance = magnitude / math.sqrt(1 + x_over_r * x_over_r)
    return complex(resistance, resistance * x_over_r)


def source_errors(source: FaultSourceGiven) -> list[FieldError]:
    """Fields that this kind of source cannot do without."""
    return [
        field_error(f"/source/{name}", f"A source of kind {source.kind} needs this field.", code="missing")
        for name in _NEEDED[source.kind]
        if getattr(source, name) is UNSET
    ]


def unused_fields(source: FaultSourceGiven) -> list[str]:
    """Fields that were sent and belong to another kind of source."""
    return [name for name in _OPTIONAL if getattr(source, name) is not UNSET and name not in _BELONGS[source.kind]]


def source_of(given: FaultCurrentGiven, notes: Notes) -> Source:
    """Impedance of the source; everything needed was checked before."""
    if given.source.kind == "utility_transformer":
        return _transformer(given.source, notes, given.system_voltage.value)
    if given.source.kind == "generator":
        return _generating_set(given.source, notes, given.system_voltage.value)
    return _known(given.source, notes, given.system_voltage.value)


def _transformer(source: FaultSourceGiven, notes: Notes, volts: float) -> Source:
    kva, z = _sure(source.rated_apparent_power).to("kVA"), _sure(source.impedance_fraction)
    usual = usual_data(kva).x_over_r
    statement = f"X/R of the transformer is {usual:g}, usual for {kva:g} kVA."
    ratio = given_or_usual(source.x_over_r, usual, notes, "transformer_x_over_r", statement, references=_PRACTICE)
    assumed = [f"X/R {ratio:g}"] if source.x_over_r is UNSET else []
    base = volts * volts / (kva * 1000)
    least = z * (1 - source.impedance_tolerance_fraction)
    upstream = upstream_pu = 0j
    if isinstance(source.upstream_fault_power, UnsetType):
        assumed.append("no impedance before the transformer")
    else:
        power = source.upstream_fault_power.to("kVA")
        upstream = split(volts * volts / (power * 1000), source.upstream_x_over_r)
        upstream_pu = split(kva / power, source.upstream_x_over_r)
    notes.show("Z_b", "Base impedance", f"V^2/S = {volts:g}^2 / {kva * 1000:g}", base, "ohm")
    notes.show("Z_t", "Transformer, least", f"z (1 - tolerance) Z_b = {least:.5g} x {base:.5g}", least * base, "ohm")
    return Source(
        greatest=split(least * base, ratio) + upstream,
        loop=split(z * base, ratio) + 2 / 3 * upstream,  # a delta-wye transformer passes no zero sequence upstream
        per_unit=split(least, ratio) + upstream_pu,
        base_impedance=base,
        base_current=kva * 1000 / (math.sqrt(3) * volts),
        assumed=tuple(assumed),
    )


def _generating_set(source: FaultSourceGiven, notes: Notes, volts: float) -> Source:
    kva = _sure(source.rated_apparent_power).to("kVA")
    base = volts * volts / (kva * 1000)
    usual = float(FAULT_FACTORS.rows["subtransient_reactance"])
    statement = f'X"d of the set is {usual:g}.'
    sub = given_or_usual(
        source.subtransient_reactance, usual, notes, "subtransient_reactance", statement, references=_PRACTICE
    )
    assumed = [f'X"d {sub:g}'] if source.subtransient_reactance is UNSET else []
    usual = float(FAULT_FACTORS.rows["zero_sequence_reactance"])
    statement = f"X0 of the set is {usual:g}."
    zero = given_or_usual(
        source.zero_sequence_reactance, usual, notes, "zero_sequence_reactance", statement, references=_PRACTICE
    )
    resistance = source.stator_resistance.to("ohm")
    notes.show("Z_b", "Base impedance", f"V^2/S = {volts:g}^2 / {kva * 1000:g}", base, "ohm")
    notes.show("X_g", "Set, first cycle", f'X"d Z_b = {sub:g} x {base:.5g}', sub * base, "ohm")
    return Source(
        greatest=complex(resistance, sub * base),
        loop=complex(resistance, (2 * sub + zero) / 3 * base),
        per_unit=complex(resistance / base, sub),
        base_impedance=base,
        base_current=kva * 1000 / (math.sqrt(3) * volts),
        assumed=tuple(assumed),
    )


def _known(source: FaultSourceGiven, notes: Notes, volts: float) -> Source:
    current = _sure(source.available_fault_current).to("A")
    usual = float(FAULT_FACTORS.rows["known_x_over_r"])
    statement = f"X/R of the stated current is {usual:g}, on the safe side with cable."
    ratio = given_or_usual(source.x_over_r, usual, notes, "source_x_over_r", statement, references=_PRACTICE)
    assumed = [f"X/R {ratio:g}"] if source.x_over_r is UNSET else []
    base = volts / (math.sqrt(3) * current)
    notes.show("Z_s", "source", f"V / (sqrt3 I) = {volts:g} / (sqrt3 x {current:.6g})", base, "ohm")
    impedance = split(base, ratio)
    return Source(impedance, impedance, split(1.0, ratio), base, current, tuple(assumed))


def _sure(value: T | UnsetType) -> T:
    """A field that `source_errors` found to be there."""
    if isinstance(value, UnsetType):
        raise Defect("a field of the source was not checked")
    return value


def segment_errors(given: FaultCurrentGiven) -> list[FieldError]:
    """Sizes that no table holds, and parallel grounds that were not counted."""
    errors: list[FieldError] = []
    for index, s in enumerate(given.segments):
        at = f"/segments/{index}"
        pairs = [("conductor_size", s.conductor_size, s.resistance_per_length, s.reactance_per_length)]
        if not isinstance(s.ground_conductor_size, UnsetType):
            pairs.append(
                (
                    "ground_conductor_size",
                    s.ground_conductor_size,
                    s.ground_resistance_per_length,
                    s.ground_reactance_per_length,
                )
            )
            if s.sets > 1 and isinstance(s.ground_sets, UnsetType):
                errors.append(
                    field_error(
                        f"{at}/ground_sets",
                        f"There are {s.sets} parallel sets: say how many grounds run with them.",
                        code="missing",
                        why="Parallel lines may share one ground or have one each, and the loop differs by half.",
                    )
                )
        errors += [
            field_error(
                f"{at}/{field}",
                f"No table holds the impedance of {size}: give resistance and reactance per length.",
                value=size,
            )
            for field, size, r, x in pairs
            if table_impedance(size) is None and (isinstance(r, UnsetType) or isinstance(x, UnsetType))
        ]
    return errors


def segments_of(given: FaultCurrentGiven, hertz: float) -> list[Segment]:
    """Each length for both cases; the loop is missing where a ground size is."""
    greatest, least = (75.0, 75.0) if given.practice == "nec" else (20.0, 60.0)
    found = []
    for s in given.segments:
        cold, warm = _temperature(s, greatest), _temperature(s, least)
        length = s.length.to("m")
        line = (s.conductor_size, s.resistance_per_length, s.reactance_per_length)
        loop: complex | None = None
        if not isinstance(s.ground_conductor_size, UnsetType):
            ground = (s.ground_conductor_size, s.ground_resistance_per_length, s.ground_reactance_per_length)
            grounds = 1 if isinstance(s.ground_sets, UnsetType) else s.ground_sets
            loop = length * (_per_metre(*line, warm, hertz) / s.sets + _per_metre(*ground, warm, hertz) / grounds)
        found.append(Segment(s, length * _per_metre(*line, cold, hertz) / s.sets, loop))
    return found


def _temperature(segment: FaultSegmentGiven, usual: float) -> float:
    given: Temperature | UnsetType = segment.conductor_temperature
    return usual if isinstance(given, UnsetType) else given.to("degC")


def _per_metre(
    size: str,
    resistance: ImpedancePerLength | UnsetType,
    reactance: ImpedancePerLength | UnsetType,
    temperature: float,
    hertz: float,
) -> complex:
    row = table_impedance(size)
    r = x = 0.0
    if row is not None:
        r, x = resistance_at(row, temperature), reactance_at(row, hertz)
    if not isinstance(resistance, UnsetType):
        r = resistance.to("ohm/km") / 1000
    if not isinstance(reactance, UnsetType):
        x = reactance.to("ohm/km") / 1000
    return complex(r, x)
