"""Combinations as they are sent back, and the working."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Money, Notes, Sentence, say, tidy
from coldwright.contract.quantities import Area, Power
from coldwright_refrigeration.selection.case import Case, np
from coldwright_refrigeration.selection.fleet import Unit
from coldwright_refrigeration.selection.given import SelectionGiven
from coldwright_refrigeration.selection.results import (
    BindingConstraint,
    Combination,
    ObjectiveAmount,
    RejectedCombination,
)
from coldwright_refrigeration.selection.rounding import just_below
from coldwright_refrigeration.selection.search import Saving, Units


class Writer:
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

    def rejected(self, units: list[Units]) -> tuple[RejectedCombination, ...]:
        return tuple(
            RejectedCombination(
                units=self._named(n),
                failed=failed,
                capacity=Power.from_si(self._sum(n, "capacity"), "kW"),
                cost=self._cost(n),
            )
            for n, failed in zip(units, self._case.failed(units), strict=True)
        )

    def binding(self, saving: Saving) -> BindingConstraint:
        return BindingConstraint(
            constraint=saving.rule,
            cost_if_relaxed=self.objective(saving.objective),
            saving=self.objective(saving.saving),
        )

    def objective(self, value: float) -> ObjectiveAmount | float:
        """A value of the objective, in its kind."""
        match self._given.objective:
            case "hire_cost":
                return ObjectiveAmount(value=tidy(value), currency=_currency(self._given))
            case "power":
                return ObjectiveAmount(value=Power.from_si(value, "kW").value, unit="kW")
            case _:
                return tidy(value)

    def amount(self, value: float) -> Sentence:
        """A value of the objective in words."""
        match self._given.objective:
            case "hire_cost":
                return say("{amount:.12g} {currency}", amount=tidy(value), currency=_currency(self._given))
            case "power":
                return say("{power}", power=Power.from_si(value, "kW"))
            case "units":
                return say("{units:g} units", units=tidy(value))
            case _:
                return say("{hauls:g} hauls", hauls=tidy(value))

    def _named(self, n: Units) -> dict[str, int]:
        return {name: count for name, count in zip(self._case.names, n, strict=True) if count}

    def _sum(self, n: Units, field: str) -> float:
        return math.fsum(count * getattr(unit, field) for count, unit in zip(n, self._units, strict=True))

    def _known(self, n: Units, field: str) -> float | None:
        """The sum, where every type that is present gives the figure."""
        present = [(count, getattr(unit, field)) for count, unit in zip(n, self._units, strict=True) if count]
        if any(figure is None for _, figure in present):
            return None
        return math.fsum(count * figure for count, figure in present)

    def _hauls(self, n: Units) -> int | UnsetType:
        shares = self._known(n, "haul_fraction")
        return UNSET if shares is None else math.ceil(just_below(shares))

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


def show(case: Case, best: Units, notes: Notes) -> None:
    """The working of the choice."""
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
