"""`deploy/try.py` does what it says, with the Python that runs the tests; the shell around it is run by hand and nightly."""

import os
import subprocess
import sys
from pathlib import Path

import pytest


def run_try(deploy: Path, *arguments: str, folder: Path) -> "subprocess.CompletedProcess[str]":
    """The script, in a folder of its own, with temporary files there."""
    clean = {k: v for k, v in os.environ.items() if not k.startswith("COLDWRIGHT_")} | {"TMPDIR": str(folder)}
    command = [sys.executable, str(deploy / "try.py"), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, cwd=folder, env=clean, timeout=170)


def test_the_demo_order_gets_its_plan_and_nothing_is_left(deploy: Path, tmp_path: Path) -> None:
    done = run_try(deploy, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("PLAN Order DEMO-PROCESS, revision 1\n")
    for title in ("MACHINES", "SUPPLY", "CABLE", "LOOP", "LIQUID AND FILL", "WHAT TO LOAD", "ORDER OF WORK"):
        assert f"\n{title}\n" in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_a_refused_order_ends_with_the_problem_and_without_a_service(deploy: Path, tmp_path: Path) -> None:
    (tmp_path / "bad order.json").write_text('{"reference": "X-1", "fleet_id": "demo"}')
    done = run_try(deploy, "--from", str(tmp_path), "bad order.json", folder=tmp_path)
    assert done.returncode == 1
    assert '"pointer":"#/period"' in done.stderr.replace(" ", "")
    assert "answered 422" in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["bad order.json"]


@pytest.mark.nightly
def test_the_steps_of_the_image_work(deploy: Path) -> None:
    done = subprocess.run(["sh", str(deploy / "container" / "check.sh")], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "The steps of the image work" in done.stdout
