"""Faults of an own quantity, of words of a table, and of numbers that move alone: each found with its place and cure."""

import importlib
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from carbon_plugin import SOURCE, TABLE, put_table
from distributions import entry_points_in, install

from coldwright.cli import main
from coldwright.conformance import check_plugin, kept_answers
from coldwright.conformance.kind_rules import expression, factor_by_pint
from coldwright.conformance.suite import lookup_with
from coldwright.contract import Plugin
from coldwright.contract.quantities import every_kind
from coldwright.registry import Registry


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.syspath_prepend(str(tmp_path))
    put_table(tmp_path)
    yield tmp_path
    sys.modules.pop("carbon", None)


def made(folder: Path, source: str = SOURCE, table: Any = TABLE) -> Plugin:
    """The plugin, imported anew."""
    install(folder, "coldwright-carbon", {"carbon": source}, {"carbon": "carbon:plugin"})
    put_table(folder, table)
    for path in (folder / "carbon").glob("__pycache__/*"):
        path.unlink()
    sys.modules.pop("carbon", None)
    importlib.invalidate_caches()
    plugin = importlib.import_module("carbon").plugin
    assert isinstance(plugin, Plugin)
    return plugin


def faults(plugin: Plugin, **kept: Any) -> list[str]:
    return [str(f) for f in check_plugin(plugin, distribution="coldwright-carbon", lookup=lookup_with(plugin), **kept)]


def test_it_keeps_the_contract(folder: Path) -> None:
    assert faults(made(folder)) == []


def test_a_wrong_factor_is_found_by_pint(folder: Path) -> None:
    (fault,) = faults(made(folder, SOURCE.replace("0.00045359237", "0.00045359")))
    assert "the factor of 'lb/MWh' in CarbonIntensity is 0.00045359; pint has 0.00045359237 kg/kWh" in fault


def test_a_unit_that_pint_does_not_know_is_told(folder: Path) -> None:
    (fault,) = faults(made(folder, SOURCE.replace("lb/MWh", "lb/MWth")))
    assert "pint does not know 'lb/MWth'" in fault


@pytest.mark.parametrize("kind", every_kind(), ids=lambda k: k.kind)
def test_the_spellings_of_the_contract_are_read_as_pint_means_them(kind: Any) -> None:
    """Library: pint, by its own definitions; ours were made with it by another way."""
    if kind.kind in ("temperature", "sound_level", "insulation_resistance") or kind.declared:
        return
    for unit in kind.units:
        if unit in ("Mohm", "dBA", "lb/1000ft3", "ohm/kft", "cP", "mPa.s") or "water" in unit or "Btu" in unit:
            continue
        first = next(iter(kind.units))
        if "Btu" in first or "water" in first:
            continue
        expected = kind(1.0, unit).to(first)
        assert factor_by_pint(unit, first) == pytest.approx(expected, rel=1e-9), expression(unit)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'Literal["kg/kWh", "lb/MWh"]',
            'Literal["kg/kWh"]',
            "its unit takes kg/kWh, its factors are of kg/kWh, lb/MWh",
        ),
        ('{"kg/kWh": 1.0,', '{"kg/kWh": 2.0,', "no unit has the factor 1"),
        ("0.00045359237}", "-1.0}", "the factor of lb/MWh is no finite number above 0"),
        ('us="lb/MWh"', 'us="lb"', "us='lb' is none of its units"),
        ("low=0, high=3", "low=3, high=0", "nothing lies between 3 and 0 kg/kWh"),
        ("tables=(GRIDS,)", "tables=()", "its words are of the table carbon.grids, which its calculator does not list"),
        ('CarbonIntensity(0.0, "kg/kWh")', 'CarbonIntensity(9.0, "kg/kWh")', "is out of its own range"),
    ],
)
def test_what_does_not_fit_is_found_before_it_is_served(folder: Path, old: str, new: str, says: str) -> None:
    assert old in SOURCE
    found = faults(made(folder, SOURCE.replace(old, new)))
    assert any(says in text for text in found), found
    assert any("carbon/__init__.py:" in text for text in found)
    (story,) = Registry(entry_points_in(folder)).found
    assert (story.state, story.stage) == ("set_aside", "schema")
    assert says in story.reason
    assert story.remedy


