"""The answer: what came of one calculation, with everything needed to follow it."""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from coldwright.contract.notes import Assumption, Caution, Finding, Working
from coldwright.contract.quantities import Quantity
from coldwright.contract.refusal import Defect
from coldwright.contract.walk import fields_of

Outcome = Literal["acceptable", "conditional", "unacceptable"]
Units = Literal["metric", "us"]


class CalculatorStamp(Struct, frozen=True):
    """Who answered."""

    id: Annotated[str, Meta(description="Id of the calculator.")]
    version: Annotated[str, Meta(description="Version of the calculator: a changed number changes it.")]
    plugin: Annotated[str, Meta(description="Distribution that it came from.")]
    plugin_version: Annotated[str, Meta(description="Version of that distribution.")]


class Answer(Struct, frozen=True, kw_only=True):
    """The answer of a calculator. `given` and `results` are typed per calculator in the published document."""

    calculator: Annotated[CalculatorStamp, Meta(description="Who answered.")]
    digest: Annotated[str, Meta(description="SHA-256 of the question: same question, same digest.")]
    outcome: Annotated[
        Outcome, Meta(description="`unacceptable` with a `stop` among the findings, `conditional` with a `check`.")
    ]
    given: Annotated[Any, Meta(description="The input as used, defaults filled in.")]
    results: Annotated[Any, Meta(description="What was worked out.")]
    findings: Annotated[tuple[Finding, ...], Meta(description="What a person should know.")]
    assumptions: Annotated[tuple[Assumption, ...], Meta(description="What was taken as true.")]
    cautions: Annotated[tuple[Caution, ...], Meta(description="Hazards of the work and the usual care.")]
    working: Annotated[tuple[Working, ...], Meta(description="The sum, line by line.")]


_encode = msgspec.json.Encoder().encode


def to_json(answer: Answer) -> bytes:
    """Encode. Raises `Defect` where results or assumptions hold a number that is not finite; the working cannot.

    A null can only be such a number: no field of the contract is ever null.
    """
    results, assumptions = _encode(answer.results), _encode(answer.assumptions)
    for part in (results, assumptions):
        if b"null" in part and _has_null(msgspec.json.decode(part)):
            raise Defect("the answer holds a number that is not finite")
    raw = {"results": msgspec.Raw(results), "assumptions": msgspec.Raw(assumptions)}
    return _encode(msgspec.structs.replace(answer, **raw))


def _has_null(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_has_null(v) for v in value.values())
    if isinstance(value, list):
        return any(_has_null(v) for v in value)
    return value is None


def in_units(answer: Answer, units: Units) -> Answer:
    """The answer with results and assumptions in the wanted system of units; the input stays as it was sent."""
    if units == "metric":
        return answer
    return msgspec.structs.replace(
        answer,
        results=_in_us(answer.results),
        assumptions=tuple(msgspec.structs.replace(a, value=_in_us(a.value)) for a in answer.assumptions),
    )


def _in_us(value: Any, unit: str = "") -> Any:
    if isinstance(value, Quantity):
        neighbour = _US_OF_METRIC.get(value.unit, "")  # type: ignore[attr-defined]
        return value.as_unit(unit or (neighbour if neighbour in value.units else value.us_unit))
    if isinstance(value, Struct):
        changed = {
            f.name: _in_us(item, f.about.us)
            for f in fields_of(type(value))
            if isinstance(item := getattr(value, f.name), Struct | tuple | list | dict)
        }
        return msgspec.structs.replace(value, **changed)
    if isinstance(value, tuple | list):
        return type(value)(_in_us(v, unit) for v in value)
    if isinstance(value, dict):
        return {k: _in_us(v, unit) for k, v in value.items()}
    return value


_US_OF_METRIC = {
    "mm": "in", "mm2": "in2", "m2": "ft2", "km/h": "mph", "m/s": "ft/s", "dB": "dB", "h": "h", "s": "s", "min": "min",
    "d": "d", "kA": "kA", "mohm": "mohm", "MVA": "MVA", "W": "W", "MW": "MW", "MJ": "MJ", "Pa": "psi", "kN": "lbf",
    "rad": "rad",
}  # fmt: skip
"""Metric units whose neighbour is not the kind's usual one: a bore stays in inches, a time stays a time."""
