"""Refusals of ids, names and tags that are used twice where each must stand for one thing."""

from collections.abc import Iterable

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, field_error


def repeated(located: Iterable[tuple[str, str]], why: str | UnsetType = UNSET) -> list[FieldError]:
    """An error for each name that was used before, naming its field and the first use.

    `located` are pairs of JSON pointer and name: `((f"/machines/{i}/id", m.id) for i, m in enumerate(machines))`.
    """
    first: dict[str, str] = {}
    errors = []
    for pointer, name in located:
        if name in first:
            text = f"{name!r} is used twice: it is at {first[name]} already."
            errors.append(field_error(pointer, text, value=name, why=why))
        else:
            first[name] = pointer
    return errors
