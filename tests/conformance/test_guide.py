"""The guide in DEVELOPERS.md is followed word by word; what it lists is what there is."""

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any, NamedTuple

import httpx
import pytest
from environments import make_environment
from packaging.requirements import Requirement
from running import running

from coldwright.contract import CONTRACT_VERSION

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


class Block(NamedTuple):
    language: str
    word: str
    text: str


def blocks() -> list[Block]:
    """Every fenced block, in order."""
    return [Block(*found) for found in re.findall(r"^```(\w+) ?([^\n]*)\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL)]


@pytest.fixture(scope="module")
def bin_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment with the command that the guide types, run by its own interpreter."""
    folder = make_environment(tmp_path_factory.mktemp("environment"))
    script = folder / "coldwright"
    script.write_text(f'#!/bin/sh\nexec "{folder}/python" -m coldwright.cli "$@"\n', "utf-8")
    script.chmod(0o755)
    return folder


@pytest.fixture(scope="module")
def followed(bin_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every file written and every command run, in the order of the guide; the new distribution's folder."""
    here = tmp_path_factory.mktemp("guide")
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("COLDWRIGHT_", "PYTHON", "PIP_", "VIRTUAL_"))}
    clean |= {
        "PATH": os.pathsep.join([str(bin_folder), str(Path(sys.executable).parent), os.environ["PATH"]]),
        "PIP_NO_INDEX": "1",
        "PIP_NO_BUILD_ISOLATION": "0",  # pip reads this "no" as itself: build with what is installed
        "PIP_DISABLE_PIP_VERSION_CHECK": "1",
        "MYPY_CACHE_DIR": str(tmp_path_factory.mktemp("mypy")),
    }
    for block in blocks():
        if block.word.startswith("file="):
            path = here / block.word.removeprefix("file=")
            assert path.parent.is_dir(), f"{path.parent} was not made before"
            path.write_text(block.text, "utf-8")
        elif block.language == "sh":
            script = f"set -eux\n{block.text}pwd > {bin_folder}/pwd\n"
            done = subprocess.run(
                ["sh", "-c", script], cwd=here, env=clean, capture_output=True, text=True, timeout=120, check=False
            )
            assert done.returncode == 0, f"{block.text}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}"
            here = Path((bin_folder / "pwd").read_text("utf-8").strip())
    return here


def test_every_block_is_one_that_this_test_follows() -> None:
    kinds = {(b.language, b.word.partition("=")[0]) for b in blocks()}
    assert kinds == {
        ("sh", ""),
        ("json", "file"),
        ("python", "file"),
        ("json", "send"),
        ("json", "answer"),
        ("json", "joined"),
    }
    assert len([b for b in blocks() if b.language == "sh"]) >= 4


def test_the_guide_can_be_followed_word_by_word(followed: Path) -> None:
    assert followed.name == "coldwright-tank"
    assert (followed / "tests" / "schemas.json").exists()
    assert "tank.bridge@1" in json.loads((followed / "tests" / "answers.json").read_text("utf-8"))
    assert list((followed / "dist").glob("*.whl"))
    assert not (followed / "coldwright_tank" / "hose_content.py").exists()


def test_what_it_makes_is_served_and_answers_what_it_says(followed: Path, bin_folder: Path, tmp_path: Path) -> None:
    (sent,) = [json.loads(b.text) for b in blocks() if b.word == "send"]
    (expected,) = [json.loads(b.text) for b in blocks() if b.word == "answer"]
    with running(tmp_path, python=str(bin_folder / "python")) as service:
        reply = httpx.post(f"{service.url}/v1/calculators/tank/ride_through/majors/1", json=sent, timeout=30)
        document = httpx.get(f"{service.url}/openapi/v1.json").json()
    assert reply.status_code == 200, reply.text
    assert {key: reply.json()[key] for key in expected} == expected
    assert document["paths"]["/v1/calculators/tank/ride_through"]["post"]["operationId"] == "tankRideThrough"


def test_its_part_joins_the_plan_of_the_demo_order(followed: Path, bin_folder: Path) -> None:
    (expected,) = [json.loads(b.text) for b in blocks() if b.word == "joined"]
    demo = ROOT / "deploy" / "demo"
    command = [str(bin_folder / "coldwright"), "assess", "order-comfort.json", "--fleet", "fleet.json", "--json"]
    done = subprocess.run(command, cwd=demo, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    plan = json.loads(done.stdout)
    (part,) = plan["results"]["parts"]
    assert {key: part["block"][key] for key in expected} == expected
    assert [line["item"] for line in plan["results"]["pick_list"] if line["calculator"] == "tank.bridge"]
    assert not [f for f in plan["findings"] if f["code"] == "part_failed"]


def test_every_dependency_says_why() -> None:
    section = TEXT.partition("## Why each dependency")[2]
    extras: dict[str, list[str]] = PROJECT["optional-dependencies"]
    wanted = {Requirement(r).name for r in (*PROJECT["dependencies"], *(r for e in extras.values() for r in e))}
    told = set(re.findall(r"`([A-Za-z][\w-]+)`(?=[,:])", section))
    assert wanted - told == set()
    assert told - wanted - {"postgres", "oidc", "telemetry", "install"} == set()


def test_the_contract_table_ends_with_the_present_version() -> None:
    rows = re.findall(r"^\| (\d+\.\d+) \|", TEXT, re.MULTILINE)
    assert rows[-1] == CONTRACT_VERSION


def test_every_path_that_it_names_is_there() -> None:
    before, _, guide = TEXT.partition("## A calculator of your own")
    text = before + guide.partition("\n## What a good")[2]  # the guide names files of the distribution that it makes
    named = set(re.findall(r"`((?:api|plugins|tests|deploy|openapi)/[\w./-]+)`", text))
    assert named
    assert not [path for path in named if not (ROOT / path).exists()]


def test_links_lead_somewhere() -> None:
    headings = {
        re.sub(r"[^\w -]", "", h.lower()).replace(" ", "-") for h in re.findall(r"^#+ (.+)$", TEXT, re.MULTILINE)
    }
    links: set[str] = set(re.findall(r"\]\(#([\w-]+)\)", TEXT))
    assert links
    assert links <= headings


def test_readers_of_the_source_see_the_same_python(followed: Path) -> None:
    """The blocks are formatted as the project is: a reader can paste them."""
    checked: Any = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", "."],
        cwd=followed,
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stdout
