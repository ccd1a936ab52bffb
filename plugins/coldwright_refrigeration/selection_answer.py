"""Puts the answer of `refrigeration.selection` together: refusals, the case, the lists, the findings."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Ask, Money, Notes, tidy
from coldwright.contract.quantities import Area, Power
from coldwright_refrigeration import liquids
from coldwright_refrigeration.selection import (
    BindingConstraint,
    Combination,
    ObjectiveAmount,
    RejectedCombination,
    SelectionGiven,
    SelectionResults,
)
from coldwright_refrigeration.selection_bounds import Units
from coldwright_refrigeration.selection_case import Case, np
from coldwright_refrigeration.selection_fleet import Unit, case_of, refuse_design, units_of
from coldwright_refrigeration.selection_search import Saving, Search

TEN_CELSIUS = 283.15
THIN = 0.03


def answer(given: SelectionGiven, notes: Notes, ask: Ask) -> SelectionResults:
    """Choose, and say why."""
    refuse_design(given)
    units = units_of(given, notes, ask)
    flow = _flow(given, notes)
    case = case_of(given, units, flow)
    search = Search(case)
    best = search.best()
    writer = _Writer(given, case, units)
    rejected = search.rejected(best)
    _usual_notes(given, case, notes)
    if best is None:
        conflict = search.conflict()
        _no_combination(given, case, conflict, notes)
        _cut_short(rejected.complete, "rejected", notes)
        return SelectionResults(
            status="infeasible",
            alternatives=(),
            rejected=tuple(writer.rejected(n) for n in rejected.units),
            binding=(),
            infeasible_set=conflict,
        )
    following = search.alternatives(best, given.alternatives)
    binding = search.binding(best)
    _cut_short(rejected.complete, "rejected", notes)
    _cut_short(following.complete, "alternatives", notes)
    _findings_of_best(given, case, best, binding, notes)
    _show(case, best, notes)
    return SelectionResults(
        status="optimal",
        best=writer.combination(best),
        alternatives=tuple(writer.combination(n) for n in following.units),
        rejected=tuple(writer.rejected(n) for n in rejected.units),
        binding=tuple(writer.binding(saving) for saving in binding),
        infeasible_set=(),
    )


def _flow(given: SelectionGiven, notes: Notes) -> float | None:
    """Flow through all machines together, m3/s; None where the design does not tell it."""
    design = given.design
    if design.flow is not UNSET:
        return design.flow.si
    if design.temperature_difference is UNSET:
        return None
    difference = design.temperature_difference.si
    leaving = design.leaving_liquid_temperature
    mean = TEN_CELSIUS if leaving is UNSET else leaving.si + difference / 2
    heat = liquids.volumetric_heat(design.fluid, mean)
    flow = design.load.si / (heat * difference)
    expression = f"{design.load} / (rho c {design.temperature_difference}), rho c = {heat / 1e6:.4f} MJ/m3.K"
    notes.show("F", "Flow through all machines", expression, flow * 1000, "L/s")
    return flow


class _Writer:
    """Combinations as they are sent back."""

    def __init__(self, given: SelectionGiven, case: Case, units: list[Unit]) -> None:
        self._given, self._case, self._units = given, case, units

    def combination(self, n: Units) -> Combination:
        case, given = self._case, self._given
        capacity = self._sum(n, "capacity")
        loss = float(case.loss(np.array([n], dtype=float))[0]) if "redundancy" in case.active else 0.0
        power, footprint = self._known(n, "power"), self._known(n, "footprint")
        return Combination(
            units=self._named(n),
            capacity=Power.from_si(capacity, "kW"),
            capacity_after_loss=UNSET if given.redundancy.rule == "none" else Power.from_si(capacity - loss, "kW"),
            power=UNSET if power is None else Power.from_si(power, "kW"),
            footprint=UNSET if footprint is None else Area.from_si(footprint, "m2"),
            hauls=self._hauls(n),
            cost=self._cost(n),
        )

    def rejected(self, n: Units) -> RejectedCombination:
        return RejectedCombination(
            units=self._named(n),
            failed=self._case.failed(n),
            capacity=Power.from_si(self._sum(n, "capacity"), "kW"),
            cost=self._cost(n),
        )

    def binding(self, saving: Saving) -> BindingConstraint:
        return BindingConstraint(
            constraint=saving.rule,
            cost_if_relaxed=self._objective(saving.objective),
            saving=self._objective(saving.saving),
        )

    def _objective(self, value: float) -> ObjectiveAmount | float:
        match self._given.objective:
            case "hire_cost":
                return ObjectiveAmount(value=tidy(value), currency=_currency(self._given))
            case "power":
                return ObjectiveAmount(value=Power.from_si(value, "kW").value, unit="kW")
            case _:
                return tidy(value)

    def _named(self, n: Units) -> dict[str, int]:
        return {name: count for name, count in zip(self._case.names, n, strict=True) if count}

    def _sum(self, n: Units, field: str) -> float:
        return math.fsum(count * getattr(unit, field) for count, unit in zip(n, self._units, strict=True))

    def _known(self, n: Units, field: str) -> float | None:
        """The sum, where every type that is present tells the figure."""
        present = [unit for count, unit in zip(n, self._units, strict=True) if count]
        if any(getattr(unit, field) is None for unit in present):
            return None
        return math.fsum(count * getattr(unit, field) for count, unit in zip(n, self._units, strict=True) if count)

    def _hauls(self, n: Units) -> int | UnsetType:
        shares = self._known(n, "haul_fraction")
        return UNSET if shares is None else math.ceil(shares - 1e-9)

    def _cost(self, n: Units) -> Money | UnsetType:
        hire, hauls = self._known(n, "hire_cost"), self._hauls(n)
        each = 0.0 if self._given.haul_cost is UNSET else self._given.haul_cost.value
        if hire is None or (each and isinstance(hauls, UnsetType)) or not _currency(self._given):
            return UNSET
        total = hire + (each * hauls if each and not isinstance(hauls, UnsetType) else 0.0)
        return Money(value=tidy(total), currency=_currency(self._given))


def _currency(given: SelectionGiven) -> str:
    """The one currency of the call; empty where no money was given."""
    money = [row.hire_cost for row in given.fleet] + [given.haul_cost]
    return next((m.currency for m in money if m is not UNSET), "")


# --- findings -----------------------------------------------------------------------------------------------------


def _usual_notes(given: SelectionGiven, case: Case, notes: Notes) -> None:
    if given.standby_isolated:
        notes.note(
            "standby_to_be_isolated",
            "Valve off the units that stand by; without flow they freeze in frost unless they are emptied or kept warm.",
            field="/standby_isolated",
            references=("refrigeration_practice",),
        )
    if "power_available" in case.active:
        notes.check(
            "power_counts_all_units",
            f"The {given.limits.power_available} were tested with all units running; starting current is not part of "
            "this.",
            resolve="Test starting and the supply with electrical.service.",
            field="/limits/power_available",
        )
    if case.haul is not None:
        notes.note(
            "hauls_are_a_lower_bound",
            "Hauls are the sum of the shares, rounded up. Real stowage may need more; see site.transport.",
            references=("refrigeration_practice",),
        )


def _cut_short(complete: bool, which: str, notes: Notes) -> None:
    if not complete:
        notes.note(
            "list_cut_short",
            f"The fleet allows too many combinations to go through all of them: `{which}` may lack entries. The best "
            "is "
            "proved.",
        )


def _no_combination(given: SelectionGiven, case: Case, conflict: tuple[str, ...], notes: Notes) -> None:
    together = float(case.stock @ case.capacity)
    notes.stop(
        "no_combination",
        f"No combination of the fleet keeps {' and '.join(conflict)} for {given.design.load}; all units on hand "
        "together "
        f"give {Power.from_si(together, 'kW').as_unit(given.design.load.unit)}.",
        why="These rules cannot be kept together; each of them can without the others.",
        resolve="Relax one of them, or find further machines.",
        field="/limits" if any(word.endswith(("_available", "_max")) for word in conflict) else "/fleet",
        references=("scipy_milp",),
    )
    if "turndown" in conflict:
        _turndown(notes)


def _turndown(notes: Notes) -> None:
    notes.check(
        "turndown_costs",
        "Only the rule of the least load stands against a cheaper choice, or against any.",
        resolve="Hot-gas bypass or more loop volume may do instead: see refrigeration.pull_down.",
        field="/minimum_load",
        references=("refrigeration_practice",),
    )


def _findings_of_best(given: SelectionGiven, case: Case, best: Units, binding: list[Saving], notes: Notes) -> None:
    n = np.array([best], dtype=float)
    if "redundancy" in case.active:
        left = float((n @ case.capacity - case.loss(n))[0])
        spare = left / case.load - 1
        if spare < THIN:
            notes.check(
                "small_margin_after_loss",
                f"After the loss allowed for, {Power.from_si(left, 'kW').as_unit(given.design.load.unit)} is left for "
                f"{given.design.load}: {max(spare, 0.0):.1%} to spare.",
                why="A rating is not surer than that.",
                resolve="Take the next combination, or settle which part of the load may be shed.",
                field="/redundancy",
                references=("refrigeration_practice",),
            )
    sizes = {round(float(q), 3) for q, count in zip(case.capacity, best, strict=True) if count}
    if len(sizes) > 1:
        notes.check(
            "mixed_sizes_in_parallel",
            f"Machines of {len(sizes)} sizes share one flow.",
            why="Without balancing, the one with the lower pressure drop takes the other's flow.",
            resolve="Fit balancing valves and set the flow of each machine; see hydronic.loop.",
            references=("refrigeration_practice",),
        )
    if any(saving.rule == "turndown" for saving in binding):
        _turndown(notes)


def _show(case: Case, best: Units, notes: Notes) -> None:
    n = np.array([best], dtype=float)
    terms = " + ".join(f"{count} x {q / 1000:.5g}" for count, q in zip(best, case.capacity, strict=True) if count)
    total = float((n @ case.capacity)[0])
    notes.show("sum Q", "Capacity of all units", terms, Power.from_si(total, "kW"))
    if "redundancy" in case.active:
        loss = float(case.loss(n)[0])
        left = Power.from_si(total - loss, "kW")
        notes.show("Q_left", "Capacity after the loss", f"{total / 1000:.6g} - {loss / 1000:.6g}", left)
    value = case.rank(best)[0]
    notes.show("objective", "What was made as small as can be", "sum over units, and hauls", value)
