"""Calculators that do what ours never do: turn more than once, refuse in the middle, break. All invented."""

import math
from typing import Annotated

from coldwright.contract import Given, Notes, Results, about, calculator, finding, refuse
from coldwright.contract.quantities import Length
from coldwright.registry import FIRST_PARTY, Registry, Served


class PlainGiven(Given, frozen=True, kw_only=True):
    """A plain number."""

    x: Annotated[float, about("A number.", low=-1000, high=1000)]
    mode: Annotated[str, about("What to do.", max_length=20)] = "wave"


class PlainResults(Results, frozen=True, kw_only=True):
    """What came of it."""

    y: Annotated[float, about("A number.")]
    text: Annotated[str, about("A word.")]


class InventedError(Exception):
    """What nobody foresees."""


@calculator(
    "invented.wave",
    version="1.2.3",
    title="A wave",
    findings=(finding("crest", "check", "Above zero."), finding("deep", "stop", "Far below zero.")),
)
def wave(given: PlainGiven, notes: Notes) -> PlainResults:
    """By `mode`: a wave; one number for all; a step at 1/3 with a refused gap around it; an error of some kind."""
    if given.mode == "defect":
        return PlainResults(y=1 / (given.x - given.x), text="")
    if given.mode == "surprise":
        raise InventedError
    if given.mode == "gap" and 0.3 < given.x < 0.4:
        raise refuse("/x", "Not in the gap.", value=given.x)
    if given.mode == "island" and not 0.5 < given.x < 0.51:
        raise refuse("/x", "Only on the island.", value=given.x)
    y = {"wave": math.sin(given.x), "gap": given.x - 1 / 3, "huge": 1e300 * given.x}.get(given.mode, 7.0)
    if given.mode == "sliver":  # not reached, refused for a moment, reached: all between two points of a scan
        if 0.5001 < given.x < 0.5002:
            raise refuse("/x", "Not in the sliver.", value=given.x)
        y = given.x - 0.50015
    if y > 0:
        notes.check("crest", "It is above zero.")
    if y < -0.99:
        notes.stop("deep", "It is far below zero.")
    return PlainResults(y=y, text=f"<b>&{given.x}")


class DoubledGiven(Given, frozen=True, kw_only=True):
    """A length."""

    length: Annotated[Length, about("A length.", low=0, high=100, unit="m")]
    more: Annotated[tuple[Length, ...], about("Lengths.", max_length=5)] = ()


class DoubledResults(Results, frozen=True, kw_only=True):
    """Twice the length."""

    doubled: Annotated[Length, about("Twice.")]


@calculator("invented.doubled", version="1.0.0", title="Twice a length")
def doubled(given: DoubledGiven, notes: Notes) -> DoubledResults:
    """Twice a length, and every length more."""
    total = 2 * given.length.si + sum(m.si for m in given.more)
    return DoubledResults(doubled=Length.from_si(total, "m"))


def registry_with_invented() -> Registry:
    """Every installed plugin, and these."""
    registry = Registry()
    for one in (wave, doubled):
        registry.served[one.id] = Served(one, FIRST_PARTY, "1.0.0")
    return registry
