"""What a change of an order changes in its plan."""

from collections.abc import Iterable
from typing import Annotated, Any, Literal, get_args

import msgspec
from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract import Ask, Given, Load, Notes, Quantity, Refused, Results, about, calculator, finding, tidy
from coldwright.contract.notes import Finding
from coldwright.contract.parts import ChangedLine, JoinedToPlan
from coldwright.contract.quantities import Duration, Power
from coldwright_basis.compare import same
from coldwright_booking.answer.cautions import CAUTIONS
from coldwright_booking.answer.results import AssessmentResults, NearLimit
from coldwright_booking.assessment import assessment
from coldwright_booking.change.examples import EXAMPLES
from coldwright_booking.order.given import Order
from coldwright_booking.plan.pick_list import PlanPickLine
from coldwright_booking.rates.given import Price
from coldwright_booking.references import PRACTICE
from coldwright_booking.words import in_us_of

Outcome = Literal["acceptable", "conditional", "unacceptable"]
RANK = {outcome: place for place, outcome in enumerate(get_args(Outcome))}
MOVED = 1e-6
"""Least change of a value or headroom that is reported."""


class ChangeGiven(Given, frozen=True, kw_only=True):
    """Two orders: as it was, and as it shall be."""

    before: Annotated[Order, about("The order as it was.")]
    after: Annotated[Order, about("The order as it shall be.")]
    joined_before: Annotated[JoinedToPlan, about("What parts of other plugins put into the plan before.")] = (
        JoinedToPlan()
    )
    joined_after: Annotated[JoinedToPlan, about("What parts of other plugins put into the plan after.")] = (
        JoinedToPlan()
    )


class MachineChange(Results, frozen=True, kw_only=True):
    """A type whose count changes."""

    type: Annotated[str, about("The type.")]
    before: Annotated[int, about("How many before.")]
    after: Annotated[int, about("How many after.")]


class PickChange(Results, frozen=True, kw_only=True):
    """An item whose count changes."""

    item: Annotated[str, about("The item.")]
    kind: Annotated[str, about("`machine`, or the kind of accessory.")]
    before: Annotated[int, about("How many before.")]
    after: Annotated[int, about("How many after.")]


class LimitChange(Results, frozen=True, kw_only=True):
    """A limit that moves, is new or no longer applies."""

    what: Annotated[str, about("What is near its limit.")]
    unit: Annotated[str, about("Unit of the values; `1` for a plain number.")]
    value_before: Annotated[float, about("Value before.")] | UnsetType = UNSET
    value_after: Annotated[float, about("Value after.")] | UnsetType = UNSET
    headroom_before: (
        Annotated[float, about("Headroom before: share of the limit; for temperature K or delta_degF, for sound dB.")]
        | UnsetType
    ) = UNSET
    headroom_after: Annotated[float, about("Headroom after, likewise.")] | UnsetType = UNSET

    def in_us(self) -> "LimitChange":
        """The same in US units."""
        _, unit = in_us_of(0.0, self.unit)
        values = {
            name: in_us_of(value, self.unit)[0]
            for name in ("value_before", "value_after")
            if (value := getattr(self, name)) is not UNSET
        }
        if self.unit == "degC":
            values |= {
                name: tidy(1.8 * value)
                for name in ("headroom_before", "headroom_after")
                if (value := getattr(self, name)) is not UNSET
            }
        return msgspec.structs.replace(self, unit=unit, **values)


class ChangeResults(Results, frozen=True, kw_only=True):
    """The differences."""

    fields_changed: Annotated[tuple[str, ...], about("JSON pointers of the fields of the order that differ.")]
    outcome_before: Annotated[Outcome, about("Outcome before.")]
    outcome_after: Annotated[Outcome, about("Outcome after.")]
    design_load_before: Annotated[Power, about("Design load before.", us="ton")]
    design_load_after: Annotated[Power, about("Design load after.", us="ton")]
    cold_water_before: Annotated[Duration, about("Cold water after arrival, before.")] | UnsetType = UNSET
    cold_water_after: Annotated[Duration, about("Cold water after arrival, after.")] | UnsetType = UNSET
    cost_before: Annotated[Price, about("Cost before, as far as it has prices.")] | UnsetType = UNSET
    cost_after: Annotated[Price, about("Cost after, likewise.")] | UnsetType = UNSET
    machines: Annotated[tuple[MachineChange, ...], about("Types whose count changes.")]
    pick_list_added: Annotated[tuple[PickChange, ...], about("Items that are new.")]
    pick_list_removed: Annotated[tuple[PickChange, ...], about("Items that are no longer needed.")]
    pick_list_changed: Annotated[tuple[PickChange, ...], about("Items whose count changes.")]
    limits_moved: Annotated[tuple[LimitChange, ...], about("Limits that move, nearest after the change first.")]
    findings_appeared: Annotated[tuple[Finding, ...], about("Findings that were not there before.")]
    findings_cleared: Annotated[tuple[Finding, ...], about("Findings that are gone.")]
    questions_opened: Annotated[tuple[str, ...], about("Fields that are asked for now.")]
    questions_answered: Annotated[tuple[str, ...], about("Fields that are not asked for any more.")]


