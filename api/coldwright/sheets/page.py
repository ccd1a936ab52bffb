"""What a page is made of, before anyone decides whether it becomes text, HTML or PDF."""

from dataclasses import dataclass
from typing import Literal

Mark = Literal["stop", "check", "note", "caution", "ask"]
Tone = Literal["good", "care", "bad", "plain"]


@dataclass(frozen=True)
class Facts:
    """Names with what is true of them."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Column:
    """A column of a table; `share` is its part of the width."""

    heading: str
    share: int = 10
    number: bool = False


@dataclass(frozen=True)
class Table:
    """Rows under headings."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Lines:
    """A list; numbered where the order counts."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Prose:
    """A paragraph."""

    text: str


@dataclass(frozen=True)
class Heading:
    """A heading inside a section."""

    text: str


@dataclass(frozen=True)
class Notice:
    """Something that a person must not miss: a finding, a caution, an open question."""

    mark: Mark
    text: str
    more: tuple[tuple[str, str], ...] = ()
    """What belongs to it: why, what would free it, who says so."""


@dataclass(frozen=True)
class Notices:
    """Notices, the gravest first."""

    items: tuple[Notice, ...]


@dataclass(frozen=True)
class Drawing:
    """An SVG document. Only the HTML page shows it, as an image, in which no script runs."""

    title: str
    svg: str


Block = Facts | Table | Lines | Prose | Heading | Notices | Drawing


@dataclass(frozen=True)
class Section:
    """A part of the page."""

    title: str
    blocks: tuple[Block, ...]
    appendix: bool = False
    """Whether a short page leaves it out."""


@dataclass(frozen=True)
class Sheet:
    """A page: what it is, its verdict first, then the rest."""

    kind: str
    """What the page is: `Plan`, `Start-up`, `Record`."""
    title: str
    tone: Tone
    verdict: str
    """The answer in a few words."""
    lead: tuple[str, ...]
    """What stands right under the verdict."""
    sections: tuple[Section, ...]
    foot: tuple[str, ...]


def section(title: str, *blocks: Block | None, appendix: bool = False) -> Section | None:
    """A section, or nothing where it would be empty. Facts that follow facts join them."""
    kept: list[Block] = []
    for block in blocks:
        if isinstance(block, Facts) and kept and isinstance(kept[-1], Facts):
            kept[-1] = Facts(kept[-1].rows + block.rows)
        elif block is not None:
            kept.append(block)
    return Section(title, tuple(kept), appendix) if any(not isinstance(b, Heading) for b in kept) else None


MOST_ROWS = 200
"""A page is for people: longer lists are cut, and it says where the rest is."""


def shortened(table: Table, most: int = MOST_ROWS) -> tuple[Block, ...]:
    """The table, or its first rows with a word on the others."""
    left_out = len(table.rows) - most
    if left_out <= 0:
        return (table,)
    return Table(table.columns, table.rows[:most]), Prose(f"{left_out:,} more rows are in the JSON answer.")


def facts(*rows: tuple[str, str]) -> Facts | None:
    """Facts without those that nobody knows."""
    kept = tuple((name, text) for name, text in rows if text)
    return Facts(kept) if kept else None
