"""A sheet with the forms of the service in its slots, for a browser."""

from collections.abc import Mapping

from litestar import Response

from coldwright.service.http.endpoint import Asked
from coldwright.service.people.shell import HTML, SCRIPT, policy, written
from coldwright.sheets import Sheet
from coldwright.sheets.html import as_html


def used_sheet(
    asked: Asked, sheet: Sheet, slots: Mapping[str, str], *, live: str = "", status: int = 200
) -> Response[bytes]:
    """The page. For callers that may block."""
    paper = "letter" if asked.query("paper") == "letter" else "a4"
    filled = {"top": written(asked, "ways.html")} | dict(slots)
    forms = any("<form" in text for text in slots.values())
    body = as_html(sheet, paper, filled, SCRIPT, live, forms=forms).encode()
    return Response(body, status_code=status, media_type=HTML, headers=policy(paper, forms=forms, dense=sheet.dense))
