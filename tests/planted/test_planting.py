"""The planter of faults plants what it says, where it says, and its list of harmless ones is of lines that stand."""

import argparse
import ast
import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import judging
import placing
import plant
import planting
import pytest
import reaching
from planting import Fault


def _changed(source: str) -> list[str]:
    """Every way in which one fault changes a source."""
    places = planting._Places()
    places.visit(ast.parse(source))
    ways = []
    for number in range(len(places.found)):
        changed = planting._Places(number).visit(ast.parse(source))
        ways.append(ast.unparse(ast.fix_missing_locations(changed)))
    return ways


@pytest.mark.parametrize(
    ("source", "ways"),
    [
        ("x = a + 2 * b", ["x = a - 2 * b", "x = a + 2 / b", "x = a + 3 * b"]),
        ("x = a < 1.0", ["x = a >= 1.0", "x = a < 1.1"]),
        ("x = 0 < a <= b", ["x = 0 >= a <= b", "x = 0 < a > b"]),
        ("x = row[1] ** 100", ["x = row[1] * 100", "x = row[1] ** 110"]),
        ("x = about('Flow.', low=1)", []),
        ("x: Annotated[float, about('x', low=3)] = 4", ["x: Annotated[float, about('x', low=3)] = 5"]),
        ("f = f'{a / 1000:.4g} kW'", ["f = f'{a * 1000:.4g} kW'", "f = f'{a / 1100:.4g} kW'"]),
        ("x = True and 0", []),
    ],
)
def test_each_fault_is_one_change(source: str, ways: list[str]) -> None:
    """By hand."""
    assert _changed(source) == [ast.unparse(ast.parse(way)) for way in ways]


@pytest.mark.parametrize("family", plant.FAMILIES)
def test_faults_are_many_and_have_tests(family: str) -> None:
    every = planting.faults_of(family)
    assert len(every) > 500
    tests = judging.tests_of(family)
    assert len([test for test in tests if "::" not in test]) > 5
    assert len([test for test in tests if "::" in test]) >= 3
    assert not {fault.path for fault in every if fault.path.endswith(("/given.py", "/results.py"))}


def _chosen(**asked: object) -> list[Fault]:
    usual: dict[str, object] = {"family": None, "again": None, "where": None, "count": None, "seed": 3}
    return plant.chosen(argparse.Namespace(**usual | asked))


def test_places_and_a_count_make_a_sample_of_those_places() -> None:
    """All of a `--where`, or with a count so many of those, others with each seed; without one, 300 of all."""
    every = _chosen(where=["selection/"])
    assert len(every) > 300
    assert {fault.path.split("/")[-2] for fault in every} == {"selection"}
    some = _chosen(where=["selection/"], count=60)
    assert len(some) == len(set(some)) == 60
    assert set(some) < set(every)
    assert some == _chosen(where=["selection/"], count=60)
    assert some != _chosen(where=["selection/"], count=60, seed=4)
    assert _chosen(where=["selection/"], count=len(every) + 1) == every
    assert len(_chosen(family=["site"])) == plant.USUAL
    assert len(_chosen(family=["site"], count=7)) == 7


def test_harmless_faults_are_of_lines_that_stand() -> None:
    """A line that is written anew is judged anew."""
    places = {fault.name for family in plant.FAMILIES for fault in planting.faults_of(family)}
    assert set(plant.harmless()) <= places
    assert all(len(why) > 20 for why in plant.harmless().values())


MODULE = """
import functools

LIMIT = 4


@functools.cache
def twice(x):
    return 2 * x


def judged(x, least=3):
    def inner(y):
        return y + 1
    return [inner(one) for one in (x,) if one < LIMIT and one >= least]


class Kept:
    ratio = 5
"""


