"""Sequences of operations, each fed with what earlier answers gave, with every check of schemathesis and a key."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from running import running

from coldwright.service.http.callers import ALL_SCOPES
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key

ROOT = Path(__file__).parents[2]
SECONDS = int(os.environ.get("COLDWRIGHT_TEST_STATEFUL_SECONDS", "600"))
LEFT_OUT = r"^/v1/keys/|\{id\}/events$"
"""Where a sequence would revoke the key that it is made with, and a stream that never ends, whose text the document
describes as a whole."""


@pytest.mark.nightly
def test_no_sequence_finds_a_fault(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path}/coldwright.sqlite3")
    upgrade(database)
    _, secret = create_key(database, "trial", tuple(ALL_SCOPES))
    database.close()
    with running(tmp_path, {"evaluation_seconds": "60"}) as service:
        command = (
            *(str(Path(sys.executable).parent / "schemathesis"), "--config-file"),
            *(str(Path(__file__).parent / "schemathesis.toml"), "run", str(ROOT / "openapi" / "v1.json")),
            *("--url", service.url, "-H", f"Authorization: Bearer {secret}", "--phases", "stateful"),
            *("--checks", "all", "--exclude-path-regex", LEFT_OUT, "--max-time", str(SECONDS)),
            *("--suppress-health-check", "all", "--no-color"),
        )
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=SECONDS + 300)
    assert done.returncode == 0, done.stdout[-6000:]
    assert "✅ Stateful" in done.stdout, done.stdout[-3000:]
