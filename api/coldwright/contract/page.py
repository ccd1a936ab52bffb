"""What a page is made of, before anyone decides whether it becomes text, HTML or PDF."""

import re
from collections.abc import Callable, Iterable
from typing import Any, Literal

from msgspec import Struct

from coldwright.contract import series as columns_of
from coldwright.contract.files import Picture

Mark = Literal["stop", "check", "note", "caution", "ask"]
Tone = Literal["good", "care", "bad", "plain"]
Shape = Literal["", "stop", "blocked", "wait", "check", "ready", "running", "ended"]
"""A sign of its own for each state, so that it is seen without colour."""


class Facts(Struct, frozen=True, tag=True):
    """Names with what is true of them."""

    rows: tuple[tuple[str, str], ...]


class Column(Struct, frozen=True):
    """A column of a table; `share` is its part of the width."""

    heading: str
    share: int = 10
    number: bool = False


class Table(Struct, frozen=True, tag=True):
    """Rows under headings."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


class Lines(Struct, frozen=True, tag=True):
    """A list; numbered where the order counts."""

    items: tuple[str, ...]
    numbered: bool = False


class Prose(Struct, frozen=True, tag=True):
    """A paragraph."""

    text: str


class Heading(Struct, frozen=True, tag=True):
    """A heading inside a section."""

    text: str


class Notice(Struct, frozen=True):
    """Something that a person must not miss: a finding, a caution, an open question."""

    mark: Mark
    text: str
    more: tuple[tuple[str, str], ...] = ()
    """What belongs to it: why, its source."""
    action: str = ""
    """What to do about it, as an order to somebody. Where it is known it is the largest, and `text` the reason."""


class Notices(Struct, frozen=True, tag=True):
    """Notices, the gravest first."""

    items: tuple[Notice, ...]


class Drawing(Struct, frozen=True, tag=True):
    """An SVG document, shown as an image, in which no script runs. Text says that there is one, and `says` in words what."""

    title: str
    svg: str
    says: str = ""


class Image(Struct, frozen=True, tag=True):
    """A picture. HTML shows it as an image, in which no script runs; PDF prints photographs and PNG."""

    title: str
    media_type: Literal["image/png", "image/jpeg", "image/svg+xml"]
    content: bytes


class Step(Struct, frozen=True):
    """Something to do."""

    do: str
    when: str = ""
    who: str = ""
    good_when: str = ""
    """How one sees that it is done."""


class Steps(Struct, frozen=True, tag=True):
    """What to do, in order."""

    items: tuple[Step, ...]


class Series(Struct, frozen=True):
    """A line of a plot."""

    name: str
    points: tuple[tuple[float, float], ...]


class Spot(Struct, frozen=True):
    """A place in a plot that has a name: where it runs."""

    x: float
    y: float
    text: str


class Bound(Struct, frozen=True):
    """A limit in a plot: a dashed line across at a value of the side, or upright at one of the bottom."""

    at: float
    text: str
    upright: bool = False


class Plot(Struct, frozen=True, tag=True):
    """Numbers over a number. HTML and PDF draw it; every form has the numbers, or says them in words."""

    title: str
    across: str
    """What is along the bottom, with its unit."""
    up: str
    """What is along the side, with its unit."""
    series: tuple[Series, ...]
    says: str = ""
    """In words where it runs and what the limit is. Where it is given, the numbers are not printed as a table too."""
    spots: tuple[Spot, ...] = ()
    bounds: tuple[Bound, ...] = ()


class Span(Struct, frozen=True):
    """Something that takes from one time to another."""

    start: float
    end: float
    text: str
    strong: bool = False
    """Whether a delay here delays the whole."""


class Lane(Struct, frozen=True):
    """Somebody, and what they do when."""

    name: str
    spans: tuple[Span, ...]


class Bars(Struct, frozen=True, tag=True):
    """Who does what when, side by side. A table or list beside it has the same in words."""

    title: str
    across: str
    """What is along the bottom, with its unit."""
    lanes: tuple[Lane, ...]
    says: str = ""


class Level(Struct, frozen=True):
    """How much of a limit is used."""

    name: str
    text: str
    """The room that is left, in the quantity's own unit."""
    used: float
    """As a fraction: 1 is at the limit, more is over it."""


