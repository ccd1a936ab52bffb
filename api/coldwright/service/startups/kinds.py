"""What the calculator says of its observations: read off its types, so that no kind is named here."""

from functools import cache
from typing import Any, Literal, get_args, get_origin

import msgspec
from msgspec import Raw, Struct

from coldwright.contract.walk import fields_of, metas, parts, plain, structs_in


class Kinds(Struct, frozen=True):
    """The observations that a calculator takes."""

    observation: Any
    """One of them: a union by kind."""
    roles: frozenset[str]
    """Roles that it knows; none where it takes any text."""


@cache
def statuses_of(results: type[Struct]) -> tuple[str, ...]:
    """The words of a verdict."""
    status = next(plain(f.annotation) for f in fields_of(results) if f.name == "status")
    return tuple(map(str, get_args(status)))


@cache
def kinds_of(given: type[Struct]) -> Kinds:
    """Of the input of a calculator that has `observations`."""
    annotation = next(f.annotation for f in fields_of(given) if f.name == "observations")
    first = {f.name: f.annotation for f in fields_of(next(structs_in(annotation)))}
    return Kinds(
        observation=next(iter(parts(annotation))),
        roles=frozenset(_words(first["role"])),
    )


SHARED = "x-shared-between-starts"
KNOWN_WORDS = "x-known-words"
"""Marks a text that is best one of some words, where another that was kept once is still read."""


@cache
def shared_fields(given: type[Struct]) -> tuple[str, ...]:
    """Fields of the configuration whose name several starts have in common, as the calculator's types mark them."""
    annotation = next(f.annotation for f in fields_of(given) if f.name == "configuration")
    configuration = next(iter(structs_in(annotation)))
    return tuple(
        f.wire_name
        for f in fields_of(configuration)
        if any((meta.extra_json_schema or {}).get(SHARED) for meta in metas(f.annotation))
    )


def shared_names(configuration: bytes, fields: tuple[str, ...]) -> tuple[str, ...]:
    """The names under which a start finds the others; spelt alike however they were typed."""
    given = msgspec.json.decode(configuration, type=dict[str, Raw])
    return tuple(shared_name(f, msgspec.json.decode(given[f], type=str)) for f in fields if f in given)


def shared_name(field: str, name: str) -> str:
    """One of them."""
    return f"{field}:{' '.join(name.casefold().split())}"[:300]


def takes(given: type[Struct], field: str) -> bool:
    """Whether the input of a calculator has a field of that name."""
    return any(f.name == field for f in fields_of(given))


def _words(annotation: Any) -> list[str]:
    """The words that a field takes, where its type or its schema lists them."""
    core = plain(annotation)
    if get_origin(core) is Literal:
        return [str(word) for word in get_args(core)]
    return [word for meta in metas(annotation) for word in (meta.extra_json_schema or {}).get(KNOWN_WORDS, ())]
