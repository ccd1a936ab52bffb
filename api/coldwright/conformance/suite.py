"""The test kit as one class for pytest. Needs pytest, which a running service does not.

    from coldwright.conformance.suite import CalculatorConformance
    from coldwright_acme import plugin

    class TestContract(CalculatorConformance):
        plugin = plugin
        distribution = "coldwright-acme"

pytest shows each calculator and each group of rules as a test of its own.
"""

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import msgspec
import pytest

from coldwright.conformance.faults import Fault
from coldwright.conformance.import_rules import check_import
from coldwright.conformance.kept_answers import KeptAnswers, check_answers
from coldwright.conformance.kind_rules import check_kinds
from coldwright.conformance.kit import check_identity
from coldwright.conformance.load_rules import check_loading
from coldwright.conformance.running_rules import TRIES, check_running
from coldwright.conformance.schema_rules import check_examples, check_references, check_schemas, check_snapshot
from coldwright.conformance.wording_rules import check_sentences, held_to_sentences
from coldwright.contract import Calculator, Plugin
from coldwright.contract.evaluation import Lookup
from coldwright.registry import Registry


def lookup_with(plugin: Plugin) -> Lookup:
    """Finds the plugin's own calculators, installed or not, and those of every installed plugin."""
    own = {c.pinned: c for c in plugin.calculators}
    for calculator in sorted(plugin.calculators, key=lambda c: c.major):
        own[calculator.id] = calculator
    return lambda name: own.get(name) or _installed().lookup(name)


@cache
def _installed() -> Registry:
    return Registry().take_all_in()


class CalculatorConformance:
    """Derive from it, name the plugin and its distribution, and every rule of the contract is a test."""

    plugin: ClassVar[Plugin]
    """The object that the entry point names."""
    distribution: ClassVar[str]
    """Name of the distribution that ships it."""
    module: ClassVar[str] = ""
    """Module that the entry point names, if it is not the package of the first calculator."""
    schemas: ClassVar[Path | None] = None
    """A file that `coldwright plugins check NAME --write-schemas FILE` wrote at the last release."""
    answers: ClassVar[Path | None] = None
    """A file that `coldwright plugins check NAME --write-answers FILE` wrote at the last release."""
    tries: ClassVar[int] = TRIES
    """Inputs to make up for each calculator."""

    @pytest.fixture
    def lookup(self) -> Lookup:
        """How calculators find each other."""
        return lookup_with(self.plugin)

    def pytest_generate_tests(self, metafunc: pytest.Metafunc) -> None:
        """One test for each calculator."""
        if "calculator" in metafunc.fixturenames:
            calculators = self.plugin.calculators
            metafunc.parametrize("calculator", calculators, ids=[c.pinned for c in calculators])

    def test_it_would_be_served(self) -> None:
        """Ids, versions and names that a registry takes."""
        _no_faults(check_identity(self.plugin, self.distribution))
        _no_faults(check_loading(self.plugin))

    def test_its_units_are_those_of_pint(self) -> None:
        """Kinds of quantities that it declares itself."""
        _no_faults(check_kinds(self.plugin))

    def test_its_import_is_light(self) -> None:
        """Quick, without traces, without heavy libraries."""
        first = self.plugin.calculators[0].function.__module__.partition(".")[0]
        _no_faults(check_import(self.module or first))

    def test_schemas_changed_with_their_version(self) -> None:
        """Against the schemas that were released."""
        if self.schemas is not None:
            _no_faults(check_snapshot(self.plugin, msgspec.json.decode(self.schemas.read_bytes())))

    def test_answers_changed_with_their_version(self, lookup: Lookup) -> None:
        """Against the answers to its examples that were released."""
        if self.answers is not None:
            kept = msgspec.json.decode(self.answers.read_bytes(), type=dict[str, KeptAnswers])
            _no_faults(check_answers(self.plugin, lookup, kept))

    def test_it_is_documented(self, calculator: Calculator[Any, Any]) -> None:
        """Fields, units, bounds, sources, examples."""
        _no_faults(check_schemas(calculator))
        _no_faults(check_references(self.plugin, calculator))
        _no_faults(check_examples(calculator))

    def test_it_keeps_the_contract_when_it_runs(self, calculator: Calculator[Any, Any], lookup: Lookup) -> None:
        """Pure, finite, honest, the same in every unit."""
        _no_faults(check_running(calculator, lookup, self.tries))

    def test_its_sentences_follow_the_units(self, calculator: Calculator[Any, Any], lookup: Lookup) -> None:
        """In US units no metric figure stands alone, for plugins of contract 1.2 and later."""
        if held_to_sentences(self.plugin):
            _no_faults(check_sentences(calculator, lookup))


def _no_faults(faults: Iterable[Fault]) -> None:
    lines = [str(fault) for fault in faults]
    if lines:
        pytest.fail("\n".join(lines), pytrace=False)