class Levels(Struct, frozen=True, tag=True):
    """Room left under several limits, as bars with their texts."""

    title: str
    items: tuple[Level, ...]


class Action(Struct, frozen=True, tag=True):
    """The one thing to do now, as the largest on the page."""

    do: str
    more: tuple[str, ...] = ()
    """Who does it, how long it takes, why."""
    leave: bool = False
    """Whether it is to be left alone: then nothing about it looks as if it could be pressed."""


class Slot(Struct, frozen=True, tag=True):
    """A place that whoever shows the page may fill with a form of its own. Nothing, or `instead`, where nobody does."""

    name: str
    instead: tuple["Facts | Table | Lines | Prose | Blanks", ...] = ()


class Blank(Struct, frozen=True):
    """Something to read off and write down."""

    name: str
    expected: str = ""
    """What it should be, or between which limits; empty where nothing is known."""
    unit: str = ""


class Task(Struct, frozen=True):
    """Something to do, with a box to tick, blanks for what is measured, and the caution that belongs to it."""

    do: str
    when: str = ""
    who: str = ""
    blanks: tuple[Blank, ...] = ()
    caution: str = ""


class Tasks(Struct, frozen=True, tag=True):
    """What to do and to write down, on a sheet that somebody carries."""

    items: tuple[Task, ...]


class Blanks(Struct, frozen=True, tag=True):
    """Lines to fill in by hand."""

    items: tuple[Blank, ...]


Block = (
    Facts
    | Table
    | Lines
    | Prose
    | Heading
    | Notices
    | Drawing
    | Steps
    | Plot
    | Bars
    | Levels
    | Tasks
    | Blanks
    | Action
    | Slot
    | Image
)


class Section(Struct, frozen=True, tag=True):
    """A part of the page."""

    title: str
    blocks: tuple[Block, ...]
    appendix: bool = False
    """Whether a short page leaves it out."""
    fact: str = ""
    """What it says, in a line."""
    folded: bool = False
    """Whether the line will do: HTML folds the blocks away, text and PDF leave them out and say so."""
    closed: bool = False
    """Whether HTML folds it away all the same; other forms print it."""


class Standard(Struct, frozen=True, tag=True):
    """A section that is made of what every answer has. The page says where it stands, the sheets write it."""

    what: Literal["findings", "cautions", "assumptions", "defaults", "given", "parts", "working", "sources"]
    title: str = ""
    """Of findings, and of what was asked."""
    severities: tuple[Literal["stop", "check", "note"], ...] = ()
    """Of findings, the gravest first."""
    once: bool = False
    """Whether findings that read alike are shown once."""
    at: str = ""
    """Of what was asked: the member of the input; all of it where nothing is said."""
    cited: bool = False
    """Of sources: only those that a stop, a check or an assumption of the page cites."""
    fact: str = ""
    folded: bool = False
    closed: bool = False
    """All three as those of a `Section`."""


class Page(Struct, frozen=True):
    """What a calculator's `page` gives: the verdict first, then the rest."""

    kind: str
    """What the page is: `Plan`, `Start-up`, `Record`."""
    title: str
    tone: Tone
    verdict: str
    """The answer in a few words."""
    lead: tuple[str, ...] = ()
    """What stands right under the verdict."""
    sections: tuple[Section | Standard, ...] = ()
    foot: tuple[str, ...] = ()
    """Above the last word, which every page has."""
    mark: str = ""
    """Before who answered and the digest, in the last line."""
    rest: str = ""
    """How to get what is folded away, for forms that leave it out."""
    dense: bool = False
    """Whether it is a sheet to carry: small, in two columns, black and white."""
    shape: Shape = ""
    language: str = "en"
    """In which it is written."""
    translated: tuple[tuple[str, str], ...] = ()
    """Sentences and names of the answer that the standard sections show, each with what it is in that language."""


