"""What a plugin must keep to be served at all. The full test kit is `coldwright.conformance`."""

import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract import Calculator, Plugin
from coldwright.contract.walk import all_structs
from coldwright.registry.names import FIRST_PARTY, RESERVED_FAMILIES, answer_name, component_name, stem

RESERVED_WORDS = frozenset(
    {"add", "cancel", "create", "delete", "describe", "evaluate", "find", "get", "list", "post", "put", "remove"}
    | {"confirm", "deliver", "hold", "import", "recheck", "return", "show", "take"}
    | {
        "replay",
        "revoke",
        "rotate",
        "solve",
        "stream",
        "sweep",
        "unknown",
        "update",
        "watch",
        "coldwright",
        "answer",
        "problem",
    }
)
"""No family may be called so: operations of the service itself begin with these words."""

ID = re.compile(r"[a-z][a-z0-9_]{1,39}\.[a-z][a-z0-9_]{1,59}")
VERSION = re.compile(r"(0|[1-9]\d{0,5})\.(0|[1-9]\d{0,5})\.(0|[1-9]\d{0,5})")


def broken_rules(plugin: Plugin, distribution: str) -> str:
    """The first rule that the plugin breaks by itself, in words; empty when it keeps them all."""
    if not (isinstance(plugin.title, str) and plugin.title.strip()):
        return "it has no title"
    if not isinstance(plugin.summary, str):
        return "its summary is not a text"
    msgspec.json.encode([(e.name, e.summary, e.given) for e in plugin.explorations.values()])
    own: set[str] = set()
    for calculator in plugin.calculators:
        if problem := _of_calculator(calculator, distribution):
            return problem
        if calculator.pinned in own:
            return f"two calculators are called {calculator.pinned}"
        own.add(calculator.pinned)
    return two_of_one_name(names_of(plugin, distribution))


def _of_calculator(calculator: object, distribution: str) -> str:
    if not isinstance(calculator, Calculator):
        return f"{calculator!r} is not a Calculator: use the decorator"
    if not (isinstance(calculator.id, str) and ID.fullmatch(calculator.id)):
        return f"the id {calculator.id!r} is not of the form family.name, in small letters"
    if not (isinstance(calculator.version, str) and VERSION.fullmatch(calculator.version)):
        return f"the version {calculator.version!r} of {calculator.id} is not of the form 1.2.3"
    if (leaving := calculator.deprecated) and date.fromisoformat(leaving.since) >= date.fromisoformat(leaving.until):
        return f"{calculator.id} is deprecated since {leaving.since} and leaves before that, {leaving.until}"
    if distribution == FIRST_PARTY:
        return ""
    if calculator.family in RESERVED_FAMILIES | RESERVED_WORDS:
        return f"the family {calculator.family!r} of {calculator.id} is reserved"
    return _unpublishable(calculator)


def _unpublishable(calculator: Calculator[Any, Any]) -> str:
    """What would keep the document from being written: better one plugin is set aside than the service."""
    texts = (calculator.title, calculator.summary, *calculator.uses, *calculator.hazards)
    if not all(isinstance(text, str) for text in texts):
        return f"a text of {calculator.id} is not a text"
    for part in (calculator.given, calculator.results):
        if not (isinstance(part, type) and issubclass(part, Struct)):
            return f"{part!r} of {calculator.id} is not a struct: derive it from Given or Results"
    structs = all_structs(calculator.given, calculator.results)
    msgspec.json.schema_components(structs)
    msgspec.json.encode(
        [calculator.references, calculator.tables, [(e.name, e.summary, e.given) for e in calculator.examples]]
    )
    return ""


Names = Iterable[tuple[str, object]]


def names_of(plugin: Plugin, distribution: str) -> Iterator[tuple[str, object]]:
    """Names that the plugin takes for itself, each with what it means: ids, operations, components.

    Structs of the contract are everybody's. Those of ours no stranger can meet, and that no two of ours meet is looked at by
    the tests: to go through them all at each start takes a tenth of it.
    """
    for calculator in plugin.calculators:
        yield calculator.id, calculator.id
        for newest in (True, False):
            yield f"operation {stem(calculator, newest=newest)}", calculator.id
            yield answer_name(calculator, newest=newest), f"answer of {calculator.id if newest else calculator.pinned}"
        if distribution != FIRST_PARTY:
            yield from components_of(calculator)


def components_of(calculator: Calculator[Any, Any]) -> Iterator[tuple[str, object]]:
    """Names of its structs in the document, but for those of the contract."""
    for struct in all_structs(calculator.given, calculator.results):
        if struct.__module__.partition(".")[0] != "coldwright":
            yield component_name(struct), struct


def two_of_one_name(names: Names) -> str:
    known: dict[str, object] = {}
    for name, meant in names:
        if (other := known.setdefault(name, meant)) != meant:
            return f"two things are called {name}: {shown(other)} and {shown(meant)}"
    return ""


def shown(meant: object) -> str:
    """What a name means, in words that are the same in every process."""
    return f"{meant.__module__}.{meant.__qualname__}" if isinstance(meant, type) else str(meant)
