"""Pieces onto decks: rows along the deck, at most two lanes to a row, at most two pieces high."""

import math
from collections.abc import Iterable
from functools import cache
from itertools import combinations
from typing import NamedTuple

from coldwright_basis.compare import SLACK

MOST_TRIED = 10
"""Pieces up to which every way of loading is tried."""
MOST_STATES = 32
"""States of stock up to which limited vehicles are tried in every way."""
BETWEEN = 0.1
"""m between two lanes."""


class Piece(NamedTuple):
    """One piece of an item; `vehicle` is the kind it is bound to, if any; `x` its fixed place."""

    item: int
    length: float
    width: float
    height: float
    mass: float
    stackable: bool
    vehicle: int | None
    x: float | None


class Deck(NamedTuple):
    """A kind of vehicle. `tallest` is the height over the deck that the road takes; `available` how many there are."""

    length: float
    width: float
    tallest: float
    payload: float
    available: int | None


class Row(NamedTuple):
    """One or two lanes side by side; a lane is one piece or two, the lower first."""

    lanes: tuple[tuple[int, ...], ...]
    length: float


class Load(NamedTuple):
    """A vehicle with its rows."""

    deck: int
    rows: tuple[Row, ...]


def fits(piece: Piece, index: int, deck: Deck) -> bool:
    """Whether the piece can go on that kind of vehicle at all. Too wide is for the permit to judge."""
    bound = piece.vehicle is None or piece.vehicle == index
    return bound and piece.length <= deck.length + SLACK and piece.mass <= deck.payload + SLACK


def _lane_width(pieces: list[Piece], lane: tuple[int, ...]) -> float:
    return max(pieces[i].width for i in lane)


def _may_stack(lower: Piece, upper: Piece, deck: Deck) -> bool:
    return (
        lower.stackable
        and upper.stackable
        and upper.length <= lower.length + SLACK
        and upper.width <= lower.width + SLACK
        and lower.height + upper.height <= deck.tallest + SLACK
    )


def _may_pair(pieces: list[Piece], first: tuple[int, ...], second: tuple[int, ...], deck: Deck) -> bool:
    return _lane_width(pieces, first) + _lane_width(pieces, second) + BETWEEN <= deck.width + SLACK


def pack(pieces: list[Piece], decks: list[Deck]) -> tuple[list[Load], list[int], bool]:
    """Loads, pieces left over for want of vehicles, and whether the number of loads is proved to be the least."""
    states = math.prod(min(d.available, len(pieces)) + 1 for d in decks if d.available is not None)
    if len(pieces) <= MOST_TRIED and states <= MOST_STATES:
        loads = _least(pieces, decks)
        if loads is not None:
            return loads, [], True
    loads, left = _first_fit(pieces, decks)
    return loads, left, False


# --- all ways ------------------------------------------------------------------------------------------------------
def _rows_of(pieces: list[Piece], deck: Deck) -> dict[int, Row]:
    """The shortest row of each set of one to four pieces that makes one."""
    numbers = range(len(pieces))
    lanes: list[tuple[int, ...]] = [(i,) for i in numbers]
    lanes += [(i, j) for i in numbers for j in numbers if i != j and _may_stack(pieces[i], pieces[j], deck)]
    rows: dict[int, Row] = {}

    def keep(row_lanes: tuple[tuple[int, ...], ...]) -> None:
        mask = sum(1 << i for lane in row_lanes for i in lane)
        length = max(pieces[i].length for lane in row_lanes for i in lane)
        if mask not in rows or length < rows[mask].length:
            rows[mask] = Row(row_lanes, length)

    for lane in lanes:
        keep((lane,))
    for first, second in combinations(lanes, 2):
        if not set(first) & set(second) and _may_pair(pieces, first, second, deck):
            keep((first, second))
    return rows


def _shortest(pieces: list[Piece], deck: Deck) -> tuple[list[float], list[int]]:
    """Least deck length of every set of pieces, and the first row of it (as a set)."""
    rows = _rows_of(pieces, deck)
    starting: list[list[tuple[int, float]]] = [[] for _ in pieces]
    for mask, row in rows.items():
        starting[(mask & -mask).bit_length() - 1].append((mask, row.length))
    size = 1 << len(pieces)
    length, first = [0.0] + [math.inf] * (size - 1), [0] * size
    for chosen in range(1, size):
        for mask, row_length in starting[(chosen & -chosen).bit_length() - 1]:
            if mask & chosen == mask and row_length + length[chosen ^ mask] < length[chosen] - SLACK:
                length[chosen], first[chosen] = row_length + length[chosen ^ mask], mask
    return length, first


