"""The suite as an author of a plugin uses it: one class in a file of tests, in a project of its own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

BAD_PLUGINS = Path(__file__).parents[1] / "faults" / "bad_plugins"
SUITE = """
from coldwright.conformance.suite import CalculatorConformance
from {module} import plugin as the_plugin


class TestContract(CalculatorConformance):
    plugin = the_plugin
    distribution = "trial"
    module = "{module}"


def test_the_fixture_answers(answer_of):
    calculator = the_plugin.calculators[0]
    answer = answer_of(calculator, dict(calculator.examples[0].given), units="us")
    assert answer["results"]["velocity"]["unit"] == "ft/s"
"""


def run_pytest(folder: Path, module: str) -> tuple[int, str]:
    (folder / "test_contract.py").write_text(SUITE.format(module=module), "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(folder), str(folder)],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(BAD_PLUGINS)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def test_a_sound_plugin_passes(tmp_path: Path) -> None:
    status, output = run_pytest(tmp_path, "sound")
    assert status == 0, output
    assert "9 passed" in output


@pytest.mark.parametrize(
    ("module", "test", "told"),
    [
        ("hidden_clock", "test_it_keeps_the_contract_when_it_runs[trial.hose@1]", "it calls datetime.now"),
        ("unit_in_name", "test_it_is_documented[trial.hose@1]", "NamedUnitGiven.flow_gpm has its unit in the name"),
        ("heavy_import", "test_its_import_is_light", "imports numpy"),
        ("reserved_family", "test_it_would_be_served", "the family 'hydronic' of hydronic.hose is reserved"),
    ],
)
def test_a_fault_fails_the_test_that_is_named_for_it(tmp_path: Path, module: str, test: str, told: str) -> None:
    status, output = run_pytest(tmp_path, module)
    assert status == 1
    assert f"FAILED test_contract.py::TestContract::{test}" in output
    assert told in output
