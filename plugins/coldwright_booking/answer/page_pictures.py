"""The plan in pictures, from its own numbers: pressure along the loop, pump and loop, generator, pull-down, room left."""

from collections.abc import Iterator, Sequence

from msgspec import UnsetType
from msgspec.structs import replace

from coldwright.contract import Notes, Refused
from coldwright.contract.page import Bound, Level, Levels, Plot, Section, Series, Spot, section
from coldwright.contract.people import UNIT_SIGNS, number, plain_text, quantity, share
from coldwright.contract.quantities import Quantity, Temperature
from coldwright_booking.answer.limits import room
from coldwright_booking.answer.results import AssessmentResults, NearLimit
from coldwright_readiness.procedure import procedure
from coldwright_readiness.procedure.given import ProcedureGiven

POINTS = 24
MOST_LEVELS = 10
HOSE = "pressure in the hose"
"""The limit that stands in the picture of the pressure along the loop."""
DIP = "voltage dip at a start"


def pictures(results: AssessmentResults, *, closed: bool) -> Section | None:
    """What a glance shows better than a table; each says in words where it runs and what the limit is."""
    us = results.design_load.unit == "ton"
    plots = (*_along_the_loop(results, us), *_pump(results, us), *_dips(results), *_pull_down(results, us))
    return section(
        "In pictures",
        *plots,
        closed=closed,
        fact="; ".join(p.title.partition(":")[0].lower() for p in plots).capitalize(),
    )


def room_left(limits: Sequence[NearLimit]) -> Levels | None:
    """Bars of what is used of each limit, the nearest first."""
    items = tuple(Level(plain_text(entry.what), _left(entry), _used(entry)) for entry in limits[:MOST_LEVELS])
    return Levels("How much of each limit is used, and what is left", items) if items else None


def _left(entry: NearLimit) -> str:
    text = room(entry)
    return f"{text.removeprefix('-')} over" if entry.room < 0 else f"{text} left"


def _used(entry: NearLimit) -> float:
    """As a share of the limit; of what is counted in K or dB, from 20 of them left to none."""
    if isinstance(entry.headroom_fraction, UnsetType):
        return 1 - entry.nearness / 2
    return entry.limit / entry.value if entry.value > entry.limit and entry.room > 0 else 1 - entry.room


def _in(value: Quantity, us: bool) -> float:
    return value.to(value.us_unit if us else value.metric_unit)


def _unit(value: Quantity, us: bool) -> str:
    unit = value.us_unit if us else value.metric_unit
    return UNIT_SIGNS.get(unit, unit)


def _limit(results: AssessmentResults, what: str) -> NearLimit | None:
    return next((entry for entry in results.limits_nearest if entry.what == what), None)


def _along_the_loop(results: AssessmentResults, us: bool) -> Iterator[Plot]:
    loop = results.loop
    if isinstance(loop, UnsetType):
        return
    placed = [
        (e.name, e.pressure_in, e.pressure_out)
        for e in loop.elements
        if isinstance(e.pressure_in, Quantity) and isinstance(e.pressure_out, Quantity)
    ]
    if not placed:
        return
    unit, first = _unit(placed[0][1], us), placed[0][1]
    points = ((0.0, _in(first, us)), *((n + 1.0, _in(out, us)) for n, (_, _, out) in enumerate(placed)))
    highest = max(points, key=lambda p: p[1])
    lowest = min(points, key=lambda p: p[1])
    hose = _limit(results, HOSE)
    bears = None if hose is None else first.of(hose.limit, hose.unit)
    bounds = () if bears is None else (Bound(_in(bears, us), f"hose limit {quantity(bears)}"),)
    names = ", ".join(f"{n} {plain_text(name)}" for n, (name, _, _) in enumerate(placed, 1))
    yield Plot(
        "Pressure along the loop, pump on",
        "Passed, in order of flow",
        f"Gauge pressure, {unit}",
        (Series("", points),),
        f"Passed: {names}. Highest {number(highest[1])} {unit}, lowest {number(lowest[1])} {unit}"
        + ("." if bears is None else f"; hose limit {quantity(bears)}."),
        (
            Spot(*highest, f"highest {number(highest[1])} {unit}"),
            Spot(*lowest, f"lowest {number(lowest[1])} {unit}"),
        ),
        bounds,
    )