@calculator(
    "booking.change",
    version="1.10.0",
    title="What a change of an order changes",
    references=(PRACTICE,),
    hazards=("general",),
    uses=("booking.assessment",),
    findings=(
        finding("becomes_unacceptable", "stop", "The order could be carried out and cannot any more."),
        finding("stays_unacceptable", "stop", "The order cannot be carried out, before or after."),
        finding("becomes_conditional", "check", "Somebody must look, where nobody had to."),
        finding("stays_conditional", "check", "Somebody must look, before and after."),
        finding("other_machines", "note", "Other machines than before."),
        finding("nothing_to_load_changes", "note", "What is loaded stays the same."),
    ),
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def change(given: ChangeGiven, notes: Notes, ask: Ask) -> ChangeResults:
    """Assess an order as it was and as it shall be, and list the differences.

    Machines, lines of the pick list added, removed and changed, limits that moved, findings that appear or clear, and
    open questions that open or close. Both plans come from `booking.assessment`; a revision that is stored goes in as
    the order that was kept with it.
    """
    notes.caution(*CAUTIONS)
    before, said_before = _assessed(_drawn(given.before, given.joined_before), "/before", ask)
    after, said_after = _assessed(_drawn(given.after, given.joined_after), "/after", ask)
    found_before = [*said_before.findings, *(f.finding for f in given.joined_before.findings)]
    found_after = [*said_after.findings, *(f.finding for f in given.joined_after.findings)]
    outcome_before, outcome_after = _outcome(found_before), _outcome(found_after)
    appeared, cleared = _findings(found_before, found_after)
    picked = (
        _counts([*before.pick_list, *given.joined_before.pick_list]),
        _counts([*after.pick_list, *given.joined_after.pick_list]),
    )
    asked_before = [*(q.field for q in before.open_questions), *given.joined_before.open_questions]
    asked_after = [*(q.field for q in after.open_questions), *given.joined_after.open_questions]
    pick_changes = _pick_changes(*picked)
    machines = _machines(before, after)
    _judge(outcome_before, outcome_after, machines, pick_changes, notes)
    return ChangeResults(
        fields_changed=_fields_changed(given),
        outcome_before=outcome_before,
        outcome_after=outcome_after,
        design_load_before=before.design_load,
        design_load_after=after.design_load,
        cold_water_before=before.cold_water_after,
        cold_water_after=after.cold_water_after,
        cost_before=_cost(before),
        cost_after=_cost(after),
        machines=machines,
        pick_list_added=tuple(c for c in pick_changes if c.before == 0),
        pick_list_removed=tuple(c for c in pick_changes if c.after == 0),
        pick_list_changed=tuple(c for c in pick_changes if c.before and c.after),
        limits_moved=_limits(before.limits_nearest, after.limits_nearest),
        findings_appeared=appeared,
        findings_cleared=cleared,
        questions_opened=_only_in(asked_after, asked_before),
        questions_answered=_only_in(asked_before, asked_after),
    )


def _drawn(order: Order, joined: JoinedToPlan) -> Order:
    """The order as its plan was drawn: without the combinations that parts stopped."""
    return replace(order, ruled_out=(*order.ruled_out, *joined.ruled_out)) if joined.ruled_out else order


def _assessed(order: Order, at: str, ask: Ask) -> tuple[AssessmentResults, Notes]:
    try:
        return ask.apart(assessment, order)
    except Refused as refused:
        errors = [replace(e, pointer=f"#{at}{e.pointer.removeprefix('#')}") for e in refused.errors]
        raise Refused(errors) from None


def _judge(
    before: Outcome, after: Outcome, machines: tuple[MachineChange, ...], picks: list[PickChange], notes: Notes
) -> None:
    moved = "becomes" if RANK[after] > RANK[before] else "stays"
    if after == "unacceptable":
        notes.stop(
            f"{moved}_unacceptable",
            f"The order is {after} after the change; it was {before}.",
            resolve="See the stops among `findings_appeared`, and those of the assessment itself.",
            field="/after",
        )
    elif after == "conditional":
        notes.check(
            f"{moved}_conditional",
            f"The order is {after} after the change; it was {before}.",
            resolve="See the checks of its assessment.",
            field="/after",
        )
    if machines:
        stated = ", ".join(f"{m.type} {m.before} -> {m.after}" for m in machines)
        notes.note("other_machines", f"The machines change: {stated}.", field="/after")
    if not picks:
        notes.note("nothing_to_load_changes", "The pick list is the same, item by item.", field="/after")


def _cost(results: AssessmentResults) -> Price | UnsetType:
    block = results.cost
    return UNSET if isinstance(block, UnsetType) else Price(value=block.total, currency=block.currency)


def _machines(before: AssessmentResults, after: AssessmentResults) -> tuple[MachineChange, ...]:
    old = {m.type: m.count for m in before.machines}
    new = {m.type: m.count for m in after.machines}
    return tuple(
        MachineChange(type=name, before=old.get(name, 0), after=new.get(name, 0))
        for name in dict.fromkeys([*old, *new])
        if old.get(name, 0) != new.get(name, 0)
    )


def _counts(lines: Iterable[PlanPickLine | ChangedLine]) -> dict[tuple[str, str], int]:
    counts: dict[tuple[str, str], int] = {}
    for line in lines:
        key = line.item, line.kind
        counts[key] = counts.get(key, 0) + line.count
    return counts


def _pick_changes(old: dict[tuple[str, str], int], new: dict[tuple[str, str], int]) -> list[PickChange]:
    return [
        PickChange(item=item, kind=kind, before=old.get((item, kind), 0), after=new.get((item, kind), 0))
        for item, kind in dict.fromkeys([*old, *new])
        if old.get((item, kind), 0) != new.get((item, kind), 0)
    ]


def _limits(old: tuple[NearLimit, ...], new: tuple[NearLimit, ...]) -> tuple[LimitChange, ...]:
    were, are = {entry.what: entry for entry in old}, {entry.what: entry for entry in new}
    changes = []
    for what in dict.fromkeys([*are, *were]):
        a, b = were.get(what), are.get(what)
        if a and b and abs(a.nearness - b.nearness) < MOVED and abs(a.value - b.value) < MOVED:
            continue
        changes.append(
            LimitChange(
                what=what,
                unit=(b or a).unit,  # type: ignore[union-attr]
                value_before=a.value if a else UNSET,
                value_after=b.value if b else UNSET,
                headroom_before=a.room if a else UNSET,
                headroom_after=b.room if b else UNSET,
            )
        )
    return tuple(changes)


def _findings(old: list[Finding], new: list[Finding]) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """By calculator, code, severity and field: a number that moves in a statement is no new finding."""

    def key(f: Finding) -> tuple[object, ...]:
        return f.calculator, f.code, f.severity, f.field

    were, are = {key(f) for f in old}, {key(f) for f in new}
    appeared = {key(f): f for f in new if key(f) not in were}
    cleared = {key(f): f for f in old if key(f) not in are}
    return tuple(appeared.values()), tuple(cleared.values())


def _only_in(these: Iterable[str], those: Iterable[str]) -> tuple[str, ...]:
    other = set(those)
    return tuple(dict.fromkeys(field for field in these if field not in other))


def _outcome(findings: Iterable[Finding]) -> Outcome:
    severities = {f.severity for f in findings}
    return "unacceptable" if "stop" in severities else "conditional" if "check" in severities else "acceptable"


def _fields_changed(given: ChangeGiven) -> tuple[str, ...]:
    """Leaves that differ; a list that is longer or shorter counts as a whole, a quantity in another unit not at all."""
    found: list[str] = []
    _differences(given.before, given.after, "", found)
    return tuple(found)


def _differences(old: Any, new: Any, pointer: str, found: list[str]) -> None:
    if isinstance(old, Quantity) and type(old) is type(new):
        if not same(old.si, new.si):
            found.append(pointer)
    elif isinstance(old, Struct) and type(old) is type(new):
        for field in msgspec.structs.fields(old):
            here = f"{pointer}/{field.encode_name}"
            _differences(getattr(old, field.name), getattr(new, field.name), here, found)
    elif isinstance(old, tuple) and isinstance(new, tuple) and len(old) == len(new):
        for index, (a, b) in enumerate(zip(old, new, strict=True)):
            _differences(a, b, f"{pointer}/{index}", found)
    elif old != new:
        found.append(pointer)
