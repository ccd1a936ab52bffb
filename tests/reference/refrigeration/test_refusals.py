"""Limits that refusals of the refrigeration family name, and the figures in their sentences: by CoolProp, by hand, or by the
limit case that the method states.
"""

import re
from typing import Any

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from quantity import q

from coldwright.contract import FieldError, Refused

pytestmark = pytest.mark.check
CIRCUIT, CYCLE, CAPACITY, LOAD, SAFETY, RIDE = (
    f"refrigeration.{name}"
    for name in ("circuit_check", "cycle", "capacity", "load", "refrigerant_safety", "ride_through")
)
FLUID = "R134a"


def refused(answer_of: Any, calculator: str, given: dict[str, Any], pointer: str) -> FieldError:
    """The one refusal of a field."""
    with pytest.raises(Refused) as raised:
        answer_of(calculator, given)
    (error,) = [e for e in raised.value.errors if e.pointer == f"#/{pointer}"]
    return error


def numbers(text: str) -> list[float]:
    """Figures of a sentence, those of names left out."""
    return [float(n) for n in re.findall(r"(?<![\w-])-?\d+(?:\.\d+)?(?![\w-])", text)]


def bar(celsius: float, quality: int = 1) -> float:
    return float(PropsSI("P", "T", celsius + 273.15, "Q", quality, FLUID) / 1e5)


def celsius(bars: float, quality: int = 1) -> float:
    return float(PropsSI("T", "P", bars * 1e5, "Q", quality, FLUID) - 273.15)


CASE = {
    "refrigerant": "R-134a",
    "evaporating": {"pressure": q(3, "bar")},
    "condensing": {"pressure": q(12, "bar")},
    "capacity": q(100, "kW"),
}


def test_points_of_a_cycle(answer_of: Any) -> None:
    """R-134a between 3 and 12 bar by CoolProp: dew, bubble, the outlet of an ideal compressor, what flows downhill."""

    def error(pointer: str, **more: Any) -> FieldError:
        return refused(answer_of, CYCLE, CASE | more, pointer)

    low = error("compressor_inlet_temperature", compressor_inlet_temperature=q(-3, "degC"))
    assert low.allowed.minimum == pytest.approx(celsius(3), abs=2e-3)  # type: ignore[union-attr]
    assert numbers(low.detail)[1] == pytest.approx(celsius(3), abs=6e-3)
    wet = error("condenser_outlet_temperature", condenser_outlet_temperature=q(50, "degC"))
    assert wet.allowed.maximum == pytest.approx(celsius(12), abs=2e-3)  # type: ignore[union-attr]
    assert numbers(wet.detail)[1] == pytest.approx(celsius(12), abs=6e-3)
    cold = error("subcooling", subcooling=q(48, "delta_degC"))
    assert numbers(cold.detail) == [pytest.approx(celsius(12) - 48, abs=6e-3), pytest.approx(celsius(3), abs=6e-3)]
    s1 = PropsSI("S", "T", 283.15, "P", 3e5, FLUID)
    ideal = float(PropsSI("T", "P", 12e5, "S", s1, FLUID) - 273.15)
    cool = error(
        "compressor_outlet_temperature",
        compressor_inlet_temperature=q(10, "degC"),
        compressor_outlet_temperature=q(ideal - 2, "degC"),
    )
    assert cool.allowed.minimum == pytest.approx(ideal, abs=0.02)  # type: ignore[union-attr]
    assert numbers(cool.detail)[1] == pytest.approx(ideal, abs=0.02)
    for bars in (2, 13):
        steep = error("condenser_outlet_pressure", condenser_outlet_pressure=q(bars, "bar"))
        assert (steep.allowed.above, steep.allowed.maximum) == (  # type: ignore[union-attr]
            pytest.approx(300),
            pytest.approx(1200),
        )
    flat = error("condensing", condensing={"pressure": q(3.1, "bar")})
    assert flat.allowed.minimum == pytest.approx(1.05 * 300)  # type: ignore[union-attr]
    assert numbers(flat.detail) == [310, 1.05, 300]


