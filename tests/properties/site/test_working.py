"""The working shows what the answer gives: each line that has a result of its own comes to it, in the unit of the line.

Lines whose expression is written in symbols can be followed by nobody, so their value stands for the rule in the eyes of
whoever reads it.
"""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from edges import example
from quantity import q
from site_given import at

Json = dict[str, Any]
G = 9.80665


def of(line: Json) -> float:
    """The value of a line in SI units, kN and kPa."""
    factors = {"kN": 1e3, "kN.m": 1e3, "kPa": 1e3, "MPa": 1e6, "m2": 1, "lb": 0.45359237, "km": 1e3, "h": 3600.0}
    return float(line["value"] * factors.get(line["unit"], 1))


def si(quantity: Json) -> float:
    factors = {"kN": 1e3, "kPa": 1e3, "km": 1e3, "h": 3600.0}
    return float(quantity["value"] * factors.get(quantity["unit"], 1))


def ground(results: Json) -> Iterator[tuple[str, float]]:
    names = {
        "q_a": "allowable_bearing_pressure", "A": "required_area", "q_max": "bearing_pressure_maximum",
        "q_min": "bearing_pressure_minimum", "F_q": "quick_reaction", "q_z": "pressure_at_depth",
    }  # fmt: skip
    yield from ((symbol, si(results[name])) for symbol, name in names.items() if name in results)
    yield from ((f"R_{i + 1}", si(force)) for i, force in enumerate(results["reactions"]))
    if "utilisation" in results:
        yield "u", results["utilisation"]
    if mat := results.get("mat"):
        yield "L_req", mat["required_length"]["value"]
        yield "L_c", mat["cantilever"]["value"]
        yield "L_eff", results["contact_length_effective"]["value"]
        yield "M", mat["bending_moment_knm"] * 1e3
        yield "f_b", mat["bending_stress_mpa"] * 1e6
        yield "V", mat["shear_kn"] * 1e3
        yield "f_v", mat["shear_stress_mpa"] * 1e6


def wooden(**more: Any) -> Json:
    """A mat of 8 kN below 300 kN."""
    return {
        "contact": "mat",
        "load": q(300e3 / G, "kg"),
        "contact_length": q(0.5, "m"),
        "soil_class": "sand",
        "mat": {"width": q(1.2, "m"), "thickness": q(0.3, "m"), "mass": q(8e3 / G, "kg"), "material": "timber"} | more,
        "depth_check": {"depth": q(1, "m"), "allowable": q(500, "kPa")},
    }


FEET = {
    "contact": "feet",
    "load": q(6, "t"),
    "eccentricity": at(x=0.2, y=0.4),
    "feet": [{"id": f"{x}{y}", **at(x=x, y=y), "area": q(0.3, "m2")} for x, y in ((-1, -2), (1, -2), (-1, 2), (1, 2))],
    "soil_class": "clay",
    "rules": "europe",
}
CASES: tuple[tuple[str, Json, Callable[[Json], Iterator[tuple[str, float]]]], ...] = (
    ("site.ground", example("site.ground"), ground),
    ("site.ground", example("site.ground", depth_check={"depth": q(1, "m"), "allowable": q(9, "kPa")}), ground),
    ("site.ground", example("site.ground", 1), ground),
    ("site.ground", wooden(), ground),
    ("site.ground", wooden(material="metal", length=q(2, "m")), ground),
    ("site.ground", FEET, ground),
)


@pytest.mark.parametrize(("calculator", "asked", "of_results"), CASES)
def test_a_line_comes_to_its_result(answer_of: Any, calculator: str, asked: Json, of_results: Any) -> None:
    answer = answer_of(calculator, asked)
    shown = {line["symbol"]: of(line) for line in answer["working"]}
    found = dict(of_results(answer["results"]))
    assert {symbol: shown.get(symbol, value) for symbol, value in found.items()} == pytest.approx(found)
    assert set(found) & set(shown)
