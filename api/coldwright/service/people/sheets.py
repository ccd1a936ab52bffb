"""A sheet with the forms of the service in its slots, for a browser."""

from collections.abc import Mapping

from litestar import Response

from coldwright.contract.language import words_in
from coldwright.service.http.endpoint import Asked
from coldwright.service.people.shell import HTML, SCRIPT, policy, written
from coldwright.sheets import Sheet
from coldwright.sheets.html import as_html


def used_sheet(
    asked: Asked, sheet: Sheet, slots: Mapping[str, str], *, order: str = "", live: str = "", status: int = 200
) -> Response[bytes]:
    """The page, with the way to the other pages of its order, where it has one. For callers that may block."""
    say = words_in("coldwright.service", sheet.language)
    paper = "letter" if asked.query("paper") == "letter" else "a4"
    filled = {"top": written(asked, "ways.html", order=order, say=say)} | dict(slots)
    forms = any("<form" in text for text in slots.values())
    body = as_html(sheet, paper, filled, SCRIPT, live, forms=forms).encode()
    return Response(body, status_code=status, media_type=HTML, headers=policy(paper, forms=forms, dense=sheet.dense))
