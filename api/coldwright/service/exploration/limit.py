"""A limit: the value of one input at which the answer turns, by a scan and bisection; what the scan cannot see is said."""

import itertools
from typing import Annotated, Any, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Allowed, Calculator, Given, Refused, Results, Text, about
from coldwright.contract.answer import Units
from coldwright.contract.refusal import field_error
from coldwright.registry import Registry, Reported
from coldwright.service.exploration.asking import answer_or_problem, few_at_once, find_calculator, varied
from coldwright.service.exploration.pointers import Origin, led_back, unit_at
from coldwright.service.exploration.sweep import PointerText, place_errors
from coldwright.service.http.problems import Problem, ProblemRaised
from coldwright.service.state import Services

SCAN = 33
"""Points of the first scan: what turns and turns back between two of them is not seen, and the answer says so."""
MOST_TURNS = 64

State = Literal["reached", "not_reached", "refused"]
Verdict = Literal["turns_once", "turns_more_than_once", "always", "never", "refused_throughout"]
_RANK = {"acceptable": 0, "conditional": 1, "unacceptable": 2}


class LimitVary(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """The input to vary: a number that may be any fraction. For counts and words, use a sweep."""

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

    verdict: Annotated[Verdict, Meta(description="What was seen between `from` and `to`, refused values left aside.")]
    statement: Annotated[str, Meta(description="The same in a sentence.")]
    unit: Annotated[str, Meta(description="Unit of the values; absent for a plain number.")] | UnsetType = UNSET
    at_from: Annotated[State, Meta(description="State at `from`.")]
    at_to: Annotated[State, Meta(description="State at `to`.")]
    turns: Annotated[tuple[Turn, ...], Meta(max_length=MOST_TURNS, description="In the order from `from` to `to`.")]
    tolerance: Annotated[float, Meta(description="Each turn is known to this.")]
    evaluations: Annotated[int, Meta(ge=0, le=10_000, description="How often the calculator was asked.")]
    refusal: (
        Annotated[Problem, Meta(description="Why the first refused value was refused; absent where none was.")]
        | UnsetType
    ) = UNSET


async def find_limit(services: Services, limit: Limit, units: Units, *, long: bool = False) -> LimitAnswer:
    """Scan, then bisect every change that the scan saw. `long`: the input is too long for the event loop."""
    served = find_calculator(services, limit.calculator)
    await services.apart(_refuse_what_cannot_run, limit, served.calculator, services.registry, long=long)
    low, high = limit.vary.from_, limit.vary.to
    tolerance = limit.tolerance if limit.tolerance is not UNSET else abs(high - low) / 10_000
    search = _Search(services, limit, units, tolerance, long)
    states, turns = await search.between(low, high)
    unit = unit_at(limit.given, limit.vary.pointer)
    verdict = _verdict([states[0], *(t.to_state for t in turns)])
    return LimitAnswer(
        verdict=verdict,
        statement=_statement(limit, verdict, turns, unit),
        unit=unit or UNSET,
        at_from=states[0],
        at_to=states[-1],
        turns=tuple(turns),
        tolerance=tolerance,
        evaluations=search.evaluations,
        refusal=search.first_refusal(),
    )


class _Search:
    """Asks the calculator, and counts how often."""

    def __init__(self, services: Services, limit: Limit, units: Units, tolerance: float, long: bool) -> None:
        self._services, self._limit, self._units, self._tolerance = services, limit, units, tolerance
        self._long = long
        self.evaluations = 0
        self._refusals: dict[float, ProblemRaised] = {}

    async def between(self, low: float, high: float) -> tuple[list[State], list[Turn]]:
        """The states that the scan saw, and every turn between two that differ."""
        values = [low + (high - low) * i / (SCAN - 1) for i in range(SCAN - 1)] + [high]
        states = await few_at_once(self.state_at(v) for v in values)
        turns: list[Turn] = []
        for (before, start), (after, end) in itertools.pairwise(zip(values, states, strict=True)):
            here, state = before, start
            while state != end and len(turns) < MOST_TURNS:  # a third state may lie between the two
                turns.append(await self._bisect(here, after, state, end))
                here, state = turns[-1].after, turns[-1].to_state
        return states, turns

    def first_refusal(self) -> Problem | UnsetType:
        """The refusal nearest to `from`."""
        if not self._refusals:
            return UNSET
        nearest = min(self._refusals, key=lambda v: abs(v - self._limit.vary.from_))
        return self._refusals[nearest].problem(public_url=self._services.settings.public_url)

    async def _bisect(self, before: float, after: float, start: State, end: State) -> Turn:
        """Narrow the first change down."""
        while abs(after - before) > self._tolerance:
            middle = (before + after) / 2
            if middle in (before, after):  # no number lies between
                break
            found = await self.state_at(middle)
            if found == start:
                before = middle
            else:
                after, end = middle, found
        return Turn(before=before, after=after, from_state=start, to_state=end)

    async def state_at(self, value: float) -> State:
        """What the answer is like when the input has this value."""
        self.evaluations += 1
        limit = self._limit
        changes = [(limit.vary.pointer, value)]
        given = (
            await self._services.apart(varied, limit.given, changes, long=True)
            if self._long
            else varied(limit.given, changes)
        )
        answer = await answer_or_problem(self._services, limit.calculator, given, self._units)
        if isinstance(answer, ProblemRaised):
            if answer.kind.status != 422:
                raise answer
            origin = Origin("/vary", f"Tried was {value:g}.")
            self._refusals[value] = led_back(answer, "/given", {limit.vary.pointer: origin})
            return "refused"
        wanted = limit.until.outcome
        if wanted is not UNSET:
            reached = _RANK[answer["outcome"]] >= _RANK[wanted]
        else:
            reached = any(f["code"] == limit.until.finding for f in answer["findings"])
        return "reached" if reached else "not_reached"


def _verdict(states: list[State]) -> Verdict:
    """`states`: one after the other, as they come from `from` to `to`."""
    answered = [s for s, _ in itertools.groupby(s for s in states if s != "refused")]
    if len(answered) > 1:
        return "turns_once" if len(answered) == 2 else "turns_more_than_once"
    if not answered:
        return "refused_throughout"
    return "always" if answered == ["reached"] else "never"


def _statement(limit: Limit, verdict: Verdict, turns: list[Turn], unit: str) -> str:
    until = limit.until
    what = f"the finding {until.finding}" if until.finding is not UNSET else f"the outcome {until.outcome} or worse"
    span = f"between {limit.vary.from_:g} and {limit.vary.to:g} {unit}".rstrip()
    places = (f"{t.before:.6g} to {t.after:.6g} {unit}".rstrip() + f" ({t.from_state} to {t.to_state})" for t in turns)
    seen = "; ".join(places)
    text = {
        "turns_once": f"The answer turns to or from {what} once {span}: at {seen}.",
        "turns_more_than_once": f"The answer turns to or from {what} more than once {span}: at {seen}. "
        "Look at a sweep before relying on it.",
        "always": f"T{what[1:]} stands everywhere {span} where the calculator answers.",
        "never": f"T{what[1:]} was never seen {span}.",
        "refused_throughout": f"The calculator refuses every value {span} that was tried: see `refusal`.",
    }[verdict]
    if any("refused" in (t.from_state, t.to_state) for t in turns):
        text += " Part of the range is refused by the calculator: see `refusal`."
    if len(turns) == MOST_TURNS:
        text += f" The first {MOST_TURNS} turns are listed; there may be more."
    return f"{text} Scanned at {SCAN} points: what turns and turns back between two of them is not seen."


def _refuse_what_cannot_run(limit: Limit, calculator: Calculator[Any, Any] | Reported, registry: Registry) -> None:
    errors = place_errors(limit.given, limit.vary.pointer, "/vary/pointer")
    if (limit.until.outcome is UNSET) == (limit.until.finding is UNSET):
        errors.append(field_error("/until", "Give exactly one of `outcome` and `finding`.", code="either_or"))
    if limit.until.finding is not UNSET and limit.until.finding not in (codes := _finding_codes(calculator, registry)):
        text = f"{calculator.id} declares no finding of this code, so it would never be seen."
        errors.append(
            field_error(
                "/until/finding",
                text,
                code="not_allowed",
                value=limit.until.finding,
                allowed=Allowed(one_of=tuple(sorted(codes))),
            )
        )
    if limit.vary.from_ == limit.vary.to:
        errors.append(field_error("/vary/to", "The two ends are the same.", value=limit.vary.to))
    if errors:
        raise Refused(errors)


def _finding_codes(calculator: Calculator[Any, Any] | Reported, registry: Registry) -> set[str]:
    """Codes that may stand in its answer: its own, and those of the calculators that it asks."""
    codes = set(calculator.findings)
    for used in calculator.uses:
        if (asked := registry.find(used)) is not None:
            codes |= _finding_codes(asked.calculator, registry)
    return codes
