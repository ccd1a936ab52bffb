"""The whole test kit: what `coldwright plugins check` and `suite.CalculatorConformance` run."""

from collections.abc import Iterator, Mapping

from coldwright.conformance.faults import Fault
from coldwright.conformance.import_rules import check_import
from coldwright.conformance.kept_answers import Kept, check_answers
from coldwright.conformance.kind_rules import check_kinds
from coldwright.conformance.load_rules import check_loading
from coldwright.conformance.running_rules import TRIES, check_running
from coldwright.conformance.schema_rules import check_examples, check_references, check_schemas, check_snapshot
from coldwright.conformance.wording_rules import check_sentences, held_to_sentences
from coldwright.contract import Plugin
from coldwright.contract.evaluation import Lookup
from coldwright.registry import broken_rules

Snapshot = Mapping[str, dict[str, str]]


def check_identity(plugin: Plugin, distribution: str) -> Iterator[Fault]:
    """What the registry asks before it serves a plugin at all."""
    try:
        problem = broken_rules(plugin, distribution)
    except Exception as error:
        problem = f"{type(error).__name__}: {error}"
    if problem:
        yield Fault("identity", "", problem)


def check_plugin(
    plugin: Plugin,
    *,
    distribution: str,
    lookup: Lookup,
    module: str = "",
    snapshot: Snapshot | None = None,
    answers: Kept | None = None,
    tries: int = TRIES,
) -> Iterator[Fault]:
    """Every fault of a plugin.

    `distribution` is the one that ships it, `module` the one its entry point names (empty: the import is not checked),
    `snapshot` what `schema_rules.snapshot` gave when it was last released, `answers` likewise by `kept_answers`.
    """
    if module:
        yield from check_import(module)
    wrong = list(check_identity(plugin, distribution)) or list(check_loading(plugin))
    if wrong:
        yield from wrong
        return
    yield from check_kinds(plugin)
    if answers is not None:
        yield from check_answers(plugin, lookup, answers)
    if snapshot is not None:
        yield from check_snapshot(plugin, dict(snapshot))
    for calculator in plugin.calculators:
        yield from check_schemas(calculator)
        yield from check_references(plugin, calculator)
        yield from check_examples(calculator)
        yield from check_running(calculator, lookup, tries)
        if held_to_sentences(plugin):
            yield from check_sentences(calculator, lookup)
