"""Where PostgreSQL cannot start, each test that needs it says so in one line; it is not skipped."""

import os
import subprocess

import postgres
import pytest


def test_a_server_that_cannot_start_fails_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise subprocess.CalledProcessError(1, ["useradd"], stderr="useradd: no such\ncommand")

    monkeypatch.delenv("COLDWRIGHT_TEST_DSN", raising=False)
    monkeypatch.setattr(postgres, "Postgres", broken)
    monkeypatch.setattr(postgres, "_shared", postgres._shared.__wrapped__)
    with pytest.raises(pytest.fail.Exception) as failed:
        postgres.shared_dsn()
    assert str(failed.value).splitlines() == [
        "PostgreSQL cannot start (useradd: no such command); COLDWRIGHT_TEST_DSN can name another"
    ]


def test_the_system_folder_is_looked_in_last(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/usr/bin")
    postgres.see_system_commands()
    postgres.see_system_commands()
    assert os.environ["PATH"] == "/usr/bin:/usr/sbin"
