"""How the contract says no: to a caller (`Refused`, `Malformed`) and of a calculator's own fault (`Defect`)."""

from collections.abc import Iterable
from typing import Annotated, Any

from msgspec import UNSET, Meta, Struct, UnsetType

Bound = Annotated[float, Meta(ge=-(2.0**53), le=2.0**53)]
"""A bound of a field: that of a counter is the largest whole number that every reader of JSON keeps."""


class Allowed(Struct, frozen=True, omit_defaults=True):
    """What would have been taken instead."""

    minimum: Annotated[Bound | UnsetType, Meta(description="Least value taken, in `unit`.")] = UNSET
    maximum: Annotated[Bound | UnsetType, Meta(description="Greatest value taken, in `unit`.")] = UNSET
    above: Annotated[Bound | UnsetType, Meta(description="The value must be above this, in `unit`.")] = UNSET
    below: Annotated[Bound | UnsetType, Meta(description="The value must be below this, in `unit`.")] = UNSET
    unit: Annotated[str | UnsetType, Meta(description="Unit of the bounds; absent for a plain number.")] = UNSET
    one_of: Annotated[tuple[str, ...] | UnsetType, Meta(description="The words or numbers that are taken.")] = UNSET


class FieldError(Struct, frozen=True, omit_defaults=True):
    """One thing wrong with one field."""

    pointer: Annotated[str, Meta(description="JSON pointer of the field, as a URI fragment: `#/fluid/temperature`.")]
    code: Annotated[str, Meta(description="Stable word for the kind of error.")]
    detail: Annotated[str, Meta(description="What is wrong, in a sentence.")]
    value: Annotated[Any, Meta(description="The value that was sent, where it is short enough to repeat.")] = UNSET
    allowed: Annotated[Allowed | UnsetType, Meta(description="What would be taken.")] = UNSET
    why: Annotated[str | UnsetType, Meta(description="Why the limit is there.")] = UNSET


class Refused(Exception):  # noqa: N818 - it is an answer, not a fault
    """The input is understood and not taken. Carries every wrong field that was found."""

    def __init__(self, errors: Iterable[FieldError]) -> None:
        self.errors = tuple(errors)
        super().__init__("; ".join(f"{e.pointer}: {e.detail}" for e in self.errors))


class Malformed(Exception):  # noqa: N818
    """The bytes are not JSON that can be read without doubt."""

    def __init__(self, code: str, detail: str) -> None:
        self.code, self.detail = code, detail
        super().__init__(detail)


class Defect(Exception):  # noqa: N818
    """A calculator broke the contract: not the caller's fault."""


def field_error(
    pointer: str,
    detail: str,
    *,
    code: str = "refused",
    value: object = UNSET,
    allowed: Allowed | UnsetType = UNSET,
    why: str | UnsetType = UNSET,
) -> FieldError:
    """One error; `pointer` is a plain JSON pointer, `/motors/0/role`."""
    return FieldError(pointer=f"#{pointer}", code=code, detail=detail, value=value, allowed=allowed, why=why)


def refuse(
    pointer: str,
    detail: str,
    *,
    code: str = "refused",
    value: object = UNSET,
    allowed: Allowed | UnsetType = UNSET,
    why: str | UnsetType = UNSET,
) -> Refused:
    """`raise refuse("/length", "...")`: a refusal of one field. Collect `field_error`s in `Refused` for several."""
    return Refused([field_error(pointer, detail, code=code, value=value, allowed=allowed, why=why)])
