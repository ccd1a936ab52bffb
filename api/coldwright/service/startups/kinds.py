"""What the calculator says of its observations: read off its types, so that no kind is named here."""

from functools import cache
from typing import Any, Literal, get_args, get_origin

from msgspec import Struct

from coldwright.contract.walk import fields_of, metas, parts, plain, structs_in


class Kinds(Struct, frozen=True):
    """The observations that a calculator takes."""

    observation: Any
    """One of them: a union by kind."""
    most: int
    """What the calculator takes at once is what one start-up can hold."""
    roles: frozenset[str]
    """Roles that it knows; none where it takes any text."""
    stamped: bool
    """Whether it asks when an observation was received, and when its batch was sent."""


@cache
def kinds_of(given: type[Struct]) -> Kinds:
    """Of the input of a calculator that has `observations`."""
    annotation = next(f.annotation for f in fields_of(given) if f.name == "observations")
    first = {f.name: f.annotation for f in fields_of(next(structs_in(annotation)))}
    role = plain(first["role"])
    return Kinds(
        observation=next(iter(parts(annotation))),
        most=min(m.max_length for m in metas(annotation) if m.max_length is not None),
        roles=frozenset(get_args(role)) if get_origin(role) is Literal else frozenset(),
        stamped="received_at" in first,
    )