@pytest.mark.parametrize(("unit", "each"), [("kPa", 1.0), ("bar", 100.0), ("psi", 6.894757)])
def test_where_saturation_is_known(answer_of: Any, unit: str, each: float) -> None:
    """R-134a from -45 degC to its limit in the table of refrigerants, by CoolProp; a gauge reads the air's pressure less."""
    from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

    top = REFRIGERANTS["R-134a"].maximum_temperature_degC
    ends = [100 * bar(-45), 100 * bar(top)]
    for sent in (10, 5000):
        pressure = {"pressure": q(sent / each, unit)}
        place = "evaporating" if sent == 10 else "condensing"
        error = refused(answer_of, CYCLE, CASE | {place: pressure}, f"{place}/pressure")
        assert [error.allowed.minimum, error.allowed.maximum] == pytest.approx(  # type: ignore[union-attr]
            [end / each for end in ends], rel=2e-3
        )
        assert numbers(error.detail)[1:] == pytest.approx([end / each for end in ends], rel=2e-3)
    if unit == "psi":
        return
    for absolute, offset in ((True, 0.0), (False, 80.0)):
        name = "discharge_pressure_absolute" if absolute else "discharge_pressure"
        given = example(
            CIRCUIT, refrigerant="R-134a", discharge_pressure=None, altitude=None, barometric_pressure=q(80, "kPa")
        )
        given |= {"suction_pressure": q(200, "kPa"), name: q(5000 / each, unit)}
        error = refused(answer_of, CIRCUIT, given, name)
        expected = [(end - offset) / each for end in ends]
        assert [error.allowed.minimum, error.allowed.maximum] == pytest.approx(expected, rel=2e-3)  # type: ignore[union-attr]
        assert [float(n) for n in error.detail.split("only from ")[1].split(unit)[0].split(" to ")] == pytest.approx(
            expected, rel=2e-3
        )
        assert numbers(str(error.why)) == [-45, top]


def test_temperatures_that_no_line_reaches(answer_of: Any) -> None:
    """R-32: its ends as temperatures, in degC and degF."""
    from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

    top = REFRIGERANTS["R-32"].maximum_temperature_degC
    for value, unit, ends in ((top + 1, "degC", [-45, top]), (top * 1.8 + 34, "degF", [-49, top * 1.8 + 32])):
        error = refused(
            answer_of,
            CYCLE,
            CASE | {"refrigerant": "R-32", "condensing": {"temperature": q(value, unit)}},
            "condensing/temperature",
        )
        assert [error.allowed.minimum, error.allowed.maximum] == pytest.approx(ends, abs=0.01)  # type: ignore[union-attr]
    still = example(CIRCUIT, refrigerant="R-32", suction_pressure=q(200, "kPa"), discharge_pressure=q(1000, "kPa"))
    still["standstill"] = {"pressure": q(500, "kPa"), "temperature": q(top + 2, "degC")}
    error = refused(answer_of, CIRCUIT, still, "standstill/temperature")
    assert [error.allowed.minimum, error.allowed.maximum] == pytest.approx([-45, top], abs=0.01)  # type: ignore[union-attr]


def test_readings_of_a_circuit(answer_of: Any) -> None:
    """No absolute pressure is negative; no discharge below its suction, as the field is read; none of two runs as a third."""
    usual = example(
        CIRCUIT, refrigerant="R-134a", suction_pressure=q(200, "kPa"), discharge_pressure=q(1000, "kPa"), altitude=None,
        barometric_pressure=q(90, "kPa"),
    )  # fmt: skip
    vacuum = usual | {"standstill": {"pressure": q(-95, "kPa"), "temperature": q(20, "degC")}}
    error = refused(answer_of, CIRCUIT, vacuum, "standstill/pressure")
    assert error.allowed.above == pytest.approx(-90)  # type: ignore[union-attr]
    assert numbers(error.detail)[1] == 90
    swapped = usual | {"discharge_pressure": q(150, "kPa")}
    error = refused(answer_of, CIRCUIT, swapped, "discharge_pressure")
    assert numbers(error.detail) == [240, 290]
    assert error.allowed.above == pytest.approx(200)  # type: ignore[union-attr]
    error = refused(
        answer_of, CIRCUIT, usual | {"compressors_running": 3, "compressors_total": 2}, "compressors_running"
    )
    assert (error.allowed.minimum, error.allowed.maximum) == (1, 2)  # type: ignore[union-attr]


