"""Pages for people, made from answers: as text, HTML or PDF. Knows no web, no store, no plugin and no calculator."""

from coldwright.contract.page import Occasion, Page, Sheet
from coldwright.sheets.lay_out import lay_out
from coldwright.sheets.notes import LAST_WORD
from coldwright.sheets.pdf import Paper
from coldwright.sheets.record import record_sheet
from coldwright.sheets.render import MEDIA_TYPES, SheetMediaType, render
from coldwright.sheets.sources import Sources, sources_of

__all__ = [
    "LAST_WORD",
    "MEDIA_TYPES",
    "Occasion",
    "Page",
    "Paper",
    "Sheet",
    "SheetMediaType",
    "Sources",
    "lay_out",
    "record_sheet",
    "render",
    "sources_of",
]
