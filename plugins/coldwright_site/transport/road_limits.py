"""Greatest sizes and masses on the road, US or European; and axles in Europe."""

from typing import Literal, NamedTuple

from coldwright.contract import Notes, Refused, field_error, say
from coldwright.contract.quantities import Length, Mass
from coldwright_basis.compare import SLACK, at_most
from coldwright_site.shared import tabulated
from coldwright_site.transport.given import AxleGroup, TransportGiven
from coldwright_site.transport.results import AxleGroupLimit


class RoadLimits(NamedTuple):
    """SI: sizes of a load on its vehicle, and of both together."""

    width: float
    height: float
    length: float
    gross: float


def road_limits(rules: Literal["us", "europe"]) -> RoadLimits:
    """Without permits."""
    if rules == "us":
        us = tabulated.ROAD_SIZE_LIMITS.rows
        return RoadLimits(
            Length.of(us["width_inch"], "in").si,
            Length.of(us["height_inch"], "in").si,
            Length.of(us["length_feet"], "ft").si,
            Mass.of(tabulated.AXLE_LIMITS.rows["gross"], "lb").si,
        )
    eu = tabulated.ROAD_LIMITS_EU.rows
    return RoadLimits(
        eu["width_metre"], eu["height_metre"], eu["load_length_metre"], Mass.of(eu["gross_tonne"], "t").si
    )


def axle_groups(given: TransportGiven, notes: Notes) -> tuple[AxleGroupLimit, ...]:
    """Limit of each group of axles in Europe: by their number and the distance between neighbours; refuses more than three."""
    errors = [
        field_error(f"/axle_groups/{n}/axles", "European limits are given for one to three axles.", value=group.axles)
        for n, group in enumerate(given.axle_groups)
        if group.axles > MOST_AXLES
    ]
    if errors:
        raise Refused(errors)
    limits = []
    for index, group in enumerate(given.axle_groups):
        limit, text = _limit(group)
        notes.show(f"W_{index + 1}", f"Limit of group {index + 1}", text, limit, "t")
        ok = at_most(group.mass.to("t"), limit)
        if not ok:
            notes.stop(
                "axle_group_over_limit",
                say(
                    "Group {number} carries {mass:.2f}; its limit is {limit:.1f}.",
                    number=index + 1,
                    mass=group.mass.as_unit("t"),
                    limit=Mass(limit, "t"),
                ),
                resolve="Move or split the load, or a vehicle with more axles farther apart.",
                field=f"/axle_groups/{index}/mass",
                references=("directive_96_53_ec",),
            )
        limits.append(AxleGroupLimit(limit=Mass.of(limit, "t").as_unit("kg"), ok=ok))
    return tuple(limits)


MOST_AXLES = 3


def _limit(group: AxleGroup) -> tuple[float, str]:
    """Limit (t), and how it came about."""
    rows = tabulated.ROAD_LIMITS_EU.rows
    if group.axles == 1:
        return float(rows["single_axle_tonne"]), f"{rows['single_axle_tonne']} t, for one axle"
    apart = group.span.si / (group.axles - 1)
    steps = rows["tandem_tonne"] if group.axles == 2 else rows["tridem_tonne"]
    # two axles: below 1.0, 1.3 and 1.8 m; three: up to 1.3 m
    limit = next(
        tonnes
        for end, tonnes in steps
        if end is None or (apart < end - SLACK if group.axles == 2 else apart <= end + SLACK)
    )
    return float(limit), f"{limit} t, for {group.axles} axles {apart:.4g} m apart"
