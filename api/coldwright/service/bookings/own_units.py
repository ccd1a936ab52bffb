"""In which units an order was given: those are the ones that its crew measures in."""

from collections.abc import Iterator
from functools import cache
from typing import Any

import msgspec

from coldwright.contract.answer import Units
from coldwright.contract.quantities import type_of_kind

METRIC_TOO, US_TOO = {"mm", "mm2", "t", "bar"}, {"ton", "in", "in2", "hp", "inHg"}
"""Units of one system alone beside those in which it answers."""


def units_of(order: bytes, otherwise: Units) -> Units:
    """Those of most of its quantities, `otherwise` where as many are of both; units that both systems use say nothing."""
    metric, us = _spellings()
    document = msgspec.json.decode(order)
    document.pop("fleet", None)  # that of whoever hires out
    found = list(_units_in(document))
    more = sum(u in us for u in found) - sum(u in metric for u in found)
    return otherwise if more == 0 else "us" if more > 0 else "metric"


def _units_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        if isinstance(unit := value.get("unit"), str) and "value" in value:
            yield unit
        else:
            for member in value.values():
                yield from _units_in(member)
    elif isinstance(value, list):
        for member in value:
            yield from _units_in(member)


@cache
def _spellings() -> tuple[frozenset[str], frozenset[str]]:
    """Units that only one of the systems answers in."""
    kinds = type_of_kind.values()
    metric, us = {k.metric_unit for k in kinds}, {k.us_unit for k in kinds}
    return frozenset(metric - us | METRIC_TOO), frozenset(us - metric | US_TOO)