RATED = {
    "refrigerant": "R-134a",
    "capacity": q(300, "kW"),
    "power": q(90, "kW"),
    "leaving_liquid_temperature": q(7, "degC"),
    "temperature_difference": q(5, "delta_degC"),
    "ambient_temperature": q(35, "degC"),
}


def rated(leaving: float = 7, ambient: float = 35, **more: Any) -> dict[str, Any]:
    conditions = {"leaving_liquid_temperature": q(leaving, "degC"), "ambient_temperature": q(ambient, "degC")}
    return {"machine": {"rated_point": RATED | more}, "conditions": conditions}


@pytest.mark.parametrize("kilowatts", [30, 300])
def test_a_rated_point_that_does_not_belong_together(answer_of: Any, kilowatts: float) -> None:
    """Isentropic efficiencies of 0.45 to 0.85 (common practice) by the cycle in CoolProp: dew 3.5 K below the leaving liquid,
    14 K above the air, 6 K each of superheat and subcooling, fans 7 % of the power.
    """
    low, high = 1e5 * bar(7 - 3.5), 1e5 * bar(35 + 14)
    h1, s1 = (PropsSI(k, "T", 273.15 + 9.5, "P", low, FLUID) for k in "HS")
    h3 = PropsSI("H", "T", 273.15 + 43, "P", high, FLUID)
    ideal = 300 * (PropsSI("H", "P", high, "S", s1, FLUID) - h1) / (h1 - h3) / 0.93
    error = refused(answer_of, CAPACITY, rated(power=q(kilowatts, "kW")), "machine/rated_point/power")
    limits = error.allowed
    assert [limits.minimum, limits.maximum] == pytest.approx([ideal / 0.85, ideal / 0.45], rel=2e-3)  # type: ignore[union-attr]
    assert float(error.detail.split("efficiency of ")[1].split(":")[0]) == pytest.approx(ideal / kilowatts, rel=5e-3)
    for inside in (ideal / 0.845, ideal / 0.455):
        assert answer_of(CAPACITY, rated(power=q(inside, "kW")))["results"]["source"] == "estimate"


def test_how_far_an_estimate_reaches(answer_of: Any) -> None:
    """Common practice: 15 K of air, 8 K of liquid; surer within 5 and 10 K."""
    for air in (15.5, 60):
        error = refused(answer_of, CAPACITY, rated(ambient=air), "conditions/ambient_temperature")
        assert [error.allowed.minimum, error.allowed.maximum] == [20, 50]  # type: ignore[union-attr]
        assert abs(35 - air) in numbers(error.detail)
        assert numbers(error.detail)[-1] == 15
    error = refused(answer_of, CAPACITY, rated(leaving=15.5), "conditions/leaving_liquid_temperature")
    assert [error.allowed.minimum, error.allowed.maximum] == [-1, 15]  # type: ignore[union-attr]
    assert numbers(error.detail)[-1] == 8
    for leaving, air, sure in (
        (7, 40, 0.05),
        (7, 40.1, 0.08),
        (7, 45, 0.08),
        (7, 45.1, 0.12),
        (7, 30, 0.05),
        (12, 35, 0.05),
        (12.1, 35, 0.08),
    ):
        assert answer_of(CAPACITY, rated(leaving, air))["results"]["uncertainty"] == sure
    assert refused(
        answer_of, CAPACITY, example(CAPACITY, conditions__frequency=q(45, "Hz")), "conditions/frequency"
    ).allowed.minimum == pytest.approx(50)  # type: ignore[union-attr]


