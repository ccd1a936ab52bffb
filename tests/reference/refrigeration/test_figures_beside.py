"""Figures that stand beside the numbers of an answer: in expressions of the working that nobody can work out, such as a
property at a pressure, and in sentences of findings. Each is compared with what was given, or with CoolProp [library].
"""

import re
from typing import Any

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from quantity import q

from coldwright_refrigeration.shared.refrigerant_states import OutOfEquation, RefrigerantStates, State

pytestmark = pytest.mark.check
NUMBER = r"-?\d[\d,]*\.?\d*(?:e[-+]?\d+)?"


def numbers(text: str) -> list[float]:
    return [float(number.replace(",", "")) for number in re.findall(NUMBER, text)]


def shown(answer: Any, *symbols: str) -> list[list[float]]:
    """Figures of the expressions of some lines of the working."""
    return [
        numbers(re.sub(r"T1|s1", "", one["expression"]))
        for s in symbols
        for one in answer["working"]
        if one["symbol"] == s
    ]


def test_states_of_air(answer_of: Any) -> None:
    """Moist air at the pressure given, and the humidity ratio of its density."""
    coil = {
        "kind": "air_coil",
        "name": "coil",
        "airflow": q(3, "m3/s"),
        "airflow_basis": "standard",
        "entering_dry_bulb": q(31, "degC"),
        "entering_relative_humidity": 0.5,
        "leaving_dry_bulb": q(13, "degC"),
    }
    site = {"barometric_pressure": q(91.3, "kPa")}
    assert shown(answer_of("refrigeration.load", {"loads": [coil], "site": site}), "W1", "W2") == [[91.3], [13]]
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(33, 0.4, 91300)
    air = example("refrigeration.air_side", altitude=None, barometric_pressure=q(91.3, "kPa"))
    air |= {"ambient_temperature": q(33, "degC"), "relative_humidity": 0.4}
    assert shown(answer_of("refrigeration.air_side", air), "rho") == [pytest.approx([33, ratio, 91300], rel=1e-3)]


def test_pressures_at_which_states_are_read(answer_of: Any) -> None:
    """As given: evaporating and condensing of a cycle; suction and liquid line of a circuit, gauges read against 101.325 kPa."""
    cycle = {
        "refrigerant": "R-134a",
        "evaporating": {"pressure": q(310, "kPa")},
        "condensing": {"pressure": q(1130, "kPa")},
    }
    assert shown(answer_of("refrigeration.cycle", cycle), "h1", "h2s") == [[310], [1130]]
    circuit = example("refrigeration.circuit_check", suction_pressure=q(800, "kPa"), discharge_pressure=q(2500, "kPa"))
    for name in ("suction_pressure_absolute", "discharge_pressure_absolute", "altitude", "barometric_pressure"):
        circuit.pop(name, None)
    circuit |= {"refrigerant": "R-410A", "liquid_line_pressure": q(2450, "kPa"), "altitude": q(0, "m")}
    answer = answer_of("refrigeration.circuit_check", circuit)
    assert shown(answer, "T_dew", "T_bub") == [
        [pytest.approx(901.325, abs=0.01)],
        [pytest.approx(2551.325, abs=0.01)],
    ]


def test_what_is_said_near_the_critical_point(answer_of: Any) -> None:
    """R-404A at 3,560 kPa: CoolProp's critical pressure, and 95 % of it (common practice)."""
    critical = PropsSI("PCRIT", "R404A") / 1e3
    case = {
        "refrigerant": "R-404A",
        "evaporating": {"pressure": q(1000, "kPa")},
        "condensing": {"pressure": q(3560, "kPa")},
    }
    answer = answer_of("refrigeration.cycle", case)
    (found,) = [f for f in answer["findings"] if f["code"] == "near_critical"]
    assert numbers(found["statement"]) == pytest.approx([3560, 95, critical], abs=0.6)
    assert numbers(found["resolve"]) == pytest.approx([0.95 * critical], abs=0.6)
    line = {one["symbol"]: one["value"] for one in answer["working"]}
    assert (line["p_c"], line["p_m"]) == pytest.approx((critical, 0.95 * critical), rel=1e-4)


