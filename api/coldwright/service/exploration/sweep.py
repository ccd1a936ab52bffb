"""A sweep: one calculator, one or two inputs varied, the wanted outputs as a table."""

import itertools
from typing import Annotated, Any, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Refused, Results, Text, about
from coldwright.contract.answer import Units
from coldwright.contract.refusal import field_error
from coldwright.service.exploration.asking import answer_to
from coldwright.service.exploration.pointers import NoSuchPlace, get, replaced
from coldwright.service.problems import Problem, as_problem
from coldwright.service.state import Services

MOST_POINTS = 2000
PointerText = Annotated[str, Meta(max_length=500)]


class Range(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """Evenly spaced numbers, both ends included."""

    from_: Annotated[float, about("First.", low=-1e15, high=1e15)]
    to: Annotated[float, about("Last.", low=-1e15, high=1e15)]
    count: Annotated[int, about("How many.", low=2, high=MOST_POINTS)]

    def numbers(self) -> list[float]:
        """The numbers, rounded to what a person would write."""
        step = (self.to - self.from_) / (self.count - 1)
        return [float(f"{self.from_ + step * i:.12g}") for i in range(self.count)]


class Vary(Given, frozen=True, kw_only=True):
    """An input to vary: exactly one of `values` and `range`."""

    pointer: Annotated[PointerText, about("JSON pointer into `given`: `/length/value`, or `/length` for its number.")]
    values: (
        Annotated[tuple[Any, ...], about("Values to put there.", min_length=1, max_length=MOST_POINTS)] | UnsetType
    ) = UNSET
    range: Annotated[Range, about("Numbers to put there.")] | UnsetType = UNSET

    def all_values(self) -> list[Any]:
        """The values, listed."""
        return (
            list(self.values) if self.values is not UNSET else self.range.numbers() if self.range is not UNSET else []
        )


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
    keep: Annotated[tuple[str, ...], Meta(max_length=20, description="Pointers that were kept.")]
    rows: Annotated[tuple[SweepRow, ...], Meta(max_length=MOST_POINTS, description="One a point.")]


async def sweep_table(services: Services, sweep: Sweep, units: Units) -> SweepTable:
    """Evaluate every point; a point that is refused is a row that says so."""
    _refuse_what_cannot_run(sweep)
    rows = []
    for inputs in itertools.product(*(v.all_values() for v in sweep.vary)):
        given: Any = sweep.given
        for vary, value in zip(sweep.vary, inputs, strict=True):
            given = replaced(given, vary.pointer, value)
        rows.append(await _row(services, sweep, given, inputs, units))
    return SweepTable(
        calculator=sweep.calculator, vary=tuple(v.pointer for v in sweep.vary), keep=sweep.keep, rows=tuple(rows)
    )


async def _row(services: Services, sweep: Sweep, given: Any, inputs: tuple[Any, ...], units: Units) -> SweepRow:
    try:
        answer = await answer_to(services, sweep.calculator, given, units)
    except Exception as error:
        problem = as_problem(error)
        if problem is None or problem.kind.status == 404:
            raise
        return SweepRow(inputs=inputs, status=problem.kind.status, kept={}, problem=problem.problem())
    kept = {}
    for pointer in sweep.keep:
        try:
            kept[pointer] = get(answer, pointer)
        except NoSuchPlace:
            continue
    return SweepRow(inputs=inputs, status=200, outcome=answer["outcome"], kept=kept)


def _refuse_what_cannot_run(sweep: Sweep) -> None:
    errors = []
    points = 1
    for number, vary in enumerate(sweep.vary):
        if (vary.values is UNSET) == (vary.range is UNSET):
            errors.append(field_error(f"/vary/{number}", "Give exactly one of `values` and `range`.", code="either_or"))
        points *= len(vary.all_values())
        try:
            replaced(sweep.given, vary.pointer, 0)
        except NoSuchPlace as error:
            errors.append(
                field_error(f"/vary/{number}/pointer", f"{error} in `given`.", code="no_such_place", value=vary.pointer)
            )
    if points > MOST_POINTS:
        errors.append(
            field_error("/vary", f"{points} points are too many; {MOST_POINTS} are taken.", code="out_of_range")
        )
    if errors:
        raise Refused(errors)
