"""Under which names the service answers, and whether only its own machine reaches it.

A page in a browser of the operator's can have any name lead to this machine (DNS rebinding), and then read what a service
on loopback answers without a key. It can't change the `Host` that the browser sends, which is that name.
"""

import ipaddress
from collections.abc import Iterable

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address that the service listens on."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


class AllowedHosts:
    """Names that a request may give in `Host`, whatever port stands behind."""

    def __init__(self, names: Iterable[str]) -> None:
        self._names = frozenset(_plain(name) for name in names)
        self._ends = tuple(name[1:] for name in self._names if name.startswith("*."))
        self._any = "*" in self._names

    def allows(self, host: str | None) -> bool:
        """Whether this `Host` is one of them; a request without one is not allowed."""
        if self._any:
            return True
        name = (
            "" if host is None or "@" in host else _plain(host)
        )  # a user before the name, which RFC 9110, 4.2.4 forbids
        return bool(name) and (name in self._names or name.endswith(self._ends))


def allowed_hosts(setting: str, bound: str | None) -> AllowedHosts:
    """From `COLDWRIGHT_ALLOWED_HOSTS`; without it the names of loopback, and that of a loopback address as it was bound.

    `bound` is nothing for an application that listens on no address of its own: whoever runs it in process is trusted.
    """
    names = [name for name in (part.strip() for part in setting.split(",")) if name]
    if not names and bound is None:
        names = ["*"]
    return AllowedHosts(names or {*LOOPBACK_NAMES, bound or "localhost"})


def _plain(host: str) -> str:
    """The name alone: without port, brackets, the dot of the root, and capitals."""
    host = host.strip().lower()
    if host.startswith("["):
        host = host[1:].partition("]")[0]
    elif host.count(":") == 1:
        host = host.partition(":")[0]
    return host.removesuffix(".")
