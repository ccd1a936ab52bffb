"""Finds plugins by their entry points, holds them to the contract, and sets aside what does not keep it.

Ours are imported here. Strangers' are imported by a child process (`strangers`): here they are what it reports of them.
"""

import os
import time
from collections.abc import Collection, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import ENTRY_POINT_GROUP, Calculator, Plugin, Role
from coldwright.contract.evaluation import origin_of
from coldwright.contract.parts import Join
from coldwright.contract.quantities import Kind, know
from coldwright.registry.entry import Entry, entry_of
from coldwright.registry.found import Found
from coldwright.registry.loading import SetAside, load, refuse_broken
from coldwright.registry.names import FIRST_PARTY
from coldwright.registry.ownership import Ownership
from coldwright.registry.remote import reports_from
from coldwright.registry.reported import Report, Reported, ReportedPlugin
from coldwright.registry.rules import names_of, shown
from coldwright.registry.strangers import reports_of, sent_of


class Served(Struct, frozen=True):
    """A calculator with the distribution that brought it."""

    calculator: Calculator[Any, Any] | Reported
    """Itself, or, of a stranger's that is loaded in its worker alone, what was reported of it."""
    distribution: str
    distribution_version: str
    newest: bool = True
    """Whether it is the newest major version of its id that is served."""

    @property
    def first_party(self) -> bool:
        """Whether it came with this distribution."""
        return self.distribution == FIRST_PARTY

    @property
    def local(self) -> Calculator[Any, Any]:
        """The calculator itself; raises `TypeError` for one that is not loaded in this process."""
        if isinstance(self.calculator, Reported):
            raise TypeError(f"{self.calculator.id} of {self.distribution} is not loaded in this process")
        return self.calculator

    @property
    def name(self) -> str:
        """By which the registry finds it: its id, with `@major` where a newer major version is served."""
        return self.calculator.id if self.newest else self.calculator.pinned


def denied_by_environment() -> frozenset[str]:
    """Entry points or distributions that the operator will not have loaded: `COLDWRIGHT_PLUGINS_DENIED=a,b`."""
    return frozenset(name.strip() for name in os.environ.get("COLDWRIGHT_PLUGINS_DENIED", "").split(",")) - {""}