def _pump(results: AssessmentResults, us: bool) -> Iterator[Plot]:
    loop = results.loop
    if isinstance(loop, UnsetType) or len(loop.scaled_pump_curve) < 2:
        return
    duty, risen = loop.duty_flow, loop.pump_head
    if isinstance(duty, UnsetType) or isinstance(risen, UnsetType):
        return
    flow, head = _in(duty, us), _in(risen, us)
    curve = tuple((_in(p.flow, us), _in(p.head, us)) for p in loop.scaled_pump_curve)
    if flow <= 0:
        return
    farthest = min(flow * 1.15, curve[-1][0])
    system = tuple((farthest * n / POINTS, head * (farthest * n / POINTS / flow) ** 2) for n in range(POINTS + 1))
    flow_unit, head_unit = _unit(duty, us), _unit(risen, us)
    yield Plot(
        "Pump and loop",
        f"Flow, {flow_unit}",
        f"Head, {head_unit}",
        (Series("pump", curve), Series("loop, by the square of the flow", system)),
        f"Runs at {quantity(duty)} and {quantity(risen)}.",
        (Spot(flow, head, f"runs here: {number(flow)} {flow_unit}, {number(head)} {head_unit}"),),
    )


def _dips(results: AssessmentResults) -> Iterator[Plot]:
    supply = results.supply
    if isinstance(supply, UnsetType) or isinstance(supply.generator, UnsetType) or not supply.generator.steps:
        return
    stated = supply.generator
    points = tuple(
        (float(step.start_order), 100 * step.dip_transient_fraction)
        for step in stated.steps
        if not isinstance(step.dip_transient_fraction, UnsetType)
    )
    if not points:
        return
    limit = _limit(results, DIP)
    bounds = () if limit is None else (Bound(100 * limit.limit, f"limit {number(100 * limit.limit)} %"),)
    worst = max(points, key=lambda p: p[1])
    load = f"Running, the set carries {share(stated.load_fraction)} of what it can give here. "
    yield Plot(
        "Generator: voltage dip at each start",
        "Start, in order",
        "Dip, %",
        (Series("", points),),
        load
        + f"The worst dip is {number(worst[1])} %"
        + (f", the limit {number(100 * limit.limit)} %." if limit else "."),
        (Spot(*worst, f"{number(worst[1])} %"),),
        bounds,
    )


def _pull_down(results: AssessmentResults, us: bool) -> Iterator[Plot]:
    """The same sum as the plan's, for set points on the way: so many minutes after the first compressor."""
    asked = results.asked.procedure
    if isinstance(asked, UnsetType) or isinstance(asked.pull_down, UnsetType):
        return
    start, end = asked.pull_down.leaving_temperature.si, asked.pull_down.set_point.si
    points = [(0.0, _degrees(start, us))]
    for n in range(1, 9):
        kelvins = start + (end - start) * n / 8
        minutes = _minutes_to(asked, kelvins)
        if minutes is None:
            return
        points.append((minutes, _degrees(kelvins, us)))
    unit = "°F" if us else "°C"
    yield Plot(
        "Pull-down of the loop",
        "Minutes after the first compressor",
        f"Leaving, {unit}",
        (Series("", tuple(points)),),
        f"From {number(points[0][1])} to {number(points[-1][1])} {unit} in {number(points[-1][0])} min, with the least load on.",
        (Spot(*points[-1], f"{number(points[-1][0])} min"),),
    )


def _degrees(kelvins: float, us: bool) -> float:
    return Temperature.from_si(kelvins, "degF" if us else "degC").value


def _minutes_to(asked: ProcedureGiven, kelvins: float) -> float | None:
    if isinstance(asked.pull_down, UnsetType):
        return None
    sooner = replace(asked.pull_down, set_point=Temperature.from_si(kelvins, "degC"))
    try:
        stated = procedure.function(replace(asked, pull_down=sooner), Notes(procedure.findings))
    except Refused:
        return None
    cold, first = stated.time_to_cold_water, stated.time_to_first_compressor
    if isinstance(cold, UnsetType) or isinstance(first, UnsetType):
        return None
    return cold.to("min") - first.to("min")