@pytest.fixture
def module(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[ModuleType]:
    """A module of method that is imported already, and another one that has its constant."""
    folder = tmp_path / "plugins" / "coldwright_made_up"
    folder.mkdir(parents=True)
    (folder / "__init__.py").write_text("")
    (folder / "method.py").write_text(MODULE)
    (folder / "other.py").write_text("from coldwright_made_up.method import LIMIT")
    monkeypatch.syspath_prepend(tmp_path / "plugins")
    for one in (planting, placing, reaching):
        monkeypatch.setattr(one, "ROOT", tmp_path)
    importlib.import_module("coldwright_made_up.other")
    yield importlib.import_module("coldwright_made_up.method")
    for name in [name for name in sys.modules if name.startswith("coldwright_made_up")]:
        del sys.modules[name]


def _fault(before: str, text: str) -> Fault:
    return next(one for one in planting.faults_of("made_up") if one.before == before and text in one.text)


def test_a_fault_is_placed_into_functions_that_live(module: ModuleType) -> None:
    held = module.judged
    assert (held(3), module.twice(3)) == ([4], 6)
    assert placing.into_what_is_read(_fault("2 * x", "return"))
    assert module.twice(3) == 2 / 3  # what was kept is worked out again
    assert placing.into_what_is_read(_fault("1", "y + 1"))
    assert held(3) == [5]


def test_a_fault_is_placed_into_a_constant_everywhere(module: ModuleType) -> None:
    assert placing.into_what_is_read(_fault("4", "LIMIT"))
    assert module.LIMIT == sys.modules["coldwright_made_up.other"].__dict__["LIMIT"] == 5
    assert module.judged(4) == [5]


@pytest.mark.parametrize(("before", "text"), [("3", "least=3"), ("5", "ratio")])
def test_what_was_worked_out_at_import_is_placed_before_it(module: ModuleType, before: str, text: str) -> None:
    fault = _fault(before, text)
    assert not placing.into_what_is_read(fault)
    del sys.modules["coldwright_made_up.method"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "meta_path", [*sys.meta_path])
        placing.before_it_is_read(fault)
        anew = importlib.import_module("coldwright_made_up.method")
    assert anew is not module
    assert (anew.judged(3) == []) is (before == "3")
    assert (anew.Kept.ratio == 6) is (before == "5")


def test_the_lines_of_a_fault_are_those_of_its_statement(module: ModuleType) -> None:
    """A test that this record does not know, then one that comes by the line, and none that goes elsewhere."""
    assert module.__file__
    path = "plugins/coldwright_made_up/method.py"
    line = 1 + MODULE.splitlines().index("        return y + 1")
    (planting.ROOT / "tests").mkdir()
    for name in ("test_a.py", "test_b.py", "test_c.py"):
        (planting.ROOT / "tests" / name).write_text("")
    tests = [f"tests/test_{name}.py::test_it" for name in "abc"]
    reached = reaching.Reached(
        {f"{path}:{line}": tests[:1], f"{path}:{line + 1}": tests[1:2]}, dict.fromkeys(tests[:2], 1.0)
    )
    assert reached.of(_fault("1", "y + 1"), tests) == [tests[2], tests[0]]
    assert reached.of(_fault("one < LIMIT", "return"), tests) == [tests[2], tests[1]]
    assert reached.of(_fault("5", "ratio"), tests) == [tests[2], *tests[:2]]


SHARED = """
import pytest


@pytest.fixture(scope="session")
def plans():
    return [1]


@pytest.fixture
def plan(plans):
    return plans[0]
"""


def test_what_a_folder_keeps_is_reached_by_all_that_take_it(module: ModuleType) -> None:
    """The first module to ask has it worked out; those beside it that take it, or what is made of it, come by too."""
    assert module.__file__
    folder = planting.ROOT / "tests" / "shared"
    folder.mkdir(parents=True)
    (folder / "conftest.py").write_text(SHARED)
    takes = {"test_a": "plans", "test_b": "plan", "test_c": ""}
    for name, taken in takes.items():
        (folder / f"{name}.py").write_text(f"def test_it({taken}):\n    pass\n")
    tests = [f"tests/shared/{name}.py::test_it" for name in takes]
    line = 1 + MODULE.splitlines().index("        return y + 1")
    reached = reaching.Reached({f"plugins/coldwright_made_up/method.py:{line}": tests[:1]}, dict.fromkeys(tests, 1.0))
    assert reached.of(_fault("1", "y + 1"), tests) == tests[:2]
