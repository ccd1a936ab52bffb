"""How refrigeration.load behaves: sums, what never may happen, findings, refusals."""

import copy
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright_refrigeration.load.air import PEOPLE
from coldwright_refrigeration.load.batch import PRODUCTS

ID = "refrigeration.load"


def c(value):
    return q(value, "degC")


def direct(kilowatts, **more):
    return {"kind": "direct", "name": "known", "power": q(kilowatts, "kW"), **more}


def flow(**more):
    return {
        "kind": "liquid_flow",
        "name": "flow",
        "flow": q(15, "L/s"),
        "entering_temperature": c(12),
        "leaving_temperature": c(7),
    } | more


def coil(**more):
    return {
        "kind": "air_coil",
        "name": "coil",
        "airflow": q(3, "m3/s"),
        "airflow_basis": "actual_at_entering",
        "entering_dry_bulb": c(32),
        "entering_relative_humidity": 0.5,
        "leaving_dry_bulb": c(13),
    } | more


def milk(**more):
    return {
        "kind": "product",
        "name": "milk",
        "product_name": "milk",
        "mass": q(4, "t"),
        "duration": q(2, "h"),
        "initial_temperature": c(30),
        "final_temperature": c(4),
    } | more


def vessel(**more):
    return {
        "kind": "jacketed_vessel",
        "name": "vessel",
        "mass": q(3000, "kg"),
        "specific_heat": q(3.8, "kJ/kg.K"),
        "initial_temperature": c(40),
        "final_temperature": c(10),
        "coolant_temperature": c(2),
        "heat_transfer_coefficient": q(350, "W/m2.K"),
        "area": q(8, "m2"),
    } | more


def hose(**more):
    return {
        "kind": "hose",
        "name": "hose",
        "length": q(50, "m"),
        "outside_diameter": q(120, "mm"),
        "inside_diameter": q(102, "mm"),
        "liquid_temperature": c(7),
        "air_temperature": c(35),
    } | more


def pump(**more):
    return {"kind": "pump", "name": "pump", "flow": q(15, "L/s"), "head": q(20, "m")} | more


def room(**more):
    return {"kind": "space_estimate", "name": "room", "lighting_power": q(5, "kW")} | more


def ask(*loads, **more):
    return {"loads": list(loads), **more}


def part(answer_of, entry, **more):
    return answer_of(ID, ask(entry, **more))["results"]["loads"][0]


def codes(answer):
    return {f["code"]: f["severity"] for f in answer["findings"]}


def pointers(answer_of, asked):
    with pytest.raises(Refused) as refused:
        answer_of(ID, asked)
    return [e.pointer for e in refused.value.errors]


# --- sums ---------------------------------------------------------------------------------------------------------


@given(
    parts=st.lists(st.tuples(st.floats(0, 500), st.floats(0, 1)), min_size=1, max_size=8),
    margin=st.floats(0, 0.5),
)
def test_sums(answer_of, parts, margin):
    results = answer_of(ID, ask(*(direct(p, diversity=d) for p, d in parts), margin=margin))["results"]
    total, diversified = sum(p for p, _ in parts), sum(p * d for p, d in parts)
    assert results["total"]["value"] == pytest.approx(total)
    assert results["diversified_total"]["value"] == pytest.approx(diversified)
    assert results["design_load"]["value"] == pytest.approx(diversified * (1 + margin))
    assert results["tons"] == pytest.approx(diversified * (1 + margin) / 3.5168528)
    assert results["estimate_share"] == 0
    water = 4191.5 * 999.75  # rho c of water at 10 degC, J/m3.K
    assert results["required_flow"]["value"] == pytest.approx(
        results["design_load"]["value"] * 1000 / (water * 5.5556) * 1000, rel=0.002
    )


@settings(max_examples=20)
@given(order=st.permutations(range(6)))
def test_order_of_the_parts_changes_nothing_but_their_order(answer_of, order):
    entries = [flow(), coil(), milk(), vessel(), hose(), room()]
    one = answer_of(ID, ask(*entries))["results"]
    other = answer_of(ID, ask(*(entries[i] for i in order)))["results"]
    assert other["design_load"]["value"] == pytest.approx(one["design_load"]["value"])
    assert other["loads"] == [one["loads"][i] for i in order]


