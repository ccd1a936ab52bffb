"""A page as HTML that needs no script and no other site. Every text in it is escaped."""

import base64
import hashlib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from coldwright.contract.page import Bars, Block, Drawing, Levels, Plot, Sheet
from coldwright.contract.people import plain_text
from coldwright.sheets.draw import drawn
from coldwright.sheets.text import MARKS

NOTHING: Mapping[str, str] = {}


def as_html(
    sheet: Sheet, paper: str = "a4", slots: Mapping[str, str] = NOTHING, script: str = "", live: str = ""
) -> str:
    """One self-contained document; prints, and reads on a phone.

    `slots` are forms of whoever shows it, HTML already, by the names of the page's slots, and `top`, which stands above
    everything; `script` is the address of a script of theirs, and `live` what that shall listen to.
    """
    from markupsafe import Markup

    forms = {name: Markup(text) for name, text in slots.items()}  # noqa: S704 - of the service, which has escaped it
    template = environment().get_template("sheet.html")
    shown = template.render(sheet=sheet, style=style(paper), marks=MARKS, slots=forms, script=script, live=live)
    return str(shown).lstrip()


@cache
def style(paper: str = "a4") -> Any:
    """The one style sheet, with the size of the paper."""
    from markupsafe import Markup

    text = files("coldwright.sheets").joinpath("templates", "sheet.css").read_text("utf-8")
    return Markup(f"{text}@page {{ size: {'letter' if paper == 'letter' else 'A4'}; margin: 15mm }}\n")  # noqa: S704 - ours


@cache
def style_digest(paper: str = "a4") -> str:
    """What a content security policy names so that this style counts, and no other."""
    return "sha256-" + base64.b64encode(hashlib.sha256(style(paper).encode()).digest()).decode()


def image_of(svg: str) -> str:
    """A drawing as the address of an image."""
    return "data:image/svg+xml," + quote(svg, safe=" ~()*!.'=:;,/?@&$|^-_+")


def in_base64(content: bytes) -> str:
    """A picture as it stands in an address."""
    return base64.b64encode(content).decode()


def drawing_of(block: Block) -> Drawing | None:
    """A block that is a picture, as its drawing."""
    if isinstance(block, Drawing):
        return block
    return drawn(block) if isinstance(block, Plot | Bars | Levels) else None


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
    made.globals |= {"kind_of": _kind_of, "drawing_of": drawing_of, "image_of": image_of, "in_base64": in_base64}
    return made
