"""Takes a plugin out of its entry point in this process, and says in words why that can't be done."""

from packaging.specifiers import InvalidSpecifier, SpecifierSet

from coldwright.contract import CONTRACT_VERSION, Plugin
from coldwright.registry.entry import Entry
from coldwright.registry.reported import Stage
from coldwright.registry.rules import broken_rules

LONGEST_REASON = 500


class SetAside(Exception):  # noqa: N818
    """The plugin is not served: at which stage it failed, why, and what to do about it."""

    def __init__(self, stage: Stage, reason: str, remedy: str) -> None:
        self.stage, self.remedy = stage, remedy
        self.reason = " ".join(reason.split())[:LONGEST_REASON]
        super().__init__(self.reason)


def load(entry: Entry) -> Plugin:
    """The plugin that an entry point names. Whatever its import throws becomes a reason; raises `SetAside`."""
    try:
        plugin = entry.load()
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        reason = f"{type(error).__name__}: {error}"
        raise SetAside("import", reason, f"Make `import {entry.module}` work.") from error
    if not isinstance(plugin, Plugin):
        reason = f"{entry.target} is not a Plugin but a {type(plugin).__name__}"
        raise SetAside("manifest", reason, "Name a `Plugin`.")
    return plugin


def refuse_broken(plugin: Plugin, entry: Entry) -> None:
    """Raise `SetAside` for a plugin of another contract, and for one that breaks a rule by itself."""
    if not _is_compatible(plugin):
        reason = f"written for contract {plugin.contract}, this is {CONTRACT_VERSION}"
        raise SetAside("contract", reason, "Install a release of the plugin for this contract.")
    try:
        problem = broken_rules(plugin, entry.distribution)
    except Exception as error:
        problem = f"{type(error).__name__}: {error}"
    if problem:
        raise SetAside("identity", problem, f"Run `coldwright plugins check {entry.name}`.")


def _is_compatible(plugin: Plugin) -> bool:
    try:
        return SpecifierSet(plugin.contract).contains(CONTRACT_VERSION)
    except (InvalidSpecifier, TypeError, AttributeError) as error:
        raise SetAside("manifest", f"contract {plugin.contract!r}: {error}", "Write it like `>=1.0,<2`.") from error
