"""Points, as every calculator of the family takes and gives them, and small helpers shared by the family."""

from collections.abc import Iterable
from typing import Annotated, Any

import msgspec
from msgspec import UNSET

from coldwright.contract import FieldError, Given, Notes, Refused, about, field_error
from coldwright.contract.quantities import Length

STANDARD_GRAVITY = 9.80665
"""m/s2, by definition (ISO 80000-3)."""


def metres(length: Length) -> float:
    """A coordinate in m, to the nanometre: finer, plane geometry breeds nothing but underflow."""
    return round(length.si, 9)


class Point(Given, frozen=True, kw_only=True):
    """A point in plan."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]

    @property
    def xy(self) -> tuple[float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y)


class Position(Given, frozen=True, kw_only=True):
    """A point in space; z is up."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]
    z: Annotated[Length, about("Height, in the same frame.", low=-1000, high=1000, unit="m")]

    @property
    def xyz(self) -> tuple[float, float, float]:
        """The coordinates in m."""
        return self.x.si, self.y.si, self.z.si


class Offset(Given, frozen=True, kw_only=True):
    """How far off something is in plan; a direction that is not given is 0."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m", basis="derived")] = Length(0.0, "m")
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m", basis="derived")] = Length(0.0, "m")

    @property
    def xy(self) -> tuple[float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y)


NO_OFFSET = Offset()


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


def refuse_repeated_ids(entries: Iterable[Any], pointer: str) -> list[FieldError]:
    """An error for each entry whose id stood before."""
    seen: set[str] = set()
    errors = []
    for index, entry in enumerate(entries):
        if entry.id in seen:
            errors.append(
                field_error(
                    f"{pointer}/{index}/id", "This id stands twice in the list.", value=entry.id, why="ids name results"
                )
            )
        seen.add(entry.id)
    return errors


def note_ignored(given: Any, names: Iterable[str], chosen: str, notes: Notes) -> None:
    """Tell of fields that belong to another method; they are taken and not used."""
    defaults = {f.name: f.default for f in msgspec.structs.fields(type(given))}
    unused = [name for name in names if getattr(given, name) != defaults[name]]
    if unused:
        notes.note(
            "field_of_another_method",
            f"Not used with {chosen}: {', '.join(unused)}.",
            field=f"/{unused[0]}",
        )
