"""`coldwright plugins list | why | check`, as an operator types them."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from distributions import install, sound

from coldwright.cli import main
from coldwright.contract import CONTRACT_VERSION
from coldwright.service.ids import settled_registry
from coldwright.service.settings import from_environment
from coldwright.store import Database, upgrade

Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    install(tmp_path, "coldwright-bad", {"bad": "import a_library_that_nobody_has"}, {"bad": "bad:plugin"})
    install(tmp_path, "coldwright-well", {"well": sound("well")}, {"well": "well:plugin"}, version="2.5")
    install(tmp_path, "coldwright-no", {"no": sound("no")}, {"no": "no:plugin"})
    vague = sound("vague").replace('about("Power.", low=0, high=1000, unit="kW")', 'about("Power.")')
    install(tmp_path, "coldwright-vague", {"vague": vague}, {"vague": "vague:plugin"})
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setenv("COLDWRIGHT_PLUGINS_DENIED", "no")
    before = set(sys.modules)
    yield
    for name in set(sys.modules) - before:
        if str(tmp_path) in str(getattr(sys.modules[name], "__file__", "")):
            del sys.modules[name]


def test_list_tells_what_is_loaded_and_what_is_not(capsys: Captured) -> None:
    assert main(["plugins", "list"]) == 0
    first, *lines = capsys.readouterr().out.splitlines()
    assert first == f"contract {CONTRACT_VERSION}"
    told = {line.split()[0]: line for line in lines}
    assert "coldwright-well 2.5" in told["well"]
    assert told["well"].endswith("1 calculator")
    assert "set aside: ModuleNotFoundError: No module named 'a_library_that_nobody_has'" in told["bad"]
    assert "denied: COLDWRIGHT_PLUGINS_DENIED names it" in told["no"]
    assert {"electrical", "hydronic", "refrigeration", "readiness", "site", "booking"} <= told.keys()


@pytest.mark.parametrize(
    ("name", "status", "told"),
    [
        ("well", 0, "calculators           well.answer"),
        ("bad", 1, "remedy                Make `import bad` work."),
        ("no", 1, "state                 denied"),
    ],
)
def test_why_tells_everything_about_one(name: str, status: int, told: str, capsys: Captured) -> None:
    assert main(["plugins", "why", name]) == status
    assert told in capsys.readouterr().out.splitlines()


@pytest.mark.parametrize("action", ["why", "check"])
def test_an_unknown_name_is_an_error(action: str, capsys: Captured) -> None:
    assert main(["plugins", action, "nobody"]) == 2
    assert capsys.readouterr().err == "coldwright: there is no plugin nobody: see `coldwright plugins list`\n"


def test_check_holds_a_plugin_to_the_contract(tmp_path: Path, capsys: Captured) -> None:
    assert main(["plugins", "check", "well"]) == 0
    assert capsys.readouterr().out == f"well keeps the contract {CONTRACT_VERSION}\n"
    assert main(["plugins", "check", "vague"]) == 1
    assert "vague.answer: unbounded: PowerGiven.power has no range" in capsys.readouterr().out
    assert main(["plugins", "check", "bad"]) == 1
    assert capsys.readouterr().out.startswith("bad is set aside import: ModuleNotFoundError")


def test_check_finds_a_schema_that_changed_without_a_version(tmp_path: Path, capsys: Captured) -> None:
    kept = tmp_path / "schemas.json"
    assert main(["plugins", "check", "well", "--write-schemas", str(kept)]) == 0
    assert main(["plugins", "check", "well", "--schemas", str(kept)]) == 0
    kept.write_text(kept.read_text("utf-8").replace('"schema": "', '"schema": "other'), "utf-8")
    capsys.readouterr()
    assert main(["plugins", "check", "well", "--schemas", str(kept)]) == 1
    assert "schema_changed: the schema changed and the version is still 1.0.0" in capsys.readouterr().out
    kept.write_text("[]", "utf-8")
    assert main(["plugins", "check", "well", "--schemas", str(kept)]) == 2
    assert "holds no schemas" in capsys.readouterr().err


def test_an_id_stays_with_whoever_was_served_first_until_it_is_released(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    monkeypatch.setenv("COLDWRIGHT_DATABASE_URL", url)
    assert main(["plugins", "list"]) == 0
    assert not (tmp_path / "store.sqlite3").exists(), "looking makes no store"
    database = Database(url)
    upgrade(database)
    first = settled_registry(from_environment(), database)
    assert first.served["well.answer"].distribution == "coldwright-well"
    install(tmp_path, "coldwright-a-new", {"newer": sound("well", factor=5)}, {"newer": "newer:plugin"})
    again = settled_registry(from_environment(), database)
    assert again.served["well.answer"].distribution == "coldwright-well"
    capsys.readouterr()
    assert main(["plugins", "why", "newer"]) == 1
    told = capsys.readouterr().out
    assert "the id well.answer belongs to coldwright-well: it was registered first by coldwright-well" in told
    assert "`coldwright plugins release well.answer`" in told
    assert main(["plugins", "release", "well.answer"]) == 0
    assert "well.answer belonged to coldwright-well." in capsys.readouterr().out
    assert main(["plugins", "release", "well.answer"]) == 2
    assert "nobody has registered well.answer" in capsys.readouterr().err
    neither = settled_registry(from_environment(), database)
    assert "well.answer" not in neither.served
    monkeypatch.setenv("COLDWRIGHT_PLUGINS_PINNED", "well.answer=coldwright-a-new")
    pinned = settled_registry(from_environment(), database)
    assert pinned.served["well.answer"].distribution == "coldwright-a-new"
    database.close()


def test_a_pinned_list_that_cannot_be_read_is_told(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLDWRIGHT_PLUGINS_PINNED", "well.answer")
    assert main(["plugins", "list"]) == 2
    assert "COLDWRIGHT_PLUGINS_PINNED: 'well.answer' is not of the form family.name=distribution" in (
        capsys.readouterr().err
    )
