"""What is taken where nothing was given is the same as giving it: each default beside the value that its rule names."""

import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from figures import same_figures
from quantity import q

pytestmark = pytest.mark.check
Json = dict[str, Any]
THICK: Json = {
    "kind": "custom",
    "density": q(1080, "kg/m3"),
    "dynamic_viscosity": q(6, "mPa.s"),
    "specific_heat": q(4, "kJ/kg.K"),
}
COLD: Json = {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": q(-3, "degC")}
TEN: Json = {"kind": "water", "temperature": q(10, "degC")}


def loop(**more: Any) -> Json:
    coil = {"name": "coil", "type": "device", "device_kind": "coil", "rated_flow": q(10, "L/s"), "exponent": 1.75}
    coil |= {"rated_pressure_drop": q(40, "kPa")} | more
    return {
        "fluid": THICK,
        "elements": [coil],
        "fixed_flow": q(9, "L/s"),
        "pressure_reference": {"gauge_pressure": q(200, "kPa")},
    }


def pump(**more: Any) -> Json:
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 40), (10, 36), (20, 20))]
    case = loop() | {"pumps": [{"curve": curve, "frequency": q(50, "Hz")} | more], "pump_owner": "machine"}
    del case["fixed_flow"]
    return case


SAME = {
    # ratings are with water of 10 degC, and a curve is for 60 Hz, unless something else is said (common practice)
    "rated with water of 10 degC": ("hydronic.loop", loop(), loop(rated_fluid=TEN)),
    "an exchanger rated with water": (
        "hydronic.exchanger_flow",
        example("hydronic.exchanger_flow", fluid=THICK, exponent=1.8),
        example("hydronic.exchanger_flow", fluid=THICK, exponent=1.8, rated_fluid=TEN),
    ),
    "a curve for 60 Hz": ("hydronic.loop", pump(), pump(rated_frequency=q(60, "Hz"))),
    # 150 kPa at the suction (common practice); the air of sea level
    "150 kPa at the suction": (
        "hydronic.loop",
        {k: v for k, v in loop().items() if k != "pressure_reference"},
        loop() | {"pressure_reference": {"gauge_pressure": q(150, "kPa")}},
    ),
    "air of sea level": ("hydronic.loop", pump(), pump() | {"atmospheric_pressure": q(101.325, "kPa")}),
    "air of sea level at a valve": (
        "hydronic.surge",
        example("hydronic.surge", static_pressure=q(120, "kPa")),
        example("hydronic.surge", static_pressure=q(120, "kPa"), atmospheric_pressure=q(101.325, "kPa")),
    ),
    # 3.0 GPa of a glycol mixture (from memory), on the safe side
    "bulk modulus of a glycol": (
        "hydronic.surge",
        example("hydronic.surge", fluid=COLD),
        example("hydronic.surge", fluid=COLD, bulk_modulus=q(3.0, "GPa")),
    ),
    # five minutes of running where no rule is given (common practice)
    "five minutes of running": (
        "hydronic.fill",
        example("hydronic.fill", 1, cycling__minimum_run_time=None),
        example("hydronic.fill", 1, cycling__minimum_run_time=q(5, "min")),
    ),
    # properties of a mixture at 5 degC where nothing is asked
    "a mixture at 5 degC": (
        "hydronic.antifreeze",
        example("hydronic.antifreeze", leaving_temperature=None),
        example("hydronic.antifreeze", leaving_temperature=None, fluid_temperature=q(5, "degC")),
    ),
}  # fmt: skip


def figures_of(value: Any) -> list[float]:
    """Every number of the results, in order."""
    if isinstance(value, dict):
        return [n for name in sorted(value) for n in figures_of(value[name])]
    if isinstance(value, list):
        return [n for inner in value for n in figures_of(inner)]
    return [float(value)] if isinstance(value, int | float) and not isinstance(value, bool) else []


@pytest.mark.parametrize("name", SAME)
def test_a_default_is_the_same_as_giving_it(answer_of: Any, name: str) -> None:
    calculator, without, with_it = SAME[name]
    left, right = (figures_of(answer_of(calculator, case)["results"]) for case in (without, with_it))
    assert left == pytest.approx(right, rel=1e-12)
    assert left


