"""Results of the site family, worked out anew from the published rule by other means, over the whole range."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

pytestmark = pytest.mark.check

# National Weather Service, the heat index equation (Rothfusz, SR 90-23; seen): coefficient of T^i RH^j
ROTHFUSZ = np.array(
    [
        [-42.379, 10.14333127, -5.481717e-2],
        [2.04901523, -0.22475541, 8.5282e-4],
        [-6.83783e-3, 1.22874e-3, -1.99e-6],
    ]
)


def heat_index(t: float, rh: float) -> float:
    """degF. The average of air and the simple form while that is under 80, else the regression and its two adjustments."""
    simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + rh * 0.094)
    if (simple + t) / 2 < 80:
        return (simple + t) / 2
    index = float(np.polynomial.polynomial.polyval2d(t, rh, ROTHFUSZ))
    if rh < 13 and 80 <= t <= 112:
        index -= 0.25 * (13 - rh) * (1 - abs(t - 95) / 17) ** 0.5
    if rh > 85 and 80 <= t <= 87:
        index += 0.02 * (rh - 85) * (87 - t)
    return index


@given(
    st.one_of(st.floats(45, 119), st.floats(80, 112)),
    st.one_of(st.floats(1, 100), st.floats(1, 13), st.floats(85, 100)),
)
def test_heat_index(answer_of: Any, t: float, rh: float) -> None:
    case = {"air_temperature": q(t, "degF"), "relative_humidity": rh / 100}
    found = answer_of("site.weather", case)["results"]["heat_index"]["value"]
    assert found * 1.8 + 32 == pytest.approx(heat_index(t, rh), abs=1e-6)


@given(st.floats(-40, 50), st.floats(3.1, 60))
def test_wind_chill(answer_of: Any, t: float, mph: float) -> None:
    """National Weather Service, 2001 (seen): 35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16."""
    case = {"air_temperature": q(t, "degF"), "wind_speed": q(mph, "mph")}
    found = answer_of("site.weather", case)["results"]["wind_chill"]["value"]
    root = math.exp(0.16 * math.log(mph))
    assert found * 1.8 + 32 == pytest.approx(35.74 + 0.6215 * t + (0.4275 * t - 35.75) * root, abs=1e-6)


place = st.tuples(st.floats(-40, 40), st.floats(-40, 40), st.floats(0.5, 6))


@given(place, place, st.floats(70, 115), st.sampled_from([1, 2, 4]), st.floats(0.5, 8), st.floats(0.05, 1))
def test_a_source_before_a_wall(
    answer_of: Any, source: Any, receiver: Any, power: float, factor: float, wall: float, reflected: float
) -> None:
    """A point source and its image, as far behind the wall: intensities W Q / (4 pi r^2) added, in W/m2 over 1 pW/m2."""
    away = math.dist(source[:2], receiver[:2])
    if away < 1:
        return
    image = [s + 2 * wall * (s - r) / away for s, r in zip(source[:2], receiver[:2], strict=True)] + [source[2]]
    given_source = {
        "id": "s",
        **{axis: q(at, "m") for axis, at in zip("xyz", source, strict=True)},
        "sound_power_level": q(power, "dBA"),
        "directivity_factor": factor,
        "reflector": {"distance": q(wall, "m"), "reflection": reflected},
    }
    ear = {"id": "r", **{axis: q(at, "m") for axis, at in zip("xyz", receiver, strict=True)}}
    answer = answer_of("site.sound", {"method": "simple", "sources": [given_source], "receivers": [ear]})
    watts = 1e-12 * 10 ** (power / 10) * factor / (4 * math.pi)
    intensity = watts / math.dist(source, receiver) ** 2 + reflected * watts / math.dist(image, receiver) ** 2
    level = answer["results"]["receivers"][0]["level"]["value"]
    assert level == pytest.approx(10 * math.log10(intensity / 1e-12), abs=0.01)


@given(st.floats(1, 40), st.floats(0, 15))
def test_a_flash_and_its_thunder(answer_of: Any, seconds: float, later: float) -> None:
    """343 m/s of sound in air of 20 degC (from memory); thirty quiet minutes (NWS, seen)."""
    at = "2026-07-14T14:00:00-05:00"
    case = {
        "last_lightning": {"at": at, "flash_to_bang": q(seconds, "s")},
        "evaluated_at": f"2026-07-14T14:{29 + int(later > 7.5) * 2}:00-05:00",
    }
    answer = answer_of("site.weather", case)
    assert answer["results"]["lightning_distance"]["value"] == pytest.approx(0.343 * seconds)
    assert any(f["code"] == "lightning" for f in answer["findings"]) is (later <= 7.5)
