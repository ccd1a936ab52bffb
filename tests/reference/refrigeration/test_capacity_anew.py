"""A whole answer of refrigeration.capacity by a rating table worked out anew [derived]: the table by SciPy's interpolation,
each penalty by its stated equation, liquids by CoolProp.
"""

import math
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.interpolate import RegularGridInterpolator

from coldwright.contract import Refused

pytestmark = pytest.mark.check
ID = "refrigeration.capacity"
TON = 12000 * 0.29307107  # W, by the International Table Btu
LEAVING, AMBIENT = (3.0, 6.0, 8.0, 13.0), (18.0, 25.0, 33.0, 38.0, 52.0)
"""degC"""


def standard(metres: float) -> float:
    """Pa."""
    return float(101325 * (1 - 2.25577e-5 * metres) ** 5.2559)


def heat_of(celsius: float, glycol: float) -> float:
    """J/m3.K."""
    state = ("T", celsius + 273.15, "P", 2e5, f"INCOMP::MEG[{glycol:.12g}]" if glycol else "Water")
    return float(PropsSI("D", *state) * PropsSI("C", *state))


def two(
    low: tuple[float, float, float], high: tuple[float, float, float], name: str, unit: str = ""
) -> list[dict[str, Any]]:
    """A correction table of two rows."""
    return [
        {name: q(row[0], unit) if unit else row[0], "capacity_factor": row[1], "power_factor": row[2]}
        for row in (low, high)
    ]


def approach(of: float, rated: float, difference: float) -> float:
    """K: transfer units with the flow to the power -0.6 (common practice)."""
    units = math.log(1 + rated / of) * (difference / rated) ** 0.6
    return difference / (math.exp(units) - 1)


TABLES = {
    "antifreeze": two((0.0, 1.0, 1.0), (0.5, 0.91, 0.96), "mass_fraction"),
    "altitude": two((0, 1.0, 1.0), (2500, 0.88, 1.09), "altitude", "m"),
    "range": two((2, 0.97, 0.985), (30, 1.11, 1.03), "temperature_difference", "delta_degC"),
    "fouling": two((0, 1.01, 1.0), (1e-4, 0.93, 1.02), "fouling_resistance", "m2.K/W"),
}


