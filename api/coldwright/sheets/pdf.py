"""A page as PDF, for the file and the printer. The same page gives the same bytes."""

import io
import threading
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from itertools import zip_longest
from typing import Any, Literal
from xml.sax.saxutils import escape

from coldwright.contract.language import Say, words_in
from coldwright.contract.language import marked as _
from coldwright.contract.page import (
    Action,
    Bars,
    Blank,
    Blanks,
    Block,
    Drawing,
    Facts,
    Heading,
    Image,
    Levels,
    Lines,
    Notice,
    Notices,
    Plot,
    Prose,
    Section,
    Sheet,
    Slot,
    Table,
    Task,
    Tasks,
)
from coldwright.contract.people import plain_text
from coldwright.sheets.html import printed_on
from coldwright.sheets.pictures import SMALLEST, alone, on_paper, picture_of, shrinking
from coldwright.sheets.text import LINE_TO_WRITE_ON, PACKAGE, PICTURE, marks_in, written

Paper = Literal["a4", "letter"]
COLOURS = {"good": "#14643c", "care": "#7a4b00", "bad": "#9b1616", "plain": "#23435c"}
TONE_OF_MARK = {"stop": "bad", "caution": "bad", "check": "care", "ask": "care", "note": "plain"}
MARGIN = 42.0
"""Points, on all sides of the paper."""
DENSE_MARGIN, GUTTER = 26.0, 12.0
DENSE, SIDES = (0.84, 0.8, 0.76), 2
"""Sizes of the letters of a sheet to carry, beside those of other pages: the largest with which it is one sheet of paper."""
SIDE_BY_SIDE = 400.0
"""Points of width from which two pictures stand side by side."""
MOST_HEIGHT = 330.0
"""Points that a picture is high at most."""
ROOM_FOR_SECTION, ROOM_FOR_HEADING = 80.0, 60.0
"""Points below a heading without which it goes to the next page."""
HIGHEST_IMAGE = 360.0
HAND = 19.0
"""Points from line to line where somebody writes by hand."""
FRAME = 6.0
"""Points that the library keeps free inside the margins."""
LETTERS_LACK = _("{n} letters can't be printed here; the HTML page has them.")
CANNOT_DRAW = _("This drawing can't be printed here; the HTML page has it.")
_making = threading.Lock()
"""The library keeps tables of fonts and paragraphs for the whole process: one page is made at a time."""


def as_pdf(sheet: Sheet, paper: Paper = "a4") -> bytes:
    """Upright, numbered pages, its letters embedded."""
    with _making:
        if not sheet.dense:
            return _make(sheet, paper, 1.0)[0]
        for scale in DENSE:
            made, pages = _make(sheet, paper, scale)
            if pages <= SIDES:
                break
        return made


def _make(sheet: Sheet, paper: Paper, scale: float) -> tuple[bytes, int]:
    """With how many pages it has."""
    from reportlab.lib.pagesizes import A4, LETTER
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    wide, high = LETTER if paper == "letter" else A4
    margin = DENSE_MARGIN if sheet.dense else MARGIN
    gutter = GUTTER if sheet.dense else 0.0
    columns = 2 if sheet.dense else 1
    column = (wide - 2 * margin - gutter * (columns - 1)) / columns
    say = words_in(PACKAGE, sheet.language)
    printer = _Printer(column - 2 * FRAME, scale, marks_in(sheet.language), say)
    story = list(printer.story(sheet))
    if printer.missing:
        story.append(printer.paragraph(say(LETTERS_LACK).format(n=printer.missing), "quiet"))
    target = io.BytesIO()
    document = BaseDocTemplate(
        target, pagesize=(wide, high), title=f"{sheet.kind}: {sheet.title}", author="coldwright", invariant=1
    )
    frames = [
        Frame(margin + n * (column + gutter), margin + 12, column, high - 2 * margin - 12, id=f"column {n}")
        for n in range(columns)
    ]
    document.addPageTemplates(PageTemplate("page", frames))
    name = printer.printable(f"{sheet.kind}: {sheet.title}"[:90])

    below = f"{printed_on(sheet)}, " if sheet.printed else ""
    below += say(_("page {n} of {count}"))
    document.build(story, canvasmaker=_numbering(name, below, margin, wide))
    return target.getvalue(), document.page


def _numbering(name: str, below: str, margin: float, wide: float) -> Any:
    """A canvas that puts off its pages until it knows how many they are, and writes `below`, with `{n}` of `{count}`."""
    from reportlab.pdfgen.canvas import Canvas

    class Numbered(Canvas):  # type: ignore[misc]
        def __init__(self, *given: Any, **named: Any) -> None:
            super().__init__(*given, **named)
            self._waiting: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 - the library calls it so
            self._waiting.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for place, page in enumerate(self._waiting, 1):
                self.__dict__.update(page)
                self.setFont(_fonts()[0], 7.5)
                self.setFillGray(0.35)
                self.drawString(margin + FRAME, margin - 8, name)
                at = below.format(n=place, count=len(self._waiting))
                self.drawRightString(wide - margin - FRAME, margin - 8, at)
                super().showPage()
            super().save()

    return Numbered