class Registry:
    """The calculators that are served, and the story of every plugin that was found."""

    def __init__(
        self,
        points: Iterable[EntryPoint] | None = None,
        denied: Collection[str] | None = None,
        ownership: Ownership | None = None,
        remote: Mapping[str, str] | None = None,
    ) -> None:
        """`remote`: distributions that run in containers of their own, each with the path of its socket."""
        self.found: list[Found] = []
        self.served: dict[str, Served] = {}
        self.older: dict[str, Served] = {}
        """Older major versions that are still shipped, by `family.name@major`."""
        self.plugins: dict[str, Plugin | ReportedPlugin] = {}
        self.entries: dict[str, Entry] = {}
        """Entry points of the plugins that are served, by name."""
        self.printed: dict[str, str] = {}
        """What strangers' plugins printed while they were imported, by entry point and distribution."""
        self._denied = denied_by_environment() if denied is None else frozenset(denied)
        self._names: dict[str, tuple[str, str]] = {}
        known = entry_points(group=ENTRY_POINT_GROUP) if points is None else points
        entries = sorted({entry_of(p): None for p in known}, key=_order)
        ours = [e for e in entries if e.first_party or self._is_denied(e)]
        strangers = [e for e in entries if e not in ours]
        with ThreadPoolExecutor(1) as beside:  # their process reads them while ours are loaded here
            sent = beside.submit(sent_of, strangers)
            stories = {e: self._take_ours(e) for e in ours}
            reports = reports_of(strangers, sent.result())
        reported = dict(zip(strangers, reports, strict=True))
        for name, path in (remote or {}).items():
            reported |= {e: r for e, r in reports_from(name, path) if not self._is_denied(e)}
        stories |= self._take_strangers(reported, ownership or Ownership())
        self.found = [stories[e] for e in sorted({*entries, *reported}, key=_order)]
        self._set_aside_orphans()

    @classmethod
    def of_ours(cls) -> "Registry":
        """Our plugins alone: what a worker has before it takes in those that it is for."""
        return cls([p for p in entry_points(group=ENTRY_POINT_GROUP) if entry_of(p).first_party])

    def take_in(self, entries: Iterable[Entry]) -> None:
        """Import plugins of strangers into this process, which is a worker's or an author's, never the service's.

        What is served was settled before. Raises `SetAside` for one that can't be imported after all.
        """
        for entry in entries:
            self._serve(entry, load(entry))

    def take_all_in(self) -> "Registry":
        """The same for every plugin that is served: what an author's tests ask."""
        self.take_in([e for e in self.entries.values() if not e.first_party and not e.socket])
        return self

    def entries_for(self, distribution: str) -> list[Entry]:
        """Entry points that a worker of this distribution needs: its own, and those of all that it asks."""
        wanted, waiting = {distribution}, [distribution]
        while waiting:
            of = waiting.pop()
            for served in [*self.served.values(), *self.older.values()]:
                asked = served.calculator.uses if served.distribution == of else ()
                more = {s.distribution for name in asked if (s := self.find(name))} - wanted - {FIRST_PARTY}
                wanted |= more
                waiting += sorted(more)
        return [e for e in self.entries.values() if e.distribution in wanted and not e.first_party and not e.socket]

    def socket_of(self, distribution: str) -> str:
        """Where the container of a distribution answers; empty where it runs here."""
        return next((e.socket for e in self.entries.values() if e.distribution == distribution), "")

    def find(self, name: str) -> Served | None:
        """The served calculator called `family.name`, or `family.name@2` for that major version of it."""
        id_, _, major = name.partition("@")
        newest = self.served.get(id_)
        if newest is None or not major or major == str(newest.calculator.major):
            return newest
        return self.older.get(name)

    def lookup(self, name: str) -> Calculator[Any, Any]:
        """The calculator of `find`; raises `KeyError`, and `TypeError` for one that is not loaded in this process."""
        if (served := self.find(name)) is None:
            raise KeyError(name)
        return served.local

    def origin(self, name: str) -> str:
        """Distribution and version that the calculator of `find` came from; raises `KeyError`."""
        if (served := self.find(name)) is None:
            raise KeyError(name)
        return origin_of(served.distribution, served.distribution_version)

    def majors(self, id: str) -> list[Served]:  # noqa: A002 - the contract's own word
        """Every major version of an id, the newest first."""
        every = [s for s in (self.served.get(id), *self.older.values()) if s is not None and s.calculator.id == id]
        return sorted(every, key=lambda s: -s.calculator.major)

    def why(self, entry_point: str) -> str:
        """Why a plugin is not served; empty when it is."""
        if entry_point in self.plugins:
            return ""
        outcomes = [f"{f.state.replace('_', ' ')}: {f.reason}" for f in self.found if f.entry_point == entry_point]
        return outcomes[0] if outcomes else "not installed"

    def claims(self) -> dict[str, str]:
        """Ids of strangers that are served, with the distribution that holds each from now on."""
        return {s.calculator.id: s.distribution for s in self.served.values() if not s.first_party}

    def _is_denied(self, entry: Entry) -> bool:
        return bool({entry.name, entry.distribution} & self._denied)

    def _take_ours(self, entry: Entry) -> Found:
        if self._is_denied(entry):
            remedy = "Take it out of the setting to have it loaded."
            return _found_as(entry, state="denied", reason="COLDWRIGHT_PLUGINS_DENIED names it", remedy=remedy)
        began = time.perf_counter()
        try:
            plugin = load(entry)
            refuse_broken(plugin, entry)
            self._refuse_taken(entry, [(name, shown(meant)) for name, meant in names_of(plugin, FIRST_PARTY)])
        except SetAside as aside:
            return _aside(entry, aside, time.perf_counter() - began)
        self._serve(entry, plugin)
        return self._loaded(entry, plugin, time.perf_counter() - began)

    def _take_strangers(self, reports: Mapping[Entry, Report], ownership: Ownership) -> dict[Entry, Found]:
        """Those that hold their ids first, in order of their registration; newcomers only where nobody else claims."""
        stories: dict[Entry, Found] = {}
        sound: dict[Entry, ReportedPlugin] = {}
        for entry, report in reports.items():
            if report.output.strip():
                self.printed[f"{entry.name} ({entry.distribution})"] = report.output
            if report.plugin is None:
                stories[entry] = _aside(entry, _reason(report), report.seconds, report.title, report.contract)
            elif not (wrong := _not_its_own(entry, report.plugin, ownership)):
                sound[entry] = report.plugin
            else:
                stories[entry] = _aside(entry, wrong, report.seconds, report.plugin.title, report.plugin.contract)
        line = {e: ownership.seniority(e.distribution, _ids(p)) for e, p in sound.items()}
        seniors = sorted((e for e in sound if line[e] is not None), key=lambda e: (line[e], _order(e)))
        rivals = _rivals({e: p for e, p in sound.items() if line[e] is None})
        for entry in [*seniors, *(e for e in sound if line[e] is None)]:
            plugin = sound[entry]
            try:
                self._refuse_taken(entry, plugin.names)
                if entry in rivals:
                    raise rivals[entry]
            except SetAside as aside:
                stories[entry] = _aside(entry, aside, reports[entry].seconds, plugin.title, plugin.contract)
                continue
            self._serve(entry, plugin)
            stories[entry] = self._loaded(entry, plugin, reports[entry].seconds)
        return stories

    def role(self, role: Role) -> Served | None:
        """The calculator that takes this part: of the first plugin loaded here that names one it brings."""
        for plugin in self.plugins.values():
            roles = plugin.roles if isinstance(plugin, Plugin) else {}
            if (served := self.served.get(roles.get(role, ""))) is not None:
                return served
        return None

    def warming(self) -> list[Served]:
        """Calculators whose first example warms a worker, as the plugins loaded here name them."""
        named = [id_ for plugin in self.plugins.values() if isinstance(plugin, Plugin) for id_ in plugin.warms]
        return [self.served[id_] for id_ in named if id_ in self.served]

    def warming_later(self) -> list[Served]:
        """Calculators whose first example warms one worker when nobody asks anything, as the plugins loaded here say."""
        named = [id_ for plugin in self.plugins.values() if isinstance(plugin, Plugin) for id_ in plugin.warms_later]
        return [self.served[id_] for id_ in named if id_ in self.served]

    def parts(self, join: Join) -> list[Served]:
        """Calculators that join this, by id."""
        found = [s for s in self.served.values() if s.calculator.joins == join]
        return sorted(found, key=lambda s: s.calculator.id)

    def needed(self, role: Role) -> Served:
        """The same where it is known to be there; raises `LookupError`."""
        served = self.role(role)
        if served is None:
            raise LookupError(f"no plugin that is served takes the role {role!r}")
        return served

    def _refuse_taken(self, entry: Entry, names: Iterable[tuple[str, str]]) -> None:
        if entry.name in self.entries:
            owner = self.entries[entry.name].distribution
            reason = f"the entry point name {entry.name!r} is taken by {owner}"
            raise SetAside("identity", reason, "Give the entry point another name.")
        for name, meant in names:
            other = self._names.get(name)
            if other is not None and (other[0] != meant or _is_id(name)):  # one struct may serve two plugins
                raise _taken(name, meant, *other)

    def _serve(self, entry: Entry, plugin: Plugin | ReportedPlugin) -> None:
        self.plugins[entry.name], self.entries[entry.name] = plugin, entry
        if isinstance(plugin, ReportedPlugin):
            for kind in plugin.kinds:
                know(kind.kind, Kind(kind.factors, kind.us))
        names = plugin.names if isinstance(plugin, ReportedPlugin) else names_of(plugin, entry.distribution)
        for name, meant in names:
            self._names.setdefault(name, (shown(meant), entry.distribution))
        seen: set[str] = set()
        calculators: Sequence[Calculator[Any, Any] | Reported] = plugin.calculators
        for calculator in sorted(calculators, key=lambda c: -c.major):
            newest = calculator.id not in seen
            seen.add(calculator.id)
            served = Served(calculator, entry.distribution, entry.distribution_version, newest)
            (self.served if newest else self.older)[served.name] = served

    def _loaded(self, entry: Entry, plugin: Plugin | ReportedPlugin, seconds: float) -> Found:
        names = tuple(c.id if self.served[c.id].calculator is c else c.pinned for c in plugin.calculators)
        facts = {"title": str(plugin.title), "contract": str(plugin.contract), "calculators": names}
        return _found_as(entry, state="loaded", import_seconds=round(seconds, 4), **facts)

    def _can_be_asked(self, name: str, by: str) -> bool:
        """Whether it is served where a calculator of that distribution runs."""
        served = self.find(name)
        if served is None:
            return False
        return served.first_party or self.socket_of(served.distribution) == self.socket_of(by)

    def _set_aside_orphans(self) -> None:
        """A plugin whose calculators ask one that is not served can't answer: it goes, and so on until none is left."""
        changed = True
        while changed:
            changed = False
            for index, found in enumerate(self.found):
                asks = {u for n in found.calculators if (s := self.find(n)) for u in s.calculator.uses}
                if missing := sorted(used for used in asks if not self._can_be_asked(used, found.distribution)):
                    for name in found.calculators:
                        self.served.pop(name, None)
                        self.older.pop(name, None)
                    self.plugins.pop(found.entry_point)
                    self.entries.pop(found.entry_point)
                    self.found[index] = msgspec.structs.replace(
                        found,
                        state="set_aside",
                        stage="identity",
                        reason=f"asks calculators that are not served, or run in another container: {', '.join(missing)}",
                        remedy="Install the plugin that brings them beside it, or see why it was set aside.",
                        calculators=(),
                    )
                    changed = True


