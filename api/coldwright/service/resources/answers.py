"""Answer types of calculators, for the document: `given` and `results` with their own schemas."""

from functools import cache
from typing import Annotated, Any

from msgspec import Meta, Struct, defstruct

from coldwright.contract.answer import Answer
from coldwright.contract.calculator import Calculator
from coldwright.contract.walk import fields_of


def camel(calculator_id: str) -> str:
    """`electrical.service` -> `ElectricalService`."""
    return "".join(part[:1].upper() + part[1:] for part in calculator_id.replace(".", "_").split("_"))


@cache
def answer_type(calculator: Calculator[Any, Any]) -> type[Struct]:
    """The answer with `given` and `results` of this calculator: for the document only."""
    fields = [
        (
            f.name,
            f.annotation
            if f.name not in ("given", "results")
            else _described(f.description, getattr(calculator, f.name)),
        )
        for f in fields_of(Answer)
    ]
    struct = defstruct(
        f"{camel(calculator.id)}Answer", fields, frozen=True, kw_only=True, module="coldwright.service.answers"
    )
    struct.__doc__ = f"Answer of `{calculator.id}`."
    return struct


def _described(description: str, struct: type[Struct]) -> Any:
    return Annotated[struct, Meta(description=description)]
