"""Answer types of calculators, for the document: `given` and `results` with their own schemas."""

from functools import cache
from typing import Annotated, Any

from msgspec import Meta, Struct, defstruct

from coldwright.contract.answer import Answer
from coldwright.contract.calculator import Calculator
from coldwright.contract.walk import fields_of
from coldwright.registry.names import answer_name


def answer_type(calculator: Calculator[Any, Any], *, newest: bool = True) -> type[Struct]:
    """The answer with `given` and `results` of this calculator: for the document only."""
    return _answer_type(calculator, newest)


@cache
def _answer_type(calculator: Calculator[Any, Any], newest: bool) -> type[Struct]:
    fields = [
        (
            f.name,
            f.annotation
            if f.name not in ("given", "results")
            else _described(f.description, getattr(calculator, f.name)),
        )
        for f in fields_of(Answer)
    ]
    name = answer_name(calculator, newest=newest)
    struct = defstruct(name, fields, frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = f"Answer of `{calculator.id if newest else calculator.pinned}`."
    return struct


def _described(description: str, struct: type[Struct]) -> Any:
    return Annotated[struct, Meta(description=description)]
