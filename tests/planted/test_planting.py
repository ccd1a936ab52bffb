"""The planter of faults plants what it says, where it says, and its list of harmless ones is of lines that stand."""

import ast

import plant
import planting
import pytest


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


@pytest.mark.parametrize("family", [*plant.FAMILIES, "booking"])
def test_faults_are_many_and_have_tests(family: str) -> None:
    every = planting.faults_of(family)
    assert len(every) > 500
    assert plant.tests_of(every[0], near=False)
    of_the_kit = {test for fault in every for test in plant.tests_of(fault, near=False) if "::" in test}
    assert len(of_the_kit) >= 4
    assert not {fault.path for fault in every if fault.path.endswith(("/given.py", "/results.py"))}


def test_harmless_faults_are_of_lines_that_stand() -> None:
    """A line that is written anew is judged anew."""
    families = (*plant.FAMILIES, "booking")
    places = {fault.name for family in families for fault in planting.faults_of(family)}
    assert set(plant.harmless()) <= places
    assert all(len(why) > 20 for why in plant.harmless().values())
