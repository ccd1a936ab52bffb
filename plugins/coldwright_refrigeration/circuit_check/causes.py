"""The readings' pattern, and which troubles fit it: scores, evidence, and what would decide between the first two."""

from typing import NamedTuple

from msgspec import Struct, convert

from coldwright.contract import load_table
from coldwright_refrigeration.circuit_check.results import CauseName, Quantity, Word

BANDS_TABLE = load_table("coldwright_refrigeration", "circuit_bands")
CAUSES_TABLE = load_table("coldwright_refrigeration", "circuit_causes")
WEIGHTS: dict[Quantity, float] = {
    "superheat": 3,
    "subcooling": 3,
    "condensing_over_ambient": 2,
    "evaporator_approach": 2,
    "liquid_temperature_difference": 2,
}
MATCH = (1.0, 0.25, -0.5)
"""For a word inside the expected set, one step away, two steps away."""
LEAST_SCORE = 0.6
MOST_CAUSES = 4
_STEP: dict[Word, int] = {"low": -1, "normal": 0, "high": 1}


class Band(Struct, frozen=True):
    """Usual band of a quantity: differences in delta_degF, the liquid difference as a share of design."""

    quantity: Quantity
    low_below: float
    normal: tuple[float, float]
    high_above: float


class _Cause(Struct, frozen=True):
    cause: CauseName
    expected: dict[Quantity, tuple[Word, ...]]
    meaning: str
    next_check: str
    proof: str


BANDS: dict[Quantity, Band] = {b.quantity: b for b in convert(BANDS_TABLE.rows, list[Band])}
CAUSES: dict[CauseName, _Cause] = {c.cause: c for c in convert(CAUSES_TABLE.rows, list[_Cause])}
_SCORES: dict[CauseName, dict[tuple[Quantity, Word], tuple[float, bool]]] = {
    c.cause: {
        (quantity, word): (
            WEIGHTS[quantity] * MATCH[min(abs(_STEP[word] - _STEP[e]) for e in expected)],
            word in expected,
        )
        for quantity, expected in c.expected.items()
        for word in _STEP
    }
    for c in CAUSES.values()
}
"""Weighted match of each word of each quantity, and whether it speaks for the cause."""


class Suspect(NamedTuple):
    """A cause that fits, with what speaks for it and against it."""

    cause: CauseName
    score: float
    speaks_for: tuple[Quantity, ...]
    speaks_against: tuple[Quantity, ...]


def word_of(value: float, low_below: float, high_above: float) -> Word:
    """Where a reading lies; the gaps beside the normal band count as normal."""
    return "low" if value < low_below else "high" if value > high_above else "normal"


def suspects(pattern: dict[Quantity, Word], opened_recently: bool, air_found: bool) -> list[Suspect]:
    """The causes that fit the pattern, best first; none for a normal pattern.

    `air_found`: a standstill test has shown non-condensables, which come first then.
    """
    if all(word == "normal" for word in pattern.values()):
        return []
    weight = sum(WEIGHTS[quantity] for quantity in pattern)
    words = tuple(pattern.items())
    ranked = [_suspect(cause, words, weight) for cause in _order(opened_recently)]
    ranked.sort(key=lambda s: -s.score)
    if air_found:
        air = next(s for s in ranked if s.cause == "non_condensables")
        ranked.remove(air)
        return [air, *(s for s in ranked if s.score >= LEAST_SCORE)][:MOST_CAUSES]
    return [s for s in ranked if s.score >= LEAST_SCORE][:MOST_CAUSES]


def _suspect(cause: CauseName, words: tuple[tuple[Quantity, Word], ...], weight: float) -> Suspect:
    scores = _SCORES[cause]
    total = 0.0
    speaks_for: list[Quantity] = []
    speaks_against: list[Quantity] = []
    for pair in words:
        score, fits = scores[pair]
        total += score
        (speaks_for if fits else speaks_against).append(pair[0])
    return Suspect(cause, total / weight, tuple(speaks_for), tuple(speaks_against))


def _order(opened_recently: bool) -> tuple[CauseName, ...]:
    """Order of equal scores: that of the table, but air before overcharge in a circuit that was opened lately."""
    return _AIR_FIRST if opened_recently else tuple(CAUSES)


_AIR_FIRST: tuple[CauseName, ...] = tuple(
    {"overcharge": "non_condensables", "non_condensables": "overcharge"}.get(c, c)  # type: ignore[misc]
    for c in CAUSES
)


def deciding_measurement(first: CauseName, second: CauseName) -> str:
    """What would distinguish the first cause from the second, without opening the circuit."""
    ours, theirs = CAUSES[first].proof, CAUSES[second].proof
    return f"To distinguish {first} from {second}: {ours}; if not, {theirs}."
