"""Rules that can be checked without running a calculator: schemas, references, examples, names."""

import hashlib
import re
import typing
from collections.abc import Iterator
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.conformance.faults import Fault
from coldwright.contract import Calculator, Plugin, Results, Taken
from coldwright.contract.reference import PROVENANCE_MEANING
from coldwright.contract.walk import FieldFacts, all_structs, fields_of, metas, plain

DIMENSIONS = re.compile(
    r"(^|_)(length|height|width|depth|diameter|distance|temperature|pressure|flow|power|current|voltage|mass|force|weight"
    r"|duration|speed|velocity|area|volume|density|energy|frequency|capacity|heat)$"
)
"""Words that end the name of something with a dimension; such a field is a quantity, or says its unit in brackets."""
PLAIN = re.compile(r"(^|_)(ratio|fraction|factor|multiple|exponent|count|per)(_|$)")
"""Words that make a plain number of it."""
UNIT_IN_NAME = re.compile(
    r"_(m|mm|cm|km|ft|feet|inch|inches|m2|m3|ft2|ft3|l_s|lps|gpm|cfm|kg|lb|lbs|kw|mw|btu|btuh|hp|kva|kwh|kpa|pa|bar|psi|psig"
    r"|degc|degf|deg_c|deg_f|celsius|fahrenheit|kelvin|volts|amps|hz|sec|secs|seconds|minutes|hours|mph|kmh)$"
)
"""Spellings of units that end a name: the unit belongs to the value, where the caller may choose it."""
SHAPELESS = {object, dict, list, Any}


def check_schemas(calculator: Calculator[Any, Any]) -> Iterator[Fault]:
    """Everything described, every input bounded and closed, every dimension with a unit, nothing nullable."""
    if len(calculator.summary.split()) < 3 or not calculator.title.strip():
        yield Fault("undocumented", calculator.id, "it has no title, or no docstring that says what it does")
    for kind in calculator.findings.values():
        if not kind.meaning.strip():
            yield Fault("undocumented", calculator.id, f"the finding {kind.code} has no meaning")
    for root in (calculator.given, calculator.results):
        for struct in all_structs(root):
            if struct.__module__.partition(".")[0] != "coldwright":
                yield from _struct(calculator.id, struct, is_input=root is calculator.given)


def _struct(calculator_id: str, struct: type[Struct], *, is_input: bool) -> Iterator[Fault]:
    if not (struct.__doc__ or "").strip():
        yield Fault("undocumented", calculator_id, f"{struct.__name__} has no docstring")
    if not struct.__struct_config__.frozen:
        yield Fault("not_frozen", calculator_id, f"{struct.__name__} can be changed: say frozen=True")
    open_ = not struct.__struct_config__.forbid_unknown_fields and not issubclass(struct, Results | Taken)
    if is_input and open_:
        yield Fault("open_input", calculator_id, f"{struct.__name__} takes unknown fields: derive it from Given")
    for facts in fields_of(struct):
        yield from _field(calculator_id, struct.__name__, facts, is_input=is_input and not issubclass(struct, Results))


def _field(calculator_id: str, struct: str, facts: FieldFacts, *, is_input: bool) -> Iterator[Fault]:
    where = f"{struct}.{facts.wire_name}"
    core = plain(facts.annotation)
    if not facts.description.strip():
        yield Fault("undocumented", calculator_id, f"{where} has no description")
    if _may_be_null(facts.annotation):
        yield Fault("nullable", calculator_id, f"{where} may be null: leave it out instead")
    if core in SHAPELESS:
        yield Fault("untyped", calculator_id, f"{where} may hold anything: say what")
    if core in (int, float):
        yield from _units(calculator_id, where, facts)
    if is_input and (missing := _unbounded(core, facts)):
        yield Fault("unbounded", calculator_id, f"{where} {missing}")


def _may_be_null(annotation: Any) -> bool:
    return annotation is type(None) or any(_may_be_null(part) for part in typing.get_args(annotation))


def _units(calculator_id: str, where: str, facts: FieldFacts) -> Iterator[Fault]:
    if UNIT_IN_NAME.search(facts.name) and not PLAIN.search(facts.name):
        yield Fault("no_unit", calculator_id, f"{where} has its unit in the name: make it a quantity")
    elif DIMENSIONS.search(facts.name) and not PLAIN.search(facts.name) and not re.search(r"\[.+\]", facts.description):
        yield Fault("no_unit", calculator_id, f"{where} has a dimension and no unit: make it a quantity")


def _unbounded(core: Any, facts: FieldFacts) -> str:
    found = list(metas(facts.annotation))
    if core in (int, float):
        low = any(m.ge is not None or m.gt is not None for m in found)
        high = any(m.le is not None or m.lt is not None for m in found)
        return "" if low and high else "has no finite bounds"
    if facts.quantity is not None:
        return "" if facts.about.within is not None else "has no range"
    if core is str:
        return "" if any(m.max_length is not None or m.pattern for m in found) else "has no longest length: use Text"
    endless = typing.get_origin(core) is list or Ellipsis in typing.get_args(core)
    if endless:
        return "" if any(m.max_length is not None for m in found) else "has no longest length: say max_length"
    return ""


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
    """SHA-256 of the schemas: what a client is built on. Words may improve without another version."""
    schemas = [_bare(msgspec.json.schema(calculator.given)), _bare(msgspec.json.schema(calculator.results))]
    return hashlib.sha256(msgspec.json.encode(schemas, order="sorted")).hexdigest()


def _bare(node: Any, *, names: bool = False) -> Any:
    """A schema without its words. `names` where the keys are those of fields, which may be called anything."""
    if isinstance(node, dict):
        return {
            k: _bare(v, names=k in ("properties", "$defs") and not names)
            for k, v in node.items()
            if names or k not in ("description", "examples", "title")
        }
    if isinstance(node, str) and node.endswith("\\Z"):
        return node.removesuffix("\\Z") + "$"  # as it was written before 1.3, and as it is published
    return [_bare(item) for item in node] if isinstance(node, list | tuple) else node


def snapshot(plugin: Plugin) -> dict[str, dict[str, str]]:
    """What to keep beside the plugin, so that a changed schema without a new version is found."""
    return {c.pinned: {"version": c.version, "schema": fingerprint(c)} for c in plugin.calculators}


def check_snapshot(plugin: Plugin, kept: dict[str, dict[str, str]]) -> Iterator[Fault]:
    """Schemas against those that were kept: another schema needs another version."""
    for name, now in snapshot(plugin).items():
        before = kept.get(name)
        if before and before["version"] == now["version"] and before["schema"] != now["schema"]:
            text = f"the schema changed and the version is still {now['version']}"
            yield Fault("schema_changed", name.partition("@")[0], text)
