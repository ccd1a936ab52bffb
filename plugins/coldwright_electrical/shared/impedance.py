"""Resistance and reactance of copper cable, per metre. `None` where a cell was not seen."""

from typing import Final, NamedTuple

from coldwright.contract import load_table

_PACKAGE: Final = "coldwright_electrical"

IMPEDANCE_IN_RACEWAY = load_table(_PACKAGE, "impedance_in_raceway")

RESISTANCE_FLEXIBLE_COPPER = load_table(_PACKAGE, "resistance_flexible_copper")

LINE_REACTANCE = load_table(_PACKAGE, "line_reactance")

_PER_KFT: Final = 1 / 304.8

_PER_KM: Final = 1 / 1000.0


class PerLength(NamedTuple):
    """ohm/m to neutral, at a conductor temperature in degC; the reactance at `frequency` Hz."""

    resistance: float
    reactance: float
    temperature: float
    frequency: float


_AWG: Final = {size: PerLength(r * _PER_KFT, x * _PER_KFT, 75.0, 60.0) for size, r, x in IMPEDANCE_IN_RACEWAY.rows}

_metric: Final = {
    size: PerLength(r * _PER_KM, LINE_REACTANCE.rows["reactance"] * _PER_KM, 20.0, 50.0)
    for size, r in RESISTANCE_FLEXIBLE_COPPER.rows
}

METRIC_SIZES: Final = tuple(_metric)


def table_impedance(size: str) -> PerLength | None:
    """NEC Chapter 9 Table 9 (75 degC, 60 Hz) for AWG and kcmil, IEC 60228 class 5 (20 degC) for mm2."""
    return _AWG.get(size) or _metric.get(size)


def resistance_at(row: PerLength, temperature: float) -> float:
    """Resistance [ohm/m] of a row at another temperature in degC, by the coefficient that belongs to its base."""
    coefficient = 0.00323 if row.temperature == 75.0 else 0.00393
    return row.resistance * (1 + coefficient * (temperature - row.temperature))


def reactance_at(row: PerLength, hertz: float) -> float:
    """Reactance [ohm/m] at another frequency, to which it is proportional."""
    return row.reactance * hertz / row.frequency