def test_air_and_liquid_of_a_coil(answer_of: Any) -> None:
    """Air holds no more than saturated: PsychroLib at the site's pressure; no dew or wet bulb above the dry bulb."""
    coil = {
        "kind": "air_coil",
        "name": "coil",
        "airflow": q(5, "m3/s"),
        "airflow_basis": "standard",
        "entering_dry_bulb": q(30, "degC"),
        "leaving_dry_bulb": q(12, "degC"),
    }
    site = {"barometric_pressure": q(85, "kPa")}
    psychrolib.SetUnitSystem(psychrolib.SI)
    most = psychrolib.GetSatHumRatio(30, 85e3)
    error = refused(
        answer_of,
        LOAD,
        {"site": site, "loads": [coil | {"entering_humidity_ratio": 0.05}]},
        "loads/0/entering_humidity_ratio",
    )
    assert (error.allowed.minimum, error.allowed.maximum) == (0, pytest.approx(most))  # type: ignore[union-attr]
    assert numbers(error.detail)[-1] == pytest.approx(most, abs=6e-6)
    error = refused(
        answer_of,
        LOAD,
        {"site": site, "loads": [coil | {"entering_dew_point": q(90, "degF")}]},
        "loads/0/entering_dew_point",
    )
    assert error.allowed.maximum == pytest.approx(86)  # type: ignore[union-attr]


def test_a_circuit_that_is_not_there(answer_of: Any) -> None:
    """Two circuits are numbered 0 and 1."""
    case = example(SAFETY, circuits=[{"charge": q(20, "kg")}, {"charge": q(30, "kg")}], space_volume=q(900, "m3"))
    case["additions"] = [{"mass": q(1, "kg"), "circuit": 2}]
    error = refused(answer_of, SAFETY, case, "additions/0/circuit")
    assert (error.allowed.minimum, error.allowed.maximum) == (0, 1)  # type: ignore[union-attr]


def test_a_loop_smaller_than_its_parts(answer_of: Any) -> None:
    """By hand: supply and buffer together; no supply warmer than allowed from the start."""
    small = example(RIDE, loop__volume=q(3, "m3"), loop__supply_volume=q(2, "m3"), loop__buffer_volume=q(1500, "L"))
    assert refused(answer_of, RIDE, small, "loop/volume").allowed.minimum == pytest.approx(3500)  # type: ignore[union-attr]
    warm = example(RIDE, loop__leaving_temperature=q(10, "degC"), warmest_supply=q(9, "degC"))
    assert refused(answer_of, RIDE, warm, "warmest_supply").allowed.minimum == pytest.approx(10)  # type: ignore[union-attr]


@pytest.mark.parametrize("litres", [0.5, 90])
def test_a_flow_that_does_not_belong_to_the_machine(answer_of: Any, litres: float) -> None:
    """By hand: 1 to 30 K across the evaporator, at the capacity of the table."""
    given = example(CAPACITY, conditions__temperature_difference=None, conditions__flow=q(litres, "L/s"))
    error = refused(answer_of, CAPACITY, given, "conditions/flow")
    kilowatts = float(re.findall(r"machine's ([\d.]+) ", error.detail)[0])
    unit = re.findall(r"machine's [\d.]+ (\w+)", error.detail)[0]
    kelvins = float(re.findall(r"by ([\d.]+) K", error.detail)[0])
    assert kelvins == pytest.approx(kilowatts * {"kW": 1, "ton": 3.516853}[unit] / litres / 4.19, rel=0.02)
    assert "from 1 to 30 K" in str(error.why)


@pytest.mark.parametrize(("share", "taken"), [(0.972, True), (1.028, True), (0.968, False), (1.032, False)])
def test_a_height_and_a_pressure_that_agree(answer_of: Any, share: float, taken: bool) -> None:
    """The rule stated: both may be given where they agree within 3 %. Standard atmosphere at 1000 m by its formula."""
    pascals = 101325 * (1 - 2.25577e-5 * 1000) ** 5.2559
    both: dict[str, Any] = {"altitude": q(1000, "m"), "barometric_pressure": q(share * pascals / 1e3, "kPa")}
    given = example("refrigeration.air_side", **both)
    if taken:
        assert answer_of("refrigeration.air_side", given)["results"]["air_density"]["value"] > 0
    else:
        refused(answer_of, "refrigeration.air_side", given, "barometric_pressure")
