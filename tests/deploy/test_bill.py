"""The bill of materials names what the lock file pins."""

import json
import re
import runpy
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="module")
def bill_module(deploy: Path) -> dict[str, Any]:
    """`deploy/sbom.py`, which is a script and no package."""
    return runpy.run_path(str(deploy / "sbom.py"))


def test_every_pin_is_a_component_with_its_hashes(bill_module: dict[str, Any], deploy: Path) -> None:
    document = json.loads(bill_module["bill"]())
    lock = (deploy / "requirements.lock").read_text()
    pinned = re.findall(r"(?m)^([A-Za-z0-9_.-]+)(?:\[[^]]*\])?==([^ ;\\\n]+)", lock)
    named = [(c["name"], c["version"]) for c in document["components"]]
    assert sorted(named) == sorted(pinned)
    assert sum(len(c["hashes"]) for c in document["components"]) == lock.count("--hash=")
    assert document["bomFormat"] == "CycloneDX"
    assert document["metadata"]["component"]["name"] == "coldwright"
    assert all(c["purl"] == f"pkg:pypi/{c['name'].lower()}@{c['version']}" for c in document["components"])


def test_a_line_that_cannot_be_read_is_not_passed_over(bill_module: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="can't be read"):
        bill_module["components"]("alembic>=1.0\n")
