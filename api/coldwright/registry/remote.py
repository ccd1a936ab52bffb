"""A plugin that runs in a container of its own: what it reports of itself, over a Unix socket, and none of its code.

The container may be hostile: nothing that it says of itself is believed that the operator did not say. The distribution is
the one that the setting names; ids, versions and names are held to the rules here, not there.
"""

import re
import socket
from collections.abc import Iterable
from multiprocessing.connection import Connection
from typing import Literal

import msgspec
from msgspec import Struct
from packaging.utils import canonicalize_name

from coldwright.contract import CONTRACT_VERSION
from coldwright.registry.entry import Entry
from coldwright.registry.names import RESERVED_FAMILIES, camel
from coldwright.registry.reported import Report, ReportedPlugin
from coldwright.registry.rules import ID, RESERVED_WORDS, VERSION

PROTOCOL = 1
CONNECT_SECONDS = 5.0
REPORT_SECONDS = 60.0
MOST_ENTRIES = 50
LARGEST_REPORT = 16 * 1024 * 1024
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,199}")


class Hello(Struct, frozen=True):
    """First message of every connection, as msgpack: what it is for."""

    protocol: int
    contract: str
    what: Literal["report", "work"]


class Reporting(Struct, frozen=True):
    """The answer to `report`."""

    entry_point: str
    version: str
    """Of the distribution."""
    report: Report


def connect(path: str, what: Literal["report", "work"]) -> Connection:
    """A connection over which the container learned what it is for. Raises `OSError`."""
    line = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        line.settimeout(CONNECT_SECONDS)
        line.connect(path)
        line.settimeout(None)
    except OSError:
        line.close()
        raise
    connection = Connection(line.detach())
    connection.send_bytes(msgspec.msgpack.encode(Hello(PROTOCOL, CONTRACT_VERSION, what)))
    return connection


def reports_from(distribution: str, path: str) -> list[tuple[Entry, Report]]:
    """What the container of a distribution reports of each of its plugins; one that says why, where it reports none."""
    own = canonicalize_name(distribution)
    try:
        with connect(path, "report") as connection:
            if not connection.poll(REPORT_SECONDS):
                return [_nobody(own, path, f"it did not report within {REPORT_SECONDS:g} s")]
            reported = msgspec.msgpack.decode(connection.recv_bytes(LARGEST_REPORT), type=list[Reporting])
    except (OSError, EOFError) as error:
        return [_nobody(own, path, f"nobody answers at {path}: {type(error).__name__}")]
    except msgspec.MsgspecError as error:
        return [_nobody(own, path, f"what it reports of itself can't be read: {error}")]
    if not reported:
        return [_nobody(own, path, "it has no plugin")]
    return [_held(own, path, r) for r in reported[:MOST_ENTRIES]]


def _nobody(distribution: str, path: str, reason: str) -> tuple[Entry, Report]:
    entry = Entry(distribution, "remote:plugin", distribution, "0", path)
    remedy = "Start its container with `coldwright plugins serve --socket`, then the service."
    return entry, Report(stage="import", reason=reason, remedy=remedy)


def _held(distribution: str, path: str, said: Reporting) -> tuple[Entry, Report]:
    name = said.entry_point if _NAME.fullmatch(said.entry_point) else distribution
    entry = Entry(name, "remote:plugin", distribution, said.version[:50], path)
    plugin = said.report.plugin
    if plugin is None:
        return entry, said.report
    if reason := _broken(plugin):
        return entry, Report(
            stage="identity", reason=reason, remedy="Ask whoever maintains it.", title=plugin.title[:200]
        )
    return entry, said.report


def _broken(plugin: ReportedPlugin) -> str:
    """The first rule that it breaks; empty where it keeps them all."""
    for calculator in plugin.calculators:
        if not ID.fullmatch(calculator.id) or not VERSION.fullmatch(calculator.version):
            return f"the id {calculator.id[:100]!r} or the version {calculator.version[:50]!r} is not of its form"
        if calculator.family in RESERVED_FAMILIES | RESERVED_WORDS:
            return f"the family {calculator.family!r} of {calculator.id} is reserved"
        if wrong := [n for n in _own_names(plugin) if not _NAME.fullmatch(n)]:
            return f"the name {wrong[0][:100]!r} can't stand in the document"
        components = {calculator.given, calculator.results, calculator.answer}
        if not components <= calculator.components.keys():
            return f"{calculator.id} names schemas that it does not bring"
        prefix = camel(calculator.family)
        if not calculator.answer.startswith(f"{prefix}_"):
            return f"the answer of {calculator.id} is called {calculator.answer[:100]!r}, which is another's name"
    claimed = {name for name, _ in plugin.names}
    if lacking := [c.id for c in plugin.calculators if c.id not in claimed]:
        return f"it does not claim {lacking[0]}, which it brings"
    return ""


def _own_names(plugin: ReportedPlugin) -> Iterable[str]:
    return (name for calculator in plugin.calculators for name in calculator.components)


def remote_in(text: str) -> dict[str, str]:
    """From `coldwright-tank=/run/tank.sock,...`; raises `ValueError` for what can't be read."""
    pairs: dict[str, str] = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        name, sign, path = part.partition("=")
        if not (sign and name.strip() and path.strip().startswith("/")):
            raise ValueError(f"{part!r} is not of the form distribution=/path/of/its.sock")
        pairs[canonicalize_name(name.strip())] = path.strip()
    return pairs