def test_how_far_an_estimate_may_be_off(answer_of: Any) -> None:
    """Common practice: 5 % near the rated point, 3 % more on a slower supply, 5 % more with antifreeze and no factors for it."""
    rated = {
        "refrigerant": "R-134a",
        "capacity": q(300, "kW"),
        "power": q(90, "kW"),
        "leaving_liquid_temperature": q(7, "degC"),
        "temperature_difference": q(5, "delta_degC"),
        "ambient_temperature": q(35, "degC"),
    }
    conditions: dict[str, Any] = {"leaving_liquid_temperature": q(7, "degC"), "ambient_temperature": q(36, "degC")}
    glycol = {"kind": "propylene_glycol", "mass_fraction": 0.3}
    for more, doubt in (({}, 0.05), ({"frequency": q(50, "Hz")}, 0.08), ({"fluid": glycol}, 0.1)):
        answer = answer_of(
            "refrigeration.capacity", {"machine": {"rated_point": rated}, "conditions": conditions | more}
        )
        assert answer["results"]["uncertainty"] == pytest.approx(doubt)
        (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "estimated_without_table"]
        assert said.endswith(f"within about {doubt:.0%}.")


@pytest.mark.parametrize(("strength", "same"), [(0.3, True), (0.3 + 5e-7, True), (0.31, False), (0.0, False)])
def test_a_rating_for_the_liquid_of_the_loop(answer_of: Any, strength: float, same: bool) -> None:
    """A machine that is rated with the antifreeze of the loop lacks no factors for it."""
    table = {
        "leaving_liquid_temperature": {"values": [5, 10], "unit": "degC"},
        "ambient_temperature": {"values": [20, 40], "unit": "degC"},
        "capacity": {"values": [[110, 90], [130, 106]], "unit": "kW"},
        "power": {"values": [[30, 40], [31, 41]], "unit": "kW"},
        "basis": {"fluid": {"kind": "ethylene_glycol", "mass_fraction": 0.3}},
    }
    fluid = {"kind": "ethylene_glycol", "mass_fraction": strength} if strength else {"kind": "water"}
    conditions = {"leaving_liquid_temperature": q(7, "degC"), "ambient_temperature": q(30, "degC"), "fluid": fluid}
    answer = answer_of("refrigeration.capacity", {"machine": {"rating_table": table}, "conditions": conditions})
    said = [f["statement"] for f in answer["findings"] if f["code"] == "antifreeze_factors_missing"]
    loop = f"ethylene glycol at {strength:.3g} by mass" if strength else "water"
    assert bool(said) is not same
    assert all(f"is for ethylene glycol at 0.3 by mass and the loop holds {loop};" in text for text in said)
    assert answer["results"]["uncertainty"] == pytest.approx(0.0 if same else 0.05)


@pytest.mark.parametrize(("share", "liquid"), [(0.69, False), (0.71, True)])
def test_a_root_that_is_no_liquid(monkeypatch: pytest.MonkeyPatch, share: float, liquid: bool) -> None:
    """The mixture model may answer with a wrong root: R-454B at 2.2 MPa and 280 K with 450.2 in place of 1063.6 kg/m3 (library).
    A subcooled liquid lighter than 0.7 of the saturated one is none.
    """
    states = RefrigerantStates("R-454B")
    saturated = states.saturated(2.2e6, "bubble").density
    right = RefrigerantStates._at

    def light(self: RefrigerantStates, pressure: float, temperature: float, phase: Any, quality: float | None) -> State:
        state = right(self, pressure, temperature, phase, quality)
        return state if quality is not None else state._replace(density=share * saturated)

    monkeypatch.setattr(RefrigerantStates, "_at", light)
    if liquid:
        assert states.liquid(2.2e6, 280.0).density == pytest.approx(share * saturated)
        return
    with pytest.raises(OutOfEquation, match="no liquid root"):
        states.liquid(2.2e6, 280.0)