def _least(pieces: list[Piece], decks: list[Deck]) -> list[Load] | None:
    """The least number of loads, then the least deck: every split of the pieces over the vehicles is weighed."""
    size = 1 << len(pieces)
    mass = [sum(p.mass for i, p in enumerate(pieces) if chosen >> i & 1) for chosen in range(size)]
    packed = [_shortest(pieces, deck) for deck in decks]
    able = [sum(1 << i for i, p in enumerate(pieces) if fits(p, d, deck)) for d, deck in enumerate(decks)]
    carries = [
        [
            d
            for d, deck in enumerate(decks)
            if chosen & able[d] == chosen
            and packed[d][0][chosen] <= deck.length + SLACK
            and mass[chosen] <= deck.payload + SLACK
        ]
        for chosen in range(size)
    ]

    @cache
    def best(chosen: int, counts: tuple[int, ...]) -> tuple[int, float, tuple[tuple[int, int], ...]] | None:
        if chosen == 0:
            return 0, 0.0, ()
        low, rest, found = chosen & -chosen, chosen ^ (chosen & -chosen), None
        part = rest
        while True:
            load = part | low
            for d in carries[load]:
                if counts[d] == 0:
                    continue
                left = tuple(c - 1 if k == d and c > 0 else c for k, c in enumerate(counts))
                more = best(chosen ^ load, left)
                if more is not None:
                    way = (more[0] + 1, more[1] + decks[d].length, ((d, load), *more[2]))
                    if found is None or way[:2] < found[:2]:
                        found = way
            if part == 0:
                return found
            part = (part - 1) & rest

    whole = best(size - 1, tuple(-1 if d.available is None else min(d.available, len(pieces)) for d in decks))
    if whole is None:
        return None
    return [Load(d, tuple(_rows_in(chosen, packed[d][1], _rows_of(pieces, decks[d])))) for d, chosen in whole[2]]


def _rows_in(chosen: int, first: list[int], rows: dict[int, Row]) -> Iterable[Row]:
    while chosen:
        yield rows[first[chosen]]
        chosen ^= first[chosen]


# --- first fit, longest first --------------------------------------------------------------------------------------
class _Open:
    """A load that is being filled."""

    def __init__(self, deck: int) -> None:
        self.deck, self.mass, self.length = deck, 0.0, 0.0
        self.rows: list[list[tuple[int, ...]]] = []

    def take(self, number: int, pieces: list[Piece], deck: Deck) -> bool:
        """Put the piece on another, beside another, or in a row of its own, if there is room."""
        piece = pieces[number]
        if not fits(piece, self.deck, deck) or self.mass + piece.mass > deck.payload + SLACK:
            return False
        if not (self._stack(number, pieces, deck) or self._pair(number, pieces, deck)):
            if self.length + piece.length > deck.length + SLACK:
                return False
            self.rows.append([(number,)])
            self.length += piece.length
        self.mass += piece.mass
        return True

    def _stack(self, number: int, pieces: list[Piece], deck: Deck) -> bool:
        for row in self.rows:
            for index, lane in enumerate(row):
                if len(lane) == 1 and _may_stack(pieces[lane[0]], pieces[number], deck):
                    row[index] = (*lane, number)
                    return True
        return False

    def _pair(self, number: int, pieces: list[Piece], deck: Deck) -> bool:
        for row in self.rows:
            if len(row) == 1 and _may_pair(pieces, row[0], (number,), deck):
                row.append((number,))
                return True
        return False


def _first_fit(pieces: list[Piece], decks: list[Deck]) -> tuple[list[Load], list[int]]:
    order = sorted(range(len(pieces)), key=lambda i: (-pieces[i].length, -pieces[i].width, i))
    biggest = sorted(range(len(decks)), key=lambda d: (-decks[d].length, -decks[d].payload, d))
    remaining = [d.available for d in decks]
    loads: list[_Open] = []
    left = []
    for number in order:
        if any(load.take(number, pieces, decks[load.deck]) for load in loads):
            continue
        for d in biggest:
            fresh = _Open(d)
            if remaining[d] != 0 and fresh.take(number, pieces, decks[d]):
                loads.append(fresh)
                count = remaining[d]
                remaining[d] = None if count is None else count - 1
                break
        else:
            left.append(number)
    made = [
        Load(o.deck, tuple(Row(tuple(row), max(pieces[i].length for lane in row for i in lane)) for row in o.rows))
        for o in loads
    ]
    return made, sorted(left)
