"""Rules that can be checked without running a calculator: schemas, references, examples, names."""

import hashlib
import re
import typing
from collections.abc import Iterator
from typing import Any

import msgspec

from coldwright.conformance.faults import Fault
from coldwright.contract import Calculator, Plugin, Results
from coldwright.contract.reference import PROVENANCE_MEANING
from coldwright.contract.walk import FieldFacts, all_structs, fields_of, metas, plain

DIMENSIONS = re.compile(
    r"(^|_)(length|height|width|depth|diameter|distance|temperature|pressure|flow|power|current|voltage|mass|force|weight"
    r"|duration|speed|velocity|area|volume|density|energy|frequency|capacity|heat)$"
)
"""Words that end the name of something with a dimension; such a field is a quantity, or says its unit in brackets."""
PLAIN = re.compile(r"(^|_)(ratio|fraction|factor|multiple|count|per)(_|$)")
"""Words that make a plain number of it."""


def check_schemas(calculator: Calculator[Any, Any]) -> Iterator[Fault]:
    """Every struct and field described, every input number bounded, every dimension with a unit, nothing nullable."""
    for root in (calculator.given, calculator.results):
        for struct in all_structs(root):
            own = struct.__module__.partition(".")[0] != "coldwright"
            if own and not (struct.__doc__ or "").strip():
                yield Fault("undocumented", calculator.id, f"{struct.__name__} has no docstring")
            for facts in fields_of(struct) if own else ():
                yield from _field(calculator.id, struct.__name__, facts, is_input=not issubclass(struct, Results))


def _field(calculator_id: str, struct: str, facts: FieldFacts, *, is_input: bool) -> Iterator[Fault]:
    where = f"{struct}.{facts.wire_name}"
    core = plain(facts.annotation)
    if not facts.description.strip():
        yield Fault("undocumented", calculator_id, f"{where} has no description")
    if type(None) in typing.get_args(core) or core is type(None):
        yield Fault("nullable", calculator_id, f"{where} may be null: leave it out instead")
    if (
        core is float
        and DIMENSIONS.search(facts.name)
        and not PLAIN.search(facts.name)
        and not re.search(r"\[.+\]", facts.description)
    ):
        yield Fault("no_unit", calculator_id, f"{where} has a dimension and no unit")
    if is_input and core in (int, float) and not _bounded(facts):
        yield Fault("unbounded", calculator_id, f"{where} has no finite bounds")
    if is_input and facts.quantity is not None and facts.about.within is None:
        yield Fault("unbounded", calculator_id, f"{where} has no range")


def _bounded(facts: FieldFacts) -> bool:
    found = list(metas(facts.annotation))
    low = any(m.ge is not None or m.gt is not None for m in found)
    return low and any(m.le is not None or m.lt is not None for m in found)


def check_references(plugin: Plugin, calculator: Calculator[Any, Any]) -> Iterator[Fault]:
    """At least one source; each with a provenance that is one of the words."""
    sources = (*plugin.references, *calculator.references)
    if not calculator.references:
        yield Fault("no_reference", calculator.id, "it cites nothing: name a source, or `common_practice`, or `memory`")
    for source in sources:
        if source.provenance not in PROVENANCE_MEANING:
            yield Fault("no_provenance", calculator.id, f"{source.id}: {source.provenance!r} is no provenance")
        if not source.title.strip():
            yield Fault("no_reference", calculator.id, f"{source.id} has no title")


def check_examples(calculator: Calculator[Any, Any]) -> Iterator[Fault]:
    """At least two examples."""
    if len(calculator.examples) < 2:
        yield Fault("example", calculator.id, f"{len(calculator.examples)} examples; two are the least")


def fingerprint(calculator: Calculator[Any, Any]) -> str:
    """SHA-256 of the schemas: what a client is built on."""
    schemas = [msgspec.json.schema(calculator.given), msgspec.json.schema(calculator.results)]
    return hashlib.sha256(msgspec.json.encode(schemas, order="sorted")).hexdigest()


def snapshot(plugin: Plugin) -> dict[str, dict[str, str]]:
    """What to keep beside the plugin, so that a changed schema without a new version is found."""
    return {c.id: {"version": c.version, "schema": fingerprint(c)} for c in plugin.calculators}


def check_snapshot(plugin: Plugin, kept: dict[str, dict[str, str]]) -> Iterator[Fault]:
    """Schemas against those that were kept: another schema needs another version."""
    for id_, now in snapshot(plugin).items():
        before = kept.get(id_)
        if before and before["version"] == now["version"] and before["schema"] != now["schema"]:
            yield Fault("schema_changed", id_, f"the schema changed and the version is still {now['version']}")