class Machine:
    """A table, its basis, the conditions, and which correction tables it brings."""

    def __init__(self, data: st.DataObject) -> None:
        def some(low: float, high: float) -> float:
            return data.draw(st.floats(low, high))

        def one_of(*values: Any) -> Any:
            return data.draw(st.sampled_from(values))

        self.capacity = np.array([[330 + 14 * t - 2.4 * a - 0.05 * t * a for a in AMBIENT] for t in LEAVING])
        self.capacity += np.array([[some(-3, 3) for _ in AMBIENT] for _ in LEAVING])
        self.power = np.array([[60 + 0.7 * t + 1.1 * a + 0.011 * a * a for a in AMBIENT] for t in LEAVING])
        self.rated_range, self.rated_height = some(4, 7), one_of(0.0, 700.0)
        self.rated_fouling, self.fouling = some(0, 4e-5), some(5e-5, 9e-5)
        self.glycol = one_of(0.0, 0.0, 0.25, 0.4)
        self.leaving, self.ambient = some(5, 10), some(22, 35)
        self.height, self.airflow, self.rise = some(0, 2000), some(0.7, 1.1), some(0, 3)
        self.hertz = one_of(60.0, 60.0, 50.0, 55.0)
        self.flux, self.over, self.near = some(10, 30), some(9, 16), some(2, 5)
        self.ntu, self.exponent = some(0.8, 1.8), some(0.4, 0.8)
        self.how, self.difference, self.litres = one_of("range", "flow", "rated"), some(2.2, 15), some(7, 28)
        self.own = {name: one_of(True, False, False) for name in TABLES}
        axes, inside = (LEAVING, AMBIENT), {"method": "linear", "bounds_error": False}
        self.read = (
            RegularGridInterpolator(axes, self.capacity, **inside),
            RegularGridInterpolator(axes, self.power, **inside),
        )

    def given(self) -> dict[str, Any]:
        conditions: dict[str, Any] = {
            "leaving_liquid_temperature": q(self.leaving, "degC"),
            "ambient_temperature": q(self.ambient, "degC"),
            "altitude": q(self.height, "m"),
            "fouling_resistance": q(self.fouling, "m2.K/W"),
            "condenser_airflow_ratio": self.airflow,
            "recirculation_temperature_rise": q(self.rise, "delta_degC"),
            "frequency": q(self.hertz, "Hz"),
        }
        if self.glycol:
            conditions["fluid"] = {"kind": "ethylene_glycol", "mass_fraction": self.glycol}
        if self.how == "flow":
            conditions["flow"] = q(self.litres, "L/s")
        elif self.how == "range":
            conditions["temperature_difference"] = q(self.difference, "delta_degC")
        table = {
            "leaving_liquid_temperature": {"values": list(LEAVING), "unit": "degC"},
            "ambient_temperature": {"values": [1.8 * a + 32 for a in AMBIENT], "unit": "degF"},
            "capacity": {"values": self.capacity.tolist(), "unit": "kW"},
            "power": {"values": (1000 * self.power).tolist(), "unit": "W"},
            "basis": {
                "temperature_difference": q(self.rated_range, "delta_degC"),
                "altitude": q(self.rated_height, "m"),
                "fouling_resistance": q(self.rated_fouling, "m2.K/W"),
                "frequency": q(60, "Hz"),
            },
        }
        assumed = {
            "evaporator_heat_flux": q(self.flux, "kW/m2"),
            "condensing_over_ambient": q(self.over, "delta_degC"),
            "condenser_ntu": self.ntu,
            "air_film_exponent": self.exponent,
            "evaporator_approach": q(self.near, "delta_degC"),
        }
        corrections = {name: rows for name, rows in TABLES.items() if self.own[name]}
        return {
            "machine": {"rating_table": table, "corrections": corrections},
            "conditions": conditions,
            "assumed": assumed,
        }

    def factors(self, name: str, share: float) -> np.ndarray:
        """Of capacity and power, between the two rows of its own table."""
        low, high = TABLES[name]
        ends = [[row["capacity_factor"], row["power_factor"]] for row in (low, high)]
        return np.array(ends[0]) + share * (np.array(ends[1]) - np.array(ends[0]))

    def air_shift(self) -> float:
        """K, of recirculation and of thin, scarce or slowly moved air."""
        thin = 1.0 if self.own["altitude"] else standard(self.height) / standard(self.rated_height)
        s = self.airflow * self.hertz / 60 * thin
        x = s * (1 - math.exp(-self.ntu * s ** (self.exponent - 1))) / (1 - math.exp(-self.ntu))
        return self.rise + (1 / x - 1) * self.over

    def steady(self) -> tuple[np.ndarray, float]:
        """Factors and leaving shift, K, that do not depend on the temperature difference."""
        factors, shift = np.array([1.0, 1.0]) * self.hertz / 60, 0.0
        if self.own["altitude"] and self.height != self.rated_height:
            factors = factors * self.factors("altitude", self.height / 2500)
        if self.own["fouling"]:
            factors = factors * self.factors("fouling", self.fouling / 1e-4)
        else:
            shift = -self.flux * 1e3 * (self.fouling - self.rated_fouling)
        if self.glycol and self.own["antifreeze"]:
            factors = factors * self.factors("antifreeze", self.glycol / 0.5)
        return factors, shift

    def at(self, across: float) -> tuple[float, float, float, float]:
        """Capacity and power, kW, at a temperature difference, and the shifted temperatures."""
        factors, shift = self.steady()
        if self.own["range"] and across != self.rated_range:
            factors = factors * self.factors("range", (across - 2) / 28)
        elif not self.own["range"] and not 6 / 1.8 <= across <= 18 / 1.8:
            shift += self.near - approach(self.near, self.rated_range, across)
        cold, hot = self.leaving + shift, self.ambient + self.air_shift()
        both = [float(read((cold, hot))) for read in self.read] * factors
        return float(both[0]), float(both[1]), cold, hot

    def across(self) -> float | None:
        """K between entering and leaving; None where the flow does not belong to the machine, or lies at a step."""
        if self.how != "flow":
            return self.difference if self.how == "range" else self.rated_range
        found = 5.0
        for _ in range(60):
            found = self.at(found)[0] * 1e6 / (self.litres * heat_of(self.leaving + found / 2, self.glycol))
            if not 2 <= found <= 30:
                return None
        at_a_step = min(abs(found - edge) for edge in (6 / 1.8, 18 / 1.8)) < 0.2
        return None if at_a_step else found

    def uncertainty(self) -> float:
        rough = 0.05 if self.glycol and not self.own["antifreeze"] else 0.0
        return rough + (0.03 if self.hertz < 60 else 0.0)


