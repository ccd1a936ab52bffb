"""A page as HTML that needs no script and no other site. Every text in it is escaped."""

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from coldwright.contract.language import marked as _
from coldwright.contract.language import words_in
from coldwright.contract.page import Bars, Block, Drawing, Levels, Plot, Sheet, Table
from coldwright.contract.people import plain_text
from coldwright.sheets.draw import drawn
from coldwright.sheets.shrink import shrunk
from coldwright.sheets.text import PACKAGE, marks_in

WIDEST_UNFOLDED = 64
"""Letters: about 40 stand beside each other on a phone, and longer cells break into two lines."""
WIDEST_WORDS = 40
"""Letters of the longest word of each column, none of which breaks."""
BETWEEN = 2
"""Letters that the room between two columns takes."""
NOTHING: Mapping[str, str] = {}


def as_html(
    sheet: Sheet,
    paper: str = "a4",
    slots: Mapping[str, str] = NOTHING,
    script: str = "",
    live: str = "",
    *,
    forms: bool = False,
) -> str:
    """One self-contained document; prints, and reads on a phone.

    `slots` are forms of whoever shows it, HTML already, by the names of the page's slots, and `top`, which stands above
    everything; `script` is the address of a script of theirs, and `live` what that shall listen to. `forms`: whether a slot
    has a form.
    """
    from markupsafe import Markup

    filled = {name: Markup(text) for name, text in slots.items()}  # noqa: S704 - of the service, which has escaped it
    template = environment().get_template("sheet.html")
    shown = template.render(
        sheet=sheet,
        printed=printed_on(sheet),
        style=style(paper, forms=forms, dense=sheet.dense),
        marks=marks_in(sheet.language),
        slots=filled,
        script=script,
        live=live,
    )
    return re.sub(r"\n\s*\n", "\n", str(shown).lstrip())


@cache
def style(paper: str = "a4", *, forms: bool = False, dense: bool = False) -> Any:
    """The one style sheet, with the size of the paper; with what forms need, or a sheet to carry, where it is one."""
    from markupsafe import Markup

    names = ("sheet.css", *(("forms.css",) if forms else ()), *(("dense.css",) if dense else ()))
    text = "".join(files("coldwright.sheets").joinpath("templates", name).read_text("utf-8") for name in names)
    text = re.sub(r"(?<=[:,])\s+(?!\")", "", re.sub(r"\s*([{};])\s*", r"\1", text))
    return Markup(f"{text}@page {{ size: {'letter' if paper == 'letter' else 'A4'}; margin: 15mm }}\n")  # noqa: S704 - ours


@cache
def style_digest(paper: str = "a4", *, forms: bool = False, dense: bool = False) -> str:
    """What a content security policy names so that this style counts, and no other."""
    return (
        "sha256-" + base64.b64encode(hashlib.sha256(style(paper, forms=forms, dense=dense).encode()).digest()).decode()
    )


def image_of(svg: str) -> Any:
    """A drawing as the address of an image. Only what would end the attribute or the address is written otherwise."""
    from markupsafe import Markup

    svg = shrunk(svg)
    svg = svg if "CDATA" in svg else svg.replace("'", "&#39;").replace('"', "'")
    return Markup("data:image/svg+xml," + quote(svg, safe=" ~*!.'=:;,/?@$|^-_+<>{}[]()"))  # noqa: S704 - no quote, no &


def in_base64(content: bytes) -> str:
    """A picture as it stands in an address."""
    return base64.b64encode(content).decode()


def drawing_of(block: Block) -> Drawing | None:
    """A block that is a picture, as its drawing."""
    if isinstance(block, Drawing):
        return block
    return drawn(block) if isinstance(block, Plot | Bars | Levels) else None


def fits(table: Table) -> bool:
    """Whether a phone can show it as it is: a row and its headings, words broken into lines, are no wider than that."""
    across = list(zip(*([column.heading for column in table.columns], *table.rows), strict=True))
    whole = sum(max(map(len, cells)) + BETWEEN for cells in across)
    words = sum(max(len(word) for cell in cells for word in (cell.split() or [""])) + BETWEEN for cells in across)
    return whole <= WIDEST_UNFOLDED and words <= WIDEST_WORDS


def printed_on(sheet: Sheet) -> str:
    """`printed 2027-01-08`, in the language of the page; empty where no day is said."""
    return words_in(PACKAGE, sheet.language)(PRINTED).format(day=sheet.printed) if sheet.printed else ""


PRINTED = _("printed {day}")


def _kind_of(block: Block) -> str:
    return type(block).__name__


def _printable(value: Any) -> Any:
    return plain_text(value) if type(value) is str else value


@cache
def environment() -> Any:
    """The templates of pages, and what they call."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("coldwright.sheets", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        finalize=_printable,
    )
    made.globals |= {
        "kind_of": _kind_of,
        "drawing_of": drawing_of,
        "image_of": image_of,
        "in_base64": in_base64,
        "fits": fits,
    }
    return made
