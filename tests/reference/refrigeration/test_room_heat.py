"""Published checks of `refrigeration.room_heat`."""

import pytest
from quantity import q

pytestmark = pytest.mark.check
FEET3_MIN = 0.3048**3 / 60 * 1000
"""L/s."""


def test_room_of_a_generating_set(answer_of):
    """Seen: Handbook of Energy Engineering Calculations, p. 213: 2625 Btu/min at a rise of 15 degF, from outdoor air of
    100 degF, with 60 as its constant for fans of 111 to 120 degF: (2625)(60)/15 = 10,500 ft3/min. Ours: 10,529 (+0.3 %).
    """
    results = answer_of(
        "refrigeration.room_heat",
        {
            "heat_rejected": q(2625 * 60, "Btu/h"),
            "outdoor_temperature": q(100, "degF"),
            "room_limit": q(115, "degF"),
        },
    )["results"]
    assert results["required_flow"]["value"] / FEET3_MIN == pytest.approx(10500, rel=0.01)


@pytest.mark.parametrize("flow", [0.0, 2000.0, 9000.0, 18000.0])
def test_warming_against_the_air_followed_in_time(answer_of, flow):
    """Library: SciPy 1.17 solve_ivp on mass and energy of an ideal gas at one pressure, written another way: the mass
    in the room leaves as the fan draws and as it expands, and outdoor air follows.
    """
    from scipy.integrate import solve_ivp

    heat, volume, outdoor, limit, pressure = 300e3, 800.0, 308.15, 319.15, 101325.0
    gas, cp = 287.042, 1006.0
    drawn = flow / 1000

    def change(_, state):
        temperature = state[0]
        density = pressure / (gas * temperature)
        entering = max(0.0, (drawn * density * cp * temperature - heat) / (cp * outdoor))
        return [(heat - entering * cp * (temperature - outdoor)) / (density * volume * cp)]

    def reached(_, state):
        return state[0] - limit

    setattr(reached, "terminal", True)  # noqa: B010  # scipy reads it there
    run = solve_ivp(change, (0, 7200), [outdoor], events=reached, rtol=1e-9, atol=1e-9)
    given = {
        "heat_rejected": q(300, "kW"),
        "outdoor_temperature": q(35, "degC"),
        "room_limit": q(46, "degC"),
        "ventilation_flow": q(flow, "L/s"),
        "room_volume": q(volume, "m3"),
    }
    results = answer_of("refrigeration.room_heat", given)["results"]
    assert results["time_to_limit"]["value"] * 60 == pytest.approx(run.t_events[0][0], rel=1e-5)


def test_a_room_with_enough_air_settles_where_time_leads_it(answer_of):
    """Derived: heat over mass flow and specific heat, at the density of the room."""
    given = {
        "heat_rejected": q(300, "kW"),
        "outdoor_temperature": q(30, "degC"),
        "room_limit": q(46, "degC"),
        "ventilation_flow": q(30000, "L/s"),
        "room_volume": q(800, "m3"),
    }
    results = answer_of("refrigeration.room_heat", given)["results"]
    settled = results["room_temperature"]["value"]
    density = 101325 / (287.042 * (settled + 273.15))
    assert 30 + 300 / (30 * density * 1.006) == pytest.approx(settled, abs=1e-6)
    assert "time_to_limit" not in results
    assert results["air_changes"] == pytest.approx(results["required_flow"]["value"] * 3.6 / 800, rel=1e-9)


@pytest.mark.parametrize(("share", "settles"), [(1.01, True), (0.99, False), (0.93, False)])
def test_a_fan_that_draws_less_than_what_expands(answer_of, share, settles):
    """Derived: Q drives out Q R / (cp p) of air by itself; a fan below that brings no air in, and nothing settles."""
    driven = 300e3 * 287.042 / (1006.0 * 101325.0)
    results = answer_of(
        "refrigeration.room_heat",
        {
            "heat_rejected": q(300, "kW"),
            "outdoor_temperature": q(35, "degC"),
            "room_limit": q(46, "degC"),
            "ventilation_flow": q(share * driven, "m3/s"),
            "room_volume": q(800, "m3"),
        },
    )["results"]
    assert ("room_temperature" in results) == settles
    if not settles:
        assert results["time_to_limit"]["value"] == pytest.approx(results["time_to_limit_shut"]["value"], rel=1e-9)