def test_a_pump_of_a_custom_liquid_without_a_vapour_pressure_says_nothing_of_suction(answer_of: Any) -> None:
    assert "npsh_available" not in answer_of("hydronic.loop", pump())["results"]


@pytest.mark.parametrize(
    ("number", "words"), [(1500.0, "at Re"), (2040 * (1 - 5e-6), "on the ramp to Re"), (5000.0, "at Re")]
)
def test_a_line_says_how_its_factor_comes_about(answer_of: Any, number: float, words: str) -> None:
    """Between the laminar and the turbulent law stands a ramp of a hundred-thousandth of Re 2040; it is doubtful too."""
    pipe = {"name": "pipe", "type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(10, "m")}
    flow = number * 6e-3 / 1080 / 0.1 * math.pi / 4 * 0.01 * 1e3
    case = loop() | {"elements": [pipe], "fixed_flow": q(flow, "L/s")}
    answer = answer_of("hydronic.loop", case)
    (line,) = [x["expression"] for x in answer["working"] if x["symbol"] == "dp"]
    assert words in line
    assert ("transition" in {f["code"] for f in answer["findings"]}) is (words != "at Re")


def test_the_hose_that_is_chosen_is_shown_with_its_runs(answer_of: Any) -> None:
    """Of 80 mm in two runs or 170 mm in one, both slow enough, the first is less hose: 160 mm."""
    hose = [{"inner_diameter": q(d, "mm")} for d in (80, 170)]
    case = {
        "fluid": THICK,
        "required": {"flow": q(20, "L/s")},
        "hose_options": hose,
        "run_length": q(50, "m"),
        "max_runs": 2,
    }
    answer = answer_of("hydronic.loop", case)
    assert (answer["results"]["hose_choice"]["inner_diameter"]["value"], answer["results"]["hose_choice"]["runs"]) == (
        80,
        2,
    )
    (line,) = [x for x in answer["working"] if x["symbol"] == "D n"]
    assert line["value"] == pytest.approx(160)
    same_figures(line["expression"].partition(":")[2], (80, 2))


@pytest.mark.parametrize(("kind", "code"), [("ethylene_glycol", "MEG"), ("propylene_glycol", "MPG")])
@pytest.mark.parametrize("celsius", [-0.1, -0.3, -0.9, 0.0, 0.5])
def test_a_reading_near_freezing_is_a_strength_in_proportion(
    answer_of: Any, kind: str, code: str, celsius: float
) -> None:
    """Weaker than 0.02 by mass the freezing point falls in proportion, from 0 degC to that of 0.02 (CoolProp)."""

    def freezes(w: float) -> float:
        return float(PropsSI("T_freeze", "T", 300, "P", 1e5, f"INCOMP::{code}[{w}]") - 273.15)

    reading = {"measured_freezing_temperature": q(celsius, "degC")}
    answer = answer_of("hydronic.antifreeze", example("hydronic.antifreeze", kind=kind, present=reading))
    (found,) = [line["value"] for line in answer["working"] if line["symbol"] == "w_p"]
    if celsius < freezes(0.02):
        assert freezes(found) == pytest.approx(celsius, abs=1e-4)
    else:
        assert found == pytest.approx(max(0.0, 0.02 * celsius / freezes(0.02)), rel=1e-5)


@pytest.mark.parametrize("highest", [70.0, 115.0, 180.0, 290.0, 440.0, 700.0, 1100.0, 1800.0, 2900.0, 3990.0])
def test_the_smallest_span_that_is_read_below_three_quarters(answer_of: Any, highest: float) -> None:
    """EN 837-1 (from memory): spans of 1 1.6 2.5 4 6 bar and ten times those; one hundredth of each of two."""
    level = {f"{end}_gauge_elevation": q(1, "m") for end in ("inlet", "outlet")}
    case = example("hydronic.exchanger_flow", pressure_drop=None, proof=None) | level
    case |= {"inlet_gauge_pressure": q(highest, "kPa"), "outlet_gauge_pressure": q(highest - 60, "kPa")}
    results = answer_of("hydronic.exchanger_flow", case)["results"]
    span = next(100 * ten * step for ten in (1, 10) for step in (1, 1.6, 2.5, 4, 6) if 75 * ten * step >= highest)
    assert results["flow_uncertainty_fraction"] == pytest.approx(math.sqrt(2) * 0.01 * span / 60 / 2)
