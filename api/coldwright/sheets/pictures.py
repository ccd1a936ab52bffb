"""Drawings as pictures on paper: SVG turned by svglib into what the PDF library draws."""

import io
import logging
import re
from typing import Any

from msgspec.structs import replace

from coldwright.contract.lazy import lazy
from coldwright.contract.page import Bars, Block, Drawing, Levels, Plot
from coldwright.sheets.draw import drawn

svglib = lazy("svglib.svglib")
renderer = lazy("reportlab.graphics.renderPDF")
_FROM_OUTSIDE = re.compile(
    r"<!(?!--)|<\s*image|<\s*foreignobject|<\s*script|@import|href\s*=\s*[\"'](?!#)|url\(\s*[\"']?(?!#)", re.IGNORECASE
)
"""What leads out of a drawing: it must not make this process read a file or call an address."""
SMALLEST = 0.6
"""Share of its size to which a picture shrinks before it goes to the next page and leaves half of the last one empty."""
logging.getLogger("svglib").setLevel(logging.ERROR)


def picture_of(block: Block) -> Drawing | None:
    """A block that is a picture, as the drawing for paper."""
    if isinstance(block, Drawing):
        return block
    return drawn(block, "paths") if isinstance(block, Plot | Bars | Levels) else None


def on_paper(drawing: Drawing, width: float, most_height: float) -> Any:
    """The drawing, as wide as there is room for; nothing where it can't be turned, or would reach outside."""
    if _FROM_OUTSIDE.search(drawing.svg.removeprefix('<?xml version="1.0" encoding="UTF-8"?>')):
        return None
    try:
        made = svglib.svg2rlg(io.StringIO(drawing.svg))
        if made is not None:
            renderer.drawToString(made)  # what cannot be drawn is found here, and not in the middle of a page
    except Exception:
        return None
    if made is None or made.width <= 0 or made.height <= 0:
        return None
    scale = min(width / made.width, most_height / made.height)
    made.scale(scale, scale)
    made.width, made.height = made.width * scale, made.height * scale
    made.hAlign = "LEFT"
    return made


def alone(block: Block) -> Drawing | None:
    """A block that is a picture, as one with the whole width to itself; bars have in their texts what they say."""
    picture = picture_of(block)
    return replace(picture, says="") if picture is not None and isinstance(block, Bars | Levels) else picture


def shrinking(made: Any, beside: float) -> Any:
    """What stands before a drawing on a page, and makes it as small as the rest of the page, less what is below it, wants."""
    from reportlab.platypus.flowables import CallerMacro

    def measured(_macro: Any, _width: float, room: float) -> None:
        made.renderScale = min(1.0, max(SMALLEST, (room - beside) / made.height))

    return CallerMacro(wrapCallable=measured)