@given(hot=st.floats(8, 25), cold=st.floats(3, 7), litres=st.floats(0.1, 300))
def test_units_change_nothing(answer_of, hot, cold, litres):
    entry = flow(flow=q(litres, "L/s"), entering_temperature=c(hot), leaving_temperature=c(cold))
    one = part(answer_of, entry)["total"]["value"]
    entry = flow(
        flow=q(litres * 3.6, "m3/h"),
        entering_temperature=q(hot * 1.8 + 32, "degF"),
        leaving_temperature=q(cold + 273.15, "K"),
    )
    other = answer_of(ID, ask(entry), units="us")["results"]["loads"][0]["total"]
    assert other["unit"] == "ton"
    assert other["value"] * 3.5168528420667 == pytest.approx(one, rel=1e-8)


# --- each kind ----------------------------------------------------------------------------------------------------


@given(dry=st.floats(15, 45), humidity=st.floats(0.05, 0.95), leaving=st.floats(2, 14), altitude=st.floats(0, 3000))
def test_coil(answer_of, dry, humidity, leaving, altitude):
    entry = coil(entering_dry_bulb=c(dry), entering_relative_humidity=humidity, leaving_dry_bulb=c(leaving))
    answer = answer_of(ID, ask(entry, site={"altitude": q(altitude, "m")}))
    found = answer["results"]["loads"][0]
    assert found["sensible"]["value"] > 0
    assert found["latent"]["value"] >= 0
    assert found["condensate"]["value"] >= 0
    assert found["total"]["value"] == pytest.approx(found["sensible"]["value"] + found["latent"]["value"])
    dry_coil = "coil_dry" in codes(answer)
    assert dry_coil == (found["condensate"]["value"] == 0)
    assert dry_coil == (found["latent"]["value"] == 0)


def test_the_four_ways_to_tell_moisture_agree(answer_of):
    from coldwright_refrigeration.shared.moist_air import psychrometrics

    air = psychrometrics()
    ratio = air.GetHumRatioFromRelHum(32.0, 0.5, 101325.0)
    ways = {
        "entering_relative_humidity": 0.5,
        "entering_humidity_ratio": ratio,
        "entering_wet_bulb": c(air.GetTWetBulbFromRelHum(32.0, 0.5, 101325.0)),
        "entering_dew_point": c(air.GetTDewPointFromRelHum(32.0, 0.5)),
    }
    entry = coil()
    del entry["entering_relative_humidity"]
    totals = [part(answer_of, entry | {name: value})["total"]["value"] for name, value in ways.items()]
    assert totals == pytest.approx([totals[0]] * 4, rel=2e-3)


def test_standard_air_and_fan(answer_of):
    actual, standard = (part(answer_of, coil(airflow_basis=b)) for b in ("actual_at_entering", "standard"))
    assert standard["total"]["value"] / actual["total"]["value"] == pytest.approx(1.2 * 0.884, rel=0.01)
    fan = coil(fan_power=q(3, "kW"))
    assert part(answer_of, fan)["total"] == part(answer_of, coil())["total"]
    with_fan = part(answer_of, fan | {"fan_in_airstream": True})
    assert with_fan["total"]["value"] == pytest.approx(actual["total"]["value"] + 3)
    assert with_fan["sensible"]["value"] == pytest.approx(actual["sensible"]["value"] + 3)


@given(final=st.floats(2.01, 39), agitator=st.floats(0, 20))
def test_vessel_gives_up_its_heat(answer_of, final, agitator):
    """Mean power times time is the heat of the batch and the stirrer, whatever the coolant does."""
    for coolant in ({}, {"coolant_mass_flow": q(4, "kg/s")}):
        found = part(answer_of, vessel(final_temperature=c(final), agitator_power=q(agitator, "kW"), **coolant))
        hours = found["time"]["value"]
        batch = 3000 * 3.8 * (40 - final) / 3600
        assert found["mean"]["value"] * hours == pytest.approx(batch + agitator * hours, rel=1e-6)
        assert found["peak"]["value"] >= found["mean"]["value"] * (1 - 1e-9)
        assert found["total"] == found["peak"]