class Occasion(Struct, frozen=True, kw_only=True):
    """What the page is for, beside the answer: empty where nobody knows."""

    revision: int = 0
    """Of a kept order."""
    details: bool = False
    """Whether everything was asked for: nothing is folded away then, and values taken by default are shown."""
    printed: str = ""
    """The day on which it is printed."""
    sheet: Literal["", "crew"] = ""
    """Which of its pages: the usual one, or what a crew carries. One that has no such page gives its usual one."""
    number: int = 0
    """Which machine of a plant such a sheet is for, counted from 1 in the order of the plan; 0: the whole plant."""
    serials: tuple[tuple[str, str], ...] = ()
    """Type and serial number of the machines that were assigned to a booking."""
    id: str = ""
    """Of a start-up."""
    machine: str = ""
    booking: str = ""
    observations: int = 0
    zone: str = ""
    """IANA name of the zone of the site, where times are to be said in it."""
    language: str = "en"
    """In which it is to be written, as far as the calculator's words are translated."""


PageMaker = Callable[[Any, Occasion], Page]
"""`page(answer, occasion)`: of the typed answer, `answer.given` and `answer.results` included. It computes nothing."""


class Sheet(Struct, frozen=True):
    """A page with everything written, ready to be rendered as text, HTML or PDF."""

    kind: str
    title: str
    tone: Tone
    verdict: str
    lead: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: tuple[str, ...]
    rest: str = ""
    printed: str = ""
    dense: bool = False
    shape: Shape = ""
    language: str = "en"


def present(parts: Iterable[Section | Standard | None]) -> tuple[Section | Standard, ...]:
    """The sections that have something to say."""
    return tuple(p for p in parts if p is not None)


def under(title: str, *blocks: Block | None) -> tuple[Block | None, ...]:
    """Blocks under a heading, or nothing at all."""
    return (Heading(title), *blocks) if any(b is not None for b in blocks) else ()


def image(picture: Picture) -> Image:
    """A picture of the results."""
    return Image(picture.title, picture.media_type, picture.content)


def plots(title: str, shown: columns_of.Series) -> tuple[Plot, ...]:
    """The columns of a series, drawn: a plot for each unit, all over the same numbers."""
    units = dict.fromkeys(c.unit for c in shown.columns)
    along = columns_of.with_unit(shown.along)
    return tuple(
        Plot(
            title if len(units) == 1 else f"{title}, {columns_of.sign_of(unit)}",
            along,
            columns_of.sign_of(unit),
            tuple(
                Series(c.name, tuple(zip(shown.along.values, c.values, strict=True)))
                for c in shown.columns
                if c.unit == unit
            ),
        )
        for unit in units
    )


def grid(columns: Iterable[tuple[str, int]], rows: Iterable[tuple[str, ...]]) -> Table | None:
    """A table of texts; columns that no row fills are left out, columns of numbers stand to the right."""
    heads, cells = tuple(columns), tuple(rows)
    used = [i for i in range(len(heads)) if any(row[i] for row in cells)]
    shown = tuple(Column(heads[i][0], heads[i][1], number=_are_numbers(row[i] for row in cells)) for i in used)
    return Table(shown, tuple(tuple(row[i] for i in used) for row in cells)) if cells and used else None


_NUMBER = re.compile(r"-?[\d,]*\.?\d+(e-?\d+)?(°|( [^ ]+)*)?")


def _are_numbers(cells: Iterable[str]) -> bool:
    return all(_NUMBER.fullmatch(cell) for cell in cells if cell)


def section(
    title: str,
    *blocks: Block | None,
    appendix: bool = False,
    fact: str = "",
    folded: bool = False,
    closed: bool = False,
) -> Section | None:
    """A section, or nothing where it would be empty. Facts that follow facts join them."""
    kept: list[Block] = []
    for block in blocks:
        if isinstance(block, Facts) and kept and isinstance(kept[-1], Facts):
            kept[-1] = Facts(kept[-1].rows + block.rows)
        elif block is not None:
            kept.append(block)
    if all(isinstance(b, Heading) for b in kept):
        return None
    return Section(title, tuple(kept), appendix, fact, folded, closed)


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
