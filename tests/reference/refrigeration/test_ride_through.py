"""Checks of `refrigeration.ride_through`, against liquid followed parcel by parcel and against published storage."""

import pytest
from quantity import q

pytestmark = pytest.mark.check


def ask(answer_of, stop=None, loop=None, **more):
    given = {
        "loop": {
            "volume": q(6, "m3"),
            "supply_volume": q(2, "m3"),
            "leaving_temperature": q(8, "degC"),
            "temperature_difference": q(5, "delta_degC"),
        }
        | (loop or {}),
        "load": q(200, "kW"),
        "capacity": q(250, "kW"),
        "warmest_supply": q(14, "degC"),
        "interruptions": [{"outage": q(0, "min"), "circulation": "keeps"} | (stop or {})],
    }
    return answer_of("refrigeration.ride_through", given | more)


def parcels(volume, supply, flow, rise, warm, seconds, step=1.0):
    """Temperatures at the load's inlet, second by second: a ring of parcels that move on, uncooled."""
    count = round(volume / (flow * step))
    cold = round(supply / (flow * step))
    ring = [warm] * cold + [warm + rise] * (count - cold)
    at_load = []
    for _ in range(int(seconds / step)):
        parcel = ring.pop(0)
        at_load.append(parcel)
        ring.append(parcel + rise)
    return at_load


@pytest.mark.parametrize(("warmest", "left"), [(9.0, 0), (14.0, 0), (19.0, 0), (14.0, 80), (12.0, 150)])
def test_against_parcels_that_move_around(answer_of, warmest, left):
    """Derived: the same loop cut into parcels, each warmed when it passes the load; within one parcel."""
    answer = ask(
        answer_of,
        stop={"capacity_left": q(left, "kW"), "anti_recycle_time": q(2, "h")},
        warmest_supply=q(warmest, "degC"),
        capacity=q(250, "kW"),
    )["results"]
    turnover = answer["turnover"]["value"] * 60
    flow = 6 / turnover
    # water at 8 degC: 999.9 kg/m3 x 4195 J/kg.K (from memory)
    assert flow == pytest.approx(200e3 / (999.9 * 4195 * 5), rel=2e-3)
    rise = 5 * (200 - left) / 200
    inlet = parcels(6, 2, flow, rise, 8.0, 7200)
    too_warm = next(second for second, t in enumerate(inlet) if t > warmest + 1e-6)
    (ridden,) = answer["interruptions"]
    assert ridden["holds"]["value"] * 60 == pytest.approx(too_warm, abs=1.5)
    shorter = ask(
        answer_of,
        stop={"capacity_left": q(left, "kW"), "anti_recycle_time": q(20, "min")},
        warmest_supply=q(warmest, "degC"),
    )["results"]["interruptions"][0]
    assert shorter["warmest_reached"]["value"] == pytest.approx(inlet[1200], abs=1e-6)
    assert ("warmest_reached" in ridden) == (inlet[-1] <= 60)
    assert not ridden["kept"]


def test_storage_of_one_ton_hour(answer_of):
    """Derived from 1 Btu/lb.degF and 8.34 lb/gal: a ton for an hour at 10 delta_degF is 12000 / (8.34 x 10) = 143.9 gal."""
    loop = {
        "volume": q(2000, "gal"),
        "supply_volume": q(0, "gal"),
        "leaving_temperature": q(44, "degF"),
        "temperature_difference": q(10, "delta_degF"),
        "usable_fraction": 1.0,
    }
    results = ask(
        answer_of,
        stop={"outage": q(58, "min"), "oil_stays_warm": q(2, "h")},
        loop=loop,
        load=q(100, "ton"),
        capacity=q(100, "ton"),
        warmest_supply=q(50, "degF"),
    )["results"]
    (ridden,) = results["interruptions"]
    assert ridden["no_cooling"] == q(60, "min")
    assert ridden["volume_to_add"]["value"] / 3.785411784 == pytest.approx(100 * 143.9, rel=0.005)


def test_the_clock_of_a_restart_by_hand(answer_of):
    """By hand. Outage 10 min; then controls 2 min against an hour of oil; then four stages 3 min apart of 62.5 kW each
    against 200 kW: they lack 0.6875, 0.375 and 0.0625 of it. 70 + 3 x 1.125 = 73.375 min.
    """
    stop = {"outage": q(10, "min"), "stages": 4}
    (ridden,) = ask(answer_of, stop)["results"]["interruptions"]
    assert ridden["no_cooling"] == q(70, "min")
    assert ridden["carried"]["value"] == pytest.approx(73.375)
    (standing,) = ask(answer_of, stop | {"circulation": "stops"})["results"]["interruptions"]
    assert standing["no_flow"] == q(10, "min")
    assert standing["carried"]["value"] == pytest.approx(63.375)
    (dry,) = ask(answer_of, stop | {"oil_warm_up": q(0, "h")})["results"]["interruptions"]
    (cold,) = ask(answer_of, stop)["results"]["interruptions"]
    assert cold["volume_to_add_with_warm_oil"] == dry["volume_to_add"]
    (warm,) = ask(answer_of, stop | {"oil_stays_warm": q(10, "min")})["results"]["interruptions"]
    assert warm["no_cooling"] == q(12, "min")
    (trip,) = ask(answer_of)["results"]["interruptions"]
    assert trip["no_cooling"] == q(5, "min")


@pytest.mark.parametrize("warmest", [9.0, 14.0, 20.0])
def test_the_volume_to_add_just_keeps_it(answer_of, warmest):
    """The answer with the buffer in it keeps the load cold; with 1 % less it does not."""
    stop = {"outage": q(40, "min"), "oil_stays_warm": q(1, "h"), "stages": 3}
    warm = q(warmest, "degC")
    (bare,) = ask(answer_of, stop, warmest_supply=warm)["results"]["interruptions"]
    litres = bare["volume_to_add"]["value"]
    assert litres > 0

    def with_buffer(volume):
        loop = {"volume": q(6000 + volume, "L"), "buffer_volume": q(volume, "L")}
        return ask(answer_of, stop, loop, warmest_supply=warm)["results"]["interruptions"][0]

    assert with_buffer(litres * (1 + 1e-6))["kept"]
    assert not with_buffer(litres * 0.99)["kept"]
