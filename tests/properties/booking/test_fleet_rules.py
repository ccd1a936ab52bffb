"""What a fleet document may hold: each rule on both sides of its limit, and the table read by another's interpolation.

Derived; a table is read linearly in its cell, as SciPy reads a regular grid. The fleets are invented.
"""

import re
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec import UNSET
from orders import changed, fleet, machine
from quantity import q
from scipy.interpolate import RegularGridInterpolator

from coldwright.contract import FieldError, Refused

Json = dict[str, Any]


def errors(answer_of: Any, row: Json, *more: Json) -> dict[str, FieldError]:
    """What the fleet is refused for, by the field of its first row."""
    try:
        answer_of("booking.fleet_check", {"fleet": fleet(row, *more)})
    except Refused as refused:
        return {e.pointer.removeprefix("#/fleet/machines/0/"): e for e in refused.errors}
    return {}


def allowed(error: FieldError) -> tuple[Any, Any, str]:
    assert error.allowed
    return error.allowed.minimum, error.allowed.maximum, str(error.allowed.unit)


@st.composite
def tables(draw: st.DrawFn) -> tuple[Json, tuple[float, float], float]:
    """A row with a table of any shape, the place of its plate, and what the plate has over what the table says there."""
    axis = st.lists(st.integers(0, 60), min_size=2, max_size=5, unique=True).map(sorted)
    leaving, ambient = draw(axis), [15 + degrees for degrees in draw(axis)]
    assume(leaving[0] < 25)
    cell = st.floats(50, 250).map(lambda x: round(x, 1))
    rows, columns = len(leaving), len(ambient)
    values = draw(st.lists(st.lists(cell, min_size=columns, max_size=columns), min_size=rows, max_size=rows))
    low, high = max(0, leaving[0]), min(25, leaving[-1])
    place = draw(st.integers(low, high)), draw(st.integers(ambient[0] - 5, ambient[-1] + 5))
    ratio = draw(st.sampled_from([0.9, 0.94, 0.951, 0.953, 1.0, 1.04, 1.052, 1.054, 1.1]))
    row = changed(
        machine("table", 150),
        capacity_table={
            "leaving_liquid_temperature": {"values": leaving, "unit": "degC"},
            "ambient_temperature": {"values": ambient, "unit": "degC"},
            "capacity": {"values": values, "unit": "kW"},
            "power": {"values": [[cell / 3 for cell in row] for row in values], "unit": "kW"},
        },
        rating__leaving_temperature=q(place[0], "degC"),
        rating__entering_temperature=q(place[0] + 5, "degC"),
        rating__ambient_temperature=q(place[1], "degC"),
    )
    return row, place, ratio


@given(tables())
def test_a_table_agrees_with_its_plate_within_a_twentieth(answer_of: Any, case: tuple[Json, Any, float]) -> None:
    """Read by SciPy. Outside the table nothing is compared; beyond 5 % of the plate it is refused with both numbers."""
    row, place, ratio = case
    table = row["capacity_table"]
    axes = table["leaving_liquid_temperature"]["values"], table["ambient_temperature"]["values"]
    inside = all(axis[0] <= at <= axis[-1] for axis, at in zip(axes, place, strict=True))
    reads = {
        name: float(RegularGridInterpolator(axes, table[name]["values"])(place).item()) if inside else 100.0
        for name in ("capacity", "power")
    }
    row = changed(
        row, rating__capacity=q(reads["capacity"] * ratio, "kW"), rating__power=q(reads["power"] * ratio, "kW")
    )
    found = errors(answer_of, row)
    assume(not any(name.startswith("rating/") for name in found))  # beyond what a plate may say nothing is compared
    wrong = inside and abs(1 / ratio - 1) > 0.05
    for name, read in reads.items():
        error = found.get(f"capacity_table/{name}")
        assert (error is not None) == wrong, (place, ratio)
        if error is not None:
            assert error.value == pytest.approx(read)
            least, most, unit = allowed(error)
            assert (least, most, unit) == (pytest.approx(0.95 * read * ratio), pytest.approx(1.05 * read * ratio), "kW")
            told = [float(x) for x in re.findall(r"(?:gives|says) ([\d.e+]+) kW", error.detail)]
            assert told == pytest.approx([read, read * ratio], rel=6e-4)  # four digits are shown


