"""Road rules of the US federal government: axle groups and tie-downs."""

import math

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Length, Mass
from coldwright_basis.compare import SLACK, at_most
from coldwright_site.shared import tabulated
from coldwright_site.transport.given import CargoItem, TransportGiven
from coldwright_site.transport.results import AxleGroupLimit


def axle_groups(given: TransportGiven, notes: Notes) -> tuple[AxleGroupLimit, ...]:
    """Limit of each group of axles, and whether its mass is within it."""
    limits = []
    for index, group in enumerate(given.axle_groups):
        feet = group.span.to("ft")
        limit, text = group_limit(feet, group.axles)
        exception = tandem_exception(feet, group.axles)
        notes.show(f"W_{index + 1}", f"Limit of group {index + 1}", text, limit, "lb")
        most = max(limit, exception or 0.0)
        ok = at_most(group.mass.to("lb"), most)
        if not ok:
            notes.stop(
                "axle_group_over_limit",
                say(
                    "Group {number} carries {mass:,.0f}; its limit is {limit:,.0f}.",
                    number=index + 1,
                    mass=group.mass.as_unit("lb"),
                    limit=Mass.of(most, "lb"),
                ),
                resolve="Move or split the load, or a vehicle with more axles farther apart.",
                field=f"/axle_groups/{index}/mass",
                references=("fhwa_bridge_formula",),
            )
        limits.append(
            AxleGroupLimit(
                limit=Mass.of(limit, "lb").as_unit("kg"),
                tandem_exception_limit=UNSET if exception is None else Mass.of(exception, "lb").as_unit("kg"),
                ok=ok,
            )
        )
    return tuple(limits)


POUND = Mass(1.0, "lb").si
FOOT = Length(1.0, "ft").si


def group_limit(span_feet: float, axles: int) -> tuple[float, str]:
    """Limit (lb) of a group of axles, and how it came about."""
    rows = tabulated.AXLE_LIMITS.rows
    if axles == 1:
        return float(rows["single_axle"]), f"one axle: {rows['single_axle']:,} lb"
    if span_feet <= rows["tandem_span"] + SLACK:
        return float(rows["tandem"]), f"axles within {rows['tandem_span']} ft: {rows['tandem']:,} lb"
    formula = 500 * (span_feet * axles / (axles - 1) + 12 * axles + 36)
    rounded = rows["rounding"] * math.floor(formula / rows["rounding"] + 0.5 + SLACK)
    cap = min(rows["gross"], rows["single_axle"] * axles)
    text = f"500 [{span_feet:.4g} x {axles} / {axles - 1} + 12 x {axles} + 36] = {formula:,.0f}, to the nearest 500, "
    return float(min(rounded, cap)), f"{text}at most {cap:,} lb"


def tandem_exception(span_feet: float, axles: int) -> float | None:
    """Limit (lb) of two consecutive tandems 36 ft or more apart, outer axle to outer axle."""
    rows = tabulated.AXLE_LIMITS.rows
    if axles == 4 and span_feet >= rows["two_tandems_span"] - SLACK:
        return float(rows["two_tandems"])
    return None


def tie_downs(item: CargoItem) -> int:
    """Least number of tie-downs of one piece (49 CFR 393.110)."""
    feet = item.length.si / FOOT
    if item.blocked_forward:
        return max(1, math.ceil(feet / 10 - SLACK))
    if feet <= 5 + SLACK:
        return 1 if item.mass.si / POUND <= 1100 + 1e-6 else 2
    if feet <= 10 + SLACK:
        return 2
    return 2 + math.ceil((feet - 10) / 10 - SLACK)
