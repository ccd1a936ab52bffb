"""`coldwright plugins new`: what it makes is complete, typed, tidy, and passes its own tests at once."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from coldwright.cli import main
from coldwright.commands.errors import CommandError
from coldwright.commands.new_plugin import new_plugin


def run(folder: Path, *command: str) -> str:
    clean = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    done = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=folder,
        env=clean,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_plugin("heat-wave", tmp_path_factory.mktemp("new"))


def test_it_is_complete(folder: Path) -> None:
    made = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts}
    assert made == {
        *("README.md", "pyproject.toml", ".gitignore", ".github/workflows/test.yml", ".github/last_releases.py"),
        *(f"coldwright_heat_wave/{name}" for name in ("__init__.py", "hose_content.py", "py.typed")),
        "coldwright_heat_wave/tables/water_density.json",
        *("tests/test_contract.py", "tests/test_hose_content.py", "tests/test_last_releases.py"),
    }
    assert not [p for p in made if "@{" in (folder / p).read_text("utf-8")]
    project = tomllib.loads((folder / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["name"] == "coldwright-heat-wave"
    assert project["entry-points"]["coldwright.calculators"] == {"heat_wave": "coldwright_heat_wave:plugin"}
    workflow = (folder / ".github/workflows/test.yml").read_text("utf-8")
    assert "python-version: ${{ matrix.python }}" in workflow
    assert "coldwright plugins check heat_wave" in workflow


def test_its_own_tests_pass(folder: Path) -> None:
    told = run(folder, "pytest", "-q", "-p", "no:cacheprovider")
    assert "17 passed" in told


@pytest.mark.parametrize(
    "name", [".github/workflows/test.yml", ".github/last_releases.py", "tests/test_last_releases.py"]
)
def test_the_example_is_tested_against_the_same_releases(name: str, tmp_path: Path) -> None:
    made = new_plugin("evaporative", tmp_path) / name
    kept = Path(__file__).parents[2] / "plugins" / "example" / name
    assert kept.read_text("utf-8") == made.read_text("utf-8")


def test_it_is_tidy(folder: Path) -> None:
    run(folder, "ruff", "check", "--no-cache", ".")
    run(folder, "ruff", "format", "--no-cache", "--check", ".")


def test_it_is_typed(folder: Path, tmp_path: Path) -> None:
    assert "Success" in run(folder, "mypy", "--cache-dir", str(tmp_path))


def test_it_builds(folder: Path, tmp_path: Path) -> None:
    run(folder, "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), ".")
    assert [p.name for p in tmp_path.glob("*.whl")] == ["coldwright_heat_wave-0.1.0-py3-none-any.whl"]


def test_the_command_says_what_comes_next(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plugins", "new", "roof", "--into", str(tmp_path)]) == 0
    assert f"cd {tmp_path / 'coldwright-roof'}" in capsys.readouterr().out
    assert main(["plugins", "new", "roof", "--into", str(tmp_path)]) == 2
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "told"),
    [("hydronic", "reserved"), ("list", "reserved"), ("Roof", "no name"), ("a--b", "no name"), ("../x", "no name")],
)
def test_a_name_that_would_not_be_served_is_refused(name: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=told):
        new_plugin(name, tmp_path)
    assert not list(tmp_path.iterdir())
