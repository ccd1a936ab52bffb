"""A page as plain text, for a terminal or an e-mail."""

import unicodedata
from collections.abc import Iterator

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
    Tasks,
)
from coldwright.contract.people import plain_text

PACKAGE = "coldwright.sheets"
"""Whose catalogue has the words that a form of a page says itself."""
WIDTH = 92
NARROWEST = 6
"""A column is never narrower; a table that still does not fit becomes rows of facts."""
GAP = "  "
MARKS = {"stop": _("STOP"), "check": _("CHECK"), "note": _("note"), "caution": _("CAUTION"), "ask": _("ASK")}


def marks_in(language: str) -> dict[str, str]:
    """What stands before a notice, in the language of the page."""
    say = words_in(PACKAGE, language)
    return {mark: say(text) for mark, text in MARKS.items()}


def as_text(sheet: Sheet, *, width: int = WIDTH, full: bool = True) -> str:
    """The page in lines of at most `width` columns; without its appendices unless `full`."""
    say = words_in(PACKAGE, sheet.language)
    lines = [*_wrap(f"{sheet.kind.upper()}  {sheet.title}", width), "=" * width, *_wrap(sheet.verdict, width)]
    lines += [line for text in sheet.lead for line in _hang(text, "  ", "  ", width)]
    left_out = []
    for part in sheet.sections:
        if part.appendix and not full:
            left_out.append(part.title)
            continue
        lines += ["", *_section(part, width, say, full=full)]
    lines += ["", "-" * width]
    if sheet.rest and any(part.folded for part in sheet.sections):
        lines += _wrap(sheet.rest, width)
    if left_out:
        lines += _wrap(say(LEFT_OUT).format(parts="; ".join(left_out)), width)
    lines += [line for text in sheet.foot for line in _wrap(text, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _section(part: Section, width: int, say: Say, *, full: bool) -> Iterator[str]:
    if part.title:
        yield from _wrap(part.title.upper(), width)
    if part.fact:
        yield from _hang(part.fact, "  ", "  ", width)
    if part.folded and not full:
        return
    above: Block | None = None
    for block in part.blocks:
        if above is not None and not isinstance(above, Heading):
            yield ""
        yield from _block(block, width, say)
        above = block


def _block(block: Block, width: int, say: Say) -> Iterator[str]:
    match block:
        case Facts(rows):
            yield from _facts(rows, width)
        case Table():
            yield from _table(block, width)
        case Lines(items, numbered):
            digits = len(str(len(items)))
            for place, item in enumerate(items, 1):
                start = f"  {place:>{digits}}. " if numbered else "  - "
                yield from _hang(item, start, " " * len(start), width)
        case Prose(text):
            yield from _hang(text, "  ", "  ", width)
        case Heading(text):
            yield from _wrap(text, width)
        case Image(title, _, _):
            yield from _hang(f"{title}: {say(PICTURE)}", "  ", "  ", width)
        case Drawing() | Plot() | Bars():
            yield from _hang(f"{block.title}: {block.says or say(IN_OTHER_FORMS)}", "  ", "  ", width)
        case Levels(_, items):
            yield from _facts(tuple((level.name, level.text) for level in items), width)
        case Action() | Slot():
            yield from _to_act_on(block, width, say)
        case Blanks() | Tasks():
            yield from _to_fill_in(block, width, say)
        case Notices(items):
            for notice in items:
                yield from _notice(notice, width, say)


LEFT_OUT = _("Not printed here, but in the HTML and PDF pages: {parts}.")
PICTURE = _("a picture, on the HTML page and in the JSON answer.")
IN_OTHER_FORMS = _("a drawing, on the HTML page and in the PDF.")
LINE_TO_WRITE_ON = "_" * 10


def _notice(notice: Notice, width: int, say: Say) -> Iterator[str]:
    start = f"  {say(MARKS[notice.mark]):<7} "
    if notice.action:
        yield from _hang(notice.action, start, " " * len(start), width)
        start = " " * len(start)
    yield from _hang(notice.text, start, " " * len(start), width)
    for name, text in notice.more:
        yield from _hang(f"{name}: {text}", " " * len(start), " " * (len(start) + 2), width)


def _to_act_on(block: Action | Slot, width: int, say: Say) -> Iterator[str]:
    if isinstance(block, Slot):
        for other in block.instead:
            yield from _block(other, width, say)
        return
    yield from _hang(block.do, "  > ", "  > ", width)
    for line in block.more:
        yield from _hang(line, "    ", "    ", width)


def written(blank: Blank) -> str:
    """`Breaker (at most 125 A): __________ A`."""
    expected = f" ({blank.expected})" if blank.expected else ""
    return f"{blank.name}{expected}: {LINE_TO_WRITE_ON} {blank.unit}".rstrip()


def _to_fill_in(block: Blanks | Tasks, width: int, say: Say) -> Iterator[str]:
    if isinstance(block, Blanks):
        for blank in block.items:
            yield from _hang(written(blank), "  ", "    ", width)
        return
    for task in block.items:
        start = " ".join(part for part in ("  [ ]", task.when) if part) + " "
        yield from _hang(f"{task.do} ({task.who})" if task.who else task.do, start, " " * len(start), width)
        for blank in task.blanks:
            yield from _hang(written(blank), " " * 6, " " * 8, width)
        if task.caution:
            yield from _hang(f"{say(MARKS['caution'])} {task.caution}", " " * 6, " " * 8, width)


def _facts(rows: tuple[tuple[str, str], ...], width: int) -> Iterator[str]:
    longest = min(max(columns_of(name) for name, _ in rows), width // 3)
    for name, text in rows:
        names, texts = _wrap(name, longest), _wrap(text, width - longest - 4)
        for i in range(max(len(names), len(texts))):
            left = names[i] if i < len(names) else ""
            yield f"  {_pad(left, longest)}  {texts[i] if i < len(texts) else ''}"


def _table(table: Table, width: int) -> Iterator[str]:
    room = width - 2 - len(GAP) * (len(table.columns) - 1)
    if room < NARROWEST * len(table.columns):
        for row in table.rows:
            yield from _facts(tuple((c.heading, text) for c, text in zip(table.columns, row, strict=True)), width)
        return
    widths = _widths(table, room)
    yield from _row(tuple(c.heading for c in table.columns), widths, table)
    yield "  " + GAP.join("-" * w for w in widths)
    for row in table.rows:
        yield from _row(row, widths, table)


def _widths(table: Table, room: int) -> list[int]:
    """Each column as wide as its longest cell; the widest give way until all fit."""
    widths = [
        max(NARROWEST, columns_of(c.heading), *(columns_of(row[i]) for row in table.rows)) if table.rows else NARROWEST
        for i, c in enumerate(table.columns)
    ]
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda i: widths[i])
        others = sorted(widths)[-2] if len(widths) > 1 else 0
        widths[widest] = max(min(widths[widest] - 1, others), widths[widest] - (sum(widths) - room), NARROWEST)
    return widths


def _row(cells: tuple[str, ...], widths: list[int], table: Table) -> Iterator[str]:
    wrapped = [_wrap(cell, w) for cell, w in zip(cells, widths, strict=True)]
    for i in range(max(map(len, wrapped))):
        parts = (
            _pad(lines[i] if i < len(lines) else "", w, right=c.number)
            for lines, w, c in zip(wrapped, widths, table.columns, strict=True)
        )
        yield "  " + GAP.join(parts)


def _hang(text: str, first: str, rest: str, width: int) -> Iterator[str]:
    for place, line in enumerate(_wrap(text, width - len(rest))):
        yield (rest if place else first) + line


def columns_of(text: str) -> int:
    """Columns that a terminal needs for it."""
    if text.isascii():
        return len(text)
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def _pad(text: str, width: int, *, right: bool = False) -> str:
    space = " " * max(0, width - columns_of(text))
    return space + text if right else text + space


def _wrap(text: str, width: int) -> list[str]:
    """Lines of at most `width` columns; a word that is longer is cut."""
    lines, line = [], ""
    for word in plain_text(text).split():
        for piece in _pieces(word, width):
            longer = f"{line} {piece}" if line else piece
            if columns_of(longer) <= width:
                line = longer
            else:
                lines.append(line)
                line = piece
    return [*lines, line]


def _pieces(word: str, width: int) -> Iterator[str]:
    piece = ""
    for character in word:
        if piece and columns_of(piece + character) > width:
            yield piece
            piece = ""
        piece += character
    yield piece
