"""A limit: the value of one input at which the answer turns, by a scan and bisection, told honestly."""

from collections.abc import Awaitable, Callable
from typing import Annotated, Any, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Refused, Results, Text, about
from coldwright.contract.answer import Units
from coldwright.contract.refusal import field_error
from coldwright.service.exploration.asking import answer_to
from coldwright.service.exploration.pointers import NoSuchPlace, get, replaced
from coldwright.service.exploration.sweep import PointerText
from coldwright.service.problems import as_problem
from coldwright.service.state import Services

SCAN = 33
"""Points of the first scan: what turns and turns back between two of them is not seen, and the answer says so."""
MOST_TURNS = 16

State = Literal["reached", "not_reached", "refused"]
_RANK = {"acceptable": 0, "conditional": 1, "unacceptable": 2}


class LimitVary(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """The input to vary."""

    pointer: Annotated[PointerText, about("JSON pointer into `given`: `/length/value`, or `/length` for its number.")]
    from_: Annotated[float, about("One end.", low=-1e15, high=1e15)]
    to: Annotated[float, about("The other end.", low=-1e15, high=1e15)]


class Until(Given, frozen=True, kw_only=True):
    """What is looked for: exactly one of the two."""

    outcome: Annotated[Literal["conditional", "unacceptable"], about("The outcome is this or worse.")] | UnsetType = (
        UNSET
    )
    finding: Annotated[Text, about("A finding of this code is among the findings.")] | UnsetType = UNSET


class Limit(Given, frozen=True, kw_only=True):
    """Where does it turn?"""

    calculator: Annotated[Text, about("Id of the calculator: `family.name`.")]
    given: Annotated[dict[str, Any], about("Its input; what is varied is put into it.")]
    vary: Annotated[LimitVary, about("The input to vary, and how far.")]
    until: Annotated[Until, about("What is looked for.")]
    tolerance: Annotated[float, about("How closely, in the unit of the input.", above=0, high=1e15)] | UnsetType = UNSET


class Turn(Results, frozen=True, kw_only=True):
    """A place where the answer turns: it lies between `before` and `after`."""

    before: Annotated[float, Meta(description="Last value with the state before.")]
    after: Annotated[float, Meta(description="First value with the state after.")]
    from_state: Annotated[State, Meta(description="State before, going from `from` to `to`.")]
    to_state: Annotated[State, Meta(description="State after.")]


class LimitAnswer(Results, frozen=True, kw_only=True):
    """Where it turns, and how sure that is."""

    verdict: Annotated[
        Literal["turns_once", "turns_more_than_once", "always", "never", "refused_throughout"],
        Meta(description="What was seen between `from` and `to`."),
    ]
    statement: Annotated[str, Meta(description="The same in a sentence.")]
    unit: Annotated[str, Meta(description="Unit of the values; absent for a plain number.")] | UnsetType = UNSET
    at_from: Annotated[State, Meta(description="State at `from`.")]
    at_to: Annotated[State, Meta(description="State at `to`.")]
    turns: Annotated[tuple[Turn, ...], Meta(max_length=MOST_TURNS, description="In the order from `from` to `to`.")]
    tolerance: Annotated[float, Meta(description="Each turn is known to this.")]
    evaluations: Annotated[int, Meta(ge=0, le=10_000, description="How often the calculator was asked.")]


async def find_limit(services: Services, limit: Limit, units: Units) -> LimitAnswer:
    """Scan, then bisect every change that the scan saw."""
    _refuse_what_cannot_run(limit)
    asked = 0

    async def state_at(value: float) -> State:
        nonlocal asked
        asked += 1
        return await _state(services, limit, value, units)

    low, high = limit.vary.from_, limit.vary.to
    tolerance = limit.tolerance if limit.tolerance is not UNSET else abs(high - low) / 10_000
    values = [low + (high - low) * i / (SCAN - 1) for i in range(SCAN)]
    states = [await state_at(v) for v in values]
    turns: list[Turn] = []
    for i in range(SCAN - 1):
        if states[i] != states[i + 1] and len(turns) < MOST_TURNS:
            turns.append(await _bisect(state_at, values[i], values[i + 1], states[i], states[i + 1], tolerance))
    unit = _unit(limit)
    return LimitAnswer(
        verdict=(verdict := _verdict(states, turns)),
        statement=_statement(limit, verdict, turns, unit),
        unit=unit or UNSET,
        at_from=states[0],
        at_to=states[-1],
        turns=tuple(turns),
        tolerance=tolerance,
        evaluations=asked,
    )


async def _bisect(
    state_at: Callable[[float], Awaitable[State]],
    before: float,
    after: float,
    start: State,
    end: State,
    tolerance: float,
) -> Turn:
    """Narrow a change down; where a third state lies between, the first change is kept."""
    while abs(after - before) > tolerance:
        middle = (before + after) / 2
        if middle in (before, after):  # no number lies between
            break
        found = await state_at(middle)
        if found == start:
            before = middle
        else:
            after, end = middle, found
    return Turn(before=before, after=after, from_state=start, to_state=end)


async def _state(services: Services, limit: Limit, value: float, units: Units) -> State:
    try:
        answer = await answer_to(services, limit.calculator, replaced(limit.given, limit.vary.pointer, value), units)
    except Exception as error:
        problem = as_problem(error)
        if problem is None or problem.kind.status != 422:
            raise
        return "refused"
    if limit.until.finding is not UNSET:
        return "reached" if any(f["code"] == limit.until.finding for f in answer["findings"]) else "not_reached"
    wanted = limit.until.outcome
    return "reached" if wanted is not UNSET and _RANK[answer["outcome"]] >= _RANK[wanted] else "not_reached"


def _verdict(states: list[State], turns: list[Turn]) -> Any:
    if set(states) == {"refused"}:
        return "refused_throughout"
    crossings = [t for t in turns if {t.from_state, t.to_state} == {"reached", "not_reached"}]
    if len(turns) > 1 and crossings:
        return "turns_more_than_once"
    if crossings:
        return "turns_once"
    return "always" if "reached" in states else "never"


def _statement(limit: Limit, verdict: str, turns: list[Turn], unit: str) -> str:
    until = limit.until
    what = f"the finding {until.finding}" if until.finding is not UNSET else f"the outcome {until.outcome} or worse"
    span = f"between {limit.vary.from_:g} and {limit.vary.to:g} {unit}".rstrip()
    places = (f"{t.before:.6g} to {t.after:.6g} {unit}".rstrip() + f" ({t.from_state} to {t.to_state})" for t in turns)
    seen = "; ".join(places)
    told = {
        "turns_once": f"The answer turns to or from {what} once {span}: at {seen}.",
        "turns_more_than_once": f"The answer turns more than once {span}: at {seen}. Look at a sweep before relying on it.",
        "always": f"{what.capitalize()} stands everywhere {span} where the calculator answers.",
        "never": f"{what.capitalize()} was never seen {span}.",
        "refused_throughout": f"The calculator refuses every value {span} that was tried.",
    }[verdict]
    if any("refused" in (t.from_state, t.to_state) for t in turns):
        told += " Part of the range is refused by the calculator."
    return f"{told} Scanned at {SCAN} points: what turns and turns back between two of them is not seen."


def _unit(limit: Limit) -> str:
    pointer = limit.vary.pointer.removesuffix("/value")
    try:
        place = get(limit.given, pointer)
    except NoSuchPlace:
        return ""
    return str(place.get("unit", "")) if isinstance(place, dict) else ""


def _refuse_what_cannot_run(limit: Limit) -> None:
    errors = []
    if (limit.until.outcome is UNSET) == (limit.until.finding is UNSET):
        errors.append(field_error("/until", "Give exactly one of `outcome` and `finding`.", code="either_or"))
    if limit.vary.from_ == limit.vary.to:
        errors.append(field_error("/vary/to", "The two ends are the same.", code="refused", value=limit.vary.to))
    try:
        replaced(limit.given, limit.vary.pointer, 0)
    except NoSuchPlace as error:
        errors.append(
            field_error("/vary/pointer", f"{error} in `given`.", code="no_such_place", value=limit.vary.pointer)
        )
    if errors:
        raise Refused(errors)
