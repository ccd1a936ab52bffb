"""Finds plugins by their entry points, holds them to the contract, and sets aside what does not keep it."""

import os
import time
from collections.abc import Collection, Iterable
from importlib.metadata import EntryPoint, entry_points
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct
from packaging.specifiers import InvalidSpecifier, SpecifierSet
from packaging.utils import canonicalize_name

from coldwright.contract import CONTRACT_VERSION, ENTRY_POINT_GROUP, Calculator, Plugin
from coldwright.registry.names import FIRST_PARTY
from coldwright.registry.rules import broken_rules, names_of

State = Literal["loaded", "set_aside", "denied"]
Stage = Literal["", "import", "manifest", "contract", "identity"]


class Found(Struct, frozen=True, kw_only=True):
    """What became of one entry point."""

    entry_point: Annotated[str, Meta(description="Name of the entry point.")]
    target: Annotated[str, Meta(description="What the entry point names: `module:object`.")]
    distribution: Annotated[str, Meta(description="Distribution that it came from.")]
    distribution_version: Annotated[str, Meta(description="Version of the distribution.")]
    state: Annotated[State, Meta(description="Whether its calculators are served; `denied` by the operator's setting.")]
    stage: Annotated[Stage, Meta(description="Where it failed; empty when it did not.")] = ""
    reason: Annotated[str, Meta(description="Why it is not served.")] = ""
    remedy: Annotated[str, Meta(description="What to do about it.")] = ""
    title: Annotated[str, Meta(description="Title that the plugin gives itself.")] = ""
    contract: Annotated[str, Meta(description="Versions of the contract that it was written for.")] = ""
    calculators: Annotated[
        tuple[str, ...], Meta(description="Ids of its calculators; an older major version as `family.name@1`.")
    ] = ()
    import_seconds: Annotated[float, Meta(description="Time that it took to import and check.")] = 0.0


class Served(Struct, frozen=True):
    """A calculator with the distribution that brought it."""

    calculator: Calculator[Any, Any]
    distribution: str
    distribution_version: str
    newest: bool = True
    """Whether it is the newest major version of its id that is served."""

    @property
    def first_party(self) -> bool:
        """Whether it came with this distribution."""
        return self.distribution == FIRST_PARTY

    @property
    def name(self) -> str:
        """By which the registry finds it: its id, with `@major` where a newer major version is served."""
        return self.calculator.id if self.newest else self.calculator.pinned


class _SetAside(Exception):  # noqa: N818 - caught where it is raised
    def __init__(self, stage: Stage, reason: str, remedy: str) -> None:
        self.stage, self.remedy = stage, remedy
        self.reason = " ".join(reason.split())[:500]


def denied_by_environment() -> frozenset[str]:
    """Entry points or distributions that the operator will not have loaded: `COLDWRIGHT_PLUGINS_DENIED=a,b`."""
    return frozenset(name.strip() for name in os.environ.get("COLDWRIGHT_PLUGINS_DENIED", "").split(",")) - {""}


