"""The sweep on the bench: one number of the input varied, one of the answer shown."""

from collections.abc import Sequence
from typing import Any

from msgspec.structs import replace

from coldwright.contract import Refused
from coldwright.contract.answer import Units
from coldwright.contract.page import Plot, Series
from coldwright.contract.people import plain_text
from coldwright.service.exploration.pointers import get, number_of
from coldwright.service.exploration.sweep import Range, Sweep, SweepTable, Vary, sweep_table
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.people.entered import number_in
from coldwright.sheets.draw import drawn, tabled

NAMES = ("vary", "from", "to", "keep")
COUNT = 21
Named = Sequence[tuple[str, str]]


async def swept(
    asked: Asked, calculator: str, given: Any, units: Units, numbers: Named, outputs: Named
) -> dict[str, Any]:
    """What stands in the form, and the drawing with its table, where a sweep was asked for."""
    found: dict[str, Any] = {name: asked.query(name) or "" for name in NAMES} | {"wrong": "", "drawing": None}
    if not found["vary"] and numbers:
        present = number_of(get(given, numbers[0][0])) or 1.0
        return found | {"vary": numbers[0][0], "from": f"{present * 0.5:.4g}", "to": f"{present * 1.5:.4g}"}
    low, high = number_in(found["from"]), number_in(found["to"])
    if not isinstance(low, int | float) or not isinstance(high, int | float):
        return found | {"wrong": "From and to are numbers."}
    names, shown = dict(numbers), dict(outputs)
    if found["vary"] not in names or found["keep"] not in shown:
        return found | {"wrong": "This input or this result is not there."}
    vary = Vary(pointer=found["vary"], range=Range(from_=low, to=high, count=COUNT))
    sweep = Sweep(calculator=calculator, given=given, vary=(vary,), keep=(found["keep"],))
    try:
        table = await sweep_table(asked.services, sweep, units)
    except Refused as refused:
        return found | {"wrong": " ".join(e.detail for e in refused.errors)}
    except ProblemRaised as raised:
        return found | {"wrong": raised.detail}
    plot = _plot(table, names[found["vary"]], shown[found["keep"]])
    return found | {"drawing": await asked.services.apart(drawn, plot), "table": tabled(replace(plot, says=""))}


def _plot(table: SweepTable, across: str, up: str) -> Plot:
    points, refused = [], 0
    for row in table.rows:
        x, y = number_of(row.inputs[-1]), number_of(row.kept.get(table.keep[0]))
        if x is not None and y is not None:
            points.append((x, y))
        else:
            refused += 1
    says = f"{refused} of {len(table.rows)} points have no such answer." if refused else ""
    return Plot(plain_text(f"{up} over {across}"), across, up, (Series("", tuple(points)),), says)
