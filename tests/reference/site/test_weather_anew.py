"""A gust on a machine and a lift, heat and cold, worked out anew; limits tried on both sides."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from site_given import attempt, codes

pytestmark = pytest.mark.check
Json = dict[str, Any]
G, MPH = 9.80665, 0.44704


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.floats(0.2, 60), st.floats(0.5, 1.6), st.floats(500, 20000), st.tuples(st.floats(1, 3), st.floats(1, 4), st.floats(2, 12)),
    st.tuples(st.floats(-0.4, 0.4), st.floats(0, 12)), st.floats(0.1, 0.8), st.booleans(),
)  # fmt: skip
def test_a_gust_on_a_machine(
    answer_of: Any, gust: float, kz: float, mass: float, size: Any, place: Any, friction: float, anchored: bool
) -> None:
    """0.613 Kz V^2 (ASCE 7 in SI, from memory) on the whole face at half its height; moments about the edge, friction."""
    width, height, length = size
    offset, stand = place
    if width / 2 - offset <= 0.01:
        return
    asked = {
        "gust_speed": q(gust, "m/s"), "exposure_factor": kz, "friction": friction, "anchored": anchored,
        "machine": {
            "mass": q(mass, "kg"), "base_width": q(width, "m"), "height": q(height, "m"), "length": q(length, "m"),
            "cg_offset": q(abs(offset), "m"), "stand_height": q(stand, "m"), "drag_coefficient": 1.4,
        },
    }  # fmt: skip
    arm = width / 2 - abs(offset)
    if arm <= 0:
        return
    answer = answer_of("site.weather", asked)
    results = answer["results"]
    pressure = 0.613 * kz * gust**2
    force = pressure * 1.4 * length * height
    lever = stand + height / 2
    ratios = {"overturning": mass * G * arm / (force * lever), "sliding": friction * mass * G / force}
    assert results["wind_pressure"] == q(pytest.approx(pressure), "Pa")
    assert results["wind_force"] == q(pytest.approx(force / 1000), "kN")
    assert results["critical_gust"] == q(pytest.approx(gust * math.sqrt(ratios["overturning"])), "m/s")
    shown: dict[str, Any] = {}
    for line in answer["working"]:
        shown.setdefault(line["symbol"], []).append(line["value"])
    assert shown["q"] == pytest.approx([pressure])
    assert shown["V_cr"] == pytest.approx([results["critical_gust"]["value"]])
    (line,) = [line["expression"] for line in answer["working"] if line["symbol"] == "V_cr"]
    assert float(line.split("m g (b/2 - e) = ")[1].split()[0]) == pytest.approx(mass * G * arm / 1000, rel=1e-4)
    feet = max(15.0, (height + stand) / 0.3048)
    psf = 0.00256 * 2.01 * (feet / 900) ** (2 / 9.5) * 0.85 * (gust / MPH) ** 2
    assert shown["q_asce"] == pytest.approx([psf])
    lacks = []
    for code, ratio in ratios.items():
        assert results[f"{code}_ratio"] == pytest.approx(ratio)
        found = [f for f in answer["findings"] if f["code"] == code]
        if min(abs(ratio - 1), abs(ratio - 1.5)) < 1e-6:
            return
        assert [f["severity"] for f in found] == (
            [] if ratio > 1.5 else ["stop"] if ratio < 1 and not anchored else ["check"]
        )
        if found:
            lack = (1.5 - ratio) * force / 1000
            lacks.append(lack)
            assert found[0]["resolve"].startswith(f"Anchors for at least {lack:.1f} kN")
            assert ("It is anchored" in found[0]["statement"]) == anchored
            assert f" {ratio:.2f} times" in found[0]["statement"]
    assert shown.get("F_a", []) == pytest.approx(lacks)


@pytest.mark.parametrize(("gust", "ratios"), [(0.099, False), (0.101, True)])
def test_a_calm(answer_of: Any, gust: float, ratios: bool) -> None:
    """The family's own limit: below a decimetre a second ratios to the wind say nothing."""
    machine = {"mass": q(6000, "kg"), "base_width": q(2.2, "m"), "height": q(2.6, "m"), "length": q(9, "m")}
    results = answer_of("site.weather", {"machine": machine, "gust_speed": q(gust, "m/s")})["results"]
    assert ("overturning_ratio" in results) == ratios
    assert ("sliding_ratio" in results) == ratios


