"""A whole answer of refrigeration.load worked out anew [derived] from the values of the request, kind by kind: liquids by
CoolProp, moist air by CoolProp's own equation of humid air, batches by stepping through time, sums by hand.
"""

import math
from collections.abc import Callable
from typing import Any

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

pytestmark = pytest.mark.check
ID = "refrigeration.load"
Json = dict[str, Any]
Some = Callable[[float, float], float]


class Part:
    """What is asked for, and heat, mean, sensible and latent heat, kW; None where the answer has none."""

    def __init__(self, entry: Json, total: float, mean: float | None = None, **more: float) -> None:
        self.entry, self.total, self.mean, self.more = entry, total, total if mean is None else mean, more


def liquid(kind: str, celsius: float, glycol: float) -> float:
    return float(PropsSI(kind, "T", celsius + 273.15, "P", 2e5, f"INCOMP::MPG[{glycol:.12g}]" if glycol else "Water"))


def air(name: str, celsius: float, **moisture: float) -> float:
    """Of each kilogram of dry air, by CoolProp: J, kg or m3."""
    ((other, value),) = moisture.items()
    return float(HAPropsSI(name, "T", celsius + 273.15, "P", 95e3, other, value))


def flow(some: Some, glycol: float) -> Part:
    litres, warm, across = some(2, 40), some(10, 18), some(2, 9)
    entry = {"kind": "liquid_flow", "flow": q(litres, "L/s")}
    entry |= {"entering_temperature": q(warm, "degC"), "leaving_temperature": q(warm - across, "degC")}
    mean = liquid("C", warm - across / 2, glycol)
    return Part(entry, litres * 1e-6 * liquid("D", warm, glycol) * mean * across)


def product(some: Some, _: float) -> Part:
    """Milk of the table, or one that freezes on its way; Earle's figures for milk and beef (seen)."""
    tonnes, hours, peak, warm = some(1, 20), some(2, 12), some(1, 1.8), some(20, 35)
    entry: Json = {"kind": "product", "mass": q(tonnes, "t"), "duration": q(hours, "h"), "peak_to_mean": peak}
    entry |= {"initial_temperature": q(warm, "degC")}
    which = some(0, 3)
    if which < 1:
        entry |= {"product_name": "milk", "final_temperature": q(4, "degC")}
        each = 3.9 * (warm - 4)
    elif which < 2:
        entry |= {"product_name": "beef", "final_temperature": q(-18, "degC"), "freezing_temperature": q(-1.5, "degC")}
        each = 3.22 * (warm + 1.5) + 255 + 1.67 * (18 - 1.5)
    else:
        above, frozen, latent = some(2, 4), some(1, 2), some(100, 300)
        entry |= {
            "final_temperature": q(-10, "degC"),
            "freezing_temperature": q(-3, "degC"),
            "specific_heat": q(above, "kJ/kg.K"),
            "specific_heat_frozen": q(frozen, "kJ/kg.K"),
            "latent_heat": q(latent, "kJ/kg"),
        }
        each = above * (warm + 3) + latent + frozen * 7
    mean = tonnes * each / hours / 3.6
    return Part(entry, mean * peak, mean)


def vessel(some: Some, glycol: float) -> Part:
    """A jacket whose coolant warms on its way through: stepped through time, 2,000 steps of Heun."""
    tonnes, heat, metal = some(2, 10), some(2.5, 4), some(0, 3)
    start, end, coolant, kilograms = some(25, 40), some(8, 12), some(1, 4), some(3, 12)
    u, area, stirrer, isothermal = some(200, 600), some(8, 20), some(0, 3), some(0, 1) < 0.4
    entry = {
        "kind": "jacketed_vessel",
        "mass": q(tonnes, "t"),
        "specific_heat": q(heat, "kJ/kg.K"),
        "metal_mass": q(metal, "t"),
        "metal_specific_heat": q(0.46, "kJ/kg.K"),
        "initial_temperature": q(start, "degC"),
        "final_temperature": q(end, "degC"),
        "coolant_temperature": q(coolant, "degC"),
        "heat_transfer_coefficient": q(u, "W/m2.K"),
        "area": q(area, "m2"),
        "agitator_power": q(stirrer, "kW"),
    }
    stream = kilograms * liquid("C", coolant, glycol) / 1e3
    kelvin = u * area / 1e3 if isothermal else stream * (1 - math.exp(-u * area / 1e3 / stream))
    if not isothermal:
        entry["coolant_mass_flow"] = q(kilograms, "kg/s")
    stored = 1e3 * (tonnes * heat + metal * 0.46)
    now, time, step = start, 0.0, 5.0
    while now > end:
        one = kelvin * (now - coolant) / stored
        other = kelvin * (now - step * one - coolant) / stored
        fall = step * (one + other) / 2
        time += step * min(1.0, (now - end) / fall)
        now -= fall
    mean = stored * (start - end) / time + stirrer
    return Part(entry, kelvin * (start - coolant) + stirrer, mean, time=time)


