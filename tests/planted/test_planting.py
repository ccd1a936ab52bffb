"""The planter of faults plants what it says, where it says, and its list of harmless ones is of lines that stand."""

import argparse
import ast
import importlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import judging
import msgspec
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
    by_answers = reaching.Reached(
        {}, dict.fromkeys(tests, 1.0), by_line={f"{path}:{line}": 0}, sets=[[1]], asks={tests[0]: [0], tests[1]: [0, 1]}
    )
    assert by_answers.of(_fault("1", "y + 1"), tests) == tests[1:2]
    assert by_answers.directly(_fault("1", "y + 1"), tests) == set()
    assert by_answers.questions_of(_fault("1", "y + 1")) == {1}
    assert by_answers.of(_fault("one < LIMIT", "return"), tests) == []
    # what a test of a module keeps for the others is theirs too, though none of them asks for an answer
    (planting.ROOT / "tests" / "test_k.py").write_text("KEPT = functools.cache")
    beside = [*tests, "tests/test_k.py::test_first", "tests/test_k.py::test_next"]
    keeping = reaching.Reached({f"{path}:{line}": beside[3:4]}, dict.fromkeys(beside, 1.0))
    assert keeping.directly(_fault("1", "y + 1"), beside) == set(beside[3:])


LOADED = {
    "practice": "nec",
    "active_power": {"value": 100.0, "unit": "kW"},
    "load_factor": 0.5,
    "duration": {"value": 24.0, "unit": "h"},
    "source": "utility",
    "grid_emission_factor": 0.4,
}
SHARED = f"""
import pytest


@pytest.fixture(scope="session")
def asked(answer_of):
    return answer_of("electrical.energy_cost", {LOADED})
"""
ASKING = f"""
def test_first(asked):
    assert asked["results"]


def test_of_the_same_fixture(asked):
    assert asked["results"]


def test_of_another(answer_of):
    for _ in range(2):
        answer_of("electrical.energy_cost", {LOADED | {"load_factor": 0.6}})


def test_of_another_method(answer_of, monkeypatch):
    answer_of("electrical.energy_cost", {LOADED | {"load_factor": 0.7}})


def test_of_none():
    pass
"""
RECORDING = """
import pathlib
import sys
import pytest
import reaching

reaching.ROOT = pathlib.Path.cwd()


class Loop:
    def pytest_runtestloop(self, session):
        reached = reaching.recorded(session, "electrical")
        print("ASKS", {test.rpartition("::")[2]: asked for test, asked in reached.asks.items()}, len(reached.questions))
        return True


sys.exit(pytest.main(["-q", "-s", "-p", "no:cacheprovider", "-p", "no:xdist", "test_it.py"], plugins=[Loop()]))
"""


def test_a_question_of_a_fixture_is_one_of_each_test_that_has_it(tmp_path: Path) -> None:
    """Else only the first of those tests would ever be run for a fault that it comes by."""
    (tmp_path / "conftest.py").write_text(SHARED)
    (tmp_path / "test_it.py").write_text(ASKING)
    folders = os.pathsep.join([str(Path(__file__).parent), os.environ.get("PYTHONPATH", "")])
    ran = subprocess.run(
        [sys.executable, "-c", RECORDING],
        env=os.environ | {"PYTHONPATH": folders},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    (told,) = [line for line in ran.stdout.splitlines() if "ASKS" in line] or [ran.stdout + ran.stderr]
    expected = {"test_first": [0], "test_of_the_same_fixture": [0], "test_of_another": [1]}
    expected |= {"test_of_another_method": [], "test_of_none": []}
    assert told.partition("ASKS ")[2] == f"{expected} 2", ran.stdout + ran.stderr


def test_an_answer_is_worked_out_once_and_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is another one once something is planted in what works it out, and the test that asks for it gets that."""
    from coldwright.contract import evaluation
    from coldwright.contract.reading import read
    from coldwright_electrical.energy_cost import energy_cost

    answers = reaching.Answers()
    given = read(energy_cost.given, msgspec.json.encode(LOADED))
    more: dict[str, Any] = {"plugin": "p", "plugin_version": "1", "lookup": answers.registry.lookup, "origin": None}
    with answers:
        first = evaluation.evaluate(energy_cost, given, **more)
        assert evaluation.evaluate(energy_cost, given, **more) is first
    again = reaching.Answers(answers.questions)
    assert not again.changed(0)
    faulty = reaching.Answers(answers.questions)
    monkeypatch.setattr(faulty, "evaluate", lambda *_, **__: msgspec.structs.replace(first, outcome="unacceptable"))
    assert faulty.changed(0)
    with faulty:
        assert evaluation.evaluate(energy_cost, given, **more).outcome == "unacceptable"
