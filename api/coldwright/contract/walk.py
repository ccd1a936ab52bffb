"""Knowledge about structs, gathered once per type: fields, their `About`, the structs inside them."""

import types
import typing
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, NamedTuple, get_args, get_origin

import msgspec
from msgspec import NODEFAULT, Meta, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract.fields import About, Within
from coldwright.contract.quantities import Quantity


class FieldFacts(NamedTuple):
    """One field of a struct."""

    name: str
    wire_name: str
    required: bool
    default: Any
    description: str
    about: About
    annotation: Any
    quantity: type[Quantity] | None
    holds_structs: bool


def plain(annotation: Any) -> Any:
    """The annotation without `Annotated`, and without `UnsetType` in a union of two."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (typing.Union, types.UnionType):
        rest = [a for a in get_args(annotation) if a is not UnsetType and a is not type(None)]
        if len(rest) == 1:
            return plain(rest[0])
    return annotation


def parts(annotation: Any) -> Iterator[Any]:
    """The types inside a container or union, else nothing."""
    if get_origin(plain(annotation)) is not None:
        yield from (a for a in get_args(plain(annotation)) if a is not Ellipsis)


def structs_in(annotation: Any) -> Iterator[type[Struct]]:
    """Structs named by an annotation, not those inside them."""
    core = plain(annotation)
    if isinstance(core, type) and issubclass(core, Struct):
        yield core
    for part in parts(core):
        yield from structs_in(part)


def quantity_in(annotation: Any) -> type[Quantity] | None:
    """The kind of quantity that an annotation names, also inside a list or a union."""
    core = plain(annotation)
    if isinstance(core, type) and issubclass(core, Quantity):
        return core
    return next((kind for part in parts(core) if (kind := quantity_in(part)) is not None), None)


def _of_kind(about: About, annotation: Any) -> About:
    """With the range of a plugin's own kind, where the field states none."""
    kind = quantity_in(annotation) if about.within is None else None
    own = kind.declared if kind is not None else None
    if own is None or (own.low is None and own.high is None):
        return about
    return replace(about, within=Within(own.base, own.low, own.high, why=own.why))


def all_structs(*roots: Any) -> list[type[Struct]]:
    """Every struct reachable from the roots, in order of declaration."""
    seen: dict[type[Struct], None] = {}
    queue = [s for root in roots for s in structs_in(root)]
    while queue:
        struct = queue.pop(0)
        if struct not in seen:
            seen[struct] = None
            queue += _structs_of(struct)
    return list(seen)


@cache
def _structs_of(struct: type[Struct]) -> tuple[type[Struct], ...]:
    """Structs named by the fields of one."""
    return tuple(dict.fromkeys(s for facts in fields_of(struct) for s in structs_in(facts.annotation)))


def metas(annotation: Any) -> Iterator[Meta]:
    """`Meta`s from the inside out, those of the members of a union included."""
    if get_origin(annotation) is Annotated:
        yield from metas(get_args(annotation)[0])
        yield from (m for m in annotation.__metadata__ if isinstance(m, Meta))
    elif get_origin(annotation) in (typing.Union, types.UnionType):
        for part in get_args(annotation):
            yield from metas(part)


@cache
def fields_of(struct: type[Struct]) -> tuple[FieldFacts, ...]:
    """Facts of the fields of a struct type."""
    hints = typing.get_type_hints(struct, include_extras=True)
    facts = []
    for field in msgspec.structs.fields(struct):
        annotation = hints[field.name]
        about, description = About(), ""
        for meta in metas(annotation):
            description = meta.description or description
            about = (meta.extra or {}).get("about", about)
        about = _of_kind(about, annotation)
        core = plain(annotation)
        quantity = core if isinstance(core, type) and issubclass(core, Quantity) else None
        default = field.default
        if default is NODEFAULT and field.default_factory is not NODEFAULT:
            default = field.default_factory()
        facts.append(
            FieldFacts(
                field.name,
                field.encode_name,
                field.required,
                default,
                description,
                about,
                annotation,
                quantity,
                quantity is None and next(structs_in(annotation), None) is not None,
            )
        )
    return tuple(facts)


def pointer_to(base: str, key: object) -> str:
    """JSON pointer of a member (RFC 6901)."""
    return f"{base}/{str(key).replace('~', '~0').replace('/', '~1')}"


def children(value: Any, pointer: str) -> Iterator[tuple[str, Struct]]:
    """Structs directly inside a value, with their pointers."""
    if isinstance(value, Struct):
        yield pointer, value
    elif isinstance(value, (list, tuple)):
        for index, item in enumerate(value):
            yield from children(item, f"{pointer}/{index}")
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from children(item, pointer_to(pointer, key))


def structs_inside(value: Any) -> Iterator[Struct]:
    """The same, without pointers."""
    if isinstance(value, Struct):
        yield value
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from structs_inside(item)
    elif isinstance(value, dict):
        for item in value.values():
            yield from structs_inside(item)