def test_vessel_by_integration(answer_of):
    """The same batch stepped through time."""
    found = part(answer_of, vessel(coolant_mass_flow=q(4, "kg/s"), coolant_specific_heat=q(4.0, "kJ/kg.K")))
    from math import exp

    stream = 16000.0
    each = stream * (1 - exp(-350 * 8 / stream))
    temperature, seconds, step = 40.0, 0.0, 1.0
    while temperature > 10:
        temperature -= each * (temperature - 2) / (3000 * 3800) * step
        seconds += step
    assert found["time"]["value"] * 3600 == pytest.approx(seconds, rel=1e-3)


def test_metal_of_the_vessel_takes_its_share(answer_of):
    bare, heavy = (part(answer_of, vessel(metal_mass=q(m, "kg"))) for m in (0, 1000))
    assert heavy["time"]["value"] / bare["time"]["value"] == pytest.approx(1 + 1000 * 0.5 / (3000 * 3.8))
    assert heavy["peak"] == bare["peak"]


@given(air=st.floats(-20, 50), sun=st.floats(0, 1200), wind=st.floats(0.3, 20), liquid=st.floats(2, 20))
def test_hose(answer_of, air, sun, wind, liquid):
    entry = hose(
        air_temperature=c(air),
        solar_irradiance=q(sun, "W/m2"),
        wind_speed=q(wind, "m/s"),
        liquid_temperature=c(liquid),
    )
    answer = answer_of(ID, ask(entry))
    total = answer["results"]["loads"][0]["total"]["value"]
    assert total >= 0
    if air >= liquid:
        assert "hose_loses_heat" not in codes(answer)
    if "hose_loses_heat" in codes(answer):
        assert total == 0
        assert air < liquid


def test_hose_settles_on_its_surface(answer_of):
    """Heat through the wall is what air, sun and radiation bring to the surface."""
    import math

    entry = hose(solar_irradiance=q(800, "W/m2"), wind_speed=q(2, "m/s"))
    answer = answer_of(ID, ask(entry))
    each = {w["symbol"]: w["value"] for w in answer["working"]}["q"]
    wall = math.log(120 / 102) / (2 * math.pi * 0.16)
    surface = 7 + each * wall
    warmer = {w["symbol"]: w["value"] for w in answer["working"]}["T_sol"]
    assert 7 < surface < warmer
    film = 0.9 * 800 / (math.pi * (warmer - 35))
    assert film * math.pi * 0.12 * (warmer - surface) == pytest.approx(each, rel=1e-6)
    calm = part(answer_of, entry | {"wind_speed": q(0.5, "m/s")})["total"]["value"]
    assert calm != pytest.approx(each * 50 / 1000, rel=0.005), "the wind matters"


def test_pump(answer_of):
    bare = part(answer_of, pump())["total"]["value"]
    assert bare == pytest.approx(999.7 * 9.80665 * 0.015 * 20 / 0.7 / 1000, rel=1e-3)
    assert part(answer_of, pump(motor_in_liquid=True))["total"]["value"] == pytest.approx(bare / 0.9)


def test_product(answer_of):
    assert part(answer_of, milk(peak_to_mean=1.5))["total"]["value"] == pytest.approx(
        1.5 * part(answer_of, milk())["mean"]["value"]
    )
    given_ = part(answer_of, milk(specific_heat_frozen=q(2, "kJ/kg.K")))["total"]
    assert given_ == part(answer_of, milk())["total"]
    frozen = milk(initial_temperature=c(-5), final_temperature=c(-20), freezing_temperature=c(-0.5))
    assert part(answer_of, frozen)["total"]["value"] == pytest.approx(4000 * 2.05 * 15 / 7200)


