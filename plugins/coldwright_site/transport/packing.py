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
    return loads, left, len(loads) == 1  # fewer than one there cannot be


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


class _Deck:
    """What one kind of vehicle carries of these pieces; sets of pieces are bits of a number."""

    def __init__(self, pieces: list[Piece], number: int, deck: Deck) -> None:
        self._pieces, self._deck = pieces, deck
        self._rows = _rows_of(pieces, deck)
        self._starting: list[list[tuple[int, float]]] = [[] for _ in pieces]
        for mask, row in self._rows.items():
            self._starting[(mask & -mask).bit_length() - 1].append((mask, row.length))
        self._able = sum(1 << i for i, p in enumerate(pieces) if fits(p, number, deck))
        self._shortest: dict[int, tuple[float, int]] = {0: (0.0, 0)}

    def carries(self, chosen: int) -> bool:
        """Whether all of a set go on one."""
        return (
            chosen & self._able == chosen
            and sum(p.mass for i, p in enumerate(self._pieces) if chosen >> i & 1) <= self._deck.payload + SLACK
            and self._least_length(chosen)[0] <= self._deck.length + SLACK
        )

    def _least_length(self, chosen: int) -> tuple[float, int]:
        """Least deck length of a set, and the first row of it (as a set)."""
        if chosen not in self._shortest:
            length, first = math.inf, 0
            for mask, row_length in self._starting[(chosen & -chosen).bit_length() - 1]:
                if mask & chosen == mask:
                    whole = row_length + self._least_length(chosen ^ mask)[0]
                    if whole < length - SLACK:
                        length, first = whole, mask
            self._shortest[chosen] = length, first
        return self._shortest[chosen]

    def rows_in(self, chosen: int) -> Iterable[Row]:
        """The rows of a set on its least length."""
        while chosen:
            first = self._least_length(chosen)[1]
            yield self._rows[first]
            chosen ^= first


def _least(pieces: list[Piece], decks: list[Deck]) -> list[Load] | None:
    """The least number of loads, then the least deck: every split of the pieces over so many vehicles is weighed."""
    kinds = [_Deck(pieces, number, deck) for number, deck in enumerate(decks)]

    @cache
    def carriers(chosen: int) -> tuple[int, ...]:
        return tuple(d for d, kind in enumerate(kinds) if kind.carries(chosen))

    @cache
    def best(chosen: int, counts: tuple[int, ...], loads: int) -> tuple[float, tuple[tuple[int, int], ...]] | None:
        """Least deck of exactly so many loads, with its kinds of vehicle and sets of pieces."""
        if chosen == 0 or loads == 0:
            return (0.0, ()) if chosen == loads == 0 else None
        low, rest, found = chosen & -chosen, chosen ^ (chosen & -chosen), None
        part = rest
        while True:
            load = part | low
            for d in carriers(load):
                if counts[d] == 0:
                    continue
                left = counts if counts[d] < 0 else (*counts[:d], counts[d] - 1, *counts[d + 1 :])
                more = best(chosen ^ load, left, loads - 1)
                if more is not None and (found is None or more[0] + decks[d].length < found[0]):
                    found = more[0] + decks[d].length, ((d, load), *more[1])
            if part == 0 or loads == 1:
                return found
            part = (part - 1) & rest

    everything = (1 << len(pieces)) - 1
    counts = tuple(-1 if d.available is None else min(d.available, len(pieces)) for d in decks)
    most = len(pieces) if -1 in counts else min(len(pieces), sum(counts))
    for loads in range(most + 1):
        if (whole := best(everything, counts, loads)) is not None:
            return [Load(d, tuple(kinds[d].rows_in(chosen))) for d, chosen in whole[1]]
    return None


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
