"""The kit finds every fault that is planted, says which, and finds nothing else."""

import contextlib
import dataclasses
import importlib
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from coldwright.conformance import check_plugin, snapshot
from coldwright.conformance.kept_answers import kept_answers
from coldwright.conformance.running_rules import _unlike
from coldwright.conformance.suite import lookup_with
from coldwright.contract import Defect, Plugin, Refused

FOLDER = Path(__file__).parents[1] / "faults" / "bad_plugins"
RULES = {
    "impure_function": {"impure", "global_state", "units"},
    "global_state": {"global_state"},
    "hidden_clock": {"impure"},
    "hidden_random": {"impure"},
    "reads_environment": {"impure"},
    "reads_file": {"impure"},
    "undocumented_field": {"undocumented"},
    "unit_missing": {"no_unit"},
    "unit_in_name": {"no_unit"},
    "unbounded_input": {"unbounded"},
    "open_input": {"open_input"},
    "nullable": {"nullable"},
    "nan_out": {"not_finite"},
    "exception_on_valid_input": {"exception"},
    "refusal_without_field": {"bare_refusal"},
    "refusal_without_range": {"bare_refusal"},
    "missing_reference": {"no_reference"},
    "unlisted_reference": {"no_reference"},
    "provenance_missing": {"no_provenance"},
    "hazard_without_caution": {"no_caution"},
    "example_does_not_run": {"example"},
    "changes_with_units": {"units"},
    "schema_changed": {"schema_changed"},
    "breaks_own_schema": {"breaks_schema"},
    "undeclared_finding": {"exception"},
    "import_side_effects": {"import_side_effect"},
    "slow_import": {"slow_import"},
    "heavy_import": {"heavy_import"},
    "failing_import": {"import"},
    "reserved_family": {"identity"},
}


@pytest.fixture(autouse=True)
def _folder(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.syspath_prepend(str(FOLDER))
    monkeypatch.delenv("TRIAL_WAS_HERE", raising=False)
    yield
    (Path("/tmp") / "trial-was-here").unlink(missing_ok=True)


def loaded(name: str) -> Plugin:
    plugin = importlib.import_module(name).plugin
    assert isinstance(plugin, Plugin)
    return plugin


def test_every_bad_plugin_is_listed() -> None:
    assert {p.stem for p in FOLDER.glob("*.py")} == {*RULES, "sound"}


def test_the_sound_one_has_no_fault() -> None:
    plugin = loaded("sound")
    kept = snapshot(plugin)
    faults = check_plugin(plugin, distribution="trial", lookup=lookup_with(plugin), module="sound", snapshot=kept)
    assert not [str(f) for f in faults]


@pytest.mark.parametrize("name", sorted(set(RULES) - {"failing_import"}))
def test_the_planted_fault_is_found_and_no_other(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("time.sleep", lambda _seconds: None)  # in this process; the kit imports in one of its own
    plugin = loaded(name)
    kept = msgspec.json.decode((FOLDER / "schema_changed.json").read_bytes())
    faults = list(
        check_plugin(plugin, distribution="trial", lookup=lookup_with(plugin), module=name, snapshot=kept)
        if name == "schema_changed"
        else check_plugin(plugin, distribution="trial", lookup=lookup_with(plugin), module=name)
    )
    assert {f.rule for f in faults} == RULES[name], "\n".join(map(str, faults))
    assert all(f.text for f in faults)


OF_IMPORT = {"failing_import", "heavy_import", "slow_import", "import_side_effects", "schema_changed"}


@pytest.mark.parametrize("name", sorted(set(RULES) - OF_IMPORT))
def test_rules_of_a_later_contract_find_it_too_and_raise_nothing(name: str) -> None:
    """Sentences are looked at as well, whatever happens when it runs, and answers are kept where it does."""
    plugin = dataclasses.replace(loaded(name), contract=">=1.3,<2")
    found = {f.rule for f in check_plugin(plugin, distribution="trial", lookup=lookup_with(plugin), tries=20)}
    assert found >= RULES[name]
    with contextlib.suppress(Refused, Defect):
        assert kept_answers(plugin, lookup_with(plugin))


def test_a_plugin_that_cannot_be_imported_is_found() -> None:
    plugin = loaded("sound")
    (fault,) = check_plugin(plugin, distribution="trial", lookup=lookup_with(plugin), module="failing_import")
    assert fault.rule == "import"
    assert "library_that_nobody_has" in fault.text


def test_words_may_change_without_a_version_and_fields_may_not(monkeypatch: pytest.MonkeyPatch) -> None:
    sound, changed = loaded("sound"), loaded("schema_changed")
    kept = msgspec.json.decode((FOLDER / "schema_changed.json").read_bytes())
    assert snapshot(sound) == kept
    assert snapshot(changed)["trial.hose@1"]["schema"] != kept["trial.hose@1"]["schema"]


@pytest.mark.parametrize(
    ("one", "two", "place"),
    [
        ({"value": 1, "unit": "m3/h"}, {"value": 1 / 3.6, "unit": "L/s"}, None),
        ({"value": 32, "unit": "degF"}, {"value": 0, "unit": "degC"}, None),
        ({"value": 1, "unit": "L/s"}, {"value": 1.00001, "unit": "L/s"}, "/x"),
        ({"value": 1, "unit": "L/s"}, {"value": 1, "unit": "m3/h"}, "/x"),
        ({"value": 1, "unit": "L/s"}, {"value": 1, "unit": "kW"}, "/x/unit"),
        ({"value": 1, "unit": "of no kind"}, {"value": 1, "unit": "of no kind"}, None),
        (1.0, 1.0 + 1e-9, None),
        (1.0, 1.1, "/x"),
        (True, 1, None),
        ("wide", "narrow", "/x"),
        ("Take 3 of 4.", "Take 4 of 4.", None),
        ([1, 2], [1], "/x"),
    ],
)
def test_results_are_compared_as_a_person_would(one: object, two: object, place: str | None) -> None:
    assert _unlike(one, two, "/x") == place