@cache
def _fonts() -> tuple[str, str, frozenset[int]]:
    """Names of the plain and the bold font, and the letters that both have."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    letters = []
    for name, file in (("Sheet", "DejaVuSans.ttf"), ("SheetBold", "DejaVuSans-Bold.ttf")):
        font = TTFont(name, io.BytesIO(files("coldwright.sheets").joinpath("fonts", file).read_bytes()))
        pdfmetrics.registerFont(font)
        letters.append(frozenset(font.face.charToGlyph))
    return "Sheet", "SheetBold", letters[0] & letters[1]


class _Printer:
    """Turns blocks into what the library lays out, and counts letters that the fonts lack."""

    def __init__(self, width: float, scale: float, marks: Mapping[str, str], say: Say) -> None:
        self.width, self.scale, self.missing, self.marks, self.say = width, scale, 0, marks, say
        self._styles: dict[tuple[str, str], Any] = {}
        self._plain, self._bold, self._letters = _fonts()

    def printable(self, text: str) -> str:
        """The text, with a box for each letter that can't be printed."""
        text = plain_text(text)
        lacking = {c for c in text if ord(c) not in self._letters}
        self.missing += sum(text.count(c) for c in lacking)
        return "".join("\u25a1" if c in lacking else c for c in text) if lacking else text

    def paragraph(self, text: str, style: str = "body", tone: str = "", bold_until: int = 0) -> Any:
        from reportlab.platypus import Paragraph

        printable = self.printable(text)
        head, tail = escape(printable[:bold_until]), escape(printable[bold_until:])
        colour = f' color="{COLOURS[tone]}"' if tone else ""
        marked = f'<font name="{self._bold}"{colour}>{head}</font>{tail}' if head else tail
        return Paragraph(marked, self._style(style, tone if not head else ""))

    def _style(self, name: str, tone: str) -> Any:
        if (name, tone) not in self._styles:
            self._styles[name, tone] = self._new_style(name, tone)
        return self._styles[name, tone]

    def _new_style(self, name: str, tone: str) -> Any:
        from reportlab.lib.colors import HexColor
        from reportlab.lib.styles import ParagraphStyle

        size, font, before, after = {
            "body": (9, self._plain, 1, 1),
            "cell": (8, self._plain, 0, 0),
            "number": (8, self._plain, 0, 0),
            "head": (8, self._bold, 0, 0),
            "number head": (8, self._bold, 0, 0),
            "quiet": (8, self._plain, 1, 1),
            "line": (9, self._plain, 5, 1),
            "item": (9, self._plain, 1, 1),
            "action": (10.5, self._bold, 1, 1),
            "kind": (8, self._plain, 0, 0),
            "title": (17, self._bold, 0, 3),
            "verdict": (12, self._bold, 0, 3),
            "section": (12, self._bold, 12, 3),
            "heading": (9.5, self._bold, 6, 2),
        }[name]
        grey = HexColor("#526170") if name in ("quiet", "kind", "head", "number head") else HexColor("#14202b")
        return ParagraphStyle(
            name,
            fontName=font,
            fontSize=size * self.scale,
            leading=size * 1.32 * self.scale,
            spaceBefore=before * self.scale,
            spaceAfter=after,
            leftIndent=12 if name == "item" else 0,
            bulletIndent=2,
            alignment=2 if name.startswith("number") else 0,
            textColor=HexColor(COLOURS[tone]) if tone else grey,
        )

    def story(self, sheet: Sheet) -> Iterator[Any]:
        """The whole page."""
        from reportlab.platypus import Spacer

        band = [self.paragraph(sheet.kind.upper(), "kind"), self.paragraph(sheet.title, "title")]
        band += [self.paragraph(sheet.verdict, "verdict", sheet.tone), *(self.paragraph(line) for line in sheet.lead)]
        yield self._band(band, sheet.tone)
        for part in sheet.sections:
            yield from self._section(part)
        yield Spacer(1, 10)
        if sheet.rest and any(part.folded for part in sheet.sections):
            yield self.paragraph(sheet.rest, "quiet")
        for line in sheet.foot:
            yield self.paragraph(line, "quiet")

    def _section(self, part: Section) -> Iterator[Any]:
        """Its head stays with what follows: with the whole of a picture, with the first lines of anything else."""
        from reportlab.platypus import CondPageBreak, KeepTogether

        if part.folded and part.title and part.fact:
            yield self.paragraph(f"{part.title}: {part.fact}", "line", bold_until=len(part.title) + 1)
            return
        head = [self.paragraph(part.title, "section")] if part.title else []
        head += [self.paragraph(part.fact)] if part.fact else []
        first = part.blocks[0] if head and part.blocks and not part.folded else None
        blocks = self._blocks(() if part.folded else part.blocks)
        if isinstance(first, Plot) and picture_of(first) is not None:
            yield KeepTogether([*head, next(blocks)])
        elif first is not None and (picture := alone(first)) is not None:
            yield from self._picture(picture, self.width, head)
            blocks = self._blocks(part.blocks[1:])
        elif part.title:
            yield CondPageBreak(ROOM_FOR_SECTION)
            yield from head
        else:
            yield from head
        yield from blocks

    def _blocks(self, blocks: tuple[Block, ...]) -> Iterator[Any]:
        """Pictures that follow one another stand side by side, the others one below another."""
        waiting: list[Drawing] = []
        for block in blocks:
            if (
                isinstance(block, Plot)  # a drawing keeps the whole width: what it has to say is small
                and (picture := picture_of(block)) is not None
                and self.width > SIDE_BY_SIDE
            ):
                waiting.append(picture)
                continue
            yield from self._pictures(waiting)
            waiting = []
            yield from self._block(block)
        yield from self._pictures(waiting)

    def _pictures(self, drawings: list[Drawing]) -> Iterator[Any]:
        for first, second in zip_longest(drawings[::2], drawings[1::2]):
            if second is None:
                yield from self._picture(first, self.width * 0.6)
            else:
                pair = [[self._in_picture(d, self.width / 2 - 6) for d in (first, second)]]
                yield self._grid(pair, (50, 50), whole=True)

    def _picture(self, drawing: Drawing, width: float, above: Sequence[Any] = ()) -> Iterator[Any]:
        """A picture on one page with its title and what it says; somewhat smaller where the page has no more room."""
        from reportlab.platypus import CondPageBreak, KeepTogether

        title, made, *below = self._in_picture(drawing, width)
        if not hasattr(made, "transform"):
            yield KeepTogether([*above, title, made, *below])
            return
        head = [*above, title]
        beside = sum(map(self._height, below)) + 1
        yield CondPageBreak(sum(map(self._height, head)) + SMALLEST * made.height + beside)
        yield from head
        yield shrinking(made, beside)
        yield made
        yield from below

    def _height(self, paragraph: Any) -> float:
        high: float = paragraph.wrap(self.width, MOST_HEIGHT)[1]
        return high + float(paragraph.getSpaceBefore()) + float(paragraph.getSpaceAfter())

    def _in_picture(self, drawing: Drawing, width: float) -> list[Any]:
        made = on_paper(drawing, width, MOST_HEIGHT)
        parts = [self.paragraph(drawing.title, "head")]
        parts.append(made or self.paragraph(self.say(CANNOT_DRAW), "quiet"))
        return [*parts, self.paragraph(drawing.says, "quiet")] if drawing.says else parts

    def _block(self, block: Block) -> Iterator[Any]:
        from reportlab.platypus import CondPageBreak

        match block:
            case Facts(rows):
                yield self._grid([[self.paragraph(n, "head"), self.paragraph(t, "cell")] for n, t in rows], (30, 70))
            case Table():
                yield self._table(block)
            case Lines(items, numbered):
                for place, item in enumerate(items, 1):
                    yield self._bulleted(item, f"{place}." if numbered else "\u2022")
            case Prose(text):
                yield self.paragraph(text)
            case Drawing() | Plot() | Bars() | Levels():
                if (picture := alone(block)) is not None:
                    yield from self._picture(picture, self.width)
            case Image():
                yield from self._image(block)
            case Action() | Slot():
                yield from self._to_act_on(block)
            case Heading(text):
                yield CondPageBreak(ROOM_FOR_HEADING)
                yield self.paragraph(text, "heading")
            case Blanks(items):
                yield self._to_fill_in(items)
            case Tasks(items):
                yield from map(self._task, items)
            case Notices(items):
                yield from map(self._notice, items)

    def _image(self, image: Image) -> Iterator[Any]:
        """A photograph or a PNG as wide as the column at most; what the library cannot draw is described in words."""
        from reportlab.lib.utils import ImageReader
        from reportlab.platypus import Image as Drawn

        try:  # it draws no SVG, and says so in its own way
            wide, high = ImageReader(io.BytesIO(image.content)).getSize()
            shrunk = min(1.0, self.width / wide, HIGHEST_IMAGE / high)
            yield Drawn(io.BytesIO(image.content), wide * shrunk, high * shrunk, hAlign="LEFT")
            yield self.paragraph(image.title, "quiet")
        except Exception:  # whatever a picture that a stranger made does to it
            yield self.paragraph(f"{image.title}: {self.say(PICTURE)}", "quiet")

    def _to_act_on(self, block: Action | Slot) -> Iterator[Any]:
        if isinstance(block, Slot):
            for other in block.instead:
                yield from self._block(other)
            return
        lines = [self.paragraph(block.do, "verdict"), *(self.paragraph(line) for line in block.more)]
        yield self._band(lines, "plain")

    def _notice(self, notice: Notice) -> Any:
        mark, tone = self.marks[notice.mark], TONE_OF_MARK[notice.mark]
        if notice.action:
            lines = [self.paragraph(f"{mark}  {notice.action}", "action"), self.paragraph(notice.text)]
        else:
            lines = [self.paragraph(f"{mark}  {notice.text}", tone=tone, bold_until=len(mark))]
        lines += [self.paragraph(f"{name}: {text}", "quiet") for name, text in notice.more]
        return self._band(lines, tone)

    def _task(self, task: Task) -> Any:
        do = f"{task.do} ({task.who})" if task.who else task.do
        lines = [self.paragraph(do, bold_until=len(task.do))]
        if task.blanks:
            lines.append(self._in_a_row(task.blanks))
        if task.caution:
            mark = self.marks["caution"]
            lines.append(self.paragraph(f"{mark} {task.caution}", bold_until=len(mark)))
        start = [self.paragraph("\u25a1"), self.paragraph(task.when, "head")]
        return self._grid([[*start, lines]], (5, 12, 83), whole=True)

    def _in_a_row(self, blanks: tuple[Blank, ...]) -> Any:
        """Blanks side by side, none of which is parted from the end of its name or from its unit."""
        from reportlab.platypus import Paragraph

        texts = (escape(self.printable(written(blank))) for blank in blanks)
        line = LINE_TO_WRITE_ON
        glued = (t.replace(f" {line}", f"&nbsp;{line}").replace(f"{line} ", f"{line}&nbsp;") for t in texts)
        return Paragraph("&nbsp;&nbsp; ".join(glued), self._style("body", ""))

    def _to_fill_in(self, blanks: tuple[Blank, ...]) -> Any:
        """Ruled lines, high enough for a hand."""
        names = (f"{b.name} ({b.expected})" if b.expected else b.name for b in blanks)
        rows = [[self.paragraph(name, "cell"), self.paragraph(b.unit)] for name, b in zip(names, blanks, strict=True)]
        return self._grid(rows, (50, 50), high=HAND * self.scale)

    def _bulleted(self, text: str, bullet: str) -> Any:
        from reportlab.platypus import Paragraph

        style = self._new_style("item", "")
        style.leftIndent, style.bulletFontName, style.bulletFontSize = 6 + 6 * len(bullet), self._plain, 8
        return Paragraph(escape(self.printable(text)), style, bulletText=bullet)

    def _table(self, table: Table) -> Any:
        rows = [[self.paragraph(c.heading, "number head" if c.number else "head") for c in table.columns]]
        styles = ["number" if c.number else "cell" for c in table.columns]
        rows += [[self.paragraph(t, s) for t, s in zip(row, styles, strict=True)] for row in table.rows]
        return self._grid(rows, tuple(c.share for c in table.columns), heads=1)

    def _grid(
        self,
        rows: list[list[Any]],
        shares: tuple[int, ...],
        heads: int = 0,
        *,
        whole: bool = False,
        high: float | None = None,
    ) -> Any:
        """`whole`: no row of it is broken by the end of a page; `high`: how high every row is."""
        from reportlab.lib.colors import HexColor
        from reportlab.platypus import Table as Grid

        widths = [self.width * share / sum(shares) for share in shares]
        style = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor("#cfd8df")),
        ]
        split = 0 if whole else 1
        return Grid(
            rows, colWidths=widths, style=style, rowHeights=high, repeatRows=heads, hAlign="LEFT", splitInRow=split
        )

    def _band(self, lines: list[Any], tone: str) -> Any:
        from reportlab.lib.colors import HexColor
        from reportlab.platypus import Table as Grid

        style = [
            ("BACKGROUND", (0, 0), (-1, -1), HexColor("#f2f6f8")),
            ("LINEBEFORE", (0, 0), (0, -1), 3, HexColor(COLOURS[tone])),
            ("LEFTPADDING", (0, 0), (-1, -1), 8),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ]
        return Grid(
            [[line] for line in lines],
            colWidths=[self.width],
            style=style,
            hAlign="LEFT",
            spaceBefore=3,
            spaceAfter=3,
            splitInRow=1,
        )