@settings(max_examples=15)
@given(st.data())
def test_the_whole_answer(answer_of: Any, data: st.DataObject) -> None:
    """Capacity, power, what follows from them, the shifts, and the slopes by small steps in the table."""
    machine = Machine(data)
    across = machine.across()
    assume(across is not None)
    assert across is not None
    kilowatts, electric, cold, hot = machine.at(across)
    if not (LEAVING[0] < cold < LEAVING[-1] and AMBIENT[0] < hot < AMBIENT[-1]):
        with pytest.raises(Refused) as refused:
            answer_of(ID, machine.given())
        assert {e.code for e in refused.value.errors} == {"outside_table"}
        return
    results = answer_of(ID, machine.given())["results"]
    by_heat = kilowatts * 1e6 / across / heat_of(machine.leaving + across / 2, machine.glycol)
    for name, number, near_to in (
        ("capacity", kilowatts, 2e-4),
        ("power", electric, 2e-4),
        ("effective_ambient_temperature", hot, 1e-5),
        ("effective_leaving_liquid_temperature", cold, 1e-4),
        ("entering_liquid_temperature", machine.leaving + across, 3e-4),
        ("flow", machine.litres if machine.how == "flow" else by_heat, 3e-4),
    ):
        assert results[name]["value"] == pytest.approx(number, rel=near_to), name
    assert results["cop"] == pytest.approx(kilowatts / electric, rel=4e-4)
    assert results["eer"] == pytest.approx(3.412142 * kilowatts / electric, rel=4e-4)
    assert results["kw_per_ton"] == pytest.approx(electric * TON / 1e3 / kilowatts, rel=4e-4)
    assert results["uncertainty"] == pytest.approx(machine.uncertainty())
    read = machine.read[0]
    for name, step in (("leaving", (1e-4, 0.0)), ("ambient", (0.0, 1e-4))):
        slope = float(read((cold + step[0], hot + step[1])) / read((cold, hot)) - 1) / 1e-4
        assert results["sensitivity"][f"capacity_per_degree_{name}"] == pytest.approx(slope, abs=2e-4)


RATED: dict[str, Any] = {
    "refrigerant": "R-134a",
    "capacity": q(300, "kW"),
    "power": q(90, "kW"),
    "leaving_liquid_temperature": q(7, "degC"),
    "temperature_difference": q(5, "delta_degC"),
    "ambient_temperature": q(35, "degC"),
}


def estimated(
    answer_of: Any, leaving: float, ambient: float, corrections: Any = None, **conditions: Any
) -> dict[str, Any]:
    """Of one rated point."""
    given = {
        "machine": {"rated_point": RATED, "corrections": corrections or {}},
        "conditions": {"leaving_liquid_temperature": q(leaving, "degC"), "ambient_temperature": q(ambient, "degC")}
        | conditions,
    }
    results: dict[str, Any] = answer_of(ID, given)["results"]
    return results


