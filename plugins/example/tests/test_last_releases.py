"""The matrix of the tests takes the newest patch of each of the last three minor releases."""

import runpy
from pathlib import Path

LAST = runpy.run_path(str(Path(__file__).parents[1] / ".github" / "last_releases.py"))["last"]


def test_the_newest_patch_of_each_minor() -> None:
    printed = "coldwright (2.0.0)\nAvailable versions: 2.0.0, 1.10.1, 1.10.0, 1.9.3, 1.9.0rc1, 1.2.0\n"
    assert LAST(printed) == ["2.0.0", "1.10.1", "1.9.3"]


def test_where_no_index_answers_there_is_none() -> None:
    assert LAST("ERROR: No matching distribution found") == []