def _ids(plugin: ReportedPlugin) -> set[str]:
    return {c.id for c in plugin.calculators}


def _not_its_own(entry: Entry, plugin: ReportedPlugin, ownership: Ownership) -> SetAside | None:
    """Why a plugin may not have an id that belongs to another distribution."""
    for id_ in sorted(_ids(plugin)):
        holder = ownership.holder(id_)
        if holder and holder != entry.distribution:
            pinned = id_ in ownership.pinned
            how = "COLDWRIGHT_PLUGINS_PINNED gives it to" if pinned else "it was registered first by"
            cure = (
                f"Change COLDWRIGHT_PLUGINS_PINNED if {entry.distribution} is to have it."
                if pinned
                else f"If {entry.distribution} is to have it: `coldwright plugins release {id_}`, then start again."
            )
            return SetAside("identity", f"the id {id_} belongs to {holder}: {how} {holder}", cure)
    return None


def _rivals(newcomers: dict[Entry, ReportedPlugin]) -> dict[Entry, SetAside]:
    """Newcomers that claim one name, or one entry point: none of them is served until the operator says which."""
    claimed: dict[str, list[tuple[Entry, str]]] = {}
    for entry, plugin in newcomers.items():
        for name, meant in {(f"entry point {entry.name}", entry.distribution), *plugin.names}:
            claimed.setdefault(name, []).append((entry, meant))
    rivals: dict[Entry, SetAside] = {}
    for name, claims in sorted(claimed.items(), key=lambda c: (not _is_id(c[0]), c[0])):
        one_struct = not _is_id(name) and len({meant for _, meant in claims}) == 1
        if len(claims) > 1 and not one_struct:
            for entry, meant in claims:
                others = ", ".join(sorted({e.distribution for e, _ in claims if e != entry}))
                what = f"the id {name}" if _is_id(name) else f"the name {name} of {meant}"
                pin = f"{next(c.id for c in newcomers[entry].calculators)}={entry.distribution}"
                cure = f"Say who is to have it, for example COLDWRIGHT_PLUGINS_PINNED={pin}"
                reason = f"{what} is claimed by {others} too, and neither was here before"
                rivals.setdefault(entry, SetAside("identity", reason, cure))
    return rivals


