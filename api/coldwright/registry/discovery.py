"""Finds plugins by their entry points, holds them to the contract, and sets aside what does not keep it."""

import time
from collections.abc import Iterable
from importlib.metadata import EntryPoint, entry_points
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct
from packaging.specifiers import InvalidSpecifier, SpecifierSet
from packaging.utils import canonicalize_name

from coldwright.contract import CONTRACT_VERSION, ENTRY_POINT_GROUP, Calculator, Plugin
from coldwright.registry.rules import FIRST_PARTY, broken_rules

State = Literal["loaded", "set_aside"]
Stage = Literal["", "import", "manifest", "contract", "identity"]


class Found(Struct, frozen=True, kw_only=True):
    """What became of one entry point."""

    entry_point: Annotated[str, Meta(description="Name of the entry point.")]
    target: Annotated[str, Meta(description="What the entry point names: `module:object`.")]
    distribution: Annotated[str, Meta(description="Distribution that it came from.")]
    distribution_version: Annotated[str, Meta(description="Version of the distribution.")]
    state: Annotated[State, Meta(description="Whether its calculators are served.")]
    stage: Annotated[Stage, Meta(description="Where it failed; empty when it is loaded.")] = ""
    reason: Annotated[str, Meta(description="Why it was set aside.")] = ""
    remedy: Annotated[str, Meta(description="What to do about it.")] = ""
    title: Annotated[str, Meta(description="Title that the plugin gives itself.")] = ""
    contract: Annotated[str, Meta(description="Versions of the contract that it was written for.")] = ""
    calculators: Annotated[tuple[str, ...], Meta(description="Ids of its calculators.")] = ()
    import_seconds: Annotated[float, Meta(description="Time that it took to import and check.")] = 0.0


class Served(Struct, frozen=True):
    """A calculator with the distribution that brought it."""

    calculator: Calculator[Any, Any]
    distribution: str
    distribution_version: str

    @property
    def first_party(self) -> bool:
        """Whether it came with this distribution."""
        return self.distribution == FIRST_PARTY


class Registry:
    """The calculators that are served, and the story of every plugin that was found."""

    def __init__(self, points: Iterable[EntryPoint] | None = None) -> None:
        self.found: list[Found] = []
        self.served: dict[str, Served] = {}
        self.plugins: dict[str, Plugin] = {}
        known = entry_points(group=ENTRY_POINT_GROUP) if points is None else points
        for point in sorted(known, key=_order):
            self.found.append(self._take(point))
        self._set_aside_orphans()

    def lookup(self, id: str) -> Calculator[Any, Any]:  # noqa: A002
        """The served calculator of that id; raises `KeyError`."""
        return self.served[id].calculator

    def _take(self, point: EntryPoint) -> Found:
        name, version = _distribution(point)

        def aside(stage: Stage, reason: str, remedy: str, title: str = "", contract: str = "") -> Found:
            return Found(
                entry_point=point.name,
                target=point.value,
                distribution=name,
                distribution_version=version,
                state="set_aside",
                stage=stage,
                reason=reason,
                remedy=remedy,
                title=title,
                contract=contract,
                import_seconds=round(time.perf_counter() - began, 4),
            )

        began = time.perf_counter()
        try:
            plugin = point.load()
        except KeyboardInterrupt:
            raise
        except BaseException as error:
            return aside("import", f"{type(error).__name__}: {error}", f"Make `import {point.module}` work.")
        if not isinstance(plugin, Plugin):
            return aside("manifest", f"{point.value} is not a Plugin but a {type(plugin).__name__}", "Name a `Plugin`.")
        try:
            compatible = SpecifierSet(plugin.contract).contains(CONTRACT_VERSION)
        except (InvalidSpecifier, TypeError) as error:
            return aside("manifest", f"contract {plugin.contract!r}: {error}", "Write it like `>=1.0,<2`.")
        if not compatible:
            return aside(
                "contract",
                f"written for contract {plugin.contract}, this is {CONTRACT_VERSION}",
                "Install a release of the plugin for this contract.",
                plugin.title,
                plugin.contract,
            )
        try:
            problem = broken_rules(plugin, name, self.served)
        except Exception as error:
            problem = f"{type(error).__name__}: {error}"
        if problem:
            remedy = f"Run `coldwright plugins check {point.name}`."
            return aside("identity", problem, remedy, plugin.title, plugin.contract)
        self.plugins[point.name] = plugin
        for calculator in plugin.calculators:
            self.served[calculator.id] = Served(calculator, name, version)
        return Found(
            entry_point=point.name,
            target=point.value,
            distribution=name,
            distribution_version=version,
            state="loaded",
            title=plugin.title,
            contract=plugin.contract,
            calculators=tuple(c.id for c in plugin.calculators),
            import_seconds=round(time.perf_counter() - began, 4),
        )

    def _set_aside_orphans(self) -> None:
        """A plugin whose calculators ask one that is not served can't answer: it goes, and so on until none is left."""
        changed = True
        while changed:
            changed = False
            for index, found in enumerate(self.found):
                asks = {u for i in found.calculators if i in self.served for u in self.lookup(i).uses}
                if missing := sorted(asks - self.served.keys()):
                    for id_ in found.calculators:
                        self.served.pop(id_, None)
                    self.plugins.pop(found.entry_point, None)
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


def _distribution(point: EntryPoint) -> tuple[str, str]:
    dist = point.dist
    return (canonicalize_name(dist.name), dist.version) if dist is not None else ("unknown", "0")


def _order(point: EntryPoint) -> tuple[bool, str, str]:
    """Our own first, then by distribution and name, so that what is installed beside never changes who wins."""
    name = _distribution(point)[0]
    return name != FIRST_PARTY, name, point.name
