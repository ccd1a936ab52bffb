"""Addresses of pages: they are for browsers, and stand in no document for programs."""

from coldwright.service.http.endpoint import Endpoint, Handler, KeyScope, Parameter, Reply
from coldwright.service.http.sessions import FORM

PAGE = Reply("A page.", str, "text/html")


def page_at(
    path: str,
    name: str,
    scope: KeyScope,
    handler: Handler,
    *parameters: Parameter,
    reply: Reply = PAGE,
    open_query: bool = False,
) -> Endpoint:
    """A page that is read, or another file that a page loads."""
    return Endpoint(
        method="GET",
        path=path,
        operation_id=f"show{name}",
        summary=name,
        tag="people",
        scope=scope,
        handler=handler,
        replies={200: reply},
        parameters=parameters,
        documented=False,
        open_query=open_query,
    )


def form_at(path: str, name: str, scope: KeyScope, handler: Handler, *parameters: Parameter) -> Endpoint:
    """Where a form of a page is sent. Whoever is not signed in yet is asked for the token by the handler itself."""
    return Endpoint(
        method="POST",
        path=path,
        operation_id=f"take{name}",
        summary=name,
        tag="people",
        scope=scope,
        handler=handler,
        replies={200: PAGE, 303: PAGE},
        parameters=parameters,
        body_media_types=(FORM,),
        form=scope != "public",
        documented=False,
    )