def test_infiltration(answer_of):
    entry = room(infiltration_airflow=q(0.5, "m3/s"), lighting_power=q(0, "kW"))
    wet = part(answer_of, entry | {"outside_relative_humidity": 0.5})
    assert wet["sensible"]["value"] == pytest.approx(0.5 * 1.13 * 1.02 * 11, rel=0.05)
    assert wet["latent"]["value"] > 0
    answer = answer_of(ID, ask(entry | {"outside_relative_humidity": 0.1}))
    assert codes(answer)["dry_outside_air"] == "note"
    assert answer["results"]["loads"][0]["latent"]["value"] == 0
    assert pointers(answer_of, ask(entry | {"outside_temperature": c(20)})) == ["#/loads/0/outside_temperature"]


def test_envelope(answer_of):
    wall = {"area": q(100, "m2"), "u_value": q(0.5, "W/m2.K"), "temperature_difference": q(12, "delta_degC")}
    assert part(answer_of, room(envelope=[wall, wall]))["sensible"]["value"] == pytest.approx(5 + 1.2)


def test_words_of_the_tables():
    from coldwright_refrigeration.load.given import FORMER_ACTIVITIES, Activity, Product

    assert set(Activity) == set(PEOPLE) == set(FORMER_ACTIVITIES.values())
    assert set(get_args(Product)) == set(PRODUCTS)


# --- findings -----------------------------------------------------------------------------------------------------


def test_estimates(answer_of):
    answer = answer_of(ID, ask(room(), direct(5)))
    assert answer["results"]["estimate_share"] == pytest.approx(0.5)
    assert codes(answer) == {"estimate_band": "note", "estimate_share_high": "check"}
    assert "estimate_share_high" not in codes(answer_of(ID, ask(room(), direct(50))))
    assert answer["results"]["loads"][0]["is_estimate"] is True


@pytest.mark.parametrize(("cold", "doubtful"), [(9.9, True), (9.7, False), (0.91, False), (0.8, True)])
def test_doubtful_difference(answer_of, cold, doubtful):
    found = codes(answer_of(ID, ask(flow(leaving_temperature=c(cold)))))
    assert ("liquid_difference_doubtful" in found) == doubtful


def test_coil_findings(answer_of):
    near = ask(coil(leaving_dry_bulb=c(8.5)), flow())
    assert codes(answer_of(ID, near)) == {"coil_cannot_reach": "check"}
    told = ask(coil(), leaving_liquid_temperature=c(12))
    assert codes(answer_of(ID, told)) == {"coil_cannot_reach": "check"}
    assert codes(answer_of(ID, ask(coil(leaving_dry_bulb=c(-3))))) == {"coil_frosts": "check"}
    assert codes(answer_of(ID, ask(coil(entering_relative_humidity=0.1)))) == {"coil_dry": "note"}


def test_other_findings(answer_of):
    assert codes(answer_of(ID, ask(hose(), direct(20)))) == {"loop_gains_high": "note"}
    assert codes(answer_of(ID, ask(direct(20), margin=0.3))) == {"margin_high": "check"}
    assert codes(answer_of(ID, ask(direct(20, diversity=0.5), margin=0.3))) == {}
    assert codes(answer_of(ID, ask(milk(final_temperature=c(-10))))) == {"product_may_freeze": "check"}
    assert codes(answer_of(ID, ask(hose(air_temperature=c(0))))) == {"hose_loses_heat": "note"}


def test_a_jacket_that_never_reaches(answer_of):
    answer = answer_of(ID, ask(vessel(final_temperature=c(2))))
    (finding,) = answer["findings"]
    assert (finding["code"], finding["severity"]) == ("jacket_never_reaches", "stop")
    assert finding["field"] == "/loads/0/final_temperature"
    assert "coolant_temperature" in finding["statement"]
    found = answer["results"]["loads"][0]
    assert "time" not in found
    assert "mean" not in found
    assert found["peak"] == found["total"]
    assert answer["outcome"] == "unacceptable"


