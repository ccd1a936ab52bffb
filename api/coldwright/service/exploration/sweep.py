"""A sweep: one calculator, one or two inputs varied, the wanted outputs as a table."""

import itertools
import math
from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Allowed, Given, Refused, Results, Text, about, field_error
from coldwright.contract.answer import Units
from coldwright.contract.refusal import FieldError
from coldwright.service.exploration.asking import Room, answer_or_problem, few_at_once, find_calculator, varied
from coldwright.service.exploration.pointers import NoSuchPlace, Origin, get, led_back, overlap, replaced, unit_at
from coldwright.service.http.problems import Problem, ProblemRaised
from coldwright.service.state import Services

MOST_POINTS = 2000
MOST_KEPT = 16_000_000
"""Bytes of all rows of a table, with what is kept of each answer: two thousand times eight thousand."""
PointerText = Annotated[str, Meta(max_length=500)]


class Range(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """Evenly spaced numbers, both ends included."""

    from_: Annotated[float, about("First.", low=-1e15, high=1e15)]
    to: Annotated[float, about("Last.", low=-1e15, high=1e15)]
    count: Annotated[int, about("How many.", low=2, high=MOST_POINTS)]

    def numbers(self) -> list[float]:
        """The numbers: the ends as they were sent, those between rounded to what a person would write."""
        step = (self.to - self.from_) / (self.count - 1)
        between = [float(f"{self.from_ + step * i:.12g}") for i in range(1, self.count - 1)]
        return [self.from_, *between, self.to]


class Vary(Given, frozen=True, kw_only=True):
    """An input to vary: exactly one of `values` and `range`."""

    pointer: Annotated[PointerText, about("JSON pointer into `given`: `/length/value`, or `/length` for its number.")]
    values: (
        Annotated[tuple[Any, ...], about("Values to put there.", min_length=1, max_length=MOST_POINTS)] | UnsetType
    ) = UNSET
    range: Annotated[Range, about("Numbers to put there.")] | UnsetType = UNSET

    def all_values(self) -> list[Any]:
        """The values, listed."""
        if self.values is not UNSET:
            return list(self.values)
        return [] if self.range is UNSET else self.range.numbers()


class Sweep(Given, frozen=True, kw_only=True):
    """One calculator over one or two varied inputs."""

    calculator: Annotated[Text, about("Id of the calculator: `family.name`.")]
    given: Annotated[dict[str, Any], about("Its input; what is varied is put into it.")]
    vary: Annotated[
        tuple[Vary, ...], about("One or two inputs to vary; the first is the outer one.", min_length=1, max_length=2)
    ]
    keep: Annotated[
        tuple[PointerText, ...], about("JSON pointers into the answer: `/results/...`.", min_length=1, max_length=20)
    ]


class SweepRow(Results, frozen=True, kw_only=True):
    """One point."""

    inputs: Annotated[tuple[Any, ...], Meta(max_length=2, description="The varied inputs, in the order of `vary`.")]
    status: Annotated[int, Meta(ge=200, le=599, description="HTTP status that it would have had alone.")]
    outcome: (
        Annotated[Literal["acceptable", "conditional", "unacceptable"], Meta(description="Outcome of the answer.")]
        | UnsetType
    ) = UNSET
    kept: Annotated[
        dict[str, Any],
        Meta(description="What stood at each pointer of `keep`; one that leads nowhere here is left out."),
    ]
    problem: Annotated[Problem, Meta(description="The problem, where there is no answer.")] | UnsetType = UNSET


class SweepTable(Results, frozen=True, kw_only=True):
    """Every point, the first varied input outermost."""

    calculator: Annotated[str, Meta(description="Id of the calculator.")]
    vary: Annotated[tuple[str, ...], Meta(max_length=2, description="Pointers that were varied.")]
    vary_units: Annotated[
        tuple[str, ...],
        Meta(max_length=2, description="Units in which numbers put there are read; empty for a plain number or word."),
    ]
    keep: Annotated[tuple[str, ...], Meta(max_length=20, description="Pointers that were kept.")]
    rows: Annotated[tuple[SweepRow, ...], Meta(max_length=MOST_POINTS, description="One a point.")]


async def sweep_table(services: Services, sweep: Sweep, units: Units, *, long: bool = False) -> SweepTable:
    """Evaluate every point; a point that is refused is a row that says so. `long`: too long for the event loop."""
    find_calculator(services, sweep.calculator)
    await services.apart(_refuse_what_cannot_run, sweep, long=long)
    points = itertools.product(*(v.all_values() for v in sweep.vary))
    room = Room(MOST_KEPT, f"The rows of a table have at most {MOST_KEPT} bytes together: keep less of each answer.")
    rows = await few_at_once(_row(services, sweep, inputs, units, room, long) for inputs in points)
    return SweepTable(
        calculator=sweep.calculator,
        vary=tuple(v.pointer for v in sweep.vary),
        vary_units=tuple(unit_at(sweep.given, v.pointer) for v in sweep.vary),
        keep=sweep.keep,
        rows=tuple(rows),
    )


async def _row(
    services: Services, sweep: Sweep, inputs: tuple[Any, ...], units: Units, room: Room, long: bool
) -> SweepRow:
    """The row of a point, as long as there is room for it."""
    try:
        room.take(0)
        row = await _evaluated(services, sweep, inputs, units, long)
        room.take(len(msgspec.json.encode(row)))
    except ProblemRaised as full:
        shown = full.problem(public_url=services.settings.public_url)
        return SweepRow(inputs=inputs, status=full.kind.status, kept={}, problem=shown)
    return row


async def _evaluated(services: Services, sweep: Sweep, inputs: tuple[Any, ...], units: Units, long: bool) -> SweepRow:
    changes = list(zip((vary.pointer for vary in sweep.vary), inputs, strict=True))
    given = await services.apart(varied, sweep.given, changes, long=True) if long else varied(sweep.given, changes)
    answer = await answer_or_problem(services, sweep.calculator, given, units)
    if isinstance(answer, ProblemRaised):
        origins = {vary.pointer: Origin(f"/vary/{number}") for number, vary in enumerate(sweep.vary)}
        problem = led_back(answer, "/given", origins)
        shown = problem.problem(public_url=services.settings.public_url)
        return SweepRow(inputs=inputs, status=problem.kind.status, kept={}, problem=shown)
    kept = {}
    for pointer in sweep.keep:
        try:
            kept[pointer] = get(answer, pointer)
        except NoSuchPlace:
            continue
    return SweepRow(inputs=inputs, status=200, outcome=answer["outcome"], kept=kept)


def _refuse_what_cannot_run(sweep: Sweep) -> None:
    errors: list[FieldError] = []
    for number, vary in enumerate(sweep.vary):
        if (vary.values is UNSET) == (vary.range is UNSET):
            errors.append(field_error(f"/vary/{number}", "Give exactly one of `values` and `range`.", code="either_or"))
        errors += place_errors(sweep.given, vary.pointer, f"/vary/{number}/pointer")
    if len(sweep.vary) == 2 and overlap(*(v.pointer for v in sweep.vary)):
        text = "The two inputs are one, or one is inside the other."
        errors.append(field_error("/vary/1/pointer", text, code="repeated", value=sweep.vary[1].pointer))
    listed = [v.all_values() for v in sweep.vary]
    points = math.prod(map(len, listed))
    if points and points * sum(len(msgspec.json.encode(values)) / len(values) for values in listed) > MOST_KEPT:
        text = f"The rows would have more than {MOST_KEPT} bytes by the varied inputs alone."
        errors.append(field_error("/vary", text, code="out_of_range"))
    if points > MOST_POINTS:
        text = f"{points} points are too many; {MOST_POINTS} are taken."
        errors.append(
            field_error("/vary", text, code="out_of_range", value=points, allowed=Allowed(maximum=MOST_POINTS))
        )
    if errors:
        raise Refused(errors)


def place_errors(given: Any, pointer: str, at: str) -> list[FieldError]:
    """The error of an input to vary that is not there; `at` is where the body names it."""
    try:
        replaced(given, pointer, 0)
    except NoSuchPlace as error:
        return [field_error(at, f"{error} in `given`.", code="no_such_place", value=pointer)]
    return []
