"""Ampacity, impedance, drop, longest run and ground of the cable chosen."""

from typing import NamedTuple

from coldwright.contract import refuse
from coldwright_basis.compare import at_least
from coldwright_electrical.feeder.ampacity import RACEWAY_SIZES
from coldwright_electrical.feeder.choice import Choice, Demand, enlargement
from coldwright_electrical.feeder.drop import (
    approximate_drop,
    exact_drop,
    longest_run_running,
    longest_run_starting,
    starting_drop_fraction,
)
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.shared.protection import equipment_ground, protective_conductor
from coldwright_electrical.shared.sizes import cross_section


class Sums(NamedTuple):
    """What was worked out for the cable chosen [A, ohm, V, m, W]."""

    total: float
    deciding: float
    resistance: float
    reactance: float
    approximate: float
    exact: float
    starting_fraction: float | None
    longest: float
    longest_by_starting: bool
    loss: float
    ground: str | None
    ground_by_table: str | None


def sums_of(given: FeederGiven, demand: Demand, choice: Choice) -> Sums:
    """Everything about the cable chosen; refused where it would leave no voltage at the machine."""
    cable, sets, load = choice.cable, choice.sets, demand.load
    resistance = cable.resistance * demand.length / sets
    reactance = cable.reactance * demand.length / sets
    exact = exact_drop(resistance, reactance, load)
    if exact is None:
        raise refuse(
            "/length",
            f"{sets} x {cable.size} cannot carry {load.current:.5g} A over {given.length}, with the impedance of "
            "the source: no voltage would be left.",
            value=given.length,
            why="Outside the method: shorten the run, or take more copper.",
        )
    per_metre = complex(cable.resistance, cable.reactance) / sets
    longest = longest_run_running(per_metre, load, demand.allowed_running)
    starting_fraction, by_starting = None, False
    if demand.start is not None:
        starting_fraction = starting_drop_fraction(resistance, reactance, demand.start)
        run = longest_run_starting(per_metre, demand.start, demand.allowed_starting)
        longest, by_starting = (run, True) if run < longest else (longest, False)
    ground, by_table = _ground(demand, choice)
    return Sums(
        total=cable.total(sets),
        deciding=cable.deciding(sets, connector_basis=demand.connector_basis),
        resistance=resistance,
        reactance=reactance,
        approximate=approximate_drop(resistance, reactance, load),
        exact=exact,
        starting_fraction=starting_fraction,
        longest=longest,
        longest_by_starting=by_starting,
        loss=3 * load.current**2 * resistance,
        ground=ground,
        ground_by_table=by_table,
    )


def _ground(demand: Demand, choice: Choice) -> tuple[str | None, str | None]:
    """Size of one ground, and what the table alone gives; 250.122(B) enlarges it with lines enlarged for drop."""
    if not demand.nec:
        size = protective_conductor(choice.cable.size)
        return size, size
    by_table = equipment_ground(demand.device)
    factor = enlargement(choice)
    if by_table is None or factor <= 1:
        return by_table, by_table
    wanted = min(cross_section(by_table) * factor, max(choice.cable.area, cross_section(by_table)))
    larger = next((s for s in RACEWAY_SIZES if at_least(cross_section(s), wanted)), by_table)
    return larger, by_table
