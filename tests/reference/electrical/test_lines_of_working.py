"""Lines of a working that no hand can follow, since they look up or say a sum in words: their values and figures by hand."""

import math
from typing import Any

import numpy as np
import pytest
from edges import example
from quantity import q
from said import figures

pytestmark = pytest.mark.check
Json = dict[str, Any]
ROOT3 = math.sqrt(3)


def line(answer: Json, symbol: str) -> tuple[Any, Any]:
    """Value of the one line of this symbol, and the figures of what is said with it."""
    (found,) = [shown for shown in answer["working"] if shown["symbol"] == symbol]
    return found["value"], figures(found["expression"])


def test_of_a_feeder(answer_of: Any) -> None:
    """394.8 A and 1100 A at a start on 480 V, two sets of 4/0 AWG: NEC Chapter 9 Table 9, 0.062 and 0.041 ohm/kft (seen)."""
    answer = answer_of("electrical.feeder", example("electrical.feeder"))
    results = answer["results"]
    assert line(answer, "dV_approx") == (pytest.approx(results["drop_running_approximate"]["value"]), [3, 394.8])
    assert line(answer, "dV")[0] == pytest.approx(results["drop_running"]["value"])
    motor = 480 / ROOT3 / 1100
    value, shown = line(answer, "d_start")
    assert value == pytest.approx(results["starting_drop_fraction"])
    assert shown[-2:] == pytest.approx([motor, 0.35], rel=1e-4)
    value, shown = line(answer, "L_max")
    assert value == pytest.approx(results["longest_run"]["value"])
    assert shown[0] == 0.03
    across, along = 0.062, 0.041
    effective = across * 0.85 + along * math.sqrt(1 - 0.85**2)
    assert line(answer, "Z_e") == (
        pytest.approx(effective),
        pytest.approx([0.062, 0.85, 0.041, math.sqrt(1 - 0.85**2)], abs=6e-5),
    )
    assert line(answer, "R") == (pytest.approx(0.062 * 0.25 / 2), pytest.approx([0.062, 0.25, 2]))
    assert line(answer, "X") == (pytest.approx(0.041 * 0.25 / 2), pytest.approx([0.041, 0.25, 2]))


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_of_a_feeder_in_the_units_of_its_practice(answer_of: Any, practice: str) -> None:
    number = 0 if practice == "nec" else 1
    answer = answer_of("electrical.feeder", example("electrical.feeder", number))
    (found,) = [shown for shown in answer["working"] if shown["symbol"] == "Z_e"]
    assert found["unit"] == ("ohm/kft" if practice == "nec" else "ohm/km")
    kilometres = 0.25 if practice == "nec" else 0.06
    assert line(answer, "R")[1][1] == pytest.approx(kilometres)


def test_of_a_set(answer_of: Any) -> None:
    """Two machines and a pump, 206 A at 0.85 on 480 V; 60 % on the average of 240 kW. Fuel on straight lines."""
    answer = answer_of("electrical.generator", example("electrical.generator"))
    kva = ROOT3 * 0.48 * 206
    assert line(answer, "P")[0] == pytest.approx(0.85 * kva)
    assert line(answer, "Q")[0] == pytest.approx(math.sqrt(1 - 0.85**2) * kva)
    assert line(answer, "S") == (
        pytest.approx(kva),
        pytest.approx([0.85 * kva, 2, math.sqrt(1 - 0.85**2) * kva, 2], rel=1e-4),
    )
    start = ROOT3 * 0.48 * 270
    value, shown = line(answer, "S_d")
    assert value == pytest.approx(answer["results"]["required_apparent_power_for_dip"]["value"])
    assert shown == pytest.approx([2, 0.19, start], rel=1e-4)
    burning = 0.6 * 0.85 * kva
    value, shown = line(answer, "q")
    assert value == pytest.approx(answer["results"]["fuel_rate"]["value"])
    assert shown == pytest.approx([burning, 240, burning / 240], rel=2e-4)
    assert line(answer, "P/P_d") == (pytest.approx(0.85 * kva / 240), pytest.approx([0.85 * kva, 240], rel=1e-4))
    assert line(answer, "t")[1] == pytest.approx([1400, 0.9, value], rel=1e-4)


def test_of_what_height_and_heat_leave(answer_of: Any) -> None:
    """1400 m and 43 degC: 400 m and 3 K beyond where an engine begins to lose."""
    answer = answer_of("electrical.generator", example("electrical.generator", 1))
    assert line(answer, "k_e") == (pytest.approx(0.96 * 0.988), [1, 0.01, 400, 100, 1, 0.02, 3, 5])
    assert line(answer, "k_a")[0] == pytest.approx((1 - 0.03 * 0.8) * (1 - 0.03 * 0.6))
    iso = example("electrical.generator", 1, derating={"method": "iso_3046", "exponent_m": 0.8, "exponent_n": 1.1})
    answer = answer_of("electrical.generator", iso)
    pressure, shown = line(answer, "p_x")
    assert pressure == pytest.approx(85.6, abs=0.05)  # the standard atmosphere at 1400 m
    assert 1400 in shown
    k, shown = line(answer, "k")
    warm = 298.15 / 316.15
    assert k == pytest.approx((pressure / 100) ** 0.8 * warm**1.1 * warm)
    assert [number for number in shown if number in (0.8, 1.1, 1)] == [0.8, 1.1, 1]
    assert line(answer, "alpha")[0] == pytest.approx(k - 0.7 * (1 - k) * 0.25)