class Registry:
    """The calculators that are served, and the story of every plugin that was found."""

    def __init__(self, points: Iterable[EntryPoint] | None = None, denied: Collection[str] | None = None) -> None:
        self.found: list[Found] = []
        self.served: dict[str, Served] = {}
        self.older: dict[str, Served] = {}
        """Older major versions that are still shipped, by `family.name@major`."""
        self.plugins: dict[str, Plugin] = {}
        self._denied = denied_by_environment() if denied is None else frozenset(denied)
        self._names: dict[str, object] = {}
        known = entry_points(group=ENTRY_POINT_GROUP) if points is None else points
        for point in sorted(known, key=_order):
            self.found.append(self._take(point))
        self._set_aside_orphans()

    def find(self, name: str) -> Served | None:
        """The served calculator called `family.name`, or `family.name@2` for that major version of it."""
        id_, _, major = name.partition("@")
        newest = self.served.get(id_)
        if newest is None or not major or major == str(newest.calculator.major):
            return newest
        return self.older.get(name)

    def lookup(self, name: str) -> Calculator[Any, Any]:
        """The calculator of `find`; raises `KeyError`."""
        if (served := self.find(name)) is None:
            raise KeyError(name)
        return served.calculator

    def majors(self, id: str) -> list[Served]:  # noqa: A002 - the contract's own word
        """Every major version of an id, the newest first."""
        every = [s for s in (self.served.get(id), *self.older.values()) if s is not None and s.calculator.id == id]
        return sorted(every, key=lambda s: -s.calculator.major)

    def why(self, entry_point: str) -> str:
        """Why a plugin is not served; empty when it is."""
        if entry_point in self.plugins:
            return ""
        told = [f"{f.state.replace('_', ' ')}: {f.reason}" for f in self.found if f.entry_point == entry_point]
        return told[0] if told else "not installed"

    def _take(self, point: EntryPoint) -> Found:
        name, version = _distribution(point)
        plugin: Plugin | None = None
        state: State = "loaded"
        stage: Stage = ""
        reason = remedy = ""
        began = time.perf_counter()
        if {point.name, name} & self._denied:
            state, reason = "denied", "COLDWRIGHT_PLUGINS_DENIED names it"
            remedy = "Take it out of the setting to have it loaded."
        else:
            try:
                plugin = _load(point)
                self._refuse_broken(plugin, point, name)
            except _SetAside as aside:
                state, stage, reason, remedy = "set_aside", aside.stage, aside.reason, aside.remedy
        if plugin is not None and state == "loaded":
            self._serve(plugin, point.name, name, version)
        return Found(
            entry_point=point.name,
            target=point.value,
            distribution=name,
            distribution_version=version,
            state=state,
            stage=stage,
            reason=reason,
            remedy=remedy,
            title=str(plugin.title) if plugin else "",
            contract=str(plugin.contract) if plugin else "",
            calculators=tuple(self._names_served(plugin)) if plugin and state == "loaded" else (),
            import_seconds=round(time.perf_counter() - began, 4),
        )

    def _refuse_broken(self, plugin: Plugin, point: EntryPoint, distribution: str) -> None:
        if not _is_compatible(plugin):
            raise _SetAside(
                "contract",
                f"written for contract {plugin.contract}, this is {CONTRACT_VERSION}",
                "Install a release of the plugin for this contract.",
            )
        if point.name in self.plugins:
            owner = next(f.distribution for f in self.found if f.entry_point == point.name and f.state == "loaded")
            remedy = "Give the entry point another name."
            raise _SetAside("identity", f"the entry point name {point.name!r} is taken by {owner}", remedy)
        try:
            problem = broken_rules(plugin, distribution, self._names)
        except Exception as error:
            problem = f"{type(error).__name__}: {error}"
        if problem:
            raise _SetAside("identity", problem, f"Run `coldwright plugins check {point.name}`.")

    def _serve(self, plugin: Plugin, entry_point: str, distribution: str, version: str) -> None:
        self.plugins[entry_point] = plugin
        self._names |= dict(names_of(plugin))
        for calculator in sorted(plugin.calculators, key=lambda c: -c.major):
            newest = calculator.id not in self.served
            served = Served(calculator, distribution, version, newest)
            (self.served if newest else self.older)[served.name] = served

    def _names_served(self, plugin: Plugin) -> Iterable[str]:
        return (c.id if self.served[c.id].calculator is c else c.pinned for c in plugin.calculators)

    def _set_aside_orphans(self) -> None:
        """A plugin whose calculators ask one that is not served can't answer: it goes, and so on until none is left."""
        changed = True
        while changed:
            changed = False
            for index, found in enumerate(self.found):
                asks = {used for name in found.calculators for used in self.lookup(name).uses}
                if missing := sorted(used for used in asks if self.find(used) is None):
                    for name in found.calculators:
                        self.served.pop(name, None)
                        self.older.pop(name, None)
                    self.plugins.pop(found.entry_point)
                    self.found[index] = Found(
                        entry_point=found.entry_point,
                        target=found.target,
                        distribution=found.distribution,
                        distribution_version=found.distribution_version,
                        state="set_aside",
                        stage="identity",
                        reason=f"asks calculators that are not served: {', '.join(missing)}",
                        remedy="Install the plugin that brings them, or see why it was set aside.",
                        title=found.title,
                        contract=found.contract,
                        import_seconds=found.import_seconds,
                    )
                    changed = True


def _load(point: EntryPoint) -> Plugin:
    """The plugin that an entry point names. Whatever an import can throw becomes a reason to set it aside."""
    try:
        plugin = point.load()
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        raise _SetAside("import", f"{type(error).__name__}: {error}", f"Make `import {point.module}` work.") from error
    if not isinstance(plugin, Plugin):
        raise _SetAside("manifest", f"{point.value} is not a Plugin but a {type(plugin).__name__}", "Name a `Plugin`.")
    return plugin


def _is_compatible(plugin: Plugin) -> bool:
    try:
        return SpecifierSet(plugin.contract).contains(CONTRACT_VERSION)
    except (InvalidSpecifier, TypeError, AttributeError) as error:
        raise _SetAside("manifest", f"contract {plugin.contract!r}: {error}", "Write it like `>=1.0,<2`.") from error


def _distribution(point: EntryPoint) -> tuple[str, str]:
    dist = point.dist
    return (canonicalize_name(dist.name), dist.version) if dist is not None else ("unknown", "0")


def _order(point: EntryPoint) -> tuple[bool, str, str, str]:
    """Our own first, then by distribution and name, so that what is installed beside never changes who wins."""
    name = _distribution(point)[0]
    return name != FIRST_PARTY, name, point.name, point.value
