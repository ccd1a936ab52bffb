"""Long numbers of a page as its language groups their digits."""

import re
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from coldwright.contract.page import Sheet

SPACED: Final = ("es",)
"""Languages in which a comma between digits is read as the decimal sign somewhere: `1,325 L` would be less than two litres.

Ortografía de la lengua española (2010), as reported by public pages: digits are grouped by a space, never by comma or point,
and numbers of four digits are not grouped. That it takes the point as a decimal sign too is from memory.
"""
UNGROUPED: Final = 4
SPACE: Final = "\N{NO-BREAK SPACE}"
_GROUPED = re.compile(r"(?<![\w.,])\d{1,3}(?:,\d{3})+(?!\w|,\d)")
_DRAWN: Final = ("svg", "content")
"""Members of a block that are no text."""


def in_groups_of(sheet: Sheet) -> Sheet:
    """The page with its long numbers in the way of its language, those that a caller wrote so too."""
    if sheet.language not in SPACED:
        return sheet
    grouped: Sheet = _grouped(sheet)
    return grouped


def _grouped(value: Any) -> Any:
    if isinstance(value, str):
        return _GROUPED.sub(_spaced, value) if "," in value else value
    if isinstance(value, tuple):
        return tuple(map(_grouped, value))
    if isinstance(value, Struct):
        members = (name for name in value.__struct_fields__ if name not in _DRAWN)
        return replace(value, **{name: _grouped(getattr(value, name)) for name in members})
    return value


def _spaced(found: re.Match[str]) -> str:
    digits = found[0].replace(",", "")
    return digits if len(digits) <= UNGROUPED else found[0].replace(",", SPACE)
