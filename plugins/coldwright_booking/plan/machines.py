"""Which machines together."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal, NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Money, tidy
from coldwright.contract.quantities import Area, Power, VolumeFlow
from coldwright_booking.fleet.given import MachineType
from coldwright_booking.fleet.money import currency_of
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.capacities import Candidate, LeftOut, without_left_aside
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.liquid import Liquid
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.voltages import nominal_of, suits
from coldwright_booking.rates.hire import hire_of
from coldwright_refrigeration.selection import selection
from coldwright_refrigeration.selection.given import (
    FleetRow,
    SelectionDesign,
    SelectionGiven,
    SelectionLimits,
    SelectionRedundancy,
)
from coldwright_refrigeration.selection.results import Combination as Listed
from coldwright_refrigeration.selection.results import SelectionResults

LISTED = 6
"""Further combinations asked for: two to show, the others to fall back on."""
LONGEST_LIST = 50
"""Further combinations asked for where something decides that the selection does not sort by: ground, or cost in all."""
MOST_CIRCUITS = 16
"""That `refrigeration.selection` takes; of more, one that is lost counts for a little more than it is."""
RULES = {"none": "none", "spare_machine": "one_unit", "spare_circuit": "one_circuit"}
Dropped = Literal["turndown", "flow_minimum", "flow_maximum"]


@dataclass(frozen=True)
class Picked:
    """Machines of one type in the plan."""

    candidate: Candidate
    count: int

    @property
    def machine(self) -> MachineType:
        """The type."""
        return self.candidate.machine

    @property
    def capacity(self) -> Power:
        """Of one."""
        return self.candidate.asked.results.capacity

    @property
    def power(self) -> Power:
        """Of one."""
        return self.candidate.asked.results.power


class Combination(tuple[Picked, ...]):
    """Machines together; empty where none do."""

    __slots__ = ()

    @property
    def capacity(self) -> float:
        """Of all, W."""
        return sum(p.capacity.si * p.count for p in self)

    @property
    def power(self) -> float:
        """Of all, W."""
        return sum(p.power.si * p.count for p in self)

    @property
    def ground(self) -> float:
        """Area that all stand on, m2."""
        return sum(p.machine.body.length.si * p.machine.body.width.si * p.count for p in self)

    @property
    def units(self) -> int:
        """How many machines."""
        return sum(p.count for p in self)

    @property
    def counts(self) -> dict[str, int]:
        """By type: what distinguishes one combination from another."""
        return {p.machine.type: p.count for p in self}

    def __str__(self) -> str:
        return " + ".join(f"{p.count} x {p.machine.type}" for p in self)


@dataclass(frozen=True)
class Choice:
    """What the selection came to, for one voltage of machines."""

    asked: Asked[SelectionGiven, SelectionResults]
    combinations: tuple[Combination, ...]
    """The best first; none where none does."""
    dropped: tuple[Dropped, ...]
    """Rules without which alone a combination was found."""
    voltage: float
    needs_transformer: bool

    @property
    def by_cost(self) -> bool:
        """Whether hire decided, so that the combinations stand by rising hire."""
        return self.asked.given.objective == "hire_cost"

    @property
    def ground_limit(self) -> Area | UnsetType:
        """Ground that the selection was held to, so that it lists the combination of least ground."""
        return self.asked.given.limits.footprint_available


@dataclass(frozen=True)
class Machines:
    """The types that can be used, what the selection says of them, and the combination of this plan."""

    candidates: tuple[Candidate, ...]
    left_out: tuple[LeftOut, ...]
    choice: Choice | None
    """None where there is nothing to choose from."""
    combination: Combination
    """The best that is not ruled out."""
    refused: Unanswered | None = None
    """Why the selection chooses nothing among types that can be used; None where it does, or where there are none."""

    @property
    def unpriced(self) -> Candidate | None:
        """The first type without its hire, for want of which the selection does not choose by cost; None where it does, or
        where there is nothing to choose from.
        """
        if self.choice is None or self.choice.by_cost:
            return None
        chosen = {row.type for row in self.choice.asked.given.fleet}
        return next((c for c in self.candidates if c.machine.type in chosen and not _priced(c)), None)


class MachinesNeeds(NamedTuple):
    """What the machines take of the plan."""

    facts: Facts
    liquid: Liquid
    load: Heat
    capacities: tuple[Candidate | LeftOut, ...]
    ruled_out: tuple[Combination, ...]


def decide(needs: MachinesNeeds, desk: Desk) -> Machines:
    """The best combination that is not ruled out, of the types that can be used."""
    facts, liquid, heat, capacities, ruled_out = needs
    candidates, left_out = without_left_aside(facts, capacities)
    choice = _choose(facts, desk, candidates, heat, liquid)
    if isinstance(choice, Unanswered):
        return Machines(tuple(candidates), tuple(left_out), None, Combination(), choice)
    out = [c.counts for c in ruled_out] + [r.counts for r in facts.order.ruled_out]
    left = (c for c in (choice.combinations if choice else ()) if c.counts not in out)
    return Machines(tuple(candidates), tuple(left_out), choice, next(left, Combination()))


MACHINES = Block("machines", MachinesNeeds, (selection,), decide)


def _choose(
    facts: Facts, desk: Desk, candidates: list[Candidate], heat: Heat, liquid: Liquid
) -> Choice | Unanswered | None:
    """The best combinations: first of the machines that suit the supply, else of others over a transformer.

    None where there is nothing to choose from.
    """
    last: Choice | None = None
    refused: Unanswered | None = None
    for voltage, group in _groups(facts, candidates):
        choice = _choose_among(facts, desk, group, heat, liquid, voltage)
        if isinstance(choice, Unanswered):
            refused = refused or choice
        elif choice.combinations:
            return choice
        else:
            last = last or choice
    return last or refused


def _groups(facts: Facts, candidates: list[Candidate]) -> list[tuple[float, list[Candidate]]]:
    groups: dict[float, list[Candidate]] = defaultdict(list)
    for candidate in candidates:
        groups[nominal_of(candidate.machine.electrical.voltage.si)].append(candidate)
    supply = facts.order.supply.voltage

    def rank(entry: tuple[float, list[Candidate]]) -> tuple[bool, float]:
        foreign = supply is not UNSET and not _suits(entry[1], supply.si)
        return foreign, -sum(c.asked.results.capacity.si * c.machine.count for c in entry[1])

    return sorted(groups.items(), key=rank)


def _suits(group: list[Candidate], supply: float) -> bool:
    return all(suits(c.machine.electrical.voltage.si, supply) for c in group)


def _choose_among(
    facts: Facts, desk: Desk, group: list[Candidate], heat: Heat, liquid: Liquid, voltage: float
) -> Choice | Unanswered:
    """Ask with all rules; where turndown or flow alone forbids, ask again without."""
    dropped: list[Dropped] = []
    supply = facts.order.supply.voltage
    foreign = supply is not UNSET and not _suits(group, supply.si)
    while True:
        given = _given(facts, group, heat, liquid, tuple(dropped))
        asked = desk.try_ask(selection, given)
        if isinstance(asked, Unanswered):
            return asked
        if asked.results.status == "optimal" and facts.order.preferences == "smallest_footprint":
            asked = _least_ground(desk, asked)
        best = asked.results.best
        if not isinstance(best, UnsetType):
            listed = _listed(asked.results)
            if facts.order.preferences == "smallest_footprint":
                listed.sort(key=_area)
            units = tuple(_combination(group, entry.units) for entry in listed)
            return Choice(asked, units, tuple(dropped), voltage, foreign)
        blocking: list[Dropped] = [w for w in asked.results.infeasible_set if w in _SOFT and w not in dropped]  # type: ignore[misc]
        if not blocking:
            return Choice(asked, (), tuple(dropped), voltage, foreign)
        dropped += blocking


_SOFT = ("turndown", "flow_minimum", "flow_maximum")


def _combination(group: list[Candidate], units: dict[str, int]) -> Combination:
    return Combination(Picked(c, units[c.machine.type]) for c in group if units.get(c.machine.type))


def _given(
    facts: Facts, group: list[Candidate], heat: Heat, liquid: Liquid, dropped: tuple[Dropped, ...]
) -> SelectionGiven:
    order, objective = facts.order, _objective(facts, group)
    flow_fixed = order.duty.temperature_difference is not UNSET or order.duty.liquid_flow is not UNSET
    flow_rules = flow_fixed and not {"flow_minimum", "flow_maximum"} & set(dropped)
    lowest = 0.0 if "turndown" in dropped else facts.lowest_load * heat.gross
    return SelectionGiven(
        design=SelectionDesign(
            load=heat.design,
            flow=heat.flow if flow_rules else UNSET,
            fluid=liquid.fluid,
            leaving_liquid_temperature=order.duty.leaving_temperature,
            ambient_temperature=order.site.design_ambient_temperature,
            altitude=facts.elevation,
        ),
        minimum_load=Power.from_si(min(lowest, heat.design.si), "kW"),
        redundancy=SelectionRedundancy(rule=RULES[facts.redundancy]),  # type: ignore[arg-type]
        fleet=tuple(_row(facts, c, money=objective == "hire_cost") for c in group),
        objective=objective,
        alternatives=LONGEST_LIST if objective == "hire_cost" else LISTED,
    )


def _row(facts: Facts, candidate: Candidate, *, money: bool) -> FleetRow:
    machine, results = candidate.machine, candidate.asked.results
    return FleetRow(
        type=machine.type,
        count_available=machine.count,
        capacity=results.capacity,
        power=results.power,
        circuits=min(machine.circuits, MOST_CIRCUITS),
        minimum_capacity=Power.from_si(results.capacity.si * candidate.least_step, "kW"),
        flow_minimum=machine.evaporator.flow_minimum,
        flow_maximum=machine.evaporator.flow_maximum,
        footprint=Area.from_si(machine.body.length.si * machine.body.width.si, "m2"),
        hire_cost=_hire(facts, machine) if money else UNSET,
        mass=machine.body.mass_operating,
    )


def _objective(facts: Facts, group: list[Candidate]) -> Literal["hire_cost", "units", "power"]:
    """Cost only where every type gives it, in one currency."""
    match facts.order.preferences:
        case "lowest_power":
            return "power"
        case "lowest_cost" if _cost_known(group):
            return "hire_cost"
        case _:
            return "units"


def _cost_known(group: Sequence[Candidate]) -> bool:
    """Whether every type gives its hire; a fleet has one currency."""
    return all(_priced(c) for c in group)


def _priced(candidate: Candidate) -> bool:
    return hire_of(candidate.machine.hire_rate, candidate.machine.hire_rates, 1) is not None


def _hire(facts: Facts, machine: MachineType) -> Money | UnsetType:
    """Of one machine for the period, as `refrigeration.selection` takes it."""
    hire = hire_of(machine.hire_rate, machine.hire_rates, facts.days)
    if hire is None:
        return UNSET
    return Money(value=tidy(float(hire[0])), currency=currency_of(facts.fleet))


def _least_ground(
    desk: Desk, asked: Asked[SelectionGiven, SelectionResults]
) -> Asked[SelectionGiven, SelectionResults]:
    """The same question with a list long enough to name the combination of least ground.

    Where even the longest list does not reach it, the ground is limited, no more than it takes to list it.
    """
    wide = _limited(desk, replace(asked.given, alternatives=LONGEST_LIST))
    if wide is None:
        return asked
    least, tightest = _ground_of(wide), wide
    for _ in range(20):
        tighter = _limited(desk, wide.given, least * (1 - 1e-6))
        if tighter is None:
            break
        least, tightest = _ground_of(tighter), tighter
    enough = least * (1 + 1e-6)
    answer = tightest
    for factor in () if tightest is wide else (4, 2, 1.5, 1.2, 1.1, 1.05):
        looser = _limited(desk, wide.given, least * factor)
        if looser is not None and _ground_of(looser) <= enough:
            answer = looser
            break
    # What the selection says is of the best of its own list: here of the one that takes the least ground.
    alone = _limited(desk, wide.given, enough)
    return answer if alone is None else answer._replace(notes=alone.notes)


def _limited(
    desk: Desk, given: SelectionGiven, ground: float | None = None
) -> Asked[SelectionGiven, SelectionResults] | None:
    """The question with the ground, m2, as a limit; None where nothing keeps it."""
    if ground is not None:
        given = replace(given, limits=SelectionLimits(footprint_available=Area.from_si(ground, "m2")))
    asked = desk.try_ask(selection, given)
    return None if isinstance(asked, Unanswered) or asked.results.best is UNSET else asked


def _listed(results: SelectionResults) -> list[Listed]:
    return [*(() if isinstance(results.best, UnsetType) else (results.best,)), *results.alternatives]


def _ground_of(asked: Asked[SelectionGiven, SelectionResults]) -> float:
    """Least ground of all that are listed, m2."""
    return min(_area(listed) for listed in _listed(asked.results))


def _area(listed: Listed) -> float:
    return inf if isinstance(listed.footprint, UnsetType) else tidy(listed.footprint.si)


def target_flow(combination: Combination, wanted: VolumeFlow) -> VolumeFlow:
    """Flow through all machines: as wanted, held inside what their evaporators bear."""
    least = sum(p.machine.evaporator.flow_minimum.si * p.count for p in combination)
    most = sum(p.machine.evaporator.flow_maximum.si * p.count for p in combination)
    return VolumeFlow.from_si(min(max(wanted.si, least), most), "L/s")
