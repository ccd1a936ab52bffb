"""Worked examples of textbooks, each with what it prints and what is answered here.

Hundy, Trott and Welch, Refrigeration and Air-Conditioning, 4th edition, 2008; Rajput, Engineering Thermodynamics: A Computer
Approach (SI Units Version), 3rd edition, 2007. Both seen as their examples are worked out in the code of public companions
to the books, which name title and edition; the books themselves were not seen.
"""

from typing import Any

import pytest
from quantity import q

pytestmark = pytest.mark.check


def test_a_cycle_of_r134a(answer_of: Any) -> None:
    """Hundy, Example 2.1 (seen): evaporating at -5 and condensing at 35 degC, saturated at both ends and ideal: 249.7, 395.6
    and 422.5 kJ/kg, a COP of 145.9 / 26.9 = 5.42; by Carnot 268 / 40 = 6.7. Ours 146.65 and 26.89 kJ/kg, 5.45 (+0.6 %).
    """
    case = {
        "refrigerant": "R-134a",
        "evaporating": {"temperature": q(-5, "degC")},
        "condensing": {"temperature": q(35, "degC")},
    }
    results = answer_of("refrigeration.cycle", case)["results"]
    assert results["specific_cooling"]["value"] == pytest.approx(395.6 - 249.7, rel=0.01)
    assert results["specific_work"]["value"] == pytest.approx(422.5 - 395.6, rel=0.015)
    assert results["cop"] == pytest.approx(145.9 / 26.9, rel=0.01)
    assert results["carnot_cop"] == pytest.approx(6.7, rel=0.002)


MEAT = {"kind": "product", "name": "meat", "duration": q(24, "h"), "freezing_temperature": q(-1, "degC")}
MEAT |= {"specific_heat": q(3.2, "kJ/kg.K"), "specific_heat_frozen": q(1.63, "kJ/kg.K"), "latent_heat": q(225, "kJ/kg")}


@pytest.mark.parametrize(
    ("tonnes", "warm", "cold", "printed"), [(90, 2, -12, 263), (300, -10, -12, 11.3), (50, 2, -12, 146)]
)
def test_three_loads_of_a_store_of_meat(
    answer_of: Any, tonnes: float, warm: float, cold: float, printed: float
) -> None:
    """Hundy, Example 18.6 (seen): 90 t of meat a day from 2 to -12 degC, 263 kW; 300 t that come frozen and warmed by 2 K,
    11 kW; 50 t frozen, 146 kW. 3.2 and 1.63 kJ/kg.K, 225 kJ/kg at -1 degC. Ours 263.0, 11.32 and 146.1 kW (0.2 % at most).
    """
    more = {"mass": q(tonnes, "t"), "initial_temperature": q(warm, "degC"), "final_temperature": q(cold, "degC")}
    (part,) = answer_of("refrigeration.load", {"loads": [MEAT | more]})["results"]["loads"]
    assert part["total"]["value"] == pytest.approx(printed, rel=3e-3)


def test_a_coil_that_cools_to_saturation(answer_of: Any) -> None:
    """Rajput, Example 10.8 (seen): 120 m3/min of air at 35 degC and 50 % leave saturated at 20 degC: vapour of 56.3 and 23.4
    mbar, 81.17 and 57.42 kJ/kg, 13.68 tonnes of 14,000 kJ/h, 24.75 kg/h of water. It does not take off the heat of the
    condensate, and has the mass of dry air by the vapour that leaves. Ours 13.24 tonnes (-3.2 %; with the condensate's heat
    13.39, -2.1 %) and 24.62 kg/h (-0.5 %).
    """
    entry = {
        "kind": "air_coil",
        "name": "coil",
        "airflow": q(2, "m3/s"),
        "airflow_basis": "actual_at_entering",
        "entering_dry_bulb": q(35, "degC"),
        "entering_relative_humidity": 0.5,
        "leaving_dry_bulb": q(20, "degC"),
        "leaving_relative_humidity": 1.0,
    }
    (part,) = answer_of("refrigeration.load", {"loads": [entry]})["results"]["loads"]
    w1, w2 = (0.622 * p / (1.0132 - p) for p in (0.0563 / 2, 0.0234))
    h1, h2 = 1.005 * 35 + w1 * (2565.3 + 1.88 * 12), 1.005 * 20 + w2 * 2538.1
    dry = 0.9898e5 * 120 / 287 / 308
    tonnes = dry * (h1 - h2) * 60 / 14000
    assert tonnes == pytest.approx(13.7, abs=0.05)
    kilowatts, grams = part["total"]["value"], part["condensate"]["value"] * 1e3
    assert (kilowatts + grams * 4.186 * 20 / 1e3) * 3600 / 14000 == pytest.approx(tonnes, rel=0.025)
    assert grams * 3.6 == pytest.approx(dry * (w1 - w2) * 60, rel=0.01)
