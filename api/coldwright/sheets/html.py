"""A page as HTML that needs no script and no other site. Every text in it is escaped."""

import base64
from functools import cache
from typing import Any

from coldwright.contract.page import Block, Sheet
from coldwright.contract.people import plain_text
from coldwright.sheets.text import MARKS


def as_html(sheet: Sheet, paper: str = "a4") -> str:
    """One self-contained document; prints, and reads on a phone."""
    return str(
        _template().render(
            sheet=sheet, paper=paper, kind_of=_kind_of, marks=MARKS, encoded=_encoded, in_base64=_in_base64
        )
    )


def _encoded(svg: str) -> str:
    return _in_base64(svg.encode())


def _in_base64(content: bytes) -> str:
    return base64.b64encode(content).decode()


def _kind_of(block: Block) -> str:
    return type(block).__name__


def _printable(value: Any) -> Any:
    return plain_text(value) if type(value) is str else value


@cache
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("coldwright.sheets", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        finalize=_printable,
    )
    return environment.get_template("sheet.html")
