"""`site.placement` held against published and independently computed figures."""

import pytest
from quantity import q
from site_given import at, codes

pytestmark = pytest.mark.check


def corners(*points: tuple[float, float]) -> list[dict]:
    return [at(x=x, y=y) for x, y in points]


def machine(**more: object) -> dict:
    return {"id": "M", "length": q(6, "m"), "width": q(2.2, "m"), "height": q(2.5, "m"), **more}


@pytest.mark.parametrize(("fraction", "inlet"), [(0, 35), (0.1, 35.99), (0.2, 37.22), (0.3, 38.80)])
def test_recirculation(answer_of, fraction, inlet):
    # dT = Q/(rho V cp) = 8.87 K; T = T_amb + r dT/(1 - r) (derived).
    given = {
        "machines": [machine(air_flow=q(45, "m3/s"), heat_rejected=q(450, "kW"))],
        "air_density": q(1.12, "kg/m3"),
        "air_specific_heat": 1007,
        "ambient": q(35, "degC"),
        "recirculation_fraction": fraction,
    }
    answer = answer_of("site.placement", given)
    assert answer["results"]["recirculated_air_temperature"]["value"] == pytest.approx(inlet, abs=0.005)
    rise = next(w["value"] for w in answer["working"] if w["symbol"] == "dT")
    assert rise == pytest.approx(8.87, abs=0.005)


def test_pit(answer_of):
    # Flow over the free area of a pit of 8 x 6 m with discharges of 2 x 4 m (derived).
    given = {
        "machines": [machine(air_flow=q(45, "m3/s"))],
        "pit": {"area": q(48, "m2"), "depth": q(3, "m")},
        "discharge_area": q(8, "m2"),
    }
    r = answer_of("site.placement", given)["results"]
    assert r["inlet_velocity"] == {"value": pytest.approx(1.125), "unit": "m/s"}


def test_engine_near_a_window(answer_of):
    # NFPA 37 (2010) 4.1.4: 5 ft from openings (seen as quoted in a public thread).
    given = {
        "machines": [machine()],
        "positions": [{"id": "M", **at(x=30, y=30)}],
        "obstacles": [
            {"id": "E", "kind": "engine", "polygon": corners((0, 1.2), (2, 1.2), (2, 3), (0, 3))},
            {"id": "W", "kind": "opening", "polygon": corners((0.5, 0), (1.5, 0))},
        ],
    }
    answer = answer_of("site.placement", given)
    entry = next(c for c in answer["results"]["clearances"] if c["rule"] == "engine_to_opening")
    assert entry["pair"] == ["E", "W"]
    assert entry["margin"]["value"] == pytest.approx(-0.324)
    assert "too_near" in codes(answer, "stop")


@pytest.mark.parametrize(
    ("volts", "condition", "feet"),
    [
        (277, 2, 3.5),  # NEC Table 110.26(A)(1), 151 to 600 V, condition 2 (memory)
        (277, 3, 4),  # condition 3, live parts opposite (seen in a trade magazine)
        (277, 1, 3),
        (120, 2, 3),  # 0 to 150 V (seen in a trade magazine)
        (150, 3, 3),
    ],
)
def test_working_space(answer_of, volts, condition, feet):
    given = {
        "machines": [
            machine(service_faces=["front"], voltage_to_ground=q(volts, "V"), working_space_condition=condition)
        ],
        "positions": [{"id": "M", **at(x=0, y=0)}],
        "obstacles": [{"id": "W", "kind": "wall", "polygon": corners((4, -3), (4.2, -3), (4.2, 3), (4, 3))}],
    }
    found = answer_of("site.placement", given, units="us")["results"]["clearances"]
    entry = next(c for c in found if c["rule"] == "working_space")
    assert entry["required"] == {"value": pytest.approx(feet), "unit": "ft"}
    assert entry["distance"]["value"] == pytest.approx(1 / 0.3048)