def coil(some: Some, _: float) -> Part:
    """Dry air at 95 kPa; what the fan brings counts where it stands in the air."""
    cubic, warm, humid, cold, leaving = some(1, 10), some(24, 38), some(0.35, 0.8), some(8, 14), some(0.85, 1)
    standard, fan, inside = some(0, 1) < 0.5, some(0, 5), some(0, 1) < 0.5
    entry = {
        "kind": "air_coil",
        "airflow": q(cubic, "m3/s"),
        "airflow_basis": "standard" if standard else "actual_at_entering",
        "entering_dry_bulb": q(warm, "degC"),
        "entering_relative_humidity": humid,
        "leaving_dry_bulb": q(cold, "degC"),
        "leaving_relative_humidity": leaving,
        "fan_power": q(fan, "kW"),
        "fan_in_airstream": inside,
    }
    w1 = air("W", warm, R=humid)
    w2 = min(w1, air("W", cold, R=leaving))
    dry = cubic * 1.2 if standard else cubic / air("V", warm, W=w1)
    total = dry * (air("H", warm, W=w1) - air("H", cold, W=w2) - (w1 - w2) * 4186 * cold) / 1e3
    sensible = dry * (air("H", warm, W=w2) - air("H", cold, W=w2)) / 1e3
    more = fan if inside else 0.0
    return Part(entry, total + more, sensible=sensible + more, latent=total - sensible, condensate=dry * (w1 - w2))


def room(some: Some, _: float) -> Part:
    """People of two kinds at 24 to 27 degC (ASHRAE Fundamentals 2013, chapter 18, table 1, seen), walls, air that comes in."""
    office, heavy, celsius = int(some(1, 40)), int(some(1, 20)), some(20, 27)
    lights, plant, wall, u, across, window = (
        some(0, 20),
        some(0, 30),
        some(10, 300),
        some(0.3, 3),
        some(3, 15),
        some(5, 40),
    )
    cubic, outside, humid, inside = some(0.1, 2), some(28, 38), some(0.3, 0.8), some(0.3, 0.6)
    entry = {
        "kind": "space_estimate",
        "people": [
            {"activity": "moderately_active_office", "count": office},
            {"activity": "heavy_work", "count": heavy},
        ],
        "lighting_power": q(lights, "kW"),
        "equipment_power": q(plant, "kW"),
        "envelope": [
            {"area": q(wall, "m2"), "u_value": q(u, "W/m2.K"), "temperature_difference": q(across, "delta_degC")},
            {"area": q(window, "m2"), "u_value": q(5, "W/m2.K"), "temperature_difference": q(across / 2, "delta_degC")},
        ],
        "infiltration_airflow": q(cubic, "m3/s"),
        "room_temperature": q(celsius, "degC"),
        "room_relative_humidity": inside,
        "outside_temperature": q(outside, "degC"),
        "outside_relative_humidity": humid,
    }
    w_out, w_in = air("W", outside, R=humid), air("W", celsius, R=inside)
    dry = cubic / air("V", outside, W=w_out)
    moved = max(0.0, celsius - 24) / 3 * 0.2  # a fifth of the sensible heat is latent at 27 degC
    felt = office * 0.075 + heavy * 0.17
    sensible = felt * (1 - moved) + lights + plant + (wall * u * across + window * 5 * across / 2) / 1e3
    sensible += dry * (air("H", outside, W=w_in) - air("H", celsius, W=w_in)) / 1e3
    latent = office * 0.055 + heavy * 0.255 + felt * moved
    latent += dry * max(0.0, air("H", outside, W=w_out) - air("H", outside, W=w_in)) / 1e3
    return Part(entry, sensible + latent, sensible=sensible, latent=latent)