@pytest.mark.parametrize(("offset", "taken"), [(1.099, True), (1.1, False), (1.101, False)])
def test_a_machine_that_falls_over_without_wind(answer_of: Any, offset: float, taken: bool) -> None:
    machine = {
        "mass": q(6000, "kg"), "base_width": q(2.2, "m"), "height": q(2.6, "m"), "length": q(9, "m"), "cg_offset": q(offset, "m"),
    }  # fmt: skip
    assert (attempt(answer_of, "site.weather", {"machine": machine, "gust_speed": q(20, "m/s")}) is not None) == taken


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.integers(20, 200).map(lambda v: v / 10),
    st.floats(0.5, 40),
    st.floats(2, 60),
    st.floats(1.2, 2),
    st.floats(1, 25),
)
def test_a_lift_in_the_wind(answer_of: Any, chart: float, tonnes: float, area: float, drag: float, gust: float) -> None:
    """EN 13000 (from memory): v_chart sqrt(1.2 m / (cw A)), m in t, never above the chart's own."""
    crane = {
        "chart_wind_speed": q(chart, "m/s"), "load_mass": q(tonnes, "t"), "load_face_area": q(area, "m2"),
        "drag_coefficient": drag,
    }  # fmt: skip
    answer = answer_of("site.weather", {"crane": crane, "gust_speed": q(gust, "m/s")})
    limit = chart * min(1, math.sqrt(1.2 * tonnes / drag / area))
    assert answer["results"]["wind_speed_limit"] == q(pytest.approx(limit), "m/s")
    (shown,) = [line["value"] for line in answer["working"] if line["symbol"] == "v"]
    assert shown == pytest.approx(limit)
    assert answer["results"]["lift_allowed"] is (gust <= limit * (1 + 1e-9))
    assert ("too_windy_to_lift" in codes(answer, "stop")) == (gust > limit * (1 + 1e-9))
    at_limit = answer_of("site.weather", {"crane": crane, "gust_speed": answer["results"]["wind_speed_limit"]})
    assert at_limit["results"]["lift_allowed"] is True


def index_of(answer: Json) -> float:
    """degF."""
    return float(answer["results"]["heat_index"]["value"]) * 1.8 + 32


@pytest.mark.parametrize(("sun", "added"), [(False, 0.0), (True, 15.0)])
@pytest.mark.parametrize(
    ("limit", "names"), [(91, ("normal", "guarded")), (103, ("guarded", "severe")), (115, ("severe", "extreme"))]
)
def test_bands_about_their_limits(
    answer_of: Any, sun: bool, added: float, limit: float, names: tuple[str, str]
) -> None:
    """OSHA, using the heat index (seen): 91, 103 and 115 degF, in full sun up to 15 more; the air's temperature is sought by
    bisection so that the index stands a hundredth below or above.
    """

    def asked(t: float) -> Json:
        case = {"air_temperature": q(t, "degF"), "relative_humidity": 0.5, "in_sun": sun}
        answer: Json = answer_of("site.weather", case)
        return answer

    for target, name in ((limit - 0.01, names[0]), (limit + 0.01, names[1])):
        low, high = 60.0, 115.0
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if index_of(asked(middle)) + added < target else (low, middle)
        answer = asked(high)
        assert index_of(answer) + added == pytest.approx(target, abs=1e-3)
        assert answer["results"]["heat_band"] == name
        found = [f for f in answer["findings"] if f["code"] == "heat"]
        severity = {"normal": [], "guarded": ["note"]}.get(name, ["check"])
        assert [f["severity"] for f in found] == severity
        assert all(f"{name} heat" in f["statement"] for f in found)
        counted = [line["value"] for line in answer["working"] if line["symbol"] == "HI_s"]
        assert counted == (pytest.approx([target], abs=1e-3) if sun else [])


@pytest.mark.parametrize(("t", "mph", "defined"), [
    (50.0, 10, True), (50.01, 10, False), (30, 3.0, False), (30, 3.001, True), (-40, 100, True),
])  # fmt: skip
def test_where_the_wind_chill_is_defined(answer_of: Any, t: float, mph: float, defined: bool) -> None:
    """National Weather Service (seen): up to 50 degF and above 3 mph."""
    answer = answer_of("site.weather", {"air_temperature": q(t, "degF"), "wind_speed": q(mph, "mph")})
    assert ("wind_chill" in answer["results"]) == defined
    assert ("wind_chill_not_defined" in codes(answer, "note")) != defined