def _taken(name: str, meant: str, other: str, holder: str) -> SetAside:
    what = f"the id {name}" if _is_id(name) else f"the name {name} of {meant}"
    by = holder if meant == other else f"{other} of {holder}"
    return SetAside("identity", f"{what} is taken by {by}", "Give yours another name, or deny the other plugin.")


def _is_id(name: str) -> bool:
    """Whether a name that is taken is an id: those of operations and components have no dot."""
    return "." in name


def _reason(report: Report) -> SetAside:
    return SetAside(report.stage, report.reason, report.remedy)


def _aside(entry: Entry, aside: SetAside, seconds: float, title: str = "", contract: str = "") -> Found:
    facts: dict[str, Any] = {"stage": aside.stage, "reason": aside.reason, "remedy": aside.remedy}
    return _found_as(
        entry, state="set_aside", title=title, contract=contract, import_seconds=round(seconds, 4), **facts
    )


def _found_as(entry: Entry, **facts: Any) -> Found:
    return Found(
        entry_point=entry.name,
        target=entry.target,
        distribution=entry.distribution,
        distribution_version=entry.distribution_version,
        **facts,
    )


def _order(entry: Entry) -> tuple[bool, str, str, str]:
    """Our own first, then by distribution and name: the order in which they are listed."""
    return not entry.first_party, entry.distribution, entry.name, entry.target
