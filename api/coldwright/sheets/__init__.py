"""Pages for people, made from answers: as text, HTML or PDF. Knows no web, no store and no plugin."""

from coldwright.sheets.page import Sheet
from coldwright.sheets.plan import ASSESSMENT, plan_sheet
from coldwright.sheets.record import record_sheet
from coldwright.sheets.render import MEDIA_TYPES, SheetMediaType, render
from coldwright.sheets.sources import Sources, sources_of
from coldwright.sheets.startup import startup_sheet

__all__ = [
    "ASSESSMENT",
    "MEDIA_TYPES",
    "Sheet",
    "SheetMediaType",
    "Sources",
    "plan_sheet",
    "record_sheet",
    "render",
    "sources_of",
    "startup_sheet",
]