def test_of_a_transformer(answer_of: Any) -> None:
    """88 kVA with a quarter more, 110 kVA: a unit of 112.5 kVA; 640 A at a start on 208 V."""
    answer = answer_of("electrical.transformer", example("electrical.transformer"))
    assert line(answer, "S") == (112.5, [88, 1, 0.25, 110])
    value, shown = line(answer, "d")
    assert value == pytest.approx(answer["results"]["starting_drop_fraction"])
    assert shown[-2:] == pytest.approx([208 / ROOT3 / 640, 0.045 * 208**2 / 112.5e3], rel=1e-4)
    r = 0.045 / math.sqrt(10)
    assert line(answer, "R")[0] == pytest.approx(r)
    assert line(answer, "X") == (pytest.approx(3 * r), pytest.approx([3, r], rel=1e-4))
    assert line(answer, "A")[1] == pytest.approx([r * 88 / 112.5, 3 * r * 88 / 112.5, 0.85], rel=1e-4)
    assert line(answer, "I_trip") == (2000, [10, 200])


def test_of_readings(answer_of: Any) -> None:
    """474, 479 and 468 V; 118, 126 and 113 A."""
    answer = answer_of("electrical.supply_quality", example("electrical.supply_quality"))
    volts, amps = np.array([474.0, 479.0, 468.0]), np.array([118.0, 126.0, 113.0])
    u = float(np.max(np.abs(volts - volts.mean())) / volts.mean())
    assert line(answer, "u") == (pytest.approx(u), pytest.approx([volts.mean()], rel=1e-4))
    assert line(answer, "k")[1] == pytest.approx([u], rel=1e-3)
    assert line(answer, "u_I") == (
        pytest.approx(float(np.max(np.abs(amps - amps.mean())) / amps.mean())),
        pytest.approx([amps.mean()], rel=1e-4),
    )
    assert line(answer, "VUF")[0] == pytest.approx(answer["results"]["negative_sequence_fraction"])
    assert line(answer, "dT") == (
        pytest.approx(2 * (100 * u) ** 2 / 100),
        pytest.approx([2, 2, 100, 100 * u], rel=1e-3),
    )


def test_of_fault_currents(answer_of: Any) -> None:
    """The product of all lengths, and the resistance and reactance of source and cable apart."""
    answer = answer_of("electrical.fault_current", example("electrical.fault_current"))
    assert line(answer, "M")[0] == pytest.approx(answer["results"]["point_to_point"]["multiplier"])
    base = 480**2 / 750e3
    transformer = 0.9 * 0.0575 * base / math.hypot(1, 5.5)
    upstream = 480**2 / 200e6 / math.hypot(1, 10)
    cable = 0.175 * 0.062 / 2
    assert line(answer, "R")[1] == pytest.approx([transformer + upstream, cable], rel=1e-4)
    assert line(answer, "X")[1] == pytest.approx([5.5 * transformer + 10 * upstream, 0.175 * 0.041 / 2], rel=1e-4)


def test_of_energy(answer_of: Any) -> None:
    """190 h at 0.575 and 100 h at 0.31 of 160 kW, beside a load factor that says otherwise."""
    bins = [{"load_fraction": 0.575, "hours": q(190, "h")}, {"load_fraction": 0.31, "hours": q(100, "h")}]
    sent = example("electrical.energy_cost", 1, bins=bins, load_factor=0.2)
    answer = answer_of("electrical.energy_cost", sent)
    assert line(answer, "E")[0] == pytest.approx(160 * (0.575 * 190 + 0.31 * 100))
    assert line(answer, "E_LF")[0] == pytest.approx(92 * 0.2 * 14 * 24)
    assert line(answer, "t_b")[0] == pytest.approx(290)
    (checked,) = [f for f in answer["findings"] if f["code"] == "bins_differ_from_load_factor"]
    shown = [160 * (0.575 * 190 + 0.31 * 100), 92 * 0.2 * 14 * 24]
    assert figures(checked["statement"].replace(",", "")) == pytest.approx(shown, rel=1e-5)


def test_of_a_service(answer_of: Any) -> None:
    """The pair: 2 x 58 + 4 x 3.4 + 14 A each; a heater of 8 A always on and one of 5 A at times beside them."""
    heaters = [
        {"name": "crankcase", "current": q(8, "A")},
        {"name": "control", "current": q(5, "A"), "continuous": False},
    ]
    sent = example("electrical.service", machines__0__other_loads=heaters)
    answer = answer_of("electrical.service", sent)
    lines = {shown["meaning"]: shown for shown in answer["working"]}
    each = 143.6 + 13
    assert figures(lines["Running current, west-pair"]["expression"]) == [2, 58, 4, 3.4, 14, 8, 5]
    assert lines["Running current, west-pair"]["value"] == pytest.approx(each)
    own = lines["Ampacity from the motors, west-pair"]
    assert figures(own["expression"]) == pytest.approx([each, 0.25, 58, 0.25, 8])
    assert own["value"] == pytest.approx(each + 0.25 * 66)
    group = lines["Ampacity of the feeder"]
    assert figures(group["expression"]) == pytest.approx([2 * each, 0.25, 16, 0.25, 58])
    assert group["value"] == pytest.approx(2 * each + 0.25 * 74)
    device = lines["Greatest device of the feeder"]
    assert figures(device["expression"]) == pytest.approx([1.75, 58, 2 * each - 58])
    assert device["value"] == pytest.approx(1.75 * 58 + 2 * each - 58)
    assert figures(lines["Disconnect, west-pair"]["expression"]) == pytest.approx([1.15, each])
    power = lines["Apparent power"]
    assert figures(power["expression"])[-3:] == pytest.approx([480, 2 * each, 1000])
    assert power["value"] == pytest.approx(ROOT3 * 0.48 * 2 * each)
