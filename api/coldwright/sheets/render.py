"""The forms in which a page can be had, by media type."""

from typing import Literal

from coldwright.contract.page import Sheet
from coldwright.sheets.html import as_html
from coldwright.sheets.pdf import Paper, as_pdf
from coldwright.sheets.text import as_text

SheetMediaType = Literal["text/html", "application/pdf", "text/plain"]
MEDIA_TYPES: tuple[SheetMediaType, ...] = ("text/html", "application/pdf", "text/plain")


def render(sheet: Sheet, media_type: SheetMediaType, paper: Paper = "a4") -> bytes:
    """The page; as text it is the short one, without appendices, which says what it leaves out."""
    if media_type == "application/pdf":
        return as_pdf(sheet, paper)
    return (as_html(sheet, paper) if media_type == "text/html" else as_text(sheet, full=False)).encode()