def hose(some: Some, _: float) -> Part:
    metres, outer, wall, k = some(20, 200), some(60, 250), some(4, 12), some(0.1, 0.3)
    cold, warm, sun, black, film = some(4, 12), some(20, 40), some(0, 900), some(0.3, 0.95), some(8, 40)
    entry = {
        "kind": "hose",
        "length": q(metres, "m"),
        "outside_diameter": q(outer, "mm"),
        "inside_diameter": q(outer - 2 * wall, "mm"),
        "wall_conductivity": q(k, "W/m.K"),
        "liquid_temperature": q(cold, "degC"),
        "air_temperature": q(warm, "degC"),
        "solar_irradiance": q(sun, "W/m2"),
        "solar_absorptance": black,
        "outside_film_coefficient": q(film, "W/m2.K"),
    }
    through = math.log(outer / (outer - 2 * wall)) / (2 * math.pi * k) + 1e3 / (film * math.pi * outer)
    return Part(entry, metres * (warm + black * sun / math.pi / film - cold) / through / 1e3)


def pump(some: Some, glycol: float) -> Part:
    litres, head, shaft, motor, wet = some(5, 40), some(10, 50), some(0.4, 0.85), some(0.8, 0.97), some(0, 1) < 0.5
    entry = {
        "kind": "pump",
        "flow": q(litres, "L/s"),
        "head": q(head, "m"),
        "pump_efficiency": shaft,
        "motor_efficiency": motor,
        "motor_in_liquid": wet,
    }
    return Part(entry, liquid("D", 10, glycol) * 9.80665 * litres * head / shaft / (motor if wet else 1) / 1e6)


def direct(some: Some, _: float) -> Part:
    kilowatts = some(1, 200)
    return Part({"kind": "direct", "power": q(kilowatts, "kW")}, kilowatts)


KINDS = (flow, product, vessel, coil, room, hose, pump, direct)


@settings(max_examples=20)
@given(st.data())
def test_the_whole_answer(answer_of: Any, data: st.DataObject) -> None:
    """Each part, and the sums over them."""

    def some(low: float, high: float) -> float:
        return data.draw(st.floats(low, high))

    glycol = data.draw(st.sampled_from([0.0, 0.25]))
    chosen = data.draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4))
    parts = [kind(some, glycol) for kind in chosen]
    shares = [some(0.2, 1) for _ in parts]
    margin, across = some(0, 0.3), some(3, 10)
    case: Json = {
        "site": {"barometric_pressure": q(95, "kPa")},
        "loads": [
            p.entry | {"name": f"p{i}", "diversity": s} for i, (p, s) in enumerate(zip(parts, shares, strict=True))
        ],
        "margin": margin,
        "temperature_difference": q(across, "delta_degC"),
    }
    if glycol:
        case["fluid"] = {"kind": "propylene_glycol", "mass_fraction": glycol}
    results = answer_of(ID, case)["results"]
    for kind, part, told in zip(chosen, parts, results["loads"], strict=True):
        near: dict[str, Any] = {"rel": 6e-3 if kind in (coil, room) else 1e-3}
        assert told["total"]["value"] == pytest.approx(part.total, **near), kind
        assert told["mean"]["value"] == pytest.approx(part.mean, **near), kind
        for name, number in part.more.items():
            unit = {"kg/h": 3600, "h": 1 / 3600, "min": 1 / 60}.get(told[name]["unit"], 1)
            small = 2e-3 * (part.total if unit == 1 else 0) + 1e-4
            assert told[name]["value"] == pytest.approx(number * unit, abs=small, **near), (kind, name)
        assert told["is_estimate"] is (kind is room)
    total = math.fsum(p.total for p in parts)
    diversified = math.fsum(s * p.total for p, s in zip(parts, shares, strict=True))
    guessed = math.fsum(s * p.total for p, s, kind in zip(parts, shares, chosen, strict=True) if kind is room)
    design = diversified * (1 + margin)
    assert results["total"]["value"] == pytest.approx(total, rel=6e-3)
    assert results["diversified_total"]["value"] == pytest.approx(diversified, rel=6e-3)
    assert results["design_load"]["value"] == pytest.approx(design, rel=6e-3)
    assert results["tons"] == pytest.approx(design / 3.516853, rel=6e-3)
    assert results["estimate_share"] == pytest.approx(guessed / diversified, abs=6e-3)
    each = liquid("D", 10, glycol) * liquid("C", 10, glycol) * across
    assert results["required_flow"]["value"] == pytest.approx(design * 1e6 / each, rel=7e-3)
