"""A kept answer in the wanted system of units: converted, never computed again."""

from functools import cache
from typing import Any

import msgspec

from coldwright.contract.answer import Units, in_units, to_json
from coldwright.contract.calculator import Calculator
from coldwright.service.resources.answers import answer_type


def kept_in_units(calculator: Calculator[Any, Any], body: bytes, units: Units) -> bytes:
    """The metric answer as it was kept, or the same in US units.

    An answer of an earlier version, which no longer fits the calculator's types, stays as it was kept.
    """
    if units == "metric":
        return body
    try:
        return to_json(in_units(_decoder(calculator).decode(body), units))
    except msgspec.ValidationError:
        return body


@cache
def _decoder(calculator: Calculator[Any, Any]) -> msgspec.json.Decoder[Any]:
    return msgspec.json.Decoder(answer_type(calculator))