def test_sea_level_is_said(answer_of):
    """The standard atmosphere of ISO 2533:1975 (from memory): 101.325 kPa."""
    (said,) = [a for a in answer_of(ID, ask(coil()))["assumptions"] if a["code"] == "sea_level"]
    assert said["value"] == q(pytest.approx(101.325), "kPa")
    assert float(said["statement"].split("sea level, ")[1].split()[0]) == pytest.approx(101.325, abs=0.06)
    said = {a["code"] for a in answer_of(ID, ask(coil(), site={"altitude": q(500, "m")}))["assumptions"]}
    assert "sea_level" not in said


# --- refusals -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("entry", "pointer"),
    [
        (flow(leaving_temperature=c(12)), "leaving_temperature"),
        (flow(leaving_temperature=c(-3)), "leaving_temperature"),
        (milk(final_temperature=c(30)), "final_temperature"),
        (milk(duration=q(0, "h")), "duration"),
        (milk(specific_heat=q(4, "kJ/kg.K")), "specific_heat"),
        (vessel(final_temperature=c(41)), "final_temperature"),
        (vessel(initial_temperature=c(2), final_temperature=c(1)), "initial_temperature"),
        (coil(leaving_dry_bulb=c(32)), "leaving_dry_bulb"),
        (coil(entering_relative_humidity=1.1), "entering_relative_humidity"),
        (coil(entering_wet_bulb=c(20)), "entering_relative_humidity"),
        (hose(inside_diameter=q(120, "mm")), "inside_diameter"),
        (direct(5, flow=q(3, "L/s")), "flow"),
    ],
)
def test_refused(answer_of, entry, pointer):
    assert pointers(answer_of, ask(direct(1), entry)) == [f"#/loads/1/{pointer}"]


def test_moisture_that_cannot_be(answer_of):
    entry = coil()
    del entry["entering_relative_humidity"]
    assert pointers(answer_of, ask(entry)) == ["#/loads/0/entering_relative_humidity"]
    for name, value in (
        ("entering_wet_bulb", c(33)),
        ("entering_dew_point", c(33)),
        ("entering_humidity_ratio", 0.035),
    ):
        assert pointers(answer_of, ask(entry | {name: value})) == [f"#/loads/0/{name}"]


def test_airflow_basis_is_asked_for(answer_of):
    entry = coil()
    del entry["airflow_basis"]
    assert pointers(answer_of, ask(entry)) == ["#/loads/0/airflow_basis"]


def test_freezing_needs_its_data(answer_of):
    entry = milk(final_temperature=c(-10), freezing_temperature=c(-0.5), specific_heat=q(4, "kJ/kg.K"))
    del entry["product_name"]
    assert pointers(answer_of, ask(entry)) == ["#/loads/0/latent_heat", "#/loads/0/specific_heat_frozen"]


def test_site(answer_of):
    both = {"altitude": q(1500, "m"), "barometric_pressure": q(100, "kPa")}
    assert pointers(answer_of, ask(coil(), site=both)) == ["#/site/barometric_pressure"]
    agreed = {"altitude": q(1500, "m"), "barometric_pressure": q(84.0, "kPa")}
    measured = {"barometric_pressure": q(84.0, "kPa")}
    one, other = (part(answer_of, coil(), site=site)["total"] for site in (agreed, measured))
    assert one == other


def test_every_wrong_part_is_named_at_once(answer_of):
    asked = ask(flow(leaving_temperature=c(13)), milk(final_temperature=c(31)), hose(inside_diameter=q(130, "mm")))
    assert pointers(answer_of, copy.deepcopy(asked)) == [
        "#/loads/0/leaving_temperature",
        "#/loads/1/final_temperature",
        "#/loads/2/inside_diameter",
    ]


def test_a_word_that_is_no_activity_is_answered_with_those_that_are(answer_of):
    with pytest.raises(Refused) as refused:
        answer_of(ID, ask(room(people=[{"activity": "dancing", "count": 3}])))
    (error,) = refused.value.errors
    assert error.allowed
    assert error.allowed.one_of == (
        "at_rest",
        "at_desk",
        "counter",
        "on_foot",
        "bench",
        "machine_tending",
        "heavy",
        "sport",
    )
