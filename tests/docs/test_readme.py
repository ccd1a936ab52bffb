"""The README shows what is so: its commands are run, and what it says that they print is printed."""

import json
import re
import shutil
from pathlib import Path

import pytest
import readme

TEXT = readme.README.read_text()


def test_it_opens_with_the_job_and_the_two_commands() -> None:
    first = TEXT.split("\n\n")
    assert first[0] == "# Coldwright"
    assert first[1].startswith("A company that hires out")
    assert first[2] == "```sh\nsh deploy/try.sh\nsh deploy/test.sh\n```"


@pytest.mark.skipif(shutil.which("curl") is None, reason="no curl here")
def test_its_commands_work_and_print_what_it_shows(tmp_path: Path) -> None:
    found = readme.blocks(TEXT)
    assert len(found) >= 10
    for block, printed in zip(found, readme.outputs(found, tmp_path), strict=True):
        if block.shown is not None:
            gone = readme.missing(block.shown, printed)
            assert not gone, f"{block.code}\nprints\n{printed}\nand not\n{gone}\nSee tests/support/readme.py."


def test_the_order_that_it_shows_is_the_demo_order() -> None:
    shown = re.search(r"```json\n(.*?)\n```", TEXT, re.DOTALL)
    assert shown
    assert json.loads(shown[1]) == json.loads((readme.ROOT / "deploy" / "demo" / "order-indoor.json").read_text())


def test_what_it_points_to_is_there() -> None:
    for link in re.findall(r"\]\(([^)#:]+)\)", TEXT):
        assert (readme.ROOT / link).exists(), link
    for path in re.findall(r"`((?:api|plugins|deploy|tests|openapi)/[\w./-]+)`", TEXT):
        assert (readme.ROOT / path).exists(), path


def test_a_line_that_is_not_printed_is_found() -> None:
    assert readme.missing("a\n...\nc", "a\nb\nc\n") == ""
    assert readme.missing("c\n...\na", "a\nb\nc\n") == "a"
    assert readme.missing("a\nc", "a\nb\nc\n") == "a\nc"


def test_parts_are_renewed_from_their_first_line() -> None:
    assert readme.renewed("a 1\n...\nTITLE\nx 1", "a 2\nb\nTITLE\nx 2\ny\n") == "a 2\n...\nTITLE\nx 2\n..."
