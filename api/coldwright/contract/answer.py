"""The answer: what came of one calculation, with everything needed to follow it."""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Meta, Struct

from coldwright.contract.notes import Assumption, Caution, Finding, Working, in_one_text
from coldwright.contract.quantities import Quantity
from coldwright.contract.refusal import Defect
from coldwright.contract.sentences import Units as Units
from coldwright.contract.sentences import respoken
from coldwright.contract.walk import fields_of

Outcome = Literal["acceptable", "conditional", "unacceptable"]


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
    body = _encode(answer)
    if b"null" in body:  # a sentence may hold the word
        for part in (answer.results, answer.assumptions):
            if _has_null(msgspec.json.decode(_encode(part))):
                raise Defect("the answer holds a number that is not finite")
    return body


def _has_null(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_has_null(v) for v in value.values())
    if isinstance(value, list):
        return any(_has_null(v) for v in value)
    return value is None


def in_units(answer: Answer, units: Units) -> Answer:
    """The answer with results, assumptions and sentences in the wanted system of units.

    The input stays as it was sent.
    """
    if units == "metric":
        return answer
    return msgspec.structs.replace(
        answer,
        results=_in_us(answer.results),
        findings=tuple(_finding_in_us(f) for f in answer.findings),
        assumptions=tuple(_assumption_in_us(a) for a in answer.assumptions),
    )


def _finding_in_us(finding: Finding) -> Finding:
    if not finding.said:
        return finding
    spoken = {name: sentence.text("us") for name, sentence in finding.said.items()}
    if "do" in spoken:
        spoken["resolve"] = in_one_text(spoken["do"], finding.cleared_by)
    return msgspec.structs.replace(finding, **spoken)


def _assumption_in_us(assumption: Assumption) -> Assumption:
    value, statement = _in_us(assumption.value), assumption.statement
    if assumption.said:
        statement = assumption.said["statement"].text("us")
    elif assumption.code.startswith("default:") and isinstance(value, Quantity):
        statement = statement.replace(f" is {assumption.value}, the default.", f" is {value}, the default.", 1)
    return msgspec.structs.replace(assumption, value=value, statement=statement)


def _struct_in_us(value: Struct) -> Struct:
    changed = {
        f.name: _in_us(item, f.about.us)
        for f in fields_of(type(value))
        if f.name != "said" and isinstance(item := getattr(value, f.name), Struct | tuple | list | dict)
    }
    said = getattr(value, "said", UNSET)
    if isinstance(said, dict):
        changed |= respoken(msgspec.structs.asdict(value), said, "us")
    return msgspec.structs.replace(value, **changed)


def _in_us(value: Any, unit: str = "") -> Any:
    if isinstance(value, Quantity):
        return value.as_unit(unit) if unit else value.in_us()
    if isinstance(value, Finding):
        return _finding_in_us(value)
    if isinstance(value, Struct):
        itself = getattr(value, "in_us", None)  # series, limits of any kind: their unit stands beside their numbers
        return itself() if itself else _struct_in_us(value)
    if isinstance(value, tuple | list):
        return type(value)(_in_us(v, unit) for v in value)
    if isinstance(value, dict):
        return {k: _in_us(v, unit) for k, v in value.items()}
    return value
