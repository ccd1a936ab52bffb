"""The measured capacity against the expected one, its tolerance, and the part-load value."""

import math
from typing import Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say, tidy
from coldwright.contract.quantities import Power
from coldwright_basis.compare import at_most, negligible
from coldwright_refrigeration.performance.given import PerformanceGiven, PerformancePartLoad
from coldwright_refrigeration.performance.measured import Measured

SHORT = 0.90
WEIGHTS = (0.01, 0.42, 0.45, 0.12)
"""Of 100, 75, 50 and 25 % load: AHRI 550/590-2023, 5.2, as quoted in a public source."""


def verdict_of(
    given: PerformanceGiven, measured: Measured, notes: Notes
) -> tuple[float | UnsetType, Literal["not_distinguishable", "short", "above"] | UnsetType]:
    """Capacity over expected, and whether the difference means anything."""
    expected = given.expected
    if expected is UNSET or expected.capacity is UNSET:
        return UNSET, UNSET
    target = expected.capacity.si
    ratio = measured.capacity / target
    both = given.coverage_factor * math.hypot(measured.uncertainty * measured.capacity, expected.uncertainty * target)
    off = measured.capacity - target
    measured_, doubt = Power.from_si(measured.capacity, "kW"), f"{measured.uncertainty:.6g}"
    notes.show("Q/Q_exp", "Capacity over expected", f"{measured_} / {expected.capacity}", ratio)
    expression = f"Q - Q_exp = {measured_} - {expected.capacity}"
    notes.show("dQ", "Capacity above expected", expression, Power.from_si(off, "kW"))
    expression = (
        f"k sqrt(u_Q^2 + u_exp^2) = {given.coverage_factor:g} x sqrt(({doubt} x {measured_})^2 + "
        f"({expected.uncertainty:g} x {expected.capacity})^2)"
    )
    notes.show("U_dQ", "Expanded uncertainty of that difference", expression, Power.from_si(both, "kW"))
    if at_most(abs(off), both) or negligible(abs(off) - both, target):
        return tidy(ratio), "not_distinguishable"
    if off > 0:
        return tidy(ratio), "above"
    if ratio < SHORT:
        notes.check(
            "capacity_short",
            say(
                "The machine gives {ratio:.1%} of the {capacity:us=ton} expected, which is more than the readings' doubt.",
                ratio=ratio,
                capacity=expected.capacity,
            ),
            why="A shortfall that the readings cannot explain has a cause in the machine or its air.",
            resolve="Read the circuits with refrigeration.circuit_check, and look at coil, fans and flow.",
            field="/readings",
            references=("refrigeration_practice",),
        )
    return tidy(ratio), "short"


def tolerance_of(given: PerformanceGiven, measured: Measured, notes: Notes) -> float | UnsetType:
    """The tolerance of a test at rated conditions."""
    if given.load_fraction is UNSET:
        return UNSET
    load, difference = given.load_fraction, measured.difference * 1.8
    tolerance = 0.105 - 0.07 * load + 0.15 / (difference * load)
    expression = f"0.105 - 0.07 L + 0.15/(dT L) = 0.105 - 0.07 x {load:g} + 0.15/({difference:.4g} x {load:g})"
    notes.show("Tol1", "Tolerance of AHRI 550/590, dT in degF", expression, tolerance)
    return tidy(tolerance)


def part_load_value(part_load: PerformancePartLoad, notes: Notes) -> float:
    """The weighted part-load efficiency."""
    four = (part_load.a, part_load.b, part_load.c, part_load.d)
    if part_load.metric == "kw_per_ton":
        value = 1 / math.fsum(w / x for w, x in zip(WEIGHTS, four, strict=True))
        expression = "1 / (" + " + ".join(f"{w:g}/{x:g}" for w, x in zip(WEIGHTS, four, strict=True)) + ")"
    else:
        value = math.fsum(w * x for w, x in zip(WEIGHTS, four, strict=True))
        expression = " + ".join(f"{w:g} x {x:g}" for w, x in zip(WEIGHTS, four, strict=True))
    notes.show(part_load.rule.upper(), "Weighted part-load value", expression, value)
    return tidy(value)
