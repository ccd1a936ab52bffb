"""`about(...)`: everything a field says of itself, once: description, bounds, range of a quantity, default's basis.

The schema, the range check, the refusal's text and the list of assumptions are all made from it, so they cannot part.
"""

from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta, Struct

Basis = Literal["standard", "handbook", "common_practice", "manufacturer", "default", "derived"]


def exactly(pattern: str) -> str:
    """A pattern for the whole text. `$` would take a line break behind it; the document writes `$`, as ECMA 262 means it."""
    return rf"^{pattern.removeprefix('^').removesuffix('$')}\Z"


TEXT_PATTERN = exactly(r"[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]*")
"""Text without control characters, since text is stored, logged and printed."""

Text = Annotated[str, Meta(max_length=200, pattern=TEXT_PATTERN)]
Fraction = Annotated[float, Meta(ge=0, le=1)]


class Given(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, gc=False):
    """Base of everything that is sent in, at any depth. Say `frozen=True, kw_only=True` again in each subclass."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = ()
    """Groups of optional fields of which one must be there, so that its absence is reported with the other missing fields."""


class Results(Struct, frozen=True, kw_only=True, gc=False):
    """Base of everything that is sent back, at any depth. Say `frozen=True, kw_only=True` again in each subclass."""


class Within(Struct, frozen=True):
    """The range of a quantity, in one of its units."""

    unit: str
    low: float | None = None
    high: float | None = None
    above: float | None = None
    below: float | None = None
    why: str = ""


class FileLimit(Struct, frozen=True):
    """What a field with a `File` or a `Picture` takes."""

    media_types: tuple[str, ...] = ()
    """None: any."""
    most_bytes: int = 0
    """0: as many as any file may have."""


class About(Struct, frozen=True):
    """What msgspec's own `Meta` has no place for."""

    within: Within | None = None
    why: str = ""
    us: str = ""
    basis: Basis = "default"
    references: tuple[str, ...] = ()
    block_of: str = ""
    file: FileLimit | None = None


def about(
    description: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    below: float | None = None,
    unit: str = "",
    why: str = "",
    us: str = "",
    basis: Basis = "default",
    references: tuple[str, ...] = (),
    min_length: int | None = None,
    max_length: int | None = None,
    pattern: str | None = None,
    examples: list[Any] | None = None,
    block_of: str = "",
    media_types: tuple[str, ...] = (),
    most_bytes: int = 0,
) -> Meta:
    """Describe a field.

    `low`/`high` (inclusive) and `above`/`below` (exclusive) bound it: a quantity in `unit`, a plain number without.
    `why` gives the caller the reason of the bounds. `us` is the unit that answers in US units use where it is not the
    kind's usual one (cooling in `ton`). `basis` and `references` say where the default comes from. `block_of`, in the
    input of a part of a plan or a start, is the id of the other part whose block is taken here. `media_types` and
    `most_bytes` limit a `File` or a `Picture`.
    """
    within = Within(unit, low, high, above, below, why) if unit else None
    limit = FileLimit(media_types, most_bytes) if media_types or most_bytes else None
    extra = {"about": About(within, why, us, basis, references, block_of, limit)}
    bounds = {"minimum": low, "maximum": high, "exclusiveMinimum": above, "exclusiveMaximum": below}
    schema: dict[str, Any] = {}
    if unit:
        schema["x-range"] = {k: v for k, v in bounds.items() if v is not None} | {"unit": unit}
        if why:
            schema["x-range"]["why"] = why
        low = high = above = below = None
    if block_of:
        schema["x-block-of"] = block_of
    if limit is not None:
        schema["x-file"] = {k: v for k, v in (("media_types", media_types), ("most_bytes", most_bytes)) if v}
    limits: dict[str, Any] = {
        "ge": low,
        "le": high,
        "gt": above,
        "lt": below,
        "min_length": min_length,
        "max_length": max_length,
        "pattern": exactly(pattern) if pattern and pattern.endswith("$") else pattern,
    }
    return Meta(description=description, examples=examples, extra=extra, extra_json_schema=schema or None, **limits)
