"""What a plugin must keep to be served at all. The full test kit is `coldwright.conformance`."""

import re
from collections.abc import Mapping

from coldwright.contract import Calculator, Plugin
from coldwright.contract.walk import all_structs

FIRST_PARTY = "coldwright"
RESERVED_FAMILIES = frozenset({"electrical", "hydronic", "refrigeration", "readiness", "site", "booking"})
_ID = re.compile(r"[a-z][a-z0-9_]{1,39}\.[a-z][a-z0-9_]{1,59}")


def broken_rules(plugin: Plugin, distribution: str, served: Mapping[str, object]) -> str:
    """The first rule that the plugin breaks, in words; empty when it keeps them all."""
    own: set[str] = set()
    for calculator in plugin.calculators:
        if not isinstance(calculator, Calculator):
            return f"{calculator!r} is not a Calculator: use the decorator"
        if not _ID.fullmatch(calculator.id):
            return f"the id {calculator.id!r} is not of the form family.name, in small letters"
        if calculator.family in RESERVED_FAMILIES and distribution != FIRST_PARTY:
            return f"the family {calculator.family!r} of {calculator.id} is reserved"
        if calculator.id in served or calculator.id in own:
            return f"the id {calculator.id} is taken"
        own.add(calculator.id)
    return _clashing_names(plugin)


def component_name(struct: type) -> str:
    """Name of a struct in the OpenAPI document; depends on nothing but the struct itself.

    The contract's structs keep their names; a plugin's carry the name of its package, so that two plugins never meet.
    """
    package = struct.__module__.partition(".")[0]
    if package == "coldwright":
        return struct.__name__
    prefix = "".join(word.capitalize() for word in package.removeprefix("coldwright_").split("_"))
    return struct.__name__ if struct.__name__.startswith(prefix) else prefix + struct.__name__


def _clashing_names(plugin: Plugin) -> str:
    names: dict[str, type] = {}
    for calculator in plugin.calculators:
        for struct in all_structs(calculator.given, calculator.results):
            name = component_name(struct)
            if names.setdefault(name, struct) is not struct:
                return f"two structs are called {name}: {names[name].__module__} and {struct.__module__}"
    return ""