def test_words_that_a_table_does_not_have_set_it_aside(folder: Path) -> None:
    install(folder, "coldwright-carbon", {"carbon": SOURCE.replace('"region"', '"place"')}, {"carbon": "carbon:plugin"})
    (story,) = Registry(entry_points_in(folder)).found
    assert (story.state, story.stage) == ("set_aside", "import")
    assert "the table carbon.grids has no words in its column 'place'" in story.reason


# --- numbers that move alone ---------------------------------------------------------------------------------------
MOVED_TABLE = TABLE | {"rows": [["north", 0.1], ["south", 0.41], ["island (old)", 0.8]]}


def test_a_number_that_moves_without_a_version_is_found(folder: Path) -> None:
    """By the rule of the project: a changed number is a change, be it of a table or of a factor in code."""
    plugin = made(folder)
    kept = kept_answers(plugin, lookup_with(plugin))
    assert faults(made(folder), answers=kept) == []
    (moved,) = faults(made(folder, table=MOVED_TABLE), answers=kept)
    assert "answer_changed: /results/intensity/value of the example 'south' is another than it was" in moved
    in_code = SOURCE.replace("* h * factor", "* h * factor * 1.001")
    (moved,) = faults(made(folder, in_code), answers=kept)
    assert "/results/profile/columns/0/values/1" in moved
    assert faults(made(folder, in_code.replace('version="1.0.0"', 'version="1.0.1"')), answers=kept) == []


def test_a_table_that_grows_changes_the_schema(folder: Path) -> None:
    from coldwright.conformance import snapshot

    kept = snapshot(made(folder))
    grown = TABLE | {"rows": [*TABLE["rows"], ["west", 0.2]]}
    (fault,) = faults(made(folder, table=grown), snapshot=kept)
    assert "schema_changed" in fault


def test_the_command_writes_and_compares(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    made(folder)
    monkeypatch.chdir(folder)
    monkeypatch.setattr("coldwright.registry.discovery.entry_points", lambda **_: entry_points_in(folder))
    kept, schemas = folder / "answers.json", folder / "schemas.json"
    assert main(["plugins", "check", "carbon", "--write-answers", str(kept), "--write-schemas", str(schemas)]) == 0
    assert set(json.loads(kept.read_text())["carbon.footprint@1"]["answers"]) == {"north", "south"}
    assert msgspec.json.decode(schemas.read_bytes())["carbon.footprint@1"]["version"] == "1.0.0"
    assert main(["plugins", "check", "carbon", "--answers", str(kept), "--schemas", str(schemas)]) == 0
    kept.write_text(kept.read_text().replace("4.8", "4.9"))
    capsys.readouterr()
    assert main(["plugins", "check", "carbon", "--answers", str(kept)]) == 1
    assert "answer_changed" in capsys.readouterr().out
    assert main(["plugins", "factors", "kg/kWh", "g/MJ", "lb/MWh"]) == 0
    assert capsys.readouterr().out.strip() == 'Kind({"kg/kWh": 1.0, "g/MJ": 0.0036, "lb/MWh": 0.00045359237})'


# --- parts ---------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('joins="booking"', 'joins="bokking"', "joins='bokking' is nothing that can be joined"),
        ('joins="booking"', 'joins=""', "it takes a block and joins nothing"),
        ('block_of="zlimit.limit"', 'block_of="after.twice"', "'after.twice' is no other calculator"),
        ('block_of="zlimit.limit"', 'block_of="Limit"', "'Limit' is no other calculator"),
    ],
)
def test_a_part_that_would_never_be_asked_is_found(folder: Path, old: str, new: str, says: str) -> None:
    from joining_plugins import PACKAGES

    source = PACKAGES["after"]
    assert old in source
    install(folder, "coldwright-after", {"after": source.replace(old, new)}, {"after": "after:plugin"})
    (story,) = Registry(entry_points_in(folder)).found
    assert (story.state, story.stage) == ("set_aside", "schema")
    assert says in story.reason
    assert story.remedy
