"""Fields that a chosen method needs, or takes and does not use, and ids that are used twice."""

from collections.abc import Iterable
from functools import cache
from typing import Any

from msgspec import NODEFAULT, UNSET, Struct

from coldwright.contract import FieldError, Notes, Refused, field_error
from coldwright.contract.walk import fields_of
from coldwright_basis.repeats import repeated


def missing_fields(given: Any, names: Iterable[str], when: str) -> list[FieldError]:
    """An error for each field that the chosen method needs and that was not given."""
    return [
        field_error(f"/{name}", f"This field is required {when}.", code="missing")
        for name in names
        if getattr(given, name) in (UNSET, ())
    ]


def require(given: Any, names: Iterable[str], when: str) -> None:
    """Refuse when fields that the chosen method needs are missing; all are named."""
    if errors := missing_fields(given, names, when):
        raise Refused(errors)


def repeated_ids(entries: Iterable[Any], pointer: str) -> list[FieldError]:
    """An error for each entry whose id was used before."""
    located = ((f"{pointer}/{index}/id", entry.id) for index, entry in enumerate(entries))
    return repeated(located, why="Ids name results.")


def note_ignored(given: Struct, names: Iterable[str], chosen: str, notes: Notes) -> None:
    """Note fields that belong to another method; they are taken and not used."""
    usual = _usual(type(given))
    unused = [name for name in names if getattr(given, name) != usual.get(name, UNSET)]
    if unused:
        notes.note(
            "field_of_another_method",
            f"Not used with {chosen}: {', '.join(unused)}.",
            field=f"/{unused[0]}",
        )


@cache
def _usual(struct: type[Struct]) -> dict[str, Any]:
    """The default of each field that has one."""
    return {f.name: f.default for f in fields_of(struct) if f.default is not NODEFAULT}
