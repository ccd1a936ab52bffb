"""A form that came when its session was over: nothing is done, and nothing that somebody wrote is lost.

The page that says so holds what was sent. Whoever signs in, in another tab, sends it from there, and is shown it once more
under a form of the new session: what was written in one is never sent in another without a click.
"""

from litestar import Response

from coldwright.contract.people import label, plain_text
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.intake import LONG
from coldwright.service.http.origins import is_of_host
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.sessions import COOKIE, members_in, read_form
from coldwright.service.people.addresses import form_at
from coldwright.service.people.shell import HTML, SCRIPT, policy, shown, sign_in_at, templates
from coldwright.service.people.signin import inside
from coldwright.sheets.html import style
from coldwright.store.sessions import whose_session

AGAIN = "/sign-in/again"
ENDED, NOT_YET = "Your session has ended", "You are not signed in yet"


def kept_page(address: str, body: bytes, title: str = ENDED) -> Response[bytes]:
    """The page that holds a form which was sent to `address`; one that is too long for that leads to signing in."""
    if len(body) > LONG:
        return sign_in_at("/yard")
    page = templates().get_template("kept.html")
    text = page.render(
        title=title,
        to=address,
        kept=body.decode("latin-1"),
        again=AGAIN,
        style=style(forms=True),
        script=SCRIPT,
        signed_in=False,
    )
    return Response(text.lstrip().encode(), status_code=401, media_type=HTML, headers=policy())


async def _again(asked: Asked) -> Response[bytes]:
    """What was kept, under a form of the session of now; without one the page as it was."""
    origin = asked.header("origin")
    if origin is None or not is_of_host(origin, asked.header("host")):
        raise ProblemRaised("form-not-ours")
    sent = dict(await read_form(asked))
    to, kept = inside(sent.get("to")), sent.get("kept", "").encode("latin-1", "replace")
    if len(kept) > LONG:
        raise ProblemRaised("too-large", f"A form of more than {LONG} bytes is not kept.")
    token, services = asked.cookies.get(COOKIE), asked.services
    if not token or await services.stored(whose_session, services.database, token) is None:
        return kept_page(to, kept, NOT_YET)
    members = members_in(kept)
    return await shown(asked, "again.html", to=to, members=members, entered=_seen(members))


def _seen(members: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """What somebody entered, by names that they can read; ids and units of their own are left out."""
    own = ("/id", "/kind", "/unit", "zone")
    return [
        (label(name.rpartition("data/")[2].removesuffix("/value").strip("/")), plain_text(value))
        for name, value in members
        if value.strip() and not name.endswith(own)
    ]


def endpoints() -> list[Endpoint]:
    """Where such a page sends what it holds."""
    return [form_at(AGAIN, "KeptForm", "public", _again)]
