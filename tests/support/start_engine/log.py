"""All sightings at one instant of asking, and the one question that most rules are: is it established, surely and lately?"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from .sightings import Sighting, after

Wanted = Callable[[Sighting], bool]
EDIT = "edit of the plan"


def having(**wanted: object) -> Wanted:
    """Sightings whose data says all of this."""
    return lambda s: all(s.data.get(name) == value for name, value in wanted.items())


def has(name: str) -> Wanted:
    """Sightings that say anything under this name."""
    return lambda s: name in s.data


def about(other: Sighting) -> Wanted:
    """Sightings of the same subject."""
    return lambda s: s.subject == other.subject


def fails(test: Wanted) -> Wanted:
    """The other ones."""
    return lambda s: not test(s)


@dataclass(frozen=True)
class Objection:
    """Why a start may not go ahead. `waits`: time alone clears it."""

    rule: str
    why: str
    waits: bool = False


@dataclass(frozen=True)
class Log:
    """What was seen, and the instants between which it is asked: one instant for a start."""

    seen: tuple[Sighting, ...]
    now_lo: int
    now_hi: int

    @cached_property
    def _by_kind(self) -> dict[str, tuple[Sighting, ...]]:
        found: dict[str, list[Sighting]] = {}
        for sighting in self.seen:
            found.setdefault(sighting.kind, []).append(sighting)
        return {kind: tuple(sightings) for kind, sightings in found.items()}

    def all(self, *kinds: str, where: Wanted | None = None) -> list[Sighting]:
        """Every sighting of these kinds: what may speak against."""
        return [s for kind in kinds for s in self._by_kind.get(kind, ()) if where is None or where(s)]

    def good(self, *kinds: str, where: Wanted | None = None) -> list[Sighting]:
        """Those of them that may speak for."""
        return [s for s in self.all(*kinds, where=where) if s.stands]

    def then(self, *kinds: str, where: Wanted | None = None) -> list[Sighting]:
        """Those which showed what was so at their time, whatever was said of it later."""
        return [s for s in self.all(*kinds, where=where) if s.proves]

    def edits(self, *rules: str) -> list[Sighting]:
        """Edits of the plan that undo what these rules found."""
        return self.all(EDIT, where=lambda s: not s.data["rules"].isdisjoint(rules))

    def not_older(self, found: Iterable[Sighting], limit: int) -> list[Sighting]:
        """Those surely no older than the limit; age counts from the earliest instant."""
        return [s for s in found if self.now_hi - s.lo <= limit]

    def as_of(self, moment: Sighting) -> "Log":
        """What could be known when the moment came: good only what was surely seen by then, bad whatever may have been."""
        kept = [
            s if s.hi <= moment.lo or after(moment, s) else replace(s, proves=False)
            for s in self.seen
            if s is not moment and s.lo <= moment.hi and not after(s, moment)
        ]
        return Log(tuple(kept), moment.lo, moment.hi)

    def at(self, instant: int) -> "Log":
        """The same at one instant."""
        kept = [s if s.hi <= instant else replace(s, proves=False) for s in self.seen if s.lo <= instant]
        return Log(tuple(kept), instant, instant)


def surely_after_all(found: Iterable[Sighting], against: Iterable[Sighting]) -> list[Sighting]:
    """Those which came surely after everything that speaks against."""
    against = list(against)
    return [g for g in found if all(after(g, x) for x in against if x is not g)]


def stands(found: Iterable[Sighting], against: Iterable[Sighting]) -> bool:
    """Whether at least one good sighting came surely after everything that speaks against."""
    return bool(surely_after_all(found, against))


def each_last_good(sightings: Iterable[Sighting], is_good: Wanted) -> bool:
    """Of every subject ever seen bad, whether its last sighting is surely good."""
    subjects: dict[tuple[str, ...], list[Sighting]] = {}
    for s in sightings:
        subjects.setdefault(s.subject, []).append(s)
    for group in subjects.values():
        bad = [s for s in group if not is_good(s)]
        if bad and not stands([s for s in group if s.stands and is_good(s)], bad):
            return False
    return True


def objections(*found: Iterator[Objection]) -> list[Objection]:
    """All of them in order."""
    return [objection for some in found for objection in some]