def test_penalties_of_an_estimate(answer_of: Any) -> None:
    """By hand: air that comes round again is warmer air; a fouled evaporator, 20 kW/m2 x R, colder liquid; thin and scarce air
    makes the condenser pass x of its heat for each kelvin.
    """

    def same(one: dict[str, Any], other: dict[str, Any]) -> None:
        for name in ("capacity", "power"):
            assert one[name]["value"] == pytest.approx(other[name]["value"], rel=2e-4), name

    plain = estimated(answer_of, 7, 38)
    same(estimated(answer_of, 7, 35, recirculation_temperature_rise=q(3, "delta_degC")), plain)
    fouled = estimated(
        answer_of, 9, 38, fouling_resistance=q(1.7611e-5 + 1e-4, "m2.K/W"), temperature_difference=q(5, "delta_degC")
    )
    assert fouled["effective_leaving_liquid_temperature"]["value"] == pytest.approx(7, abs=2e-3)
    same(fouled, plain)
    scarce = estimated(answer_of, 7, 38, altitude=q(1500, "m"), condenser_airflow_ratio=0.8)
    s = 0.8 * standard(1500) / standard(0)
    x = s * (1 - math.exp(-1.2 * s**-0.4)) / (1 - math.exp(-1.2))
    for results, share in ((plain, 1.0), (scarce, x)):
        rise = results["estimate"]["condensing_temperature"]["value"] - 38
        rejected = results["capacity"]["value"] + results["power"]["value"] - 0.07 * 90
        assert rejected / rise == pytest.approx((300 + 0.93 * 90) / 14 * share, rel=1e-4)


def test_factors_of_an_estimate(answer_of: Any) -> None:
    """By hand: factors of the machine's own tables between two rows, the difference of the flow given worked out with them."""
    plain = estimated(answer_of, 7, 38)
    rows = TABLES["range"]
    results = estimated(answer_of, 7, 38, {"range": rows}, flow=q(9, "L/s"))
    across = results["entering_liquid_temperature"]["value"] - 7
    share = (across - 2) / 28
    assert results["capacity"]["value"] == pytest.approx(plain["capacity"]["value"] * (0.97 + 0.14 * share), rel=1e-5)
    assert results["power"]["value"] == pytest.approx(plain["power"]["value"] * (0.985 + 0.045 * share), rel=1e-5)
    heat = heat_of(7 + across / 2, 0)
    assert results["capacity"]["value"] * 1e3 == pytest.approx(9e-3 * heat * across, rel=3e-4)
    given = estimated(answer_of, 7, 38, {"range": rows}, temperature_difference=q(9, "delta_degC"))
    assert given["capacity"]["value"] == pytest.approx(plain["capacity"]["value"] * (0.97 + 0.14 * 7 / 28), rel=1e-6)
    slower = estimated(answer_of, 7, 38, frequency=q(50, "Hz"))
    faster = estimated(answer_of, 7, 38, condenser_airflow_ratio=5 / 6)
    assert slower["capacity"]["value"] == pytest.approx(faster["capacity"]["value"] * 5 / 6, rel=1e-6)
    assert slower["uncertainty"] == pytest.approx(0.05 + 0.03)


def test_a_table_that_does_not_say_what_it_is_for(answer_of: Any) -> None:
    """AHRI 550/590 (I-P)-2015, table 1 (seen): 54 to 44 degF; 60 Hz, so 50 Hz leaves five sixths."""
    table = {
        "leaving_liquid_temperature": {"values": [40, 50], "unit": "degF"},
        "ambient_temperature": {"values": [80, 110], "unit": "degF"},
        "capacity": {"values": [[110, 90], [130, 106]], "unit": "ton"},
        "power": {"values": [[80, 110], [84, 115]], "unit": "kW"},
    }
    conditions: dict[str, Any] = {"leaving_liquid_temperature": q(44, "degF"), "ambient_temperature": q(90, "degF")}
    answer = answer_of(ID, {"machine": {"rating_table": table}, "conditions": conditions}, units="us")
    assert answer["results"]["entering_liquid_temperature"]["value"] == pytest.approx(54)
    slower = answer_of(ID, {"machine": {"rating_table": table}, "conditions": conditions | {"frequency": q(50, "Hz")}})
    (factor,) = [c for c in slower["results"]["corrections"] if c["name"] == "frequency"]
    assert factor["capacity_factor"] == pytest.approx(5 / 6)


