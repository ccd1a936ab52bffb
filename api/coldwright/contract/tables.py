"""Tables of standards and handbooks: data files with their citation, never constants in code.

A file `tables/NAME.json` of a plugin holds `id`, `title`, `reference` (a `Reference`), `remark`, and `rows` in a shape
that suits the table. Cells that were not seen are absent.
"""

import hashlib
from importlib.resources import files
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from coldwright.contract.decoders import decoder_of
from coldwright.contract.reference import Reference


class Table(Struct, frozen=True, kw_only=True):
    """A table with its citation."""

    id: Annotated[str, Meta(description="`family.name`, unique.")]
    title: Annotated[str, Meta(description="What it holds.")]
    reference: Annotated[Reference, Meta(description="Where it comes from, and how well that is known.")]
    remark: Annotated[str, Meta(description="Doubts, marks of single cells, rules of use.")] = ""
    columns: Annotated[tuple[str, ...], Meta(description="Names of the columns where rows are lists.")] = ()
    rows: Annotated[Any, Meta(description="The data.")]
    digest: Annotated[str, Meta(description="SHA-256 of the file.")] = ""


def load_table(package: str, name: str) -> Table:
    """Read `tables/NAME.json` of `package`. Called once, when the calculator's module is imported."""
    raw = files(package).joinpath("tables", f"{name}.json").read_bytes()
    table = decoder_of(Table).decode(raw)
    return msgspec.structs.replace(table, digest=hashlib.sha256(raw).hexdigest())