@pytest.mark.parametrize(
    ("kelvin", "taken"), [(1.9, False), (2, True), (2.5, True), (19, True), (20, True), (21, False)]
)
def test_a_plate_has_two_to_twenty_kelvin(answer_of: Any, kelvin: float, taken: bool) -> None:
    row = changed(machine("plate", 90, table=False), rating__entering_temperature=q(7 + kelvin, "degC"))
    found = errors(answer_of, row)
    assert ("rating/entering_temperature" not in found) == taken
    for error in found.values():
        assert allowed(error) == (pytest.approx(9), pytest.approx(27), "degC")
        assert f"{kelvin:.3g} K" in error.detail


@pytest.mark.parametrize(("kelvin", "taken"), [(4.4, False), (4.5, True), (5.5, True), (6.5, True), (6.6, False)])
def test_a_table_is_for_the_difference_of_the_plate_within_a_kelvin(answer_of: Any, kelvin: float, taken: bool) -> None:
    """The plate enters at 12.5 and leaves at 7 degC."""
    row = changed(machine("plate", 90), capacity_table__basis={"temperature_difference": q(kelvin, "delta_degC")})
    found = errors(answer_of, row)
    assert ("capacity_table/basis/temperature_difference" not in found) == taken
    for error in found.values():
        assert allowed(error) == (pytest.approx(4.5), pytest.approx(6.5), "delta_degC")


@pytest.mark.parametrize("hertz", [50, 60])
def test_a_table_is_for_the_frequency_of_the_plate(answer_of: Any, hertz: float) -> None:
    row = changed(machine("plate", 90), capacity_table__basis={"frequency": q(hertz, "Hz")})
    found = errors(answer_of, row)
    assert set(found) == (set() if hertz == 60 else {"capacity_table/basis/frequency"})


SIDES: list[tuple[Json, str, bool]] = [
    ({"electrical__frequency": q(50, "Hz")}, "", True),
    ({"electrical__frequency": q(55, "Hz")}, "electrical/frequency", False),
    ({"electrical__frequency": q(66, "Hz")}, "electrical/frequency", False),
    (
        {"evaporator__flow_minimum": q(5, "L/s"), "evaporator__flow_maximum": q(5, "L/s")},
        "evaporator/flow_minimum",
        False,
    ),
    ({"evaporator__rated_flow": q(4, "L/s"), "evaporator__flow_minimum": q(4, "L/s")}, "", True),
    (
        {"evaporator__rated_flow": q(4, "L/s"), "evaporator__flow_minimum": q(4.01, "L/s")},
        "evaporator/rated_flow",
        False,
    ),
    ({"evaporator__rated_flow": q(6, "L/s"), "evaporator__flow_maximum": q(6, "L/s")}, "", True),
    (
        {"evaporator__rated_flow": q(6.01, "L/s"), "evaporator__flow_maximum": q(6, "L/s")},
        "evaporator/rated_flow",
        False,
    ),
    ({"body__mass_dry": q(1510, "kg")}, "", True),
    ({"body__mass_dry": q(1511, "kg")}, "body/mass_operating", False),
    ({"circuits": 4}, "", True),
    ({"circuits": 5}, "circuits", False),
    ({"envelope__leaving_maximum": q(4.4, "degC")}, "", True),
    ({"envelope__leaving_maximum": q(4.3, "degC")}, "envelope/leaving_maximum", False),
    ({"envelope__leaving_minimum_with_antifreeze": q(5, "degC")}, "envelope/leaving_minimum", False),
    ({"envelope__entering_maximum": q(4, "degC")}, "envelope/entering_maximum", False),
]


