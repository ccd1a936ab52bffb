"""The files that operators install, parsed."""

from pathlib import Path
from typing import Any

import pytest
import yaml

DEPLOY = Path(__file__).parents[2] / "deploy"


@pytest.fixture(scope="session")
def deploy() -> Path:
    """The folder."""
    return DEPLOY


@pytest.fixture(scope="session")
def manifests(deploy: Path) -> dict[str, dict[str, Any]]:
    """Every Kubernetes manifest by its kind; those of the workers as `Deployment of work`."""
    found = {}
    for path in sorted((deploy / "kubernetes").glob("*.yaml")):
        for document in yaml.safe_load_all(path.read_text()):
            of_work = " of work" if document.get("metadata", {}).get("name", "").endswith("-work") else ""
            found[document["kind"] + of_work] = document
    return found