@pytest.mark.parametrize(("t", "cold"), [(19.2, False), (18.8, True)])
def test_where_bare_skin_freezes(answer_of: Any, t: float, cold: bool) -> None:
    """The chill of 30 mph is nought at 19.0 degF: 35.74 + 0.6215 T + (0.4275 T - 35.75) 30^0.16."""
    root = 30**0.16
    assert (35.75 * root - 35.74) / (0.6215 + 0.4275 * root) == pytest.approx(19.0, abs=0.1)
    answer = answer_of("site.weather", {"air_temperature": q(t, "degF"), "wind_speed": q(30, "mph")})
    assert ("cold" in codes(answer, "check")) == cold


@pytest.mark.parametrize(("rh", "t", "words"), [
    (12.9, 95, "less 0.025 for dry air"), (13.1, 95, None), (85.1, 85, "and 0.004 for damp air"), (84.9, 85, None),
    (90, 87.1, None), (10, 112.1, None), (10, 111.9, "for dry air"), (90, 86.9, "for damp air"),
])  # fmt: skip
def test_which_adjustment_the_working_names(answer_of: Any, rh: float, t: float, words: str | None) -> None:
    """National Weather Service (equation seen): (13 - RH)/4 sqrt((17 - |T - 95|)/17), (RH - 85)/10 (87 - T)/5."""
    answer = answer_of("site.weather", {"air_temperature": q(t, "degF"), "relative_humidity": rh / 100})
    (line,) = [line for line in answer["working"] if line["symbol"] == "HI"]
    assert line["value"] == pytest.approx(index_of(answer))
    if words is None:
        assert line["meaning"] == "Heat index: Rothfusz's equation"
    else:
        assert line["meaning"].endswith(words)


@pytest.mark.parametrize(("clock", "allowed"), [("14:29:59.999", False), ("14:30:00", True)])
@pytest.mark.parametrize("kind", ["thunder", "flash"])
def test_half_an_hour_after_the_last_thunder(answer_of: Any, clock: str, allowed: bool, kind: str) -> None:
    """NWS (seen): 30 minutes; the sentence names the very moment."""
    at = "2026-07-14T14:00:00Z"
    last: Json = (
        {"last_thunder_at": at} if kind == "thunder" else {"last_lightning": {"at": at, "flash_to_bang": q(6, "s")}}
    )
    answer = answer_of("site.weather", last | {"evaluated_at": f"2026-07-14T{clock}Z"})
    assert answer["results"]["lift_allowed"] is allowed
    assert answer["results"]["resume_at"] == "2026-07-14T14:30:00Z"
    found = [f for f in answer["findings"] if f["code"] == "lightning"]
    assert bool(found) != allowed
    for f in found:
        assert "2026-07-14T14:30:00Z" in f["resolve"]
        assert "30 minutes" in f["statement"]
        assert f["field"] == ("/last_thunder_at" if kind == "thunder" else "/last_lightning")
    if kind == "flash":
        (shown,) = [line["value"] for line in answer["working"] if line["symbol"] == "s"]
        assert shown == pytest.approx(answer["results"]["lightning_distance"]["value"] * 1000)


@pytest.mark.parametrize(
    ("height", "stand", "kz"), [(None, 0, 0.849), (3.0, 1.2, 0.849), (9.144, 0, 0.982), (8.0, 1.144, 0.982)]
)
def test_the_pressure_beside_it_of_the_american_standard(
    answer_of: Any, height: float | None, stand: float, kz: float
) -> None:
    """ASCE 7, exposure C, Kz at 15 ft and 30 ft (seen): 0.00256 Kz Kd V^2 at 100 mph; at 15 ft where no machine is given."""
    machine = {
        "mass": q(6000, "kg"), "base_width": q(2.2, "m"), "height": q(height or 1, "m"), "length": q(9, "m"),
        "stand_height": q(stand, "m"),
    }  # fmt: skip
    asked = {"gust_speed": q(100, "mph")} | ({"machine": machine} if height else {})
    (line,) = [line for line in answer_of("site.weather", asked)["working"] if line["symbol"] == "q_asce"]
    assert line["value"] == pytest.approx(0.00256 * kz * 0.85 * 100**2, rel=1e-3)
    assert f"Kz {kz:.3f}" in line["expression"]