@pytest.mark.parametrize(("changes", "field", "taken"), SIDES)
def test_each_rule_on_either_side(answer_of: Any, changes: Json, field: str, taken: bool) -> None:
    """Of a machine of 90 kW: 1510 kg in operation, 4 compressors on 2 circuits, 1.76 to 6.65 L/s, leaving from 4.4 degC."""
    row = changed(machine("sides", 90), **changes)
    if "electrical__frequency" in changes:
        row["capacity_table"].pop("basis", None)
    found = errors(answer_of, row)
    assert (field not in found) if taken else (field in found), found
    if taken:
        assert not found


@pytest.mark.parametrize("more", [-1, 0, 1])
def test_a_device_is_not_below_the_ampacity(answer_of: Any, more: float) -> None:
    row = machine("plate", 90)
    ampacity = row["electrical"]["minimum_circuit_ampacity"]["value"]
    row["electrical"]["maximum_overcurrent_device"] = q(ampacity + more, "A")
    found = errors(answer_of, row)
    assert set(found) == ({"electrical/maximum_overcurrent_device"} if more < 0 else set())
    for error in found.values():
        assert allowed(error)[0] == pytest.approx(ampacity)


@pytest.mark.parametrize(
    ("kind", "feet", "taken"), [("skid", 0, True), ("feet", 2, False), ("feet", 3, True), ("wheels", 4, True)]
)
def test_three_feet_stand(answer_of: Any, kind: str, feet: int, taken: bool) -> None:
    places = [(0, 0), (2, 0), (1, 1), (2, 1)][:feet]
    support = {
        "kind": kind,
        "feet": [
            {"id": str(n), "x": q(x, "m"), "y": q(y, "m"), "area": q(0.02, "m2")} for n, (x, y) in enumerate(places)
        ],
    }
    found = errors(answer_of, changed(machine("stands", 90), body__support=support))
    assert set(found) == (set() if taken else {"body/support/feet"})


@pytest.mark.parametrize(("points", "taken"), [(0, False), (2, False), (3, True), (4, True)])
def test_a_pump_has_three_points(answer_of: Any, points: int, taken: bool) -> None:
    curve = [{"flow": q(2 * n, "L/s"), "head": q(30 - 2 * n - n * n, "m")} for n in range(points)]
    found = errors(answer_of, changed(machine("pump", 90), pump__curve=curve))
    assert set(found) == (set() if taken else {"pump/curve"})


def test_sums_of_the_fleet(answer_of: Any) -> None:
    """By hand: counts times capacities, and capacity over power."""
    results = answer_of("booking.fleet_check", {"fleet": fleet(machine("a", 90, 3), machine("b", 150, 2))})["results"]
    assert results["rated_capacity"] == q(570, "kW")
    assert [m["efficiency"] for m in results["machines"]] == [pytest.approx(3), pytest.approx(3)]
    none = answer_of("booking.fleet_check", {"fleet": fleet(machine("a", 90, 0))})
    assert "nothing_on_hand" in {f["code"] for f in none["findings"]}
    some = answer_of("booking.fleet_check", {"fleet": fleet(machine("a", 90, 0), machine("b", 90, 1))})
    assert "nothing_on_hand" not in {f["code"] for f in some["findings"]}


@pytest.mark.parametrize(("runner", "refused"), [(725, False), (726, True), (1900, True)])
def test_two_runners_are_no_wider_than_what_stands_on_them(answer_of: Any, runner: float, refused: bool) -> None:
    row = changed(machine("skid", 150), body__width=q(1.45, "m"))
    row["body"]["support"] = {"kind": "skid", "runner_width": q(runner, "mm")}
    found = errors(answer_of, row)
    assert ("body/support/runner_width" in found) == refused
    if refused:
        assert allowed(found["body/support/runner_width"]) == (UNSET, 725, "mm")


def test_wheels_have_no_runner_to_be_too_wide(answer_of: Any) -> None:
    row = changed(machine("wheels", 150), body__width=q(1.45, "m"))
    places = [(0, 0), (2, 0), (0, 1), (2, 1)]
    feet = [{"x": q(x, "m"), "y": q(y, "m"), "area": q(0.05, "m2"), "id": f"{x}{y}"} for x, y in places]
    row["body"]["support"] = {"kind": "wheels", "runner_width": q(1900, "mm"), "feet": feet}
    assert not errors(answer_of, row)
