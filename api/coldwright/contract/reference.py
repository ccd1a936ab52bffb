"""Where a rule, a table or a number comes from, and how well that is known."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

Provenance = Literal["seen", "seen_reproduced", "library", "derived", "common_practice", "memory"]

PROVENANCE_MEANING: dict[Provenance, str] = {
    "seen": "read in the published text",
    "seen_reproduced": "read as quoted or reproduced elsewhere; confirm against the standard",
    "library": "computed with the named library",
    "derived": "follows from the stated equation",
    "common_practice": "common practice, no source",
    "memory": "from memory; confirm against the edition in force",
}


class Reference(Struct, frozen=True, kw_only=True):
    """A source, with how it was seen."""

    id: Annotated[str, Meta(description="Short name by which notes point here.")]
    title: Annotated[str, Meta(description="Title of the standard, handbook, page or library.")]
    edition: Annotated[str, Meta(description="Edition, year or version; empty where there is none.")] = ""
    clause: Annotated[str, Meta(description="Clause, table, equation or page.")] = ""
    provenance: Annotated[Provenance, Meta(description="How well it is known: see `GET /v1/references`.")]
    remark: Annotated[str, Meta(description="What else a careful reader should know.")] = ""
