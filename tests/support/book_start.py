"""A start by the book, for the tests of the service: the base set of the published checks, all by one person. Invented."""

from typing import Any

from startup_histories import base, seen

Observation = dict[str, Any]
READY_AT = "2026-05-04T09:06:00Z"


def by_the_book(person: str = "Ann Hill") -> list[Observation]:
    """Ready at 09:06, every record by one person; by nobody where none is named."""
    return [_by(person, o) for o in base()]


def running(person: str = "Ann Hill") -> list[Observation]:
    """The same with the compressor on at 09:06."""
    return [*by_the_book(person), _by(person, seen("compressor", "09:06", "compressor-on", id="1", state="on"))]


def _by(person: str, observation: Observation) -> Observation:
    bare = {name: value for name, value in observation.items() if name != "by"}
    return bare | {"by": person} if person else bare
