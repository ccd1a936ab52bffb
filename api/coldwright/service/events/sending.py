"""Calling a webhook: signed after Standard Webhooks 1.0.0, to no private address, with a bound on everything.

A name is resolved here, every address of it is looked at, and the connection goes to the address that was looked at: a
name that answers otherwise the second time gains nothing.
"""

import asyncio
import base64
import hashlib
import hmac
import ipaddress
import socket
import ssl
from datetime import datetime
from functools import lru_cache
from http import HTTPStatus
from urllib.parse import urlsplit, urlunsplit

import msgspec

from coldwright.service.events.feed import entry_of
from coldwright.store.webhooks import Delivery

SECONDS = 10.0
"""Longest time for one call, however slowly the receiver answers."""
UNICAST = ipaddress.IPv6Network("2000::/3")
"""All that is given to hosts (RFC 4291, 2.4)."""
TRANSLATED = ipaddress.IPv6Network("64:ff9b::/96")
"""Addresses of IPv4, as a translator to it takes them (RFC 6052, 2.1)."""
PROTOCOLS = ipaddress.IPv4Network("192.0.0.0/24")
"""Of protocols, no host's (RFC 6890)."""


class NotSent(Exception):  # noqa: N818
    """It was not taken; the text says why. `gone`: the receiver wants no more."""

    def __init__(self, why: str, *, gone: bool = False) -> None:
        super().__init__(why)
        self.gone = gone


def wrong_address(url: str) -> str:
    """Why nothing can be sent to an address of this form; empty where something can."""
    try:
        parts = urlsplit(url)
        host, port = parts.hostname or "", parts.port
        host.encode("idna")
    except UnicodeError:
        return "a part of its name is empty, or longer than 63 characters"
    except ValueError as error:  # of brackets that do not close, of no IPv6 address in them, of a port that is none
        return str(error)
    if not host or "[" in parts.netloc[1:]:
        return "it names no host"
    return "nobody listens on port 0" if port == 0 else ""


def message_id(delivery: Delivery) -> str:
    """The same on every attempt, so that a receiver knows what it has."""
    return f"evt_{delivery.webhook.id}_{delivery.event.number}"


def payload_of(delivery: Delivery) -> bytes:
    """Kind, instant and facts."""
    entry = entry_of(delivery.event)
    return msgspec.json.encode({"type": entry.kind, "timestamp": entry.at, "data": entry})


def signed(secret: str, id_: str, timestamp: int, payload: bytes) -> str:
    """A signature of version 1: HMAC-SHA-256 of id, timestamp and payload, with dots between."""
    key = base64.b64decode(secret.removeprefix("whsec_"))
    mac = hmac.new(key, f"{id_}.{timestamp}.".encode() + payload, hashlib.sha256)
    return f"v1,{base64.b64encode(mac.digest()).decode()}"


@lru_cache(maxsize=1)
def _authorities() -> ssl.SSLContext:
    """Whose certificates are trusted. Reading them takes as long as ten calls, so it is done once, and apart from the loop."""
    import httpx  # a twentieth of the time of a start, and most services call nobody

    return httpx.create_ssl_context(trust_env=False)


async def send(delivery: Delivery, now: datetime, *, private: bool) -> int:
    """Call the address; returns the status, or raises `NotSent`."""
    trusted = await asyncio.to_thread(_authorities)
    import httpx

    payload, id_, timestamp = payload_of(delivery), message_id(delivery), int(now.timestamp())
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "coldwright",
        "webhook-id": id_,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signed(s, id_, timestamp, payload) for s in delivery.webhook.signing(now)),
    }
    try:
        async with asyncio.timeout(SECONDS):
            status = await _call(delivery.webhook.url, headers, payload, trusted, private=private)
    except TimeoutError:
        raise NotSent(f"No answer within {SECONDS:g} s.") from None
    except (httpx.HTTPError, httpx.InvalidURL, OSError, ValueError) as error:
        raise NotSent(f"{type(error).__name__}: {error}") from None
    if status == HTTPStatus.GONE:
        raise NotSent("The receiver answered 410: it is gone.", gone=True)
    if not 200 <= status < 300:
        raise NotSent(f"The receiver answered {status}.")
    return status


async def _call(url: str, headers: dict[str, str], payload: bytes, trusted: ssl.SSLContext, *, private: bool) -> int:
    parts = urlsplit(url)
    host = parts.hostname or ""
    if parts.scheme != "https" and not private:
        raise NotSent("Only https is called, unless the operator allows private addresses.")
    address = await _address(host, parts.port or (443 if parts.scheme == "https" else 80), private=private)
    port = f":{parts.port}" if parts.port else ""
    bracketed = f"[{address}]" if ":" in address else address
    target = urlunsplit((parts.scheme, f"{bracketed}{port}", parts.path or "/", parts.query, ""))
    named = headers | {"Host": f"[{host}]{port}" if ":" in host else f"{host}{port}"}
    import httpx

    async with httpx.AsyncClient(verify=trusted, timeout=SECONDS, follow_redirects=False, trust_env=False) as client:
        request = client.build_request(
            "POST", target, content=payload, headers=named, extensions={"sni_hostname": host}
        )
        response = await client.send(request, stream=True)  # what it says is not read: only whether it took it
        await response.aclose()
        return response.status_code


def is_public(address: str) -> bool:
    """Whether it is that of a host on the internet; where a network translates it to one of IPv4, that one counts."""
    ip = ipaddress.ip_address(address.partition("%")[0])
    if isinstance(ip, ipaddress.IPv4Address):
        return ip.is_global and not ip.is_multicast and ip not in PROTOCOLS
    inside = ip.ipv4_mapped or ip.sixtofour or (ipaddress.IPv4Address(ip.packed[12:]) if ip in TRANSLATED else None)
    return is_public(str(inside)) if inside is not None else ip.is_global and ip in UNICAST


async def _address(host: str, port: int, *, private: bool) -> str:
    """An address of the name, all of whose addresses may be called."""
    found = await asyncio.get_running_loop().getaddrinfo(host, port, type=socket.SOCK_STREAM)
    addresses = [str(sockaddr[0]) for *_, sockaddr in found]
    for address in addresses:
        if not private and not is_public(address):
            raise NotSent(f"{host} is a private address ({address}); the operator can allow those.")
    if not addresses:
        raise NotSent(f"{host} has no address.")
    return addresses[0]
