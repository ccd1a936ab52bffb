"""Every plugin that comes with the distribution keeps the contract that strangers are held to."""

from importlib.metadata import entry_points

import pytest

from coldwright.conformance.faults import Fault
from coldwright.conformance.import_rules import check_import
from coldwright.conformance.kit import check_identity
from coldwright.conformance.running_rules import check_running
from coldwright.conformance.schema_rules import check_examples, check_references, check_schemas
from coldwright.conformance.wording_rules import check_sentences
from coldwright.contract import ENTRY_POINT_GROUP, Plugin
from coldwright.registry import FIRST_PARTY, Registry

REGISTRY = Registry()
POINTS = [p for p in entry_points(group=ENTRY_POINT_GROUP) if p.dist and p.dist.name == FIRST_PARTY]
CALCULATORS = sorted(i for i, s in REGISTRY.served.items() if s.first_party)


def loaded(name: str) -> Plugin:
    plugin = REGISTRY.plugins[name]
    assert isinstance(plugin, Plugin)
    return plugin


def test_all_six_families_are_served() -> None:
    assert {p.name for p in POINTS} == {"electrical", "hydronic", "refrigeration", "readiness", "site", "booking"}
    assert {p.name for p in POINTS} <= REGISTRY.plugins.keys()


@pytest.mark.parametrize("point", POINTS, ids=lambda p: p.name)
def test_its_import_is_light_and_its_names_are_in_order(point: object) -> None:
    name, module = point.name, point.module  # type: ignore[attr-defined]
    assert told([*check_identity(loaded(name), FIRST_PARTY), *check_import(module)]) == []


@pytest.mark.parametrize("calculator_id", CALCULATORS)
def test_it_is_documented(calculator_id: str) -> None:
    calculator = REGISTRY.lookup(calculator_id)
    plugin = next(p for p in map(loaded, REGISTRY.plugins) if calculator in p.calculators)
    faults = [*check_schemas(calculator), *check_references(plugin, calculator), *check_examples(calculator)]
    assert told(faults) == []


@pytest.mark.parametrize("calculator_id", CALCULATORS)
def test_it_keeps_the_contract_when_it_runs(calculator_id: str) -> None:
    assert told(list(check_running(REGISTRY.lookup(calculator_id), REGISTRY.lookup))) == []


@pytest.mark.parametrize("calculator_id", CALCULATORS)
def test_its_sentences_follow_the_units_that_are_asked_for(calculator_id: str) -> None:
    assert told(list(check_sentences(REGISTRY.lookup(calculator_id), REGISTRY.lookup))) == []


def told(faults: list[Fault]) -> list[str]:
    return [str(fault) for fault in faults]
