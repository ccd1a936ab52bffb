"""A problem as a page, for whoever came with a browser."""

from typing import Any

from litestar import Request, Response

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.visit import visit_of
from coldwright.service.people.kept import kept_page
from coldwright.service.people.shell import HTML, SCRIPT, policy, sign_in_at, templates
from coldwright.sheets.html import style


def for_people(request: "Request[Any, Any, Any]", raised: ProblemRaised) -> Response[bytes] | None:
    """The page; nothing for a program, which gets the problem as it is. Who is not signed in is shown the way in."""
    if not (request.headers.get("accept") or "").lstrip().lower().startswith(HTML):
        return None
    if raised.kind.slug == "key-missing":
        query = request.scope["query_string"].decode("latin-1")
        address = f"{request.scope['path']}{'?' if query else ''}{query}"
        if kept := visit_of(request.scope).body:
            return kept_page(address, kept)
        return sign_in_at(address if request.method == "GET" else "/yard")
    page = templates().get_template("problem.html")
    body = page.render(
        problem=raised.problem(), meaning=raised.kind.meaning, style=style(forms=True), script=SCRIPT, signed_in=False
    )
    headers = policy() | raised.headers
    return Response(body.lstrip().encode(), status_code=raised.kind.status, media_type=HTML, headers=headers)