@pytest.mark.parametrize("off", [-2e-9, 2e-9])
@pytest.mark.parametrize(("i", "j"), [(0, 0), (1, 1), (2, 2), (1, 2), (2, 0)])
def test_slopes_on_a_line_of_the_table(answer_of: Any, i: int, j: int, off: float) -> None:
    """By hand: a temperature that is a line of the table, to the last digits that converting leaves, has the slopes of the
    cell above it; on the last line those of the cell below it.
    """
    cold, warm, tons = (40, 44, 50), (80, 90, 110), ((110, 90, 60), (112, 104, 72), (138, 126, 61))
    table = {
        "leaving_liquid_temperature": {"values": cold, "unit": "degF"},
        "ambient_temperature": {"values": warm, "unit": "degF"},
        "capacity": {"values": tons, "unit": "ton"},
        "power": {"values": [[80, 110, 130]] * 3, "unit": "kW"},
    }
    conditions = {
        "leaving_liquid_temperature": q((cold[i] - 32) / 1.8 + off, "degC"),
        "ambient_temperature": q((warm[j] - 32) / 1.8 + off, "degC"),
    }
    results = answer_of(ID, {"machine": {"rating_table": table}, "conditions": conditions})["results"]
    row, column = min(i, 1), min(j, 1)
    rise = (tons[row + 1][j] - tons[row][j]) / (cold[row + 1] - cold[row]) / tons[i][j]
    fall = (tons[i][column + 1] - tons[i][column]) / (warm[column + 1] - warm[column]) / tons[i][j]
    assert results["capacity"]["value"] == pytest.approx(tons[i][j] * TON / 1e3, rel=1e-9)
    assert results["sensitivity"]["capacity_per_degree_leaving"] == pytest.approx(rise * 1.8, rel=1e-6)
    assert results["sensitivity"]["capacity_per_degree_ambient"] == pytest.approx(fall * 1.8, rel=1e-6)


@pytest.mark.parametrize("own", [False, True])
def test_a_flow_far_from_that_of_the_rating(answer_of: Any, own: bool) -> None:
    """By hand, from the rated 5 K to 13: without a table of the machine the evaporator's approach is worked out anew at that
    difference, with one its factors are read there, though it does not reach to the rated difference itself.
    """
    table = {
        "leaving_liquid_temperature": {"values": [2, 12], "unit": "degC"},
        "ambient_temperature": {"values": [20, 40], "unit": "degC"},
        "capacity": {"values": [[210, 170], [310, 250]], "unit": "kW"},
        "power": {"values": [[60, 80], [62, 82]], "unit": "kW"},
        "basis": {"temperature_difference": q(5, "delta_degC")},
    }
    shift = 0.0 if own else 3 - approach(3, 5, 13)
    factor = 0.9 + 0.1 * 5 / 12 if own else 1.0
    capacity = (190 + 9 * (5 + shift)) * factor
    litres = capacity * 1e6 / 13 / heat_of(7 + 6.5, 0)
    rows = two((8, 0.9, 1.0), (20, 1.0, 1.0), "temperature_difference", "delta_degC")
    given_ = {
        "machine": {"rating_table": table, "corrections": {"range": rows} if own else {}},
        "conditions": {
            "leaving_liquid_temperature": q(7, "degC"),
            "ambient_temperature": q(30, "degC"),
            "flow": q(litres, "L/s"),
        },
        "assumed": {"evaporator_approach": q(3, "delta_degC")},
    }
    results = answer_of(ID, given_)["results"]
    assert results["entering_liquid_temperature"]["value"] == pytest.approx(20, abs=0.01)
    assert results["capacity"]["value"] == pytest.approx(capacity, rel=1e-3)
