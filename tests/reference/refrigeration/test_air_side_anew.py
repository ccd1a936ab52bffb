"""A whole answer of refrigeration.air_side worked out anew [derived] by the formulas of its sources, and what its sentences
and refusals say, compared with that.

Air: ASHRAE Handbook - Fundamentals, chapter 1 (equations from memory; saturation by PsychroLib). All limits are common
practice, no source: a rise of 8 to 14 K, 1.5 velocity heads into a gap, half of the static pressure's share lost in flow,
0.7 % of capacity for each delta_degF.
"""

import math
import re
from typing import Any

import psychrolib
import pytest
from edges import example
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
ID = "refrigeration.air_side"
Json = dict[str, Any]


def standard(metres: float) -> float:
    """Pa."""
    return float(101325 * (1 - 2.25577e-5 * metres) ** 5.2559)


def density(celsius: float, humidity: float, metres: float) -> float:
    """kg/m3 of moist air, dry air and vapour: (1 + W) p / (R T (1 + 1.607858 W))."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    vapour = humidity * psychrolib.GetSatVapPres(celsius)
    ratio = 0.621945 * vapour / (standard(metres) - vapour)
    return float((1 + ratio) * standard(metres) / (287.042 * (celsius + 273.15) * (1 + 1.607858 * ratio)))


@settings(max_examples=20)
@given(
    heat=st.floats(100, 900), flow=st.floats(20, 60), celsius=st.floats(10, 45), humidity=st.sampled_from([0.0, 0.3, 0.9]),
    metres=st.floats(0, 2500), rated=st.sampled_from([0.0, 600.0]), fraction=st.floats(0, 0.3),
    through=st.floats(5, 25), length=st.floats(3, 6), distance=st.floats(0.8, 2.5), fans=st.floats(50, 150),
    ntu=st.floats(0.8, 2), over=st.floats(8, 16), exponent=st.floats(0.4, 0.8),
)  # fmt: skip
def test_the_whole_answer(
    answer_of: Any, heat: float, flow: float, celsius: float, humidity: float, metres: float, rated: float, fraction: float,
    through: float, length: float, distance: float, fans: float, ntu: float, over: float, exponent: float,
) -> None:  # fmt: skip
    """Every number of the answer."""
    case = {
        "heat_rejected": q(heat, "kW"),
        "airflow": q(flow, "m3/s"),
        "ambient_temperature": q(celsius, "degC"),
        "relative_humidity": humidity,
        "altitude": q(metres, "m"),
        "rated_altitude": q(rated, "m"),
        "recirculated_fraction": fraction,
        "gap": {
            "airflow_through": q(through, "m3/s"),
            "length": q(length, "m"),
            "distance": q(distance, "m"),
            "fan_static": q(fans, "Pa"),
        },
        "condenser_ntu": ntu,
        "condensing_over_ambient": q(over, "delta_degC"),
        "air_film_exponent": exponent,
    }
    rho = density(celsius, humidity, metres)
    speed = through / length / distance
    drop = 1.5 * rho * speed**2 / 2
    left = 1 - 0.5 * drop / fans
    if left < 0.2:
        with pytest.raises(Refused) as refused:
            answer_of(ID, case)
        (error,) = refused.value.errors
        least = distance * math.sqrt(0.5 * drop / fans / 0.8)
        assert error.allowed.minimum == pytest.approx(least, rel=1e-3)  # type: ignore[union-attr]
        assert float(error.detail.split("would take ")[1].split(" ")[0]) == pytest.approx(drop, rel=1e-3)
        assert float(error.detail.split("Pa, ")[1].split(" ")[0]) == pytest.approx(drop / fans, rel=2e-3)
        return
    answer = answer_of(ID, case)
    results, said = answer["results"], {f["code"]: f for f in answer["findings"]}
    rise = heat * 1e3 / (rho * flow * 1006)
    warmer = fraction / (1 - fraction) * rise
    s = standard(metres) / standard(rated) * left
    units = ntu * s ** (exponent - 1)
    x = s * (1 - math.exp(-units)) / (1 - math.exp(-ntu))
    shift = (1 / x - 1) * over
    expected = {
        "air_density": rho,
        "airflow": flow,
        "airflow_mass": rho * flow,
        "air_temperature_rise": rise,
        "recirculation_temperature_rise": warmer,
        "inlet_temperature": celsius + warmer,
        "gap_velocity": speed,
        "gap_pressure_drop": drop,
        "effective_ambient_temperature": celsius + warmer + shift,
    }
    for name, number in expected.items():
        assert results[name]["value"] == pytest.approx(number, rel=2e-3, abs=5e-3), name
    assert results["recirculated_fraction"] == pytest.approx(fraction, abs=1e-9)
    assert results["airflow_ratio"] == pytest.approx(left, rel=2e-3)
    effect = -0.007 * 1.8 * (warmer + shift)
    if "capacity_effect" in results:
        assert results["capacity_effect"] == pytest.approx(effect, rel=5e-3, abs=2e-4)
    if "gap_pressure_high" in said:
        needed = distance * math.sqrt(drop / fans / 0.3)
        assert float(re.findall(r"gap of ([\d.]+) m", said["gap_pressure_high"]["resolve"])[0]) == pytest.approx(
            needed, abs=6e-3
        )
        assert results["gap_distance_needed"]["value"] == pytest.approx(needed, rel=2e-3)
        lost = float(re.findall(r"about ([\d.]+)%", said["gap_pressure_high"]["statement"])[0])
        assert lost == pytest.approx(50 * drop / fans, abs=0.6)
    assert ("gap_distance_needed" in results) == ("gap_pressure_high" in said)
    if "loss_beyond_estimate" in said:
        (kelvins,) = re.findall(r"were ([\d.]+) delta_degC", said["loss_beyond_estimate"]["statement"])
        assert float(kelvins) == pytest.approx(warmer + shift, rel=3e-3, abs=0.051)
    if "air_rise_unusual" in said:
        numbers = [float(n) for n in re.findall(r"([\d.]+) delta_degC", said["air_rise_unusual"]["statement"])]
        assert numbers == [pytest.approx(rise, rel=2e-3, abs=0.051), 8, 14]


def said_of(answer: Json, code: str, member: str = "statement") -> list[float]:
    (one,) = [note for name in ("findings", "assumptions") for note in answer[name] if note["code"] == code]
    return [float(n) for n in re.findall(r"([\d.]+) delta_degC", one[member])]


def test_figures_of_the_trade_that_are_said(answer_of: Any) -> None:
    """Common practice: 10 K where nothing is given, 8 to 14 usual; pavements and roofs 2 to 5 K warmer."""
    answer = answer_of(ID, example(ID, airflow=None, air_temperature_rise=None))
    assert said_of(answer, "usual_air_rise") == [10, 8, 14]
    assert said_of(answer, "warmer_than_weather_station") == [2, 5]
    assert answer["results"]["air_temperature_rise"]["value"] == pytest.approx(10)
    assert said_of(answer_of(ID, example(ID, recirculated_fraction=0.4)), "recirculation_high", "resolve") == [2]


def test_what_refusals_allow(answer_of: Any) -> None:
    """By hand, 447 kW in dry air of 35 degC: 60 K of rise at most, an inlet 1 K below the open air and one of 0.6 that comes
    round again, f/(1 - f) x rise above it.
    """
    usual = {"heat_rejected": q(447, "kW"), "ambient_temperature": q(35, "degC"), "altitude": q(0, "m")}
    rho = 101325 / 287.042 / 308.15

    def allowed(pointer: str, **more: Any) -> Any:
        with pytest.raises(Refused) as refused:
            answer_of(ID, usual | more)
        (error,) = refused.value.errors
        assert error.pointer == f"#/{pointer}"
        return error

    error = allowed("airflow", airflow=q(5, "m3/s"))
    assert error.allowed.minimum == pytest.approx(447e3 / (rho * 60 * 1006), rel=1e-4)
    assert float(error.detail.split("warm by ")[1].split(" ")[0]) == pytest.approx(447e3 / (rho * 5 * 1006), rel=1e-3)
    error = allowed("measured_inlet_temperature", airflow=q(45, "m3/s"), measured_inlet_temperature=q(33.5, "degC"))
    assert error.allowed.minimum == pytest.approx(34)
    rise = 447e3 / (rho * 45 * 1006)
    error = allowed("measured_inlet_temperature", airflow=q(45, "m3/s"), measured_inlet_temperature=q(49, "degC"))
    assert error.allowed.below == pytest.approx(35 + 1.5 * rise, rel=1e-4)
    assert float(error.detail.split("that ")[1].split(" ")[0]) == pytest.approx(14 / (14 + rise), abs=6e-3)
    assert "Above 0.6 " in error.why
    answer = answer_of(ID, usual | {"airflow": q(45, "m3/s"), "measured_inlet_temperature": q(34.3, "degC")})
    assert said_of(answer, "inlet_below_ambient") == [0.7]
    assert answer["results"]["inlet_temperature"]["value"] == 35


@pytest.mark.parametrize(
    ("side", "there", "least"), [("coil", 0.85, 1.2), ("control", 0.5, 1.2), ("facing_coil", 2.25, 3.0)]
)
def test_clearances_that_are_missing(answer_of: Any, side: str, there: float, least: float) -> None:
    """Common practice: what is asked for, and the metres that lack."""
    answer = answer_of(ID, example(ID, clearances=[{"side": side, "distance": q(there, "m")}]))
    (short,) = [f for f in answer["findings"] if f["code"] == "clearance_short"]
    assert [float(n) for n in re.findall(r"([\d.]+) m\b", short["statement"])] == [there, least]
    assert [float(n) for n in re.findall(r"by ([\d.]+) m\b", short["resolve"])] == [pytest.approx(least - there)]
    (result,) = answer["results"]["clearances"]
    assert (result["side"], result["distance"], result["required"]) == (side, q(there, "m"), q(least, "m"))
    assert result["shortfall"] == {"value": pytest.approx(least - there), "unit": "m"}


def test_a_side_with_room_lacks_nothing_and_one_that_nothing_is_asked_of_is_left_out(answer_of: Any) -> None:
    """The machine's data prevail over common practice, and above the fans common practice asks for nothing."""
    sides = [
        {"side": "coil", "distance": q(1.0, "m"), "required": q(0.9, "m")},
        {"side": "top", "distance": q(3, "m"), "ducted": True},
        {"side": "top", "distance": q(10, "ft"), "ducted": True, "required": q(14, "ft")},
    ]
    answer = answer_of(ID, example(ID, clearances=sides))
    found = answer["results"]["clearances"]
    assert [(one["side"], one["shortfall"]["value"]) for one in found] == [
        ("coil", 0),
        ("top", pytest.approx(4 * 0.3048)),
    ]
    assert [f["field"] for f in answer["findings"] if f["code"] == "clearance_short"] == ["/clearances/2"]
