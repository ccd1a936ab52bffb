"""What all pages of people share: the frame, the policy of what a browser may do, the way in where nobody signed in."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from jinja2 import ChoiceLoader, Environment, PackageLoader
from litestar import Response
from markupsafe import Markup

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.sessions import TOKEN, form_token
from coldwright.sheets.html import environment, style, style_digest

SCRIPT = "/assets/page.js"
HTML = "text/html"


def policy(paper: str = "a4", *, forms: bool = True, dense: bool = False) -> dict[str, str]:
    """Headers of a page with forms: our style, our script, our forms, and nothing from elsewhere."""
    digest = style_digest(paper, forms=forms, dense=dense)
    return {
        "Content-Security-Policy": (
            f"default-src 'none'; style-src '{digest}'; img-src data:; script-src 'self'; connect-src 'self'; "
            "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
        ),
        "Referrer-Policy": "same-origin",  # with none at all a browser does not say of its forms where they are from
        "Cache-Control": "no-store",
        "Vary": "Accept, Accept-Language, Cookie",
    }


@cache
def templates() -> Environment:
    """The templates of these pages, beside those of the sheets, whose blocks they use."""
    own: Environment = environment().overlay(
        loader=ChoiceLoader(
            [PackageLoader("coldwright.service", "templates"), PackageLoader("coldwright.sheets", "templates")]
        )
    )
    own.globals = own.globals | {"order": "", "say": str}  # of pages that are of no order, and in English
    return own


def written(asked: Asked, template: str, **data: Any) -> Markup:
    """A template as HTML, with what every one may use."""
    common = {"token_name": TOKEN, "token": form_token(asked), "signed_in": asked.caller.means in ("key", "token")}
    return Markup(templates().get_template(template).render(**(common | data)))  # noqa: S704 - the template escapes


async def shown(
    asked: Asked, template: str, *, status: int = 200, headers: Mapping[str, str] | None = None, **data: Any
) -> Response[bytes]:
    """A page of ours."""

    def made() -> bytes:
        return written(asked, template, style=style(forms=True), script=SCRIPT, **data).lstrip().encode()

    body = await asked.services.apart(made)
    return Response(body, status_code=status, media_type=HTML, headers=policy() | dict(headers or {}))


def see(address: str) -> Response[bytes]:
    """To another page, after a form was taken."""
    return Response(b"", status_code=303, headers={"Location": address})


def sign_in_at(asked_for: str) -> Response[bytes]:
    """To the page where somebody signs in, and from there back to what was asked for."""
    return see(f"/sign-in?next={quote(asked_for, safe='/')}")


@cache
def asset(name: str) -> bytes:
    """A file of ours that pages load."""
    return files("coldwright.service").joinpath("assets", name).read_bytes()
